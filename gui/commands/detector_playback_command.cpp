// SPDX-License-Identifier: GPL-3.0-or-later
#include <QCoreApplication>
#include <iostream>
#include <memory>

#include "daq/detector/detector_table.hpp"
#include "daq/detector/library_table.hpp"
#include "daq/playback/playback_report.hpp"
#include "gui/commands/command.hpp"
#include "gui/commands/detector_text.hpp"

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
  int argc = 1;
  std::string name = "coldstroke";
  char* argv[] = {name.data(), nullptr};
  const QCoreApplication application{argc, argv};  // the port's thread has an event loop
  const auto progress = [](std::size_t done, std::size_t total) {
    if (done % 20 == 0) std::cerr << done << " of " << total << " stimuli played\n";
    return !stop_asked();
  };
  if (!arguments.virtual_rig) return daq::play_over_port({arguments.port, arguments.baud}, make, progress);
  daq::VirtualRigOptions options;
  options.scenario = arguments.scenario;
  options.seed = arguments.seed;
  options.faults = arguments.faults;
  auto rig =
      arguments.lockstep ? daq::VirtualRigProcess::start_lockstep(options) : daq::VirtualRigProcess::start_real_time(options);
  if (!rig) return tl::unexpected{rig.error()};
  return arguments.lockstep ? daq::play_in_lockstep(*rig, make, progress)
                            : daq::play_over_port({rig->flight_port(), arguments.baud}, make, progress);
}

void print_json(const daq::PlaybackReport& report, const daq::PlaybackRun& run) {
  nlohmann::ordered_json findings = nlohmann::ordered_json::array();
  for (const auto& finding : report.findings)
    findings.push_back({{"kind", finding.kind}, {"stimulus", finding.channel}, {"message", finding.message}});
  std::cout << nlohmann::ordered_json{{"sentence", sentence(report)},
                                      {"stimuli", report.stimuli},
                                      {"played", report.played},
                                      {"agreeing", report.agreeing},
                                      {"decided", report.decided},
                                      {"samples_sent", report.samples_sent},
                                      {"samples_played", report.samples_played},
                                      {"samples_lost", report.samples_lost},
                                      {"samples_compared", report.samples_compared},
                                      {"samples_differing", report.samples_differing},
                                      {"samples_sent_again", report.refused},
                                      {"ticks_without_sample", report.starved},
                                      {"resets", report.resets},
                                      {"firmware",
                                       run.claims.identity.firmware_name + " " + run.claims.identity.firmware_version},
                                      {"elapsed_seconds", run.elapsed_seconds},
                                      {"findings", std::move(findings)}}
                   .dump(1)
            << '\n';
}

/// What the firmware is held to: a table's detector, or what the board says of itself.
Result<analysis::DetectorSpec> expected(const Arguments& arguments, const daq::PlaybackRun& run,
                                        std::vector<analysis::Finding>& findings) {
  auto claimed = claimed_detector(run.claims);
  if (arguments.table.empty()) return claimed;
  const auto table = daq::load_detector_table(arguments.table);
  if (!table) return tl::unexpected{table.error()};
  auto spec = daq::pick_detector(*table, arguments.name, arguments.table);
  if (!spec) return spec;
  if (claimed)
    findings = daq::compare_claims(*claimed, *spec);
  else
    findings.push_back({"unknown_claim", "", claimed.error().what + "."});
  return spec;
}

Exit playback(const Arguments& arguments) {
  catch_stop_signals();
  std::vector<std::string> left_out;
  const auto library = daq::load_library(arguments.library, left_out);
  for (const std::string& line : left_out) std::cerr << "left out: " << line << '\n';
  if (!library) {
    print_complaint(library.error());
    return Exit::bad_input;
  }
  if (const auto findings = check_library(*library, analysis::Axis::z)) print_findings(std::cerr, *findings);
  const auto run = play(arguments, [&library](const daq::BoardClaims& claims) { return daq::stimuli_of(*library, claims); });
  if (!run) {
    print_complaint(run.error());
    return Exit::bench_trouble;
  }
  std::vector<analysis::Finding> findings;
  const auto spec = expected(arguments, *run, findings);
  const auto report = spec ? daq::playback_report(*run, *spec) : Result<daq::PlaybackReport>{tl::unexpected{spec.error()}};
  if (!report) {
    print_complaint(report.error());
    return Exit::bad_input;
  }
  if (arguments.json) {
    print_json(*report, *run);
  } else {
    std::cout << "PLAYBACK, no real trial: firmware " << run->claims.identity.firmware_name << ' '
              << run->claims.identity.firmware_version << '\n'
              << sentence(*report) << '\n'
              << report->samples_compared << " samples compared, " << report->samples_differing
              << " differ; the board decided on " << report->decided << " stimuli; " << report->refused
              << " samples sent again after a loss on the line; " << report->starved << " ticks waited for the host; "
              << report->resets << " resets; " << run->elapsed_seconds << " s\n";
    print_findings(std::cout, report->findings);
    print_findings(std::cout, findings);
  }
  if (run->ended_early) {
    print_complaint(*run->ended_early);
    return Exit::bench_trouble;
  }
  return report->findings.empty() && findings.empty() ? Exit::done : Exit::failed;
}

}  // namespace

void add_detector_playback(CLI::App& group, Exit& exit) {
  auto arguments = std::make_shared<Arguments>();
  CLI::App* verb = group.add_subcommand(
      "playback", "Play recordings to the flight board's own detector; its firing channels must be open or on their dummy loads");
  verb->add_option("library", arguments->library, "Library table (.toml) or campaign file")->required()->check(CLI::ExistingFile);
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
