// SPDX-License-Identifier: GPL-3.0-or-later
//
// Detectors as a person writes them down: a small TOML table (docs/detectors.md), read into descriptions.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/detector/detector_spec.hpp"
#include "analysis/result.hpp"

namespace coldstroke::daq {

/// A team's own algorithm as a shared library of the interface of daq/detector/detector_interface.h.
struct ForeignDetector {
  std::string name;
  std::filesystem::path library;  ///< a relative one is meant from the table's own folder
  analysis::Axis axis = analysis::Axis::z;
  analysis::BoardSampling board;
  bool operator==(const ForeignDetector&) const = default;
};

struct DetectorTable {
  std::vector<analysis::DetectorSpec> detectors;  ///< in the order written; each has settings a board would accept
  std::vector<ForeignDetector> foreign;           ///< likewise
  bool operator==(const DetectorTable&) const = default;
};

/// Reads a table's text; `source` names it in complaints. A complaint lists every problem with its line, key and what is allowed:
/// an unknown key or kind, a missing or impossible number, two windows, a name used twice, no detector at all.
[[nodiscard]] Result<DetectorTable> parse_detector_table(std::string_view text, const std::string& source);
/// The same from a file of at most 1 MB.
[[nodiscard]] Result<DetectorTable> load_detector_table(const std::filesystem::path& file);

/// A description as such a table; parsing it gives the description back.
[[nodiscard]] std::string detector_table_text(const analysis::DetectorSpec& spec);

/// The detector of this name; without a name the only one. The complaint lists the names there are.
[[nodiscard]] Result<analysis::DetectorSpec> pick_detector(const DetectorTable& table, const std::string& name,
                                                           const std::string& source);

}  // namespace coldstroke::daq
