// SPDX-License-Identifier: GPL-3.0-or-later
//
// Verbs below "detector" on what a library holds: library, keep, record.
#include <iomanip>
#include <iostream>
#include <memory>

#include "daq/bench/quiet_recording.hpp"
#include "daq/detector/campaign_library.hpp"
#include "daq/virtual_rig/scenario_setup.hpp"
#include "gui/commands/command.hpp"
#include "gui/commands/console_application.hpp"
#include "gui/commands/detector_text.hpp"
#include "gui/window/detector/detector_words.hpp"

namespace coldstroke::gui {

namespace {

struct Arguments {
  std::string campaign, library, setup, name, event = "other", scenario = "steady";
  std::vector<std::string> faults;
  std::uint64_t seed = 1;
  double seconds = 10.0;
  bool virtual_rig = false, lockstep = false;
};

Exit complained(const Complaint& complaint, Exit exit = Exit::bad_input) {
  print_complaint(complaint);
  return exit;
}

Exit list(const Arguments& arguments) {
  const auto library = read_library(arguments.library);
  if (!library) return complained(library.error());
  const auto findings = check_library(*library, analysis::Axis::z);
  if (!findings) return complained(findings.error());
  print_library(std::cout, *library);
  print_findings(std::cout, *findings);
  return Exit::done;
}

Exit kept(const Arguments& arguments, std::span<const analysis::Recording> recordings) {
  const auto findings = daq::keep_recordings(arguments.campaign, recordings);
  if (!findings) return complained(findings.error());
  std::cout << "kept " << recordings.size() << (recordings.size() == 1 ? " recording in " : " recordings in ")
            << arguments.campaign << '\n';
  print_findings(std::cout, *findings);
  return Exit::done;
}

Exit keep(const Arguments& arguments) {
  const auto library = read_library(arguments.library);
  if (!library) return complained(library.error());
  return kept(arguments, *library);
}

Result<daq::Setup> setup_of(const Arguments& arguments) {
  if (!arguments.virtual_rig) return daq::load_setup(arguments.setup);
  const auto text = daq::setup_text_for(arguments.scenario);
  if (!text) return tl::unexpected{text.error()};
  return daq::parse_setup(*text, "built-in setup of the virtual rig");
}

Exit record(const Arguments& arguments) {
  catch_stop_signals();
  const auto event = analysis::from_word(arguments.event, analysis::Event::other);
  if (!event || *event == analysis::Event::ejection || *event == analysis::Event::pulse)
    return complained({"no such event must stay silent: \"" + arguments.event + "\"", "--event",
                       "carrying, setting_down, tube_knock, wind_rocking, hand_drop, landing, line_snag, transport or other"});
  const auto setup = setup_of(arguments);
  if (!setup) return complained(setup.error());
  if (const auto place = daq::check_place_for(arguments.campaign, arguments.name); !place) return complained(place.error());
  const ConsoleApplication application;  // the port's thread has an event loop
  const daq::QuietRequest request{arguments.name, *event, arguments.seconds};
  double told = -1.0;
  const auto progress = [&told](double seconds) {
    if (seconds >= told + 1.0) std::cerr << (told = seconds) << " s recorded\n";
    return !stop_asked();
  };
  daq::VirtualRigOptions options;
  options.scenario = arguments.scenario;
  options.seed = arguments.seed;
  options.faults = arguments.faults;
  const auto made = arguments.virtual_rig ? daq::record_quietly(*setup, options, arguments.lockstep, request, progress)
                                          : daq::record_quietly(*setup, request, progress);
  if (!made) return complained(made.error(), Exit::bench_trouble);
  return kept(arguments, std::span{&*made, 1});
}

void campaign_option(CLI::App* verb, const std::shared_ptr<Arguments>& arguments) {
  verb->add_option("campaign", arguments->campaign, "Campaign file; begun if it is not there")->required();
  verb->footer(std::string{kExitCodes});
}

}  // namespace

void add_detector_library(CLI::App& group, Exit& exit) {
  auto arguments = std::make_shared<Arguments>();
  const auto library = [&arguments](CLI::App* verb) {
    verb->add_option("library", arguments->library, std::string{kLibraryWords})->required()->check(CLI::ExistingFile);
  };
  CLI::App* lists = group.add_subcommand("library", "What a library holds, and what is to be said of it");
  library(lists);
  lists->footer(std::string{kExitCodes});
  lists->callback([arguments, &exit] { exit = list(*arguments); });

  CLI::App* keeps = group.add_subcommand("keep", "Keep a library's recordings in a campaign file, for good");
  campaign_option(keeps, arguments);
  library(keeps);
  keeps->callback([arguments, &exit] { exit = keep(*arguments); });

  CLI::App* records = group.add_subcommand(
      "record",
      "Record the vehicle's acceleration without gas and keep it as one that must stay silent; no command goes to a board");
  campaign_option(records, arguments);
  records->add_option("--name", arguments->name, "Of the recording")->required();
  records->add_option("--event", arguments->event, "What is done to the vehicle: carrying, tube_knock ...")
      ->capture_default_str();
  records->add_option("--seconds", arguments->seconds, "How long")
      ->check(number_within(0.1, daq::kLongestQuietSeconds))
      ->capture_default_str();
  auto* setup = records->add_option("--setup", arguments->setup, "Setup of the bench: its flight port and calibration")
                    ->check(CLI::ExistingFile);
  auto* rig = records->add_flag("--virtual", arguments->virtual_rig, "The virtual rig's flight board");
  setup->excludes(rig);
  records->add_option("--scenario", arguments->scenario, "Of the virtual rig")->needs(rig)->capture_default_str();
  records->add_option("--seed", arguments->seed, "Of the virtual rig")->needs(rig)->capture_default_str();
  records->add_option("--fault", arguments->faults, "Of the virtual rig; may be repeated")->needs(rig);
  records->add_flag("--lockstep", arguments->lockstep, "Simulated time instead of real time")->needs(rig);
  records->callback([arguments, &exit] {
    if (arguments->setup.empty() && !arguments->virtual_rig)
      exit = complained({"no board is named", "detector record", "give --setup FILE (docs/setup.md) or --virtual"});
    else
      exit = record(*arguments);
  });
}

}  // namespace coldstroke::gui
