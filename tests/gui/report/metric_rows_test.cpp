// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/metric_rows.hpp"

#include <gmock/gmock.h>

#include "tests/gui/invented_trial.hpp"

namespace coldstroke::gui {
namespace {

using analysis::Criterion;
using analysis::Verdict;
using testing::HasSubstr;

const MetricRow* titled(const std::vector<MetricRow>& rows, const std::string& title) {
  for (const MetricRow& row : rows)
    if (row.title == title) return &row;
  return nullptr;
}

TEST(MetricRows, ShowEveryMetricAndEveryCriterionOnce) {
  const ReportTrial trial = invented_trial();
  const auto rows = metric_rows(trial.result);
  // 11 metrics, 3 of them judged, and 2 criteria that are about no metric.
  EXPECT_EQ(rows.size(), 13U);
}

TEST(MetricRows, UsePeoplesUnits) {
  const auto rows = metric_rows(invented_trial().result);
  ASSERT_NE(titled(rows, "Supply droop"), nullptr);
  EXPECT_EQ(titled(rows, "Supply droop")->value, "1.420 ± 0.022");
  EXPECT_EQ(titled(rows, "Supply droop")->unit, "bar");
  EXPECT_EQ(titled(rows, "Detector latency")->value, "18.20 ± 0.67");
  EXPECT_EQ(titled(rows, "Detector latency")->limit, "≤ 40");
  EXPECT_EQ(titled(rows, "Exit speed, force")->limit, "12 to 16");
}

TEST(MetricRows, GiveTheReasonInsteadOfAnAbsentValue) {
  const auto rows = metric_rows(invented_trial().result);
  const MetricRow* row = titled(rows, "Exit speed, stroke");
  ASSERT_NE(row, nullptr);
  EXPECT_TRUE(row->value.empty());
  EXPECT_THAT(row->absent, HasSubstr("stroke end"));
}

TEST(MetricRows, SayAtLeastWhenTheChannelClipped) {
  ReportTrial trial = invented_trial();
  std::get<analysis::Measured>(trial.result.metrics[4].value).at_least = true;
  EXPECT_EQ(titled(metric_rows(trial.result), "Peak acceleration")->value, "≥ 31.2");
}

TEST(MarginScale, PlacesValueAndLimitsInOrder) {
  const auto rows = metric_rows(invented_trial().result);
  const MarginScale& both = *titled(rows, "Exit speed, force")->margin;
  EXPECT_LT(both.place(*both.lower), both.place(both.value));
  EXPECT_LT(both.place(both.value), both.place(*both.upper));
  EXPECT_GT(both.place(*both.lower), 0.0);
  EXPECT_LT(both.place(*both.upper), 1.0);
  const auto failed = metric_rows(invented_trial({.peak_g = 43.1}).result);
  const MarginScale& upper = *titled(failed, "Peak acceleration")->margin;
  EXPECT_GT(upper.place(upper.value), upper.place(*upper.upper));
}

TEST(MetricRows, LostSamplesAreCountedOnlyWhereThereIsAnEvent) {
  const auto row_of = [](Verdict verdict, std::optional<double> count) {
    ReportTrial trial = invented_trial();
    trial.result.criteria = {
        {{Criterion::Kind::no_lost_samples, "lost", "", {}, {}}, verdict, count, {}, "The stroke is not known."}};
    return metric_rows(trial.result).front();
  };
  EXPECT_EQ(row_of(Verdict::pass, 0.0).value, "none in the event");
  EXPECT_EQ(row_of(Verdict::void_, 12.0).value, "lost in the event");
  EXPECT_EQ(row_of(Verdict::void_, std::nullopt).absent, "The stroke is not known.");
}

TEST(VerdictSentence, NamesTheCriterionThatFailedWithItsNumbers) {
  const std::string sentence = verdict_sentence(invented_trial({.peak_g = 43.1}));
  EXPECT_THAT(sentence, HasSubstr("Peak acceleration"));
  EXPECT_THAT(sentence, HasSubstr("43.1 g is 3.1 g above the limit of 40 g"));
}

TEST(VerdictSentence, CountsWhatHoldsAndSaysWhyVoid) {
  EXPECT_EQ(verdict_sentence(invented_trial()), "All 5 criteria hold.");
  EXPECT_THAT(verdict_sentence(invented_trial({.lost_samples = true})), HasSubstr("40 samples of force were lost"));
  EXPECT_THAT(verdict_sentence(invented_trial({.latency_seconds = 1.84})), HasSubstr("(and 1 more)"));
}

TEST(VerdictWord, IsTheStatusOfATrialThatIsNotJudged) {
  EXPECT_EQ(verdict_word(invented_aborted(3)), "aborted");
  EXPECT_EQ(verdict_word(invented_trial()), "pass");
}

TEST(LimitText, WritesALimitAsItWasTyped) {
  EXPECT_EQ(limit_text({analysis::Criterion::Kind::metric, "x", "detector_latency_seconds", {}, 0.04}), "≤ 40 ms");
  EXPECT_EQ(limit_text({analysis::Criterion::Kind::metric, "x", "droop_pascals", 0.1e5, 2.5e5}), "0.1 to 2.5 bar");
  EXPECT_EQ(limit_text({analysis::Criterion::Kind::alignment_within, "x", {}, {}, 0.0005}), "≤ 0.5 ms");
}

}  // namespace
}  // namespace coldstroke::gui
