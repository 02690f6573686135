// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/comparison_sheet.hpp"

#include "gui/report/campaign_file_source.hpp"
#include "gui/report/evidence_words.hpp"
#include "gui/report/figures.hpp"
#include "gui/report/metric_rows.hpp"

namespace coldstroke::gui {
namespace {

using analysis::statistics::ComparedSide;
using analysis::statistics::TrialRun;

constexpr std::size_t kWorstOfASide = 3;

/// One run of the count, as a side of a comparison.
struct Side {
  ComparedSide compared;
  TrialsOfSide trials;
};

Side side(const WeighedCampaign& from, const std::filesystem::path& file, const TrialRun& run,
          const analysis::WatchedMetric& metric, const std::string& before) {
  const auto& trials = from.trials;
  const std::string label = before + "trials " + trials[run.first].record.name + " to " + trials[run.last].record.name;
  Side out{analysis::compared_side(trials, run, metric, label), {file, label, {}, {}}};
  for (const std::size_t place : worst_first(trials, run, metric)) {
    if (out.trials.worst.size() == kWorstOfASide) break;
    out.trials.worst.push_back(std::stoll(trials[place].record.name));
  }
  return out;
}

using Sides = std::pair<Side, Side>;

Result<Sides> sides(const ComparisonWish& wish, const analysis::WatchedMetric& metric, const daq::Progress& progress) {
  const auto first = read_weighed(wish.first, progress);
  if (!first) return tl::unexpected{first.error()};
  const auto& runs = first->evidence.count.runs;
  if (wish.second.empty()) {
    if (runs.size() < 2)
      return complain("The campaign holds one configuration only.", wish.first.string(),
                      "Name a second campaign to compare with.");
    return Sides{side(*first, wish.first, runs[runs.size() - 2], metric, ""), side(*first, wish.first, runs.back(), metric, "")};
  }
  const auto second = read_weighed(wish.second, progress);
  if (!second) return tl::unexpected{second.error()};
  const auto& others = second->evidence.count.runs;
  if (runs.empty() || others.empty())
    return complain("A campaign without a trial cannot be compared.", (runs.empty() ? wish.first : wish.second).string(),
                    "Run trials first.");
  return Sides{side(*first, wish.first, runs.back(), metric, "first: "),
               side(*second, wish.second, others.back(), metric, "second: ")};
}

std::string worst_line(const ReportTrial& trial, std::string_view metric, const MetricWords& words) {
  const analysis::Metric* found = trial.judged ? trial.result.metric(metric) : nullptr;
  const analysis::Measured* measured = found == nullptr ? nullptr : found->measured();
  const std::string value = measured == nullptr
                                ? std::string{}
                                : ", " + std::string{words.title} + " " + significant(measured->value * words.per_unit, 4) + " " +
                                      std::string{words.unit};
  return "trial " + std::to_string(trial.row.number) + value + ": " + verdict_sentence(trial);
}

Result<void> describe(TrialsOfSide& side, std::string_view metric, const MetricWords& words) {
  const auto campaign = daq::Campaign::open_read_only(side.campaign);
  if (!campaign) return tl::unexpected{campaign.error()};
  for (const std::int64_t number : side.worst) {
    const auto trial = read_report_trial(*campaign, number);
    if (!trial) return tl::unexpected{trial.error()};
    side.lines.push_back(worst_line(*trial, metric, words));
  }
  return {};
}

/// With the side that is the bad one, where this program knows it.
analysis::WatchedMetric watched(const ComparisonWish& wish, const MetricWords& words) {
  analysis::WatchedMetric metric{wish.metric, words.per_unit, {}};
  for (const analysis::WatchedMetric& usual : analysis::usual_watched_metrics())
    if (usual.metric == wish.metric) metric.limit.side = usual.limit.side;
  return metric;
}

}  // namespace

Result<TrialComparison> compare_campaigns(const ComparisonWish& wish, const daq::Progress& progress) {
  const MetricWords* words = metric_words(wish.metric);
  if (words == nullptr)
    return complain("There is no metric \"" + wish.metric + "\".", "the metric to compare by",
                    "See docs/methods.md for their names.");
  auto both = sides(wish, watched(wish, *words), progress);
  if (!both) return tl::unexpected{both.error()};
  analysis::statistics::ComparisonRequest request;
  request.quantity = words->title;
  request.unit = words->unit;
  if (wish.margin > 0.0) request.margin = wish.margin;
  auto answer = compare_configurations(both->first.compared, both->second.compared, request);
  if (!answer) return tl::unexpected{answer.error()};
  TrialComparison out{std::move(*answer), std::move(both->first.trials), std::move(both->second.trials)};
  for (TrialsOfSide* one : {&out.first, &out.second})
    if (auto described = describe(*one, wish.metric, *words); !described) return tl::unexpected{described.error()};
  return out;
}

std::vector<std::string> lines_under(const TrialComparison& comparison) {
  std::vector<std::string> lines = comparison.answer.numbers;
  for (const TrialsOfSide* side : {&comparison.first, &comparison.second}) {
    lines.push_back("Worst of " + side->label + ":");
    for (const std::string& line : side->lines) lines.push_back("  " + line);
  }
  return lines;
}

Result<Sheet> comparison_sheet(const TrialComparison& comparison) {
  Sheet sheet;
  sheet.title = "Two configurations over the trials each ran";
  sheet.subtitle = "First: " + comparison.first.campaign.filename().string() + ", " + comparison.first.label +
                   ". Second: " + comparison.second.campaign.filename().string() + ", " + comparison.second.label + ".";
  sheet.foot = "coldstroke " COLDSTROKE_VERSION ". Not the same stimuli: charge, temperature and day differ from trial to trial.";
  sheet.blocks.emplace_back(SheetText{comparison.answer.sentence, TextTone::strong});
  sheet.blocks.emplace_back(SheetList{comparison.answer.numbers});
  for (const TrialsOfSide* side : {&comparison.first, &comparison.second}) {
    sheet.blocks.emplace_back(SheetHeading{"The worst of " + side->label});
    const auto campaign = daq::Campaign::open_read_only(side->campaign);
    if (!campaign) return tl::unexpected{campaign.error()};
    for (std::size_t k = 0; k < side->worst.size(); ++k) {
      const auto trial = read_report_trial(*campaign, side->worst[k]);
      if (!trial) return tl::unexpected{trial.error()};
      sheet.blocks.emplace_back(SheetText{side->lines[k], TextTone::plain});
      if (auto figure = stroke_figure(*trial)) sheet.blocks.emplace_back(std::move(*figure));
    }
  }
  return sheet;
}

}  // namespace coldstroke::gui
