// SPDX-License-Identifier: GPL-3.0-or-later
//
// Traces recorded elsewhere taken into a campaign, for verb and page: the mapping of columns is remembered per user.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "analysis/result.hpp"

namespace coldstroke::gui {

struct ImportWish {
  std::filesystem::path campaign;            ///< created if absent
  std::filesystem::path setup;               ///< that the trial is judged by
  std::vector<std::filesystem::path> files;  ///< CSV, one for each sampling rate
  std::vector<std::string> columns;          ///< "NAME=ROLE:UNIT"; none: as given before for a file with the same first line
};
struct Imported {
  std::string verdict;
  std::vector<std::string> lines;  ///< what was done, a sentence each
};
/// Adds the files as one trial and judges it. A file that cannot be read makes no campaign and no trial.
[[nodiscard]] Result<Imported> import_into_campaign(const ImportWish& wish);

}  // namespace coldstroke::gui
