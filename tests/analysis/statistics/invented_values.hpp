// SPDX-License-Identifier: GPL-3.0-or-later
//
// Random values for property tests: the standard's engine with our own shaping, so the same on every machine.
#pragma once

#include <boost/math/distributions/normal.hpp>
#include <cstdint>
#include <random>
#include <vector>

namespace coldstroke::analysis::statistics {

class InventedValues {
 public:
  explicit InventedValues(std::uint64_t seed) : engine_{seed} {}
  double unit() { return (static_cast<double>(engine_() >> 11) + 0.5) * 0x1.0p-53; }
  double normal() { return boost::math::quantile(boost::math::normal{}, unit()); }
  std::vector<double> normals(std::size_t n, double mean = 0.0, double deviation = 1.0) {
    std::vector<double> out(n);
    for (double& x : out) x = mean + deviation * normal();
    return out;
  }

 private:
  std::mt19937_64 engine_;
};

}  // namespace coldstroke::analysis::statistics
