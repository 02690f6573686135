// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <boost/random/mersenne_twister.hpp>
#include <boost/random/normal_distribution.hpp>
#include <boost/random/uniform_real_distribution.hpp>
#include <cstdint>

namespace coldstroke::daq {

/// One stream of random numbers for one purpose. Streams of one seed do not disturb each other: how much a host talks does not
/// change the sensors' noise. Boost's distributions, because the standard library's differ from one library to the next.
class Random {
 public:
  Random(std::uint64_t seed, std::uint64_t purpose) : engine_{mixed(seed, purpose)} {}
  /// Standard normal.
  double normal() { return normal_(engine_); }
  /// Uniform in [0, 1).
  double uniform() { return uniform_(engine_); }
  std::uint32_t bits() { return static_cast<std::uint32_t>(engine_() >> 32); }

 private:
  /// splitmix64's finaliser, so that neighbouring seeds share nothing. From memory.
  static std::uint64_t mixed(std::uint64_t seed, std::uint64_t purpose) {
    std::uint64_t z = seed + 0x9E3779B97F4A7C15U * (purpose + 1);
    z = (z ^ (z >> 30U)) * 0xBF58476D1CE4E5B9U;
    z = (z ^ (z >> 27U)) * 0x94D049BB133111EBU;
    return z ^ (z >> 31U);
  }
  boost::random::mt19937_64 engine_;
  boost::random::normal_distribution<double> normal_{0.0, 1.0};
  boost::random::uniform_real_distribution<double> uniform_{0.0, 1.0};
};

}  // namespace coldstroke::daq
