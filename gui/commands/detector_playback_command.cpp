// SPDX-License-Identifier: GPL-3.0-or-later
#include <iostream>
#include <memory>

#include "daq/detector/detector_table.hpp"
#include "daq/playback/played_answers.hpp"
#include "gui/commands/command.hpp"
#include "gui/commands/console_application.hpp"
#include "gui/commands/detector_text.hpp"
#include "gui/window/detector/detector_words.hpp"

namespace coldstroke::gui {

namespace {

struct Arguments {
  std::string library, port, scenario = "steady", table, name;
  int baud = 921600;
  std::uint64_t seed = 1;
  std::vector<std::string> faults;
  bool lockstep = false, virtual_rig = false, json = false;
};

Result<daq::PlaybackRun> play(const Arguments& arguments, const daq::StimulusMaker& make) {
  const ConsoleApplication application;  // the port's thread has an event loop
  const auto progress = [](std::size_t done, std::size_t total) {
    if (done % 20 == 0) std::cerr << done << " of " << total << " stimuli played\n";
    return !stop_asked();
  };
  if (!arguments.virtual_rig) return daq::play_over_port({arguments.port, arguments.baud}, make, progress);
  daq::VirtualRigOptions options;
  options.scenario = arguments.scenario;
  options.seed = arguments.seed;
  options.faults = arguments.faults;
  return daq::play_to_virtual_board(options, arguments.lockstep, make, progress);
}

/// What the firmware is held to; nothing: what the board says of itself.
Result<std::optional<analysis::DetectorSpec>> held_to(const Arguments& arguments) {
  if (arguments.table.empty()) return std::nullopt;
  const auto table = daq::load_detector_table(arguments.table);
  if (!table) return tl::unexpected{table.error()};
  auto spec = daq::pick_detector(*table, arguments.name, arguments.table);
  if (!spec) return tl::unexpected{spec.error()};
  return std::move(*spec);
}

Exit playback(const Arguments& arguments) {
  catch_stop_signals();
  const auto library = read_library(arguments.library);
  if (!library) {
    print_complaint(library.error());
    return Exit::bad_input;
  }
  if (const auto findings = check_library(*library, analysis::Axis::z)) print_findings(std::cerr, *findings);
  const auto spec = held_to(arguments);
  if (!spec) {
    print_complaint(spec.error());
    return Exit::bad_input;
  }
  const auto run = play(arguments, [&library](const daq::BoardClaims& claims) { return daq::stimuli_of(*library, claims); });
  if (!run) {
    print_complaint(run.error());
    return Exit::bench_trouble;
  }
  const auto report = daq::judge_playback(*run, *spec);
  if (!report) {
    print_complaint(report.error());
    return Exit::bad_input;
  }
  if (arguments.json)
    std::cout << daq::playback_json(*report, *run) << '\n';
  else
    print_playback(std::cout, *report, *run, report->findings.size());
  if (run->ended_early) {
    print_complaint(*run->ended_early);
    return Exit::bench_trouble;
  }
  return report->findings.empty() ? Exit::done : Exit::failed;
}

}  // namespace

void add_detector_playback(CLI::App& group, Exit& exit) {
  auto arguments = std::make_shared<Arguments>();
  CLI::App* verb = group.add_subcommand(
      "playback", "Play recordings to the flight board's own detector; its firing channels must be open or on their dummy loads");
  verb->add_option("library", arguments->library, std::string{kLibraryWords})->required()->check(CLI::ExistingFile);
  auto* port = verb->add_option("--port", arguments->port, "Port of the flight board");
  verb->add_option("--baud", arguments->baud, "Its rate")->check(CLI::Range(9600, 12000000))->capture_default_str();
  auto* rig = verb->add_flag("--virtual", arguments->virtual_rig, "The virtual rig's flight board behind a pseudo-terminal");
  port->excludes(rig);
  verb->add_option("--scenario", arguments->scenario, "Of the virtual rig")->needs(rig)->capture_default_str();
  verb->add_option("--seed", arguments->seed, "Of the virtual rig")->needs(rig)->capture_default_str();
  verb->add_option("--fault", arguments->faults, "Of the virtual rig; may be repeated")->needs(rig);
  verb->add_flag("--lockstep", arguments->lockstep, "Simulated time instead of real time")->needs(rig);
  verb->add_option("--table", arguments->table, "Hold the firmware to a detector of this table instead of to what it claims")
      ->check(CLI::ExistingFile);
  verb->add_option("--detector", arguments->name, "Which of the table's detectors");
  verb->add_flag("--json", arguments->json, "Machine-readable on standard output");
  verb->footer(std::string{kExitCodes});
  verb->callback([arguments, &exit] {
    if (arguments->port.empty() && !arguments->virtual_rig) {
      print_complaint({"no board is named", "detector playback", "give --port NAME or --virtual"});
      exit = Exit::bad_input;
      return;
    }
    exit = playback(*arguments);
  });
}

}  // namespace coldstroke::gui
