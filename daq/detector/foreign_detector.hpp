// SPDX-License-Identifier: GPL-3.0-or-later
//
// A team's own detector (daq/detector/detector_interface.h) replayed in a child process: whatever it does there, this program
// goes on.
//
// Over the child's standard input and output, little-endian: u32 count and count i32 a recording; back u32 count and count u8
// states.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "analysis/detector/prepared_library.hpp"
#include "analysis/result.hpp"
#include "daq/detector/detector_table.hpp"

namespace coldstroke::daq {

/// How to start the child: by default this very program with its hidden verb.
struct ForeignProgram {
  std::string executable = "/proc/self/exe";
  std::vector<std::string> leading_arguments{"foreign-detector"};
  double limit_seconds = 5.0;  ///< for one recording; an endless loop ends there
};

/// What one recording gave: the changes of state, or the finding that there are none: "foreign_crashed" (with the signal or exit
/// code), "foreign_hung", "foreign_bad_state" (a value that is no state, with its sample).
struct ForeignAnswer {
  std::vector<analysis::StateChange> changes;
  std::optional<analysis::Finding> finding;
};

/// Every recording in turn, in its own detector state; after a crash or a hang the next one gets a fresh child. Complaint: the
/// library cannot be loaded or lacks one of the three functions, the child cannot be started, or `stop`, asked before each
/// recording, said so. The child has a process group of its own and ends with this program, however that ends.
[[nodiscard]] Result<std::vector<ForeignAnswer>> run_foreign(const ForeignDetector& detector,
                                                             std::span<const analysis::PreparedRecording> recordings,
                                                             const ForeignProgram& program = {},
                                                             const std::function<bool()>& stop = {});

/// The child's side: loads the library and serves until its input ends. Returns the process's exit code; a library that cannot be
/// used is named on standard error and gives 3.
[[nodiscard]] int serve_foreign(const std::string& library, double sample_rate_hz, double counts_per_g);

}  // namespace coldstroke::daq
