// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "daq/setup/setup.hpp"

namespace coldstroke::daq {

/// What the setup's gas and vehicle could do, and how far away people should be. Background for people's decisions: the range
/// safety officer and the site's rules decide.
struct KeepOut {
  double reservoir_joules = 0.0;        ///< ASME PCC-2 form, reservoir at the maximum pressure
  std::optional<double> supply_joules;  ///< the same of the bottle, if the setup names one
  double tnt_kilograms = 0.0;           ///< of both
  double scaled_metres = 0.0;           ///< by scaled distance
  std::optional<double> floor_metres;   ///< the published floor; absent: the energy is beyond what the article covers
  double exit_speed_bound_mps = 0.0;    ///< upper bound at the top of the charge window
  double reach_metres = 0.0;            ///< flat ground, 45 degrees, no drag
  double needed_metres = 0.0;           ///< greatest of floor, scaled distance and reach plus margin
  double configured_metres = 0.0;       ///< the line on the ground
  std::string edition;                  ///< of the standard
  std::vector<std::string> warnings;    ///< one sentence each; empty: the line is far enough out by all of them
};
[[nodiscard]] KeepOut keep_out(const Setup& setup);

}  // namespace coldstroke::daq
