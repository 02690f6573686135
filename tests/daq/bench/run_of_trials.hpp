// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <gtest/gtest.h>

#include <filesystem>
#include <string>
#include <vector>

#include "daq/bench/lockstep_bench.hpp"
#include "daq/record/trial_archive.hpp"

namespace coldstroke::daq {

/// A folder of its own for one test, emptied first.
inline std::filesystem::path test_folder() {
  const auto* info = testing::UnitTest::GetInstance()->current_test_info();
  std::string name = std::string{info->test_suite_name()} + "." + info->name();
  for (char& c : name)
    if (c == '/') c = '_';
  const auto folder = std::filesystem::path{testing::TempDir()} / "coldstroke_bench" / name;
  std::filesystem::remove_all(folder);
  std::filesystem::create_directories(folder);
  return folder;
}

inline auto virtual_setup() {
  auto setup = parse_setup(virtual_setup_text(), "built-in setup");
  EXPECT_TRUE(setup) << setup.error().what;
  return *setup;
}

/// The program itself plays the virtual rig, as it does for a user: a separate process.
VirtualRigProgram program();  // in lockstep_bench_test.cpp

struct RunOptions {
  std::string scenario = "steady";
  std::uint64_t seed = 1;
  std::vector<std::string> faults{};
  std::int64_t trials = 1;
  const char* file = "run.coldstroke";
};

/// Runs trials in lock-step in `folder`; what each came to, or the complaint as a last entry with verdict "complaint".
inline std::vector<LastTrial> run_trials(const std::filesystem::path& folder, const RunOptions& options) {
  std::vector<LastTrial> out;
  auto bench = LockstepBench::start({virtual_setup(), folder / options.file, options.scenario, options.seed, options.faults,
                                     folder / "truth.jsonl", options.trials, program()});
  if (!bench) return {{0, "complaint", bench.error().what + ": " + bench.error().where}};
  for (std::int64_t k = 0; k < options.trials; ++k) {
    auto trial = (*bench)->run_trial([] { return false; });
    if (!trial) {
      out.push_back({0, "complaint", trial.error().what + ": " + trial.error().where});
      break;
    }
    out.push_back(std::move(*trial));
  }
  return out;
}

}  // namespace coldstroke::daq
