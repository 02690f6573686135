// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "analysis/evidence/campaign_evidence.hpp"
#include "gui/report/figure.hpp"

namespace coldstroke::gui {

/// Individuals and moving-range chart of a metric over the counted trials: centre and three-sigma limits, the tolerance limit,
/// one mark a trial with its verdict, a ring where a run rule or an outlier test asks for a look; under it each value's distance
/// to the one before, with its limit. Beside it the same values in their order of size against the quantiles of a normal shape: a
/// straight line speaks for one.
[[nodiscard]] Figure drift_figure(const analysis::MetricEvidence& metric, const std::vector<analysis::EvidenceTrial>& trials);

/// What the tests found, one sentence each, with the reason where a test has no answer.
[[nodiscard]] std::vector<std::string> drift_sentences(const analysis::MetricEvidence& metric);

}  // namespace coldstroke::gui
