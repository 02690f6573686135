// SPDX-License-Identifier: GPL-3.0-or-later
//
// Verbs that carry trials out of a campaign file and into one: export, import.
#include <iostream>
#include <memory>

#include "daq/record/trial_export.hpp"
#include "gui/commands/command.hpp"
#include "gui/commands/progress_line.hpp"
#include "gui/report/exchange.hpp"

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
  auto wish = std::make_shared<ImportWish>();
  CLI::App* verb = app.add_subcommand("import", "Add traces recorded elsewhere (CSV) to a campaign as a trial, and judge it");
  verb->add_option("files", wish->files, "CSV files of one trial, one for each sampling rate")
      ->required()
      ->check(CLI::ExistingFile);
  verb->add_option("--campaign", wish->campaign, "Campaign file, created if absent")->required();
  verb->add_option("--setup", wish->setup, "Setup file (docs/setup.md)")->required()->check(CLI::ExistingFile);
  verb->add_option("--column", wish->columns,
                   "NAME=ROLE:UNIT for a column, e.g. 'F1=force:kN'; remembered for the next file with the same header line");
  verb->footer(std::string{kExitCodes});
  verb->callback([wish, &exit] {
    const auto done = import_into_campaign(*wish);
    if (done)
      for (const std::string& line : done->lines) std::cout << line << '\n';
    else
      print_complaint(done.error());
    exit = done ? exit_of(done->verdict) : Exit::bad_input;
  });
}

}  // namespace coldstroke::gui
