// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "analysis/result.hpp"
#include "daq/bench/bench_view.hpp"
#include "daq/setup/setup.hpp"
#include "daq/virtual_rig/process.hpp"

namespace coldstroke::daq {

/// Bench and virtual rig on one simulated time, in lock-step over the same wire bytes, as fast as the machine goes. Watchdog,
/// token life and clock requests run on simulated time too. The same options give the same bytes.
class LockstepBench {
 public:
  struct Options {
    Setup setup;
    std::filesystem::path campaign;
    std::string scenario = "steady";
    std::uint64_t seed = 1;
    std::vector<std::string> faults;  ///< injected by name, beside the scenario's own
    std::filesystem::path truth;      ///< truth file of the virtual rig, empty: none
    std::int64_t trials = 1;
    VirtualRigProgram program{};                 ///< which program plays the virtual rig
    std::optional<Surroundings> surroundings{};  ///< instead of those that are
  };
  static Result<std::unique_ptr<LockstepBench>> start(Options options);
  ~LockstepBench();

  /// Runs until one more trial has ended. Complains if it does not end (with the interlock that held it up) or the rig process
  /// died. `stop`, asked between steps: true aborts the trial (Ctrl-C).
  Result<LastTrial> run_trial(const std::function<bool()>& stop);
  [[nodiscard]] BenchView view() const;
  /// Simulated seconds so far.
  [[nodiscard]] double simulated_seconds() const;

 private:
  struct Inside;
  explicit LockstepBench(std::unique_ptr<Inside> inside);
  std::unique_ptr<Inside> inside_;
};

}  // namespace coldstroke::daq
