// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/html_report.hpp"

#include <algorithm>
#include <map>

#include "gui/report/figures.hpp"
#include "gui/report/metric_rows.hpp"
#include "gui/report/trace_figure.hpp"

namespace coldstroke::gui {
namespace {

constexpr const char* kStyle = R"(
:root{color-scheme:light}
body{font:10pt/1.4 "DejaVu Sans",sans-serif;color:#1E2329;background:#fff;max-width:1040px;margin:0 auto;padding:20px;
 font-variant-numeric:tabular-nums}
h1{font-size:15pt;margin:0 0 4px}h2{font-size:12pt;margin:22px 0 6px;border-bottom:1px solid #CFCBC2}
table{border-collapse:collapse;width:100%}td,th{text-align:left;padding:3px 8px;border-bottom:1px solid #CFCBC2;
 vertical-align:top}th{color:#565C66;font-weight:normal}td.n{text-align:right;white-space:nowrap}
.chip{display:inline-block;padding:1px 8px;font-weight:bold;white-space:nowrap}
.pass{background:#1A7A3A;color:#fff}.fail{background:#B3231B;color:#fff}.void{background:#F3C300;color:#1E2329}
.other{background:#646B76;color:#fff}.muted{color:#565C66}.banner{border:2px dashed #1E2329;padding:6px 10px;margin:8px 0}
svg{width:100%;height:auto;font:12px "DejaVu Sans",sans-serif}svg text{fill:#1E2329}svg .title{font-weight:bold}
svg path{fill:none}svg .grid{stroke:#CFCBC2;stroke-width:.6}svg .mark{stroke:#565C66;stroke-width:1;stroke-dasharray:3 3}
svg .trace{stroke-width:1.2;stroke-linejoin:round}svg .missing{fill:#646B76;fill-opacity:.25}
svg .saturated{fill:#F3C300;fill-opacity:.35}
.bar rect{fill:none;stroke:#565C66}.bar .ok{fill:#CFCBC2;stroke:none}.bar .at{stroke:#1E2329;stroke-width:2}
.bar .u{stroke:#1E2329;stroke-width:5;stroke-opacity:.35}
@media print{body{padding:0}section{break-inside:avoid}}
)";

std::string chip(const std::string& word) {
  const bool verdict = word == "pass" || word == "fail" || word == "void";
  const char* shape = word == "pass" ? "✓ " : word == "fail" ? "✗ " : word == "void" ? "□ " : "– ";
  return "<span class=\"chip " + (verdict ? word : std::string{"other"}) + "\">" + shape + escaped(word) + "</span>";
}

std::string margin_bar(const MarginScale& scale) {
  const auto x = [&](double value) { return decimal(4.0 + 112.0 * scale.place(value), 1); };
  const std::string from = x(scale.lower.value_or(scale.low)), to = x(scale.upper.value_or(scale.high));
  std::string svg =
      "<svg class=\"bar\" viewBox=\"0 0 120 16\" style=\"width:120px\" role=\"img\" aria-label=\"place between limits\">";
  svg += "<path d=\"M" + from + " 4H" + to + "V12H" + from + "Z\" class=\"ok\"/>";
  if (scale.lower) svg += "<path d=\"M" + from + " 1V15\" stroke=\"#565C66\"/>";
  if (scale.upper) svg += "<path d=\"M" + to + " 1V15\" stroke=\"#565C66\"/>";
  svg += "<path class=\"u\" d=\"M" + x(scale.interval_low) + " 8H" + x(scale.interval_high) + "\"/>";
  svg += "<path class=\"at\" d=\"M" + x(scale.value) + " 2V14\"/></svg>";
  return svg;
}

std::string metric_table(const ReportTrial& trial) {
  std::string html =
      "<table><tr><th>metric</th><th>value ± 95 %</th><th>unit</th><th>limit</th><th>place between limits</th>"
      "<th>verdict</th></tr>\n";
  for (const MetricRow& row : metric_rows(trial.result)) {
    html += "<tr><td>" + escaped(row.title) + "</td>";
    if (row.absent.empty())
      html += "<td class=\"n\">" + escaped(row.value) + "</td><td>" + escaped(row.unit) + "</td>";
    else
      html += "<td colspan=\"2\" class=\"muted\">absent: " + escaped(row.absent) + "</td>";
    html += "<td>" + escaped(row.limit) + "</td><td>" + (row.margin ? margin_bar(*row.margin) : "") + "</td><td>" +
            (row.verdict ? chip(analysis::word(*row.verdict)) : "") + "</td></tr>\n";
  }
  return html + "</table>\n";
}

std::string list(const std::string& title, const std::vector<std::string>& lines) {
  if (lines.empty()) return {};
  std::string html = "<h3>" + escaped(title) + "</h3><ul>\n";
  for (const std::string& line : lines) html += "<li>" + escaped(line) + "</li>\n";
  return html + "</ul>\n";
}

std::vector<std::string> reasons(const ReportTrial& trial) {
  std::vector<std::string> lines;
  for (const analysis::Judgement& one : trial.result.criteria)
    lines.push_back(one.criterion.name + ": " + std::string{analysis::word(one.verdict)} + ". " + one.reason);
  return lines;
}

std::vector<std::string> findings(const ReportTrial& trial) {
  std::vector<std::string> lines;
  for (const analysis::Finding& finding : trial.result.findings)
    lines.push_back((finding.channel.empty() ? "" : finding.channel + ": ") + finding.message);
  return lines;
}

std::vector<std::string> notes(const ReportTrial& trial) {
  std::vector<std::string> lines;
  for (const auto& note : trial.notes) lines.push_back(note.created_utc + ", " + note.author + ": " + note.text);
  return lines;
}

std::string trial_section(const ReportTrial& trial) {
  const std::string title = "Trial " + std::to_string(trial.row.number);
  std::string html = "<section><h2>" + title + " " + chip(verdict_word(trial)) + "</h2>\n<p>" + escaped(verdict_sentence(trial)) +
                     "</p>\n<p class=\"muted\">started " + escaped(trial.row.started_utc) +
                     "; origin: " + escaped(trial.row.origin) + "; setup SHA-256 " + escaped(trial.row.setup_sha256) +
                     (trial.traces.alignment_method.empty() ? "" : "; aligned by " + escaped(trial.traces.alignment_method)) +
                     "</p>\n" + list("Interlocks bypassed", trial.bypasses);
  const auto& marks = trial.result.marks;
  if (!stacking_order(trial.traces).empty())
    html += figure_svg(
        traces_figure(trial.traces, marks, stroke_stretch(trial.traces, marks), title + ": stacked traces around the stroke"));
  if (trial.judged) html += metric_table(trial) + list("Criteria", reasons(trial)) + list("Findings", findings(trial));
  html += list("Calibrations it was recorded with", calibrations_used(trial));
  return html + list("How the record was read", trial.decode_notes) + list("Notes", notes(trial)) + "</section>\n";
}

std::string run_table(const std::vector<ReportTrial>& trials) {
  constexpr const char* kColumns[] = {"impulse_newton_seconds", "peak_acceleration_g", "exit_speed_from_force_mps",
                                      "detector_latency_seconds"};
  std::string html = "<h2>Every trial</h2><table><tr><th>trial</th><th>started</th><th>verdict</th><th>detector</th>";
  for (const char* name : kColumns)
    html += "<th>" + escaped(metric_words(name)->title) + ", " + escaped(metric_words(name)->unit) + "</th>";
  html += "<th>why</th></tr>\n";
  for (const ReportTrial& trial : trials) {
    html += "<tr><td>" + std::to_string(trial.row.number) + "</td><td>" + escaped(trial.row.started_utc) + "</td><td>" +
            chip(verdict_word(trial)) + "</td><td>" + (trial.judged ? escaped(analysis::word(trial.result.outcome)) : "") +
            "</td>";
    for (const char* name : kColumns) {
      const analysis::Metric* metric = trial.judged ? trial.result.metric(name) : nullptr;
      const analysis::Measured* measured = metric == nullptr ? nullptr : metric->measured();
      const double per_unit = metric_words(name)->per_unit;
      html += "<td class=\"n\">" +
              (measured == nullptr
                   ? std::string{"absent"}
                   : with_uncertainty(measured->value * per_unit, 0.5 * (measured->high_95 - measured->low_95) * per_unit)) +
              "</td>";
    }
    html += "<td>" + escaped(verdict_sentence(trial));
    for (const std::string& bypass : trial.bypasses) html += "<br><b>" + escaped(bypass) + "</b>";
    html += "</td></tr>\n";
  }
  return html + "</table>\n";
}

}  // namespace

std::string tally_sentence(const std::vector<std::string>& verdicts) {
  std::map<std::string, std::size_t> count;
  for (const std::string& word : verdicts) ++count[word];
  const std::size_t pass = count["pass"], fail = count["fail"], voided = count["void"], judged = pass + fail;
  if (verdicts.empty()) return "No trial yet.";
  std::string text = std::to_string(pass) + " of " + std::to_string(judged) + (judged == 1 ? " judged trial" : " judged trials") +
                     " passed, " + std::to_string(fail) + " failed";
  if (voided > 0) text += "; " + std::to_string(voided) + " void (neither passed nor failed)";
  std::string rest;
  for (const auto& [word, n] : count)
    if (n > 0 && word != "pass" && word != "fail" && word != "void")
      rest += (rest.empty() ? "" : ", ") + std::to_string(n) + " " + word;
  if (!rest.empty()) text += "; " + rest;
  return text + ".";
}

std::vector<std::size_t> drawn_trials(const std::vector<ReportTrial>& trials) {
  std::vector<std::size_t> order;
  for (std::size_t k = trials.size(); k > 0; --k) order.push_back(k - 1);
  const auto rank = [&](std::size_t k) {
    const std::string word = verdict_word(trials[k]);
    return word == "fail" ? 0 : word == "void" ? 1 : word == "pass" ? 2 : 3;
  };
  std::stable_sort(order.begin(), order.end(), [&](auto a, auto b) { return rank(a) < rank(b); });
  if (order.size() > kDrawnTrials) order.resize(kDrawnTrials);
  return order;
}

std::string html_report(const ReportHead& head, const std::vector<ReportTrial>& trials) {
  std::vector<std::string> words;
  bool any_virtual = false;
  for (const ReportTrial& trial : trials) {
    words.push_back(verdict_word(trial));
    any_virtual = any_virtual || trial.row.virtual_rig;
  }
  std::string html =
      "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>Ejection report: " + escaped(head.campaign_name) +
      "</title><style>" + kStyle + "</style></head><body>\n<h1>Ejection report: " + escaped(head.campaign_name) +
      "</h1>\n<p class=\"muted\">" + escaped(head.purpose) + "</p>\n";
  if (any_virtual)
    html +=
        "<p class=\"banner\"><b>VIRTUAL RIG.</b> Some or all of these trials were simulated: no gas, no vehicle. They show "
        "that the bench works, not that a vehicle does.</p>\n";
  html += "<p><b>" + escaped(tally_sentence(words)) + "</b></p>\n";
  if (trials.size() > 1) html += run_table(trials);
  const auto shown = drawn_trials(trials);
  if (shown.size() < trials.size())
    html += "<p class=\"muted\">Traces of " + std::to_string(shown.size()) + " of " + std::to_string(trials.size()) +
            " trials are drawn below: fails first, then voids, then the newest.</p>\n";
  for (const std::size_t k : shown) html += trial_section(trials[k]);
  std::vector<std::string> cautions{
      "The verdict speaks of unarmed ejections with an inert vehicle under the stated setup and criteria, of nothing else.",
      "Software interlocks and this program's watchdogs are not a safety-rated function.",
      "Values are given with the half-width of their 95 % coverage interval; what could not be had is absent, never zero."};
  cautions.insert(cautions.end(), head.cautions.begin(), head.cautions.end());
  html += list("Cautions", cautions);
  html += "<p class=\"muted\">Campaign file " + escaped(head.campaign_file) + ". Written " + escaped(head.written_utc) +
          " by coldstroke " + escaped(head.program_version) + ".</p>\n</body></html>\n";
  return html;
}

}  // namespace coldstroke::gui
