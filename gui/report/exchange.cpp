// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/exchange.hpp"

#include <QStandardPaths>

#include "daq/record/trial_import.hpp"

namespace coldstroke::gui {
namespace {

/// Mappings are kept per user and found again by a file's first line.
std::filesystem::path memory() {
  return std::filesystem::path{QStandardPaths::writableLocation(QStandardPaths::GenericConfigLocation).toStdString()} /
         "coldstroke" / "column-mappings.json";
}

Result<daq::ColumnMap> mapping(const ImportWish& wish, const std::string& header, std::vector<std::string>& lines) {
  daq::ColumnMap columns;
  if (wish.columns.empty()) {
    auto known = daq::remembered_mapping(memory(), header);
    if (known && !known->empty())
      lines.push_back("columns as given before for a file with these headers (" + memory().string() + ")");
    return known;
  }
  for (const std::string& text : wish.columns) {
    auto one = daq::parse_column_mapping(text);
    if (!one) return tl::unexpected{one.error()};
    columns.insert(std::move(*one));
  }
  return columns;
}

}  // namespace

Result<Imported> import_into_campaign(const ImportWish& wish) {
  if (wish.files.empty()) return complain("No file is named.", "import", "Name the CSV files of one trial.");
  auto setup = daq::load_setup(wish.setup);
  if (!setup) return tl::unexpected{setup.error()};
  auto header = daq::header_line(wish.files.front());
  if (!header) return tl::unexpected{header.error()};
  Imported out;
  auto columns = mapping(wish, *header, out.lines);
  if (!columns) return tl::unexpected{columns.error()};
  // Read once before the campaign is opened: a file that cannot be read makes no campaign.
  if (auto readable = daq::import_files(wish.files, *columns, *setup); !readable) return tl::unexpected{readable.error()};
  auto campaign = daq::Campaign::open_or_create(wish.campaign, setup->campaign_name);
  if (!campaign) return tl::unexpected{campaign.error()};
  auto trial = daq::import_trial(*campaign, wish.files, *columns, *setup);
  if (!trial) return tl::unexpected{trial.error()};
  out.verdict = word(trial->result.verdict);
  out.lines.push_back("trial " + std::to_string(trial->number) + ": " + out.verdict + ", detector " +
                      word(trial->result.outcome));
  for (const std::string& note : trial->notes) out.lines.push_back("  " + note);
  if (!wish.columns.empty())
    if (auto kept = daq::remember_mapping(memory(), *header, *columns); !kept)
      out.lines.push_back("The mapping of the columns is not remembered: " + kept.error().what);
  return out;
}

}  // namespace coldstroke::gui
