// SPDX-License-Identifier: GPL-3.0-or-later
//
// The virtual rig as a process of its own. Real time: two pseudo-terminals that look like the boards' serial ports. Lock-step:
// one bench time with the host over standard input and output (layout: lockstep.hpp).
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "analysis/result.hpp"
#include "daq/virtual_rig/scenario.hpp"

namespace coldstroke::daq {

/// What the verb's command line says.
struct VirtualRigOptions {
  std::string scenario = "steady";  ///< built-in name or FILE.toml
  std::uint64_t seed = 1;
  std::vector<std::string> faults;    ///< "NAME" or "NAME,key=value,..."; beside those of the scenario
  std::string truth_file;             ///< JSON lines, one an ejection, added to; empty: none
  std::string ports_file;             ///< real time: written whole once the ports are open: "rig NAME\nflight NAME\n"
  std::string board_log_file;         ///< JSON lines, one a change of the rig board's state, added to; empty: none
  std::string rig_link, flight_link;  ///< real time: symbolic links to make and keep pointing at the ports; empty: none
  std::optional<double> for_seconds;  ///< real time: stop after; absent: until told
  bool lockstep = false;
  bool end_with_input = false;  ///< real time: end when standard input ends, i.e. when the starter is gone
};

/// The same as arguments of the verb, each option with its value: --scenario NAME, --seed N, --fault TEXT (any number),
/// --truth FILE, --board-log FILE, --ports-file FILE, --rig-link NAME, --flight-link NAME, --for SECONDS, --lockstep,
/// --end-with-input.
[[nodiscard]] std::vector<std::string> arguments_of(const VirtualRigOptions& options);

/// What a trial on this rig says of its origin: "virtual rig, scenario steady, seed 1", then the faults beside the scenario's
/// own.
[[nodiscard]] std::string origin_of(const VirtualRigOptions& options);

/// The scenario with the command line's faults.
[[nodiscard]] Result<Scenario> scenario_of(const VirtualRigOptions& options);

/// Runs until SIGINT or SIGTERM, the time given is over, or (lock-step) the input ends. Returns the process's exit code, 0.
/// Real time: SIGUSR1 pulls the rig board's plug (the host sees a hang-up, the board hears nothing), the next SIGUSR1 puts it
/// back. Real time prints "rig NAME" and "flight NAME" on standard output, then a last line with what was dropped because nobody
/// read.
[[nodiscard]] Result<int> run_virtual_rig(const VirtualRigOptions& options);
/// The two ways by themselves. `run_virtual_rig` calls one of them.
[[nodiscard]] Result<int> serve_real_time(const Scenario& scenario, const VirtualRigOptions& options);
[[nodiscard]] Result<int> serve_lockstep(int in_fd, int out_fd, const Scenario& scenario, const VirtualRigOptions& options);

}  // namespace coldstroke::daq
