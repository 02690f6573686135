// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

namespace coldstroke::daq {

/// How many values each member of a World has, in the order in which a number is made of them.
inline constexpr std::array<std::uint32_t, 11> kWorldSizes{2, 2, 2, 2, 3, 2, 7, 3, 2, 2, 2};

[[nodiscard]] constexpr std::array<std::uint32_t, 11> digits_of(std::uint32_t number) {
  std::array<std::uint32_t, 11> out{};
  for (std::size_t k = 0; k < kWorldSizes.size(); ++k) {
    out[k] = number % kWorldSizes[k];
    number /= kWorldSizes[k];
  }
  return out;
}

}  // namespace coldstroke::daq
