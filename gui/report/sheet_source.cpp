// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/sheet_source.hpp"

#include <QDateTime>
#include <algorithm>

#include "daq/record/trial_archive.hpp"
#include "gui/report/campaign_file_source.hpp"
#include "gui/report/evidence_words.hpp"
#include "gui/report/figures.hpp"
#include "gui/report/html_report.hpp"
#include "gui/report/whole_file.hpp"

namespace coldstroke::gui {
namespace {

Result<void> read_departures(const daq::Campaign& campaign, const std::vector<ReportTrial>& trials, SheetInput& input) {
  for (const ReportTrial& trial : trials) {
    auto events = campaign.events(trial.row.number);
    if (!events) return tl::unexpected{events.error()};
    for (const daq::HostEvent& event : *events)
      if (event.kind == "bypass") input.bypasses.push_back("Trial " + std::to_string(trial.row.number) + ": " + event.text);
  }
  return {};
}

/// Each corrected calibration with the trials that are judged with it.
Result<void> read_corrections(const daq::Campaign& campaign, const std::vector<ReportTrial>& trials, SheetInput& input) {
  std::vector<std::pair<std::string, std::vector<std::int64_t>>> corrections;
  for (const ReportTrial& trial : trials) {
    auto kept = daq::recalibrations(campaign, trial.row.number);
    if (!kept) return tl::unexpected{kept.error()};
    for (const daq::Recalibration& one : *kept) {
      const std::string words = sentence(one);
      auto known = std::ranges::find(corrections, words, &std::pair<std::string, std::vector<std::int64_t>>::first);
      if (known == corrections.end()) known = corrections.insert(known, {words, {}});
      known->second.push_back(trial.row.number);
    }
  }
  for (const auto& [words, numbers] : corrections)
    input.corrections.push_back(words + " (trial " + number_stretches(numbers) + ")");
  return {};
}

Result<void> read_last(const daq::Campaign& campaign, std::int64_t number, SheetInput& input) {
  auto known = daq::setup_in_force(campaign, number);
  if (!known) return tl::unexpected{known.error()};
  input.setup = std::move(known->setup);
  if (auto identity = campaign.identity(number, daq::Node::rig)) input.rig_identity = identity->value_or("");
  if (auto identity = campaign.identity(number, daq::Node::flight)) input.flight_identity = identity->value_or("");
  return {};
}

}  // namespace

Result<SheetInput> read_sheet(const std::filesystem::path& file, const SheetRequest& request, const daq::Progress& progress) {
  auto rows = CampaignFileSource{file}.rows();
  if (!rows) return tl::unexpected{rows.error()};
  if (rows->trials.empty())
    return complain("The campaign holds no trial: there is nothing to state.", file.string(), "Run trials first.");
  auto checked = verify_campaign(file, {}, progress);
  if (!checked) return tl::unexpected{checked.error()};
  auto campaign = daq::Campaign::open_read_only(file);
  if (!campaign) return tl::unexpected{campaign.error()};
  SheetInput input;
  input.integrity = std::move(checked->report);
  input.campaign_name = rows->name;
  input.campaign_file = file.filename().string();
  input.program_version = COLDSTROKE_VERSION;
  input.written_utc = QDateTime::currentDateTimeUtc().toString(Qt::ISODate).toStdString();
  auto head = campaign->head();
  if (!head) return tl::unexpected{head.error()};
  input.head = *head;
  input.trials = std::move(rows->trials);
  auto evidence = daq::read_evidence(*campaign, progress);
  if (!evidence) return tl::unexpected{evidence.error()};
  input.evidence = std::move(*evidence);
  const auto now = campaign->trials();
  if (!now) return tl::unexpected{now.error()};
  const bool same = std::ranges::equal(*now, input.trials, [](const daq::TrialRow& row, const ReportTrial& trial) {
    return row.number == trial.row.number && row.status == trial.row.status;
  });
  if (!same || input.evidence.size() != input.trials.size())
    return complain("A trial was added or ended while the sheet was being made.", file.string(), "Make the sheet again.");
  auto weighed = analysis::weigh_campaign(input.evidence, request.evidence);
  if (!weighed) return tl::unexpected{weighed.error()};
  input.weighed = std::move(*weighed);
  if (auto last = read_last(*campaign, input.trials.back().row.number, input); !last) return tl::unexpected{last.error()};
  if (auto departures = read_departures(*campaign, input.trials, input); !departures) return tl::unexpected{departures.error()};
  if (auto kept = read_corrections(*campaign, input.trials, input); !kept) return tl::unexpected{kept.error()};
  if (const auto place = worst_trial(input, input.worst_why)) {
    auto trial = read_report_trial(*campaign, input.trials[*place].row.number);
    if (!trial) return tl::unexpected{trial.error()};
    input.worst = std::move(*trial);
  }
  if (request.intended)
    input.handover = analysis::compare_for_flight(daq::tested_items(input.setup, input.flight_identity), *request.intended);
  return input;
}

Result<void> check_sheet_name(const std::filesystem::path& file) {
  if (file.extension() != ".pdf" && file.extension() != ".html")
    return complain("A verdict sheet is a .pdf or an .html file.", file.string(), "Give the name one of these endings.");
  return check_ordinary(file);
}

Result<std::string> write_sheet(const std::filesystem::path& file, const SheetInput& input, PaperSize paper) {
  if (const auto named = check_sheet_name(file); !named) return tl::unexpected{named.error()};
  const Sheet sheet = verdict_sheet(input);
  const std::string altered = input.integrity.findings.empty() ? "" : "; THE CAMPAIGN FILE WAS ALTERED, as its first page says";
  if (file.extension() == ".pdf") {
    auto pages = write_sheet_pdf(file, sheet, paper);
    if (!pages) return tl::unexpected{pages.error()};
    return file.string() + ", " + std::to_string(*pages) + " pages" + altered;
  }
  if (auto written = write_whole(file, sheet_html(sheet)); !written) return tl::unexpected{written.error()};
  return file.string() + altered;
}

}  // namespace coldstroke::gui
