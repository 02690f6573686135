// SPDX-License-Identifier: GPL-3.0-or-later
//
// A rig whose charge valve, vent valve and regulator are moved by hand: the person is prompted step by step, and a step counts as
// done when the pressure reading proves it, not when somebody says so.
#pragma once

#include <string>
#include <vector>

#include "daq/sequence/interlocks.hpp"

namespace coldstroke::daq {

struct HandStep {
  std::string what;   ///< what to do: "Shut the vent valve"
  std::string proof;  ///< what proves it, with the reading
  bool proven = false;
};

/// What the person at the hand valves does in `step`, in order. Empty on a driven rig and where there is nothing to do.
[[nodiscard]] std::vector<HandStep> hand_steps(Step step, const Readings& readings, const Setup& setup);

/// Automatic protections that this rig does not have, one sentence each. Empty on a driven rig.
[[nodiscard]] std::vector<std::string> lacking_protections(const Setup& setup);

}  // namespace coldstroke::daq
