// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/metric_figure.hpp"

#include <gmock/gmock.h>

#include <algorithm>

#include "tests/gui/invented_trial.hpp"

namespace coldstroke::gui {
namespace {

using testing::Contains;
using testing::HasSubstr;
using testing::Not;

/// A latency that jumps once, by `jump_ms`, between the 20th and the 21st of 24 trials.
WeighedCampaign jumping(double jump_ms) {
  WeighedCampaign out = invented_weighed();
  out.trials.resize(1, out.trials.front());
  out.trials.front().record.verdict = analysis::statistics::CountedVerdict::pass;
  out.trials.resize(24, out.trials.front());
  for (std::size_t k = 0; k < out.trials.size(); ++k) {
    analysis::EvidenceTrial& trial = out.trials[k];
    trial.record.name = std::to_string(k + 1);
    trial.judged = true;
    const double latency = 1.0e-3 * (18.0 + 0.1 * static_cast<double>(k % 3) + (k >= 20 ? jump_ms : 0.0));
    trial.result.metrics = {{"detector_latency_seconds", "s", "", analysis::Measured{latency, 0.0, latency, latency, false, {}}}};
  }
  out.evidence = analysis::weigh_campaign(out.trials).value();
  return out;
}

std::size_t rings(const Figure& figure, double top, double bottom) {
  return static_cast<std::size_t>(std::ranges::count_if(figure.parts, [&](const FigurePart& part) {
    const auto* dot = std::get_if<FigureDot>(&part);
    return dot != nullptr && dot->flagged && dot->y >= top && dot->y <= bottom;
  }));
}

TEST(DriftFigure, DrawsTheMovingRangesWithTheirLimitUnderTheValues) {
  const WeighedCampaign weighed = jumping(1.0);
  const auto& latency = weighed.evidence.metrics.front();
  ASSERT_TRUE(latency.chart);
  ASSERT_THAT(latency.chart->ranges_signalled, Contains(20U));
  const Figure figure = drift_figure(latency, weighed.trials);
  const std::string svg = figure_svg(figure);
  EXPECT_THAT(svg, HasSubstr("range limit"));
  EXPECT_THAT(svg, HasSubstr("distance to the value before"));
  EXPECT_EQ(rings(figure, 220.0, 300.0), 1U);
  EXPECT_THAT(drift_sentences(latency)[2], HasSubstr("Look at trial 21 (far from the one before)"));
}

TEST(DriftFigure, RingsNoRangeWhereNoneIsAboveTheLimit) {
  const WeighedCampaign weighed = jumping(0.0);
  const auto& latency = weighed.evidence.metrics.front();
  EXPECT_EQ(rings(drift_figure(latency, weighed.trials), 220.0, 300.0), 0U);
  EXPECT_THAT(drift_sentences(latency)[2], HasSubstr("Largest distance to the value before 0.200, limit 0.426 ms"));
  EXPECT_THAT(drift_sentences(latency)[2], Not(HasSubstr("far from the one before")));
}

}  // namespace
}  // namespace coldstroke::gui
