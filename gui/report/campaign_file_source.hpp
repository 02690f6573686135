// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>

#include "gui/report/trial_source.hpp"

namespace coldstroke::gui {

/// Trials of a campaign file. Opens it read-only for each call, so that a running bench can go on writing (WAL).
class CampaignFileSource : public TrialSource {
 public:
  explicit CampaignFileSource(std::filesystem::path file);
  [[nodiscard]] Result<CampaignRows> rows() const override;
  [[nodiscard]] Result<ReportTrial> trial(std::int64_t number) const override;

 private:
  std::filesystem::path file_;
};

/// One trial of an open campaign as a report shows it: traces decoded from the raw bytes, newest stored result if it can be
/// read, else judged now. A trial stopped before release is not judged.
[[nodiscard]] Result<ReportTrial> read_report_trial(const daq::Campaign& campaign, std::int64_t number);

}  // namespace coldstroke::gui
