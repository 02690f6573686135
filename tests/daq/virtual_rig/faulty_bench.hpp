// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "tests/daq/virtual_rig/bench_host.hpp"

namespace coldstroke::daq {

/// A rig with these faults and a host on it.
struct Bench {
  explicit Bench(const std::vector<std::string>& faults, Scenario scenario = exact_scenario(), std::uint64_t seed = 1)
      : rig{with(std::move(scenario), faults), seed}, host{exchange_with(rig)} {}
  static Scenario with(Scenario scenario, const std::vector<std::string>& faults) {
    for (const std::string& text : faults) scenario.faults.push_back(parse_fault(text).value());
    return scenario;
  }
  /// Prepared, charged to 8 bar, released; 0.4 s later.
  void stroke() {
    host.prepare(1);
    ASSERT_TRUE(host.charge(8.0e5, 1.5));
    host.forget();
    ASSERT_EQ(host.release(), wire::Reason::done);
    host.run_for(0.4);
  }
  [[nodiscard]] wire::RigState rig_state() const { return host.newest<wire::RigState>(Node::rig).value(); }
  [[nodiscard]] wire::FlightState flight_state() const { return host.newest<wire::FlightState>(Node::flight).value(); }
  [[nodiscard]] bool happened(wire::EventCode code) const {
    const auto events = host.heard<wire::Event>(Node::rig);
    return std::any_of(events.begin(), events.end(), [code](const wire::Event& e) { return e.code == code; });
  }
  [[nodiscard]] double supply() const { return rig.physics().loads().supply_pascals; }
  VirtualRig rig;
  BenchHost host;
};

inline std::vector<std::int32_t> counts_of(const BenchHost& host, Node node, std::size_t index) {
  std::vector<std::int32_t> out;
  for (const double value : host.channel(node, index, 1.0)) out.push_back(static_cast<std::int32_t>(value));
  return out;
}

}  // namespace coldstroke::daq
