// SPDX-License-Identifier: GPL-3.0-or-later
//
// The configuration intended for flight beside the tested one: each difference, and what it does to the evidence.
// The tool states what was shown. People decide.
#pragma once

#include <string>
#include <vector>

namespace coldstroke::analysis {

/// One line of a configuration. Numbers carry the unit in the name.
struct HandoverItem {
  std::string key;    ///< "mass_kg"; for detector settings "detector.threshold_g"
  std::string value;  ///< as declared; compared as numbers where both are
  bool operator==(const HandoverItem&) const = default;
};

struct HandoverDifference {
  std::string key, tested, intended;  ///< an empty side was not stated
  std::string consequence;            ///< what it does to the evidence, in plain words
  bool operator==(const HandoverDifference&) const = default;
};

struct Handover {
  std::vector<HandoverItem> same;               ///< stated on both sides and alike
  std::vector<HandoverDifference> differences;  ///< in the order of the flight configuration, then what it leaves out
};

/// Values that are numbers are alike if they differ by at most 1e-9 of the larger; others byte by byte.
[[nodiscard]] Handover compare_for_flight(const std::vector<HandoverItem>& tested, const std::vector<HandoverItem>& intended);

}  // namespace coldstroke::analysis
