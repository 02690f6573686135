// SPDX-License-Identifier: GPL-3.0-or-later
//
// Verbs on what a campaign shows: plan, weigh, compare, void.
#include <algorithm>
#include <iomanip>
#include <iostream>
#include <memory>

#include "daq/record/campaign.hpp"
#include "gui/commands/command.hpp"
#include "gui/commands/progress_line.hpp"
#include "gui/report/comparison_sheet.hpp"
#include "gui/report/evidence_words.hpp"
#include "gui/report/html_report.hpp"
#include "gui/report/metric_figure.hpp"
#include "gui/report/whole_file.hpp"

namespace coldstroke::gui {
namespace {

Exit refuse(const Complaint& complaint) {
  print_complaint(complaint);
  return Exit::bad_input;
}

/// Columns as wide as their widest cell, set to the right.
void print_table(const SheetTable& table) {
  std::vector<std::size_t> widths;
  for (std::size_t c = 0; c < table.head.size(); ++c) {
    widths.push_back(table.head[c].size());
    for (const auto& row : table.rows) widths[c] = std::max(widths[c], row[c].size());
  }
  const auto print = [&](const std::vector<std::string>& row) {
    for (std::size_t c = 0; c < row.size(); ++c) std::cout << std::setw(static_cast<int>(widths[c]) + 2) << row[c];
    std::cout << '\n';
  };
  print(table.head);
  for (const auto& row : table.rows) print(row);
}

Result<void> print_plans(const PlanWish& wish) {
  const auto plans = plan_table(wish);
  if (!plans) return tl::unexpected{plans.error()};
  std::cout << "Plans that show " << wish.reliability << " at " << 100.0 * wish.confidence
            << " %, and how often a detector of a given true reliability passes them:\n";
  print_table(*plans);
  std::cout << "Choose before the first trial, and judge at the planned number.\n";
  return {};
}

void print_statement(const WeighedCampaign& weighed) {
  std::cout << weighed.evidence.statement.sentence << '\n';
  for (const std::string& note : weighed.evidence.statement.notes) std::cout << "  " << note << '\n';
}

Result<void> print_outlook(const std::string& file) {
  const auto weighed = read_weighed(file, progress_line("weighing"));
  if (!weighed) return tl::unexpected{weighed.error()};
  const auto outlook = outlook_table(weighed->evidence);
  if (!outlook) return tl::unexpected{outlook.error()};
  print_statement(*weighed);
  if (outlook->rows.empty()) return {};
  std::cout << "With so many more passes in a row the campaign would show\n";
  print_table(*outlook);
  return {};
}

Result<void> print_comparison(const ComparisonWish& wish, const std::string& html) {
  const auto compared = compare_campaigns(wish, progress_line("weighing"));
  if (!compared) return tl::unexpected{compared.error()};
  std::cout << compared->answer.sentence << '\n';
  for (const std::string& line : lines_under(*compared)) std::cout << "  " << line << '\n';
  if (html.empty()) return {};
  const auto sheet = comparison_sheet(*compared);
  if (!sheet) return tl::unexpected{sheet.error()};
  return write_whole(html, sheet_html(*sheet));
}

Result<void> print_weighed(const std::string& file) {
  const auto weighed = read_weighed(file, progress_line("weighing"));
  if (!weighed) return tl::unexpected{weighed.error()};
  print_statement(*weighed);
  for (const auto& metric : weighed->evidence.metrics) {
    std::cout << metric.asked.limit.quantity << ", " << metric.values.size() << " values\n";
    if (metric.values.empty()) continue;
    for (const std::string& line : drift_sentences(metric)) std::cout << "  " << line << '\n';
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
  auto wish = std::make_shared<PlanWish>();
  auto campaign = std::make_shared<std::string>();
  CLI::App* verb = app.add_subcommand("plan", "How many trials a goal needs; with a campaign, what more passes would prove");
  verb->add_option("campaign", *campaign, "Campaign file")->check(CLI::ExistingFile);
  verb->add_option("--reliability", wish->reliability, "Part of trials that pass")->capture_default_str();
  verb->add_option("--confidence", wish->confidence, "Confidence of the statement")->capture_default_str();
  verb->add_option("--truth", wish->truth, "A detector of this true reliability: how often does it pass each plan?");
  verb->add_option("--failures", wish->most_failures, "Plans with up to so many failures allowed")
      ->check(CLI::Range(0, 20))
      ->capture_default_str();
  verb->footer(std::string{kExitCodes});
  verb->callback([wish, campaign, &exit] {
    exit = finish(print_plans(*wish));
    if (exit == Exit::done && !campaign->empty()) exit = finish(print_outlook(*campaign));
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
  auto wish = std::make_shared<ComparisonWish>();
  auto html = std::make_shared<std::string>();
  CLI::App* verb = app.add_subcommand("compare", "Compare two campaigns, or the last two configurations of one");
  verb->add_option("first", wish->first, "Campaign file")->required()->check(CLI::ExistingFile);
  verb->add_option("second", wish->second, "Campaign file; without it the last two configurations of the first")
      ->check(CLI::ExistingFile);
  verb->add_option("--metric", wish->metric, "Metric by its machine-readable name")->capture_default_str();
  verb->add_option("--margin", wish->margin,
                   "A shift of at most this is of no consequence, in the shown unit (ms, g, m/s); fixed before the trials")
      ->check(number_within(kSmallest, kLargest));
  verb->add_option("--to", *html, "Also write it as one HTML file, with the traces of the worst trials");
  verb->footer(std::string{kExitCodes});
  verb->callback([wish, html, &exit] { exit = finish(print_comparison(*wish, *html)); });
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
