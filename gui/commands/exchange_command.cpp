// SPDX-License-Identifier: GPL-3.0-or-later
//
// Verbs that carry trials out of a campaign file and into one: export, import.
#include <QStandardPaths>
#include <iostream>
#include <memory>

#include "daq/record/trial_export.hpp"
#include "daq/record/trial_import.hpp"
#include "gui/commands/command.hpp"
#include "gui/commands/progress_line.hpp"

namespace coldstroke::gui {
namespace {

struct ExportArguments {
  std::string campaign, hdf5, folder;
  std::vector<std::int64_t> trials;
};

Result<void> write_out(const ExportArguments& asked) {
  if (asked.hdf5.empty() && asked.folder.empty())
    return complain("No target is given.", "export", "Give --hdf5 FILE or --csv FOLDER or both.");
  auto campaign = daq::Campaign::open_read_only(asked.campaign);
  if (!campaign) return tl::unexpected{campaign.error()};
  if (!asked.hdf5.empty()) {
    if (auto done = daq::export_hdf5(*campaign, asked.hdf5, asked.trials, progress_line("HDF5:")); !done) return done;
    std::cout << "exported: " << asked.hdf5 << '\n';
  }
  if (!asked.folder.empty()) {
    if (auto done = daq::export_folder(*campaign, asked.folder, asked.trials, progress_line("CSV:")); !done) return done;
    std::cout << "exported: " << asked.folder << '\n';
  }
  return {};
}

struct ImportArguments {
  std::string campaign, setup;
  std::vector<std::string> files, columns;
};

/// Mappings are kept per user and found again by a file's first line.
std::filesystem::path memory() {
  return std::filesystem::path{QStandardPaths::writableLocation(QStandardPaths::GenericConfigLocation).toStdString()} /
         "coldstroke" / "column-mappings.json";
}

Result<daq::ColumnMap> mapping(const ImportArguments& asked, const std::string& header) {
  daq::ColumnMap columns;
  if (asked.columns.empty()) {
    auto known = daq::remembered_mapping(memory(), header);
    if (known && !known->empty())
      std::cout << "columns as given before for a file with these headers (" << memory().string() << ")\n";
    return known;
  }
  for (const std::string& text : asked.columns) {
    auto one = daq::parse_column_mapping(text);
    if (!one) return tl::unexpected{one.error()};
    columns.insert(std::move(*one));
  }
  return columns;
}

Result<std::string> take_in(const ImportArguments& asked) {
  auto setup = daq::load_setup(asked.setup);
  if (!setup) return tl::unexpected{setup.error()};
  auto header = daq::header_line(asked.files.front());
  if (!header) return tl::unexpected{header.error()};
  auto columns = mapping(asked, *header);
  if (!columns) return tl::unexpected{columns.error()};
  const std::vector<std::filesystem::path> files{asked.files.begin(), asked.files.end()};
  // Read once before the campaign is opened: a file that cannot be read makes no campaign.
  if (auto readable = daq::import_files(files, *columns, *setup); !readable) return tl::unexpected{readable.error()};
  auto campaign = daq::Campaign::open_or_create(asked.campaign, setup->campaign_name);
  if (!campaign) return tl::unexpected{campaign.error()};
  auto trial = daq::import_trial(*campaign, files, *columns, *setup);
  if (!trial) return tl::unexpected{trial.error()};
  std::cout << "trial " << trial->number << ": " << word(trial->result.verdict) << ", detector " << word(trial->result.outcome)
            << '\n';
  for (const std::string& note : trial->notes) std::cout << "  " << note << '\n';
  if (!asked.columns.empty())
    if (auto kept = daq::remember_mapping(memory(), *header, *columns); !kept) return tl::unexpected{kept.error()};
  return std::string{word(trial->result.verdict)};
}

}  // namespace

void add_export(CLI::App& app, Exit& exit) {
  auto asked = std::make_shared<ExportArguments>();
  CLI::App* verb = app.add_subcommand("export", "Write traces and results as HDF5 or as a folder of CSV files");
  verb->add_option("campaign", asked->campaign, "Campaign file")->required()->check(CLI::ExistingFile);
  verb->add_option("--hdf5", asked->hdf5, "HDF5 file to make");
  verb->add_option("--csv", asked->folder, "Folder to make: README, data dictionary, tables");
  verb->add_option("--trial", asked->trials, "Only this trial; may be repeated")->check(CLI::PositiveNumber);
  verb->footer(std::string{kExitCodes});
  verb->callback([asked, &exit] {
    const auto done = write_out(*asked);
    if (!done) print_complaint(done.error());
    exit = done ? Exit::done : Exit::bad_input;
  });
}

void add_import(CLI::App& app, Exit& exit) {
  auto asked = std::make_shared<ImportArguments>();
  CLI::App* verb = app.add_subcommand("import", "Add traces recorded elsewhere (CSV) to a campaign as a trial, and judge it");
  verb->add_option("files", asked->files, "CSV files of one trial, one for each sampling rate")
      ->required()
      ->check(CLI::ExistingFile);
  verb->add_option("--campaign", asked->campaign, "Campaign file, created if absent")->required();
  verb->add_option("--setup", asked->setup, "Setup file (docs/setup.md)")->required()->check(CLI::ExistingFile);
  verb->add_option("--column", asked->columns,
                   "NAME=ROLE:UNIT for a column, e.g. 'F1=force:kN'; remembered for the next file with the same header line");
  verb->footer(std::string{kExitCodes});
  verb->callback([asked, &exit] {
    const auto verdict = take_in(*asked);
    if (!verdict) print_complaint(verdict.error());
    exit = verdict ? exit_of(*verdict) : Exit::bad_input;
  });
}

}  // namespace coldstroke::gui
