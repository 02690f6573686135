// SPDX-License-Identifier: GPL-3.0-or-later
//
// A trial recorded over the wire, written out, and read in again as if it came from elsewhere.
#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>

#include "daq/record/trial_export.hpp"
#include "daq/record/trial_import.hpp"
#include "tests/daq/bench/run_of_trials.hpp"

namespace coldstroke::daq {
namespace {

/// Writes trial 1 of the campaign out, reads it in again into another, and compares everything that was found in it.
void expect_comes_back(const std::filesystem::path& folder) {
  const auto campaign = Campaign::open_read_only(folder / "run.coldstroke").value();
  const auto first = judge_trial(campaign, 1);
  ASSERT_TRUE(first) << first.error().what;
  const auto measured =
      std::ranges::count_if(first->result.metrics, [](const auto& metric) { return metric.measured() != nullptr; });
  ASSERT_GT(measured, 8) << "nothing would be compared";
  const auto exported = export_folder(campaign, folder / "out", {});
  ASSERT_TRUE(exported) << exported.error().what;
  std::vector<std::filesystem::path> tables;
  for (const auto& entry : std::filesystem::directory_iterator{folder / "out/trial_0001"})
    if (entry.path().extension() == ".csv") tables.push_back(entry.path());
  auto again = Campaign::open_or_create(folder / "again.coldstroke", "again").value();
  const auto imported = import_trial(again, tables, {}, virtual_setup());
  ASSERT_TRUE(imported) << imported.error().what << " " << imported.error().where;
  EXPECT_EQ(imported->result.verdict, first->result.verdict);
  EXPECT_EQ(imported->result.outcome, first->result.outcome);
  EXPECT_EQ(imported->result.findings, first->result.findings);
  ASSERT_EQ(imported->result.metrics.size(), first->result.metrics.size());
  for (std::size_t k = 0; k < first->result.metrics.size(); ++k)
    EXPECT_EQ(imported->result.metrics[k], first->result.metrics[k]) << first->result.metrics[k].name;
}

TEST(ExportedTrial, comes_back_with_every_metric_and_the_same_verdict) {
  const auto folder = test_folder();
  ASSERT_EQ(run_trials(folder, {.seed = 6}).front().verdict, "pass");
  expect_comes_back(folder);
}

TEST(ExportedTrial, that_was_saturated_below_the_range_comes_back_saturated_and_void) {
  for (const char* fault : {"saturated_force", "saturated_acceleration"}) {
    const auto folder = test_folder();
    ASSERT_EQ(run_trials(folder, {.seed = 5, .faults = {fault}}).front().verdict, "void");
    expect_comes_back(folder);
  }
}

TEST(ExportedTrial, comes_back_with_the_calibration_that_was_corrected_since) {
  const auto folder = test_folder();
  ASSERT_EQ(run_trials(folder, {.seed = 6}).front().verdict, "pass");
  {
    auto campaign = Campaign::open_or_create(folder / "run.coldstroke", "").value();
    const auto setup = virtual_setup();
    const ChannelSetup& force = *setup.channel(analysis::Role::force);
    Calibration corrected = force.calibration;
    corrected.scale *= 1.01;
    corrected.gain_standard_uncertainty = 0.02;
    corrected.span = {-500.0, 500.0};
    ASSERT_TRUE(keep_recalibration(campaign, 1, {force.name, corrected, "Mira", "weights"}));
  }
  expect_comes_back(folder);
}

TEST(ExportedTrial, is_read_by_h5py_with_the_samples_of_the_tables_and_every_metric) {
  const auto folder = test_folder();
  ASSERT_EQ(run_trials(folder, {.seed = 6}).front().verdict, "pass");
  const auto campaign = Campaign::open_read_only(folder / "run.coldstroke").value();
  ASSERT_TRUE(export_folder(campaign, folder / "out", {}));
  ASSERT_TRUE(export_hdf5(campaign, folder / "out.h5", {}));
  const std::string read = "/usr/bin/python3 " COLDSTROKE_SOURCE_DIR "/tests/daq/record/read_exports.py " + folder.string() +
                           " > " + (folder / "said").string() + " 2>&1";
  const int exit = std::system(read.c_str());
  std::ifstream stream{folder / "said"};
  std::string said{std::istreambuf_iterator<char>{stream}, {}};
  EXPECT_EQ(exit, 0) << said;
  int traces = 0, metrics = 0;
  ASSERT_EQ(std::sscanf(said.c_str(), "compared %d traces and %d metrics", &traces, &metrics), 2) << said;
  EXPECT_GE(traces, 5);
  EXPECT_GT(metrics, 8);
}

}  // namespace
}  // namespace coldstroke::daq
