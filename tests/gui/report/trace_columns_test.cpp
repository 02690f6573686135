// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/trace_columns.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

namespace coldstroke::gui {
namespace {

analysis::Trace ramp(std::size_t count) {
  analysis::Trace trace;
  trace.start_seconds = 2.0;
  trace.period_seconds = 0.001;
  for (std::size_t k = 0; k < count; ++k) trace.samples.push_back(static_cast<double>(k));
  return trace;
}

TEST(TraceColumns, KeepsASpikeOfOneSampleWhereverItStands) {
  for (std::size_t spike = 0; spike < 5000; spike += 37) {
    analysis::Trace trace = ramp(5000);
    for (double& sample : trace.samples) sample = 0.0;
    trace.samples[spike] = 9.0;
    const auto columns = trace_columns(trace, 2.0, 7.0, 100);
    double highest = 0.0;
    for (const Column& column : columns) highest = std::max(highest, column.empty() ? 0.0 : column.high);
    EXPECT_EQ(highest, 9.0) << "spike at sample " << spike;
  }
}

TEST(TraceColumns, PutsEachSampleIntoTheColumnOfItsInstant) {
  const auto columns = trace_columns(ramp(1000), 2.0, 3.0, 10);
  ASSERT_EQ(columns.size(), 10U);
  // Instants on an edge may fall to either side of it by rounding, hence the middle columns' room of one sample.
  EXPECT_NEAR(columns[4].low, 400.0, 1.0);
  EXPECT_NEAR(columns[4].high, 499.0, 1.0);
}

TEST(TraceColumns, LeavesOutNaNAndWhatIsOutside) {
  analysis::Trace trace = ramp(1000);
  for (std::size_t k = 300; k < 400; ++k) trace.samples[k] = std::numeric_limits<double>::quiet_NaN();
  const auto columns = trace_columns(trace, 1.5, 3.5, 20);
  EXPECT_TRUE(columns[0].empty());
  EXPECT_TRUE(columns[8].empty());
  EXPECT_FALSE(columns[10].empty());
  EXPECT_TRUE(columns[19].empty());
}

TEST(AxisRange, HoldsTheDataAndStepsByOneTwoOrFive) {
  for (const auto& [low, high] : {std::pair{0.0, 7.02}, {-3.3, 412.0}, {0.0013, 0.0019}, {-1.0e6, 2.0}, {5.0, 5.0}}) {
    const AxisRange range = axis_range(low, high, 4);
    EXPECT_LE(range.low, low);
    EXPECT_GE(range.high, high);
    const double digit = range.step / std::pow(10.0, std::floor(std::log10(range.step) + 1e-9));
    EXPECT_TRUE(std::abs(digit - 1.0) < 1e-6 || std::abs(digit - 2.0) < 1e-6 || std::abs(digit - 5.0) < 1e-6) << digit;
    EXPECT_LE((range.high - range.low) / range.step, 6.5);
  }
}

TEST(AxisRange, SurvivesDataThatIsNoNumber) { EXPECT_EQ(axis_range(std::nan(""), 1.0, 4), AxisRange{}); }

}  // namespace
}  // namespace coldstroke::gui
