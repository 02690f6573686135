// SPDX-License-Identifier: GPL-3.0-or-later
//
// Invented raw rows for campaign tests.
#pragma once

#include <random>
#include <vector>

#include "daq/record/campaign.hpp"
#include "daq/setup/setup.hpp"

namespace coldstroke::daq {

inline daq::Setup virtual_setup() { return parse_setup(virtual_setup_text(), "virtual").value(); }

/// `count` rows of up to `bytes` bytes each from a seed.
inline std::vector<RawRow> invented_rows(std::size_t count, std::size_t bytes, unsigned seed) {
  std::mt19937 draw{seed};
  std::vector<RawRow> rows(count);
  for (std::size_t i = 0; i < count; ++i) {
    rows[i].node = draw() % 3U == 0U ? Node::flight : Node::rig;
    rows[i].direction = draw() % 5U == 0U ? Direction::to_board : Direction::from_board;
    rows[i].host_us = static_cast<std::int64_t>(1000 * i + draw() % 1000U);
    rows[i].bytes.resize(1 + draw() % bytes);
    for (std::byte& byte : rows[i].bytes) byte = static_cast<std::byte>(draw());
  }
  return rows;
}

}  // namespace coldstroke::daq
