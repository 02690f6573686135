// SPDX-License-Identifier: GPL-3.0-or-later
//
// The units people write in setup and CSV files, and their exact factors to SI.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "analysis/trial/trace.hpp"

namespace coldstroke::daq {

/// What a unit measures. `any` is the quantity `other`, which is carried in whatever unit it came in.
enum class Dimension {
  time,
  force,
  pressure,
  acceleration,
  current,
  impulse,
  speed,
  energy,
  length,
  angle,
  angular_rate,
  action,
  plain,
  any
};

[[nodiscard]] Dimension dimension(analysis::Quantity quantity);

/// Factor that turns a number in `unit` into SI (s, N, Pa, m/s^2, A, N s, m/s, m, rad, rad/s, A^2 s, 1), or nothing if the unit
/// is not of this dimension. Unit words are case-sensitive: "mN" is not "MN". Exact conversions: NIST SP 811 (2008), appendix B.
[[nodiscard]] std::optional<double> to_si_factor(Dimension dimension, std::string_view unit);

/// The fewest digits that read back as the same number.
[[nodiscard]] std::string shortest(double value);

/// Known unit words of a dimension, for messages: "s, ms, us".
[[nodiscard]] std::string unit_words(Dimension dimension);

/// The SI unit's word: "N".
[[nodiscard]] std::string_view si_word(Dimension dimension);

}  // namespace coldstroke::daq
