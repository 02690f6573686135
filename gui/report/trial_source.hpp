// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "analysis/result.hpp"
#include "gui/report/report_trial.hpp"

namespace coldstroke::gui {

/// One line of the campaign: a trial and its newest stored result. `trial.traces` are not read here.
struct CampaignRows {
  std::string file, name;
  std::vector<ReportTrial> trials;  ///< by number, without traces, decode notes and notes
};

/// Where archived trials come from. Called from a worker thread, possibly from several: it keeps no open file.
class TrialSource {
 public:
  virtual ~TrialSource() = default;
  [[nodiscard]] virtual Result<CampaignRows> rows() const = 0;
  /// Everything of one trial, traces included. Decodes raw bytes: takes tens to hundreds of milliseconds.
  [[nodiscard]] virtual Result<ReportTrial> trial(std::int64_t number) const = 0;
};

}  // namespace coldstroke::gui
