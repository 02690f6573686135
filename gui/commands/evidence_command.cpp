// SPDX-License-Identifier: GPL-3.0-or-later
//
// Verbs on what a campaign shows: plan, weigh, compare, void.
#include <iomanip>
#include <iostream>
#include <memory>
#include <sstream>

#include "daq/record/evidence_trials.hpp"
#include "gui/commands/command.hpp"
#include "gui/commands/progress_line.hpp"
#include "gui/report/campaign_file_source.hpp"
#include "gui/report/comparison_sheet.hpp"
#include "gui/report/figures.hpp"
#include "gui/report/html_report.hpp"
#include "gui/report/metric_figure.hpp"

namespace coldstroke::gui {
namespace {

using namespace analysis::statistics;

/// Rounded down: a bound is never flattered.
std::string bound(double value) { return decimal(std::floor(value * 1.0e4) * 1.0e-4, 4); }

Result<std::vector<analysis::EvidenceTrial>> read(const std::string& file) {
  auto campaign = daq::Campaign::open_read_only(file);
  if (!campaign) return tl::unexpected{campaign.error()};
  return daq::read_evidence(*campaign, progress_line("weighing"));
}

Exit refuse(const Complaint& complaint) {
  print_complaint(complaint);
  return Exit::bad_input;
}

struct PlanArguments {
  std::string campaign;
  double reliability = 0.90, confidence = 0.95;
  std::int64_t most_failures = 2;
};

Result<void> print_plans(const PlanArguments& asked) {
  constexpr double kTruths[] = {0.90, 0.95, 0.99, 0.995, 0.999};
  const auto plans = offered_plans({asked.reliability, asked.confidence}, asked.most_failures, kTruths);
  if (!plans) return tl::unexpected{plans.error()};
  std::cout << "Plans that show " << asked.reliability << " at " << 100.0 * asked.confidence
            << " %, and how often a detector of a given true reliability passes them:\n"
            << "trials  failures allowed";
  for (const double truth : kTruths) std::cout << std::setw(9) << truth;
  std::cout << '\n';
  for (const OfferedPlan& plan : *plans) {
    std::cout << std::setw(6) << plan.plan.trials << std::setw(18) << plan.plan.failures_allowed;
    for (const OperatingPoint& chance : plan.chances)
      std::cout << std::setw(8) << decimal(100.0 * chance.pass_probability, 1) << '%';
    std::cout << '\n';
  }
  std::cout << "Choose before the first trial, and judge at the planned number.\n";
  return {};
}

Result<void> print_outlook(const std::string& file) {
  auto trials = read(file);
  if (!trials) return tl::unexpected{trials.error()};
  const auto weighed = analysis::weigh_campaign(*trials);
  if (!weighed) return tl::unexpected{weighed.error()};
  std::cout << weighed->statement.sentence << '\n';
  for (const std::string& note : weighed->statement.notes) std::cout << "  " << note << '\n';
  if (weighed->count.runs.empty()) return {};
  const TrialRun& run = weighed->count.runs.back();
  constexpr std::int64_t kMore[] = {0, 1, 5, 10, 20, 30, 60};
  constexpr double kConfidences[] = {0.90, 0.95};
  const auto rows = analysis::outlook(run.judged(), run.fails, run.judged() == 0 ? std::span{kMore}.subspan(1) : std::span{kMore},
                                      kConfidences);
  if (!rows) return tl::unexpected{rows.error()};
  std::cout << "With so many more passes in a row the campaign would show\n  more   at 90 %   at 95 %\n";
  for (const analysis::Outlook& row : *rows)
    std::cout << std::setw(6) << row.more_passes << std::setw(9) << bound(row.bounds[0].at_least) << std::setw(9)
              << bound(row.bounds[1].at_least) << '\n';
  return {};
}

struct CompareArguments {
  std::string first, second, html;
  TrialComparisonRequest request;
};

Result<void> print_worst(const TrialsOfSide& side, const std::string& metric) {
  const auto campaign = daq::Campaign::open_read_only(side.campaign);
  if (!campaign) return tl::unexpected{campaign.error()};
  std::cout << "worst of " << side.compared.label << ":\n";
  for (const std::int64_t number : side.worst) {
    const auto trial = read_report_trial(*campaign, number);
    if (!trial) return tl::unexpected{trial.error()};
    std::cout << "  " << worst_line(*trial, metric) << '\n';
  }
  return {};
}

Result<void> print_comparison(const CompareArguments& asked) {
  const auto second = asked.second.empty() ? std::nullopt : std::optional<std::filesystem::path>{asked.second};
  const auto compared = compare_trials(asked.first, second, asked.request, progress_line("weighing"));
  if (!compared) return tl::unexpected{compared.error()};
  std::cout << compared->answer.sentence << '\n';
  for (const std::string& line : compared->answer.numbers) std::cout << "  " << line << '\n';
  for (const TrialsOfSide* side : {&compared->first, &compared->second})
    if (auto printed = print_worst(*side, asked.request.metric); !printed) return printed;
  if (asked.html.empty()) return {};
  const auto sheet = comparison_sheet(*compared, asked.request);
  if (!sheet) return tl::unexpected{sheet.error()};
  return write_report(asked.html, sheet_html(*sheet));
}

Result<void> print_weighed(const std::string& file) {
  auto trials = read(file);
  if (!trials) return tl::unexpected{trials.error()};
  const auto weighed = analysis::weigh_campaign(*trials);
  if (!weighed) return tl::unexpected{weighed.error()};
  std::cout << weighed->statement.sentence << '\n';
  for (const std::string& note : weighed->statement.notes) std::cout << "  " << note << '\n';
  for (const auto& metric : weighed->metrics) {
    std::cout << metric.asked.limit.quantity << ", " << metric.values.size() << " values\n";
    if (metric.values.empty()) continue;
    for (const std::string& line : drift_sentences(metric, *trials)) std::cout << "  " << line << '\n';
  }
  return {};
}

struct VoidArguments {
  std::string campaign, reason, person;
  std::int64_t trial = 0;
};

Result<void> void_trial(const VoidArguments& asked) {
  auto campaign = daq::Campaign::open_or_create(asked.campaign, "");
  if (!campaign) return tl::unexpected{campaign.error()};
  if (auto done = campaign->void_by_hand(asked.trial, asked.person, asked.reason); !done) return done;
  std::cout
      << "trial " << asked.trial << " is void: " << asked.reason << " (" << asked.person << ")\n"
      << "It stays in every list, with what it had been judged, and the bound is also given for the case that it had failed.\n";
  return {};
}

Exit finish(const Result<void>& done) { return done ? Exit::done : refuse(done.error()); }

}  // namespace

void add_plan(CLI::App& app, Exit& exit) {
  auto asked = std::make_shared<PlanArguments>();
  CLI::App* verb = app.add_subcommand("plan", "How many trials a goal needs; with a campaign, what more passes would prove");
  verb->add_option("campaign", asked->campaign, "Campaign file")->check(CLI::ExistingFile);
  verb->add_option("--reliability", asked->reliability, "Part of trials decided in time")->capture_default_str();
  verb->add_option("--confidence", asked->confidence, "Confidence of the statement")->capture_default_str();
  verb->add_option("--failures", asked->most_failures, "Plans with up to so many failures allowed")
      ->check(CLI::Range(0, 20))
      ->capture_default_str();
  verb->footer(std::string{kExitCodes});
  verb->callback([asked, &exit] {
    exit = finish(print_plans(*asked));
    if (exit == Exit::done && !asked->campaign.empty()) exit = finish(print_outlook(asked->campaign));
  });
}

void add_weigh(CLI::App& app, Exit& exit) {
  auto file = std::make_shared<std::string>();
  CLI::App* verb = app.add_subcommand("weigh", "What a campaign shows since its last change: demonstration, limits, drift");
  verb->add_option("campaign", *file, "Campaign file")->required()->check(CLI::ExistingFile);
  verb->footer(std::string{kExitCodes});
  verb->callback([file, &exit] { exit = finish(print_weighed(*file)); });
}

void add_compare(CLI::App& app, Exit& exit) {
  auto asked = std::make_shared<CompareArguments>();
  CLI::App* verb = app.add_subcommand("compare", "Compare two campaigns, or the last two configurations of one");
  verb->add_option("first", asked->first, "Campaign file")->required()->check(CLI::ExistingFile);
  verb->add_option("second", asked->second, "Campaign file; without it the last two configurations of the first")
      ->check(CLI::ExistingFile);
  verb->add_option("--metric", asked->request.metric, "Metric by its machine-readable name")->capture_default_str();
  verb->add_option("--margin", asked->request.margin,
                   "A shift of at most this is of no consequence, in the shown unit (ms, g, m/s); fixed before the trials")
      ->check(CLI::PositiveNumber);
  verb->add_option("--to", asked->html, "Also write it as one HTML file, with the traces of the worst trials");
  verb->footer(std::string{kExitCodes});
  verb->callback([asked, &exit] { exit = finish(print_comparison(*asked)); });
}

void add_void(CLI::App& app, Exit& exit) {
  auto asked = std::make_shared<VoidArguments>();
  CLI::App* verb = app.add_subcommand("void", "Set a trial's verdict aside, for good and with a reason that stays visible");
  verb->add_option("campaign", asked->campaign, "Campaign file")->required()->check(CLI::ExistingFile);
  verb->add_option("--trial", asked->trial, "Number of the trial")->required()->check(CLI::PositiveNumber);
  verb->add_option("--reason", asked->reason, "A physical cause found in other records than the suspect value")->required();
  verb->add_option("--by", asked->person, "Who says so")->required();
  verb->footer(std::string{kExitCodes});
  verb->callback([asked, &exit] { exit = finish(void_trial(*asked)); });
}

}  // namespace coldstroke::gui
