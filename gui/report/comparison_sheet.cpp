// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/comparison_sheet.hpp"

#include <algorithm>

#include "gui/report/campaign_file_source.hpp"
#include "gui/report/figures.hpp"
#include "gui/report/metric_rows.hpp"

namespace coldstroke::gui {
namespace {

using analysis::statistics::TrialRun;

constexpr std::size_t kWorstOfASide = 3;

struct Weighed {
  std::filesystem::path campaign;
  std::vector<analysis::EvidenceTrial> trials;
  std::vector<TrialRun> runs;
};

Result<Weighed> weigh(const std::filesystem::path& file, const daq::Progress& progress) {
  const auto campaign = daq::Campaign::open_read_only(file);
  if (!campaign) return tl::unexpected{campaign.error()};
  auto trials = daq::read_evidence(*campaign, progress);
  if (!trials) return tl::unexpected{trials.error()};
  const auto weighed = analysis::weigh_campaign(*trials);
  if (!weighed) return tl::unexpected{weighed.error()};
  return Weighed{file, std::move(*trials), weighed->count.runs};
}

TrialsOfSide side_of(const Weighed& from, const TrialRun& run, const analysis::WatchedMetric& metric, const std::string& prefix) {
  TrialsOfSide side{
      from.campaign,
      compared_side(from.trials, run, metric,
                    prefix + "trials " + from.trials[run.first].record.name + " to " + from.trials[run.last].record.name),
      {}};
  for (const std::size_t place : worst_first(from.trials, run, metric)) {
    if (side.worst.size() == kWorstOfASide) break;
    side.worst.push_back(std::stoll(from.trials[place].record.name));
  }
  return side;
}

Result<std::pair<TrialsOfSide, TrialsOfSide>> sides(const std::filesystem::path& first,
                                                    const std::optional<std::filesystem::path>& second,
                                                    const analysis::WatchedMetric& metric, const daq::Progress& progress) {
  const auto one = weigh(first, progress);
  if (!one) return tl::unexpected{one.error()};
  if (!second) {
    if (one->runs.size() < 2)
      return complain("The campaign holds one configuration only.", first.string(), "Name a second campaign to compare with.");
    return std::pair{side_of(*one, one->runs[one->runs.size() - 2], metric, ""), side_of(*one, one->runs.back(), metric, "")};
  }
  const auto other = weigh(*second, progress);
  if (!other) return tl::unexpected{other.error()};
  if (one->runs.empty() || other->runs.empty())
    return complain("A campaign without a trial cannot be compared.", (one->runs.empty() ? first : *second).string(),
                    "Run trials first.");
  return std::pair{side_of(*one, one->runs.back(), metric, "first: "), side_of(*other, other->runs.back(), metric, "second: ")};
}

}  // namespace

Result<TrialComparison> compare_trials(const std::filesystem::path& first, const std::optional<std::filesystem::path>& second,
                                       const TrialComparisonRequest& request, const daq::Progress& progress) {
  const MetricWords* words = metric_words(request.metric);
  if (words == nullptr)
    return complain("There is no metric \"" + request.metric + "\".", "--metric", "See docs/methods.md for their names.");
  analysis::WatchedMetric metric{request.metric, words->per_unit, {}};
  for (const analysis::WatchedMetric& usual : analysis::usual_watched_metrics())
    if (usual.metric == request.metric) metric.limit = usual.limit;  // says which side is the bad one
  auto both = sides(first, second, metric, progress);
  if (!both) return tl::unexpected{both.error()};
  analysis::statistics::ComparisonRequest asked;
  asked.quantity = words->title;
  asked.unit = words->unit;
  if (request.margin > 0.0) asked.margin = request.margin;
  auto answer = compare_configurations(both->first.compared, both->second.compared, asked);
  if (!answer) return tl::unexpected{answer.error()};
  return TrialComparison{std::move(both->first), std::move(both->second), std::move(*answer)};
}

std::string worst_line(const ReportTrial& trial, const std::string& metric) {
  const analysis::Metric* found = trial.judged ? trial.result.metric(metric) : nullptr;
  const analysis::Measured* measured = found == nullptr ? nullptr : found->measured();
  const MetricWords* words = metric_words(metric);
  const std::string value = measured == nullptr || words == nullptr
                                ? std::string{}
                                : ", " + std::string{words->title} + " " + significant(measured->value * words->per_unit, 4) +
                                      " " + std::string{words->unit};
  return "trial " + std::to_string(trial.row.number) + value + ": " + verdict_sentence(trial);
}

Result<Sheet> comparison_sheet(const TrialComparison& comparison, const TrialComparisonRequest& request) {
  Sheet sheet;
  sheet.title = "Two configurations over the trials each ran";
  sheet.subtitle = "First: " + comparison.first.campaign.filename().string() + ", " + comparison.first.compared.label +
                   ". Second: " + comparison.second.campaign.filename().string() + ", " + comparison.second.compared.label + ".";
  sheet.foot =
      "coldstroke compare, " COLDSTROKE_VERSION ". Not the same stimuli: charge, temperature and day differ from trial to trial.";
  sheet.blocks.emplace_back(SheetText{comparison.answer.sentence, Tone::strong});
  sheet.blocks.emplace_back(SheetList{comparison.answer.numbers});
  for (const TrialsOfSide* side : {&comparison.first, &comparison.second}) {
    sheet.blocks.emplace_back(SheetHeading{"The worst of " + side->compared.label});
    const auto campaign = daq::Campaign::open_read_only(side->campaign);
    if (!campaign) return tl::unexpected{campaign.error()};
    for (const std::int64_t number : side->worst) {
      const auto trial = read_report_trial(*campaign, number);
      if (!trial) return tl::unexpected{trial.error()};
      sheet.blocks.emplace_back(SheetText{worst_line(*trial, request.metric), Tone::plain});
      if (auto figure = stroke_figure(*trial)) sheet.blocks.emplace_back(std::move(*figure));
    }
  }
  return sheet;
}

}  // namespace coldstroke::gui
