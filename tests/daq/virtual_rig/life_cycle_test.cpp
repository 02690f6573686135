// SPDX-License-Identifier: GPL-3.0-or-later
#include <gtest/gtest.h>

#include "tests/daq/virtual_rig/bench_host.hpp"

namespace coldstroke::daq {
namespace {

TEST(VirtualRig, EjectsAndPutsTheVehicleBack) {
  VirtualRig rig{Scenario{}, 1};
  BenchHost host{exchange_with(rig)};
  ASSERT_TRUE(host.eject(1));
  const std::vector<EjectionTruth> truth = rig.take_truth();
  ASSERT_EQ(truth.size(), 1U);
  std::cout << truth[0].json() << "\n";
  EXPECT_EQ(truth[0].outcome(), "in_time");
  ASSERT_TRUE(host.eject(2));
  for (auto& t : rig.take_truth()) std::cout << t.json() << "\n";
}

}  // namespace
}  // namespace coldstroke::daq
