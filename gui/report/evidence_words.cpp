// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/evidence_words.hpp"

#include <algorithm>
#include <array>
#include <span>

#include "analysis/statistics/wording.hpp"
#include "daq/record/trial_archive.hpp"
#include "gui/report/figures.hpp"

namespace coldstroke::gui {
Result<WeighedCampaign> read_weighed(const std::filesystem::path& file, const daq::Progress& progress) {
  const auto campaign = daq::Campaign::open_read_only(file);
  if (!campaign) return tl::unexpected{campaign.error()};
  auto trials = daq::read_evidence(*campaign, progress);
  if (!trials) return tl::unexpected{trials.error()};
  auto evidence = analysis::weigh_campaign(*trials);
  if (!evidence) return tl::unexpected{evidence.error()};
  WeighedCampaign out{std::move(*trials), std::move(*evidence), {}};
  if (out.trials.empty()) return out;
  const auto last = std::stoll(out.trials.back().record.name);
  const auto known = daq::setup_in_force(*campaign, last);
  if (!known) return tl::unexpected{known.error()};
  const auto identity = campaign->identity(last, daq::Node::flight);
  if (!identity) return tl::unexpected{identity.error()};
  out.tested = daq::tested_items(known->setup, identity->value_or(""));
  return out;
}

Result<SheetTable> plan_table(const PlanWish& wish) {
  std::vector<double> truths{0.90, 0.95, 0.99, 0.995, 0.999};
  if (wish.truth && std::ranges::find(truths, *wish.truth) == truths.end()) truths.push_back(*wish.truth);
  std::ranges::sort(truths);
  const auto plans = analysis::statistics::offered_plans({wish.reliability, wish.confidence}, wish.most_failures, truths);
  if (!plans) return tl::unexpected{plans.error()};
  SheetTable table{{"trials", "failures allowed"}, {1.0, 1.5}, {}};
  for (const double truth : truths) {
    table.head.push_back("passes at " + analysis::statistics::share(truth));
    table.widths.push_back(1.5);
  }
  for (const auto& plan : *plans) {
    std::vector<std::string> row{std::to_string(plan.plan.trials), std::to_string(plan.plan.failures_allowed)};
    for (const auto& chance : plan.chances) row.push_back(decimal(100.0 * chance.pass_probability, 1) + " %");
    table.rows.push_back(std::move(row));
  }
  return table;
}

Result<SheetTable> outlook_table(const analysis::CampaignEvidence& weighed) {
  constexpr std::array<std::int64_t, 7> kMore{0, 1, 5, 10, 20, 30, 60};
  constexpr std::array kConfidences{0.90, 0.95};
  SheetTable table{{"more passes", "shown at 90 %", "shown at 95 %"}, {1.0, 1.0, 1.0}, {}};
  if (weighed.count.runs.empty()) return table;
  const analysis::statistics::TrialRun& run = weighed.count.runs.back();
  const std::span more{kMore};
  const auto rows = analysis::outlook(run.judged(), run.fails, run.judged() == 0 ? more.subspan(1) : more, kConfidences);
  if (!rows) return tl::unexpected{rows.error()};
  for (const analysis::Outlook& row : *rows)
    table.rows.push_back(
        {std::to_string(row.more_passes), bound_text(row.bounds[0].at_least), bound_text(row.bounds[1].at_least)});
  return table;
}

Result<Verification> verify_campaign(const std::filesystem::path& file, const std::string& head, const daq::Progress& progress) {
  const auto campaign = daq::Campaign::open_read_only(file);
  if (!campaign) return tl::unexpected{campaign.error()};
  bool stopped = false;
  auto report = campaign->verify([&](std::size_t done, std::size_t of) {
    stopped = progress && !progress(done, of);
    return !stopped;
  });
  if (!report && stopped) return tl::unexpected{report.error()};
  // A file so damaged that the check cannot begin has been checked, and found wanting.
  if (!report) report = daq::IntegrityReport{0, 0, {report.error().what}};
  const auto now = campaign->head();
  if (!now) report->findings.push_back(now.error().what);
  Verification out{std::move(*report), now.value_or(daq::ChainHead{}), false, {}};
  out.sound = out.report.findings.empty();
  out.lines = out.report.findings;
  out.lines.push_back(file.string() + ": " + std::to_string(out.report.trials) + " trials, " +
                      std::to_string(out.report.raw_rows) + " raw rows, " +
                      (out.sound ? "intact" : std::to_string(out.report.findings.size()) + " findings"));
  out.lines.push_back("head of the chain " + out.head.hex + ", entry " + std::to_string(out.head.entries));
  if (head.empty()) return out;
  const auto since = campaign->entries_since(head);
  const bool found = since && since->has_value();
  out.sound = out.sound && found;
  out.lines.push_back(found ? "the given head is in the chain; " + std::to_string(**since) + " entries were added since"
                            : std::string{"THE GIVEN HEAD IS NOT IN THE CHAIN: this is not the file that it was taken from"});
  return out;
}

}  // namespace coldstroke::gui
