// SPDX-License-Identifier: GPL-3.0-or-later
//
// Trials made up for showing: round numbers, no physics behind them.
#pragma once

#include <optional>

#include "gui/report/evidence_words.hpp"
#include "gui/report/report_trial.hpp"
#include "gui/report/trial_source.hpp"

namespace coldstroke::gui {

struct Invented {
  std::int64_t number = 14;
  analysis::Verdict verdict = analysis::Verdict::pass;
  double latency_seconds = 0.0182;  ///< of the decision after first motion
  double peak_g = 31.2;
  bool lost_samples = false;
};
/// First motion at 1.000 s of a 4 s record, stroke 45 ms; force, supply, chamber at 10 kHz, acceleration at 2 kHz.
[[nodiscard]] ReportTrial invented_trial(const Invented& about = {});
[[nodiscard]] analysis::TraceSet invented_traces(double peak_g);
[[nodiscard]] ReportTrial invented_aborted(std::int64_t number);
/// 24 trials: passes, a fail, a late one, a void, an aborted one.
[[nodiscard]] CampaignRows invented_campaign();

/// The same trials as evidence, all of one configuration, weighed.
[[nodiscard]] std::vector<analysis::EvidenceTrial> invented_evidence();
[[nodiscard]] WeighedCampaign invented_weighed();

/// Serves invented_campaign; number 99 has no record and complains.
class InventedSource : public TrialSource {
 public:
  [[nodiscard]] Result<CampaignRows> rows() const override { return invented_campaign(); }
  [[nodiscard]] Result<ReportTrial> trial(std::int64_t number) const override;
};

}  // namespace coldstroke::gui
