// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/commands/trial_text.hpp"

#include <array>
#include <iomanip>
#include <sstream>

#include "daq/record/trial_archive.hpp"
#include "gui/report/figures.hpp"
#include "gui/report/metric_rows.hpp"

namespace coldstroke::gui {

namespace {

struct TableColumn {
  const char* metric;
  const char* title;
  int width;
};
constexpr std::array kColumns{
    TableColumn{"impulse_newton_seconds", "impulse N s", 16}, TableColumn{"peak_acceleration_g", "peak g", 14},
    TableColumn{"exit_speed_from_force_mps", "exit m/s", 16}, TableColumn{"droop_pascals", "droop bar", 16},
    TableColumn{"detector_latency_seconds", "latency ms", 15}};

/// Display width of UTF-8 text whose signs are all one column wide.
std::size_t columns_of(const std::string& text) {
  return static_cast<std::size_t>(
      std::ranges::count_if(text, [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

std::string padded(std::string text, int width) {
  const std::size_t have = columns_of(text);
  if (have < static_cast<std::size_t>(width)) text.append(static_cast<std::size_t>(width) - have, ' ');
  return text + "  ";
}

std::string cell(const analysis::TrialResult& result, const char* name) {
  const analysis::Metric* metric = result.metric(name);
  const analysis::Measured* measured = metric == nullptr ? nullptr : metric->measured();
  if (measured == nullptr) return "-";
  const MetricWords* words = metric_words(name);
  const double per_unit = words == nullptr ? 1.0 : words->per_unit;
  return (measured->at_least ? ">= " : "") +
         with_uncertainty(measured->value * per_unit, measured->standard_uncertainty * per_unit);
}

}  // namespace

void print_verdict_table(std::ostream& out, const std::vector<ReportTrial>& trials) {
  out << padded("trial", 5) << padded("verdict", 8) << padded("detector", 8);
  for (const TableColumn& column : kColumns) out << padded(column.title, column.width);
  out << "why\n";
  for (const ReportTrial& trial : trials) {
    out << padded(std::to_string(trial.row.number), 5) << padded(verdict_word(trial), 8)
        << padded(trial.judged ? word(trial.result.outcome) : "-", 8);
    for (const TableColumn& column : kColumns)
      out << padded(trial.judged ? cell(trial.result, column.metric) : "-", column.width);
    out << verdict_sentence(trial) << '\n';
  }
  for (const ReportTrial& trial : trials)
    for (const std::string& bypass : trial.bypasses) out << "trial " << trial.row.number << ": " << bypass << '\n';
  out << "Values with their standard uncertainty (one sigma).\n";
}

void print_trial(std::ostream& out, const ReportTrial& trial) {
  if (trial.row.number > 0) {
    out << "trial " << trial.row.number << (trial.row.virtual_rig ? " (virtual rig)" : "") << ", " << word(trial.row.status)
        << ", started " << trial.row.started_utc << ", " << trial.row.origin << '\n';
  }
  out << verdict_sentence(trial) << "\n";
  for (const std::string& bypass : trial.bypasses) out << bypass << '\n';
  out << '\n';
  if (trial.judged) {
    out << "verdict " << verdict_word(trial) << ", detector " << word(trial.result.outcome) << "\n\n";
    for (const MetricRow& row : metric_rows(trial.result)) {
      out << padded(row.title, 34) << padded(row.absent.empty() ? row.value + " " + row.unit : "absent", 24)
          << padded(row.limit, 20) << padded(row.verdict ? word(*row.verdict) : "", 5)
          << (row.absent.empty() ? row.reason : row.absent) << '\n';
    }
    for (const auto& finding : trial.result.findings)
      out << "finding: " << finding.kind << (finding.channel.empty() ? "" : " [" + finding.channel + "]") << ": "
          << finding.message << '\n';
  }
  if (trial.judged && trial.result.filters.empty()) out << "shown: every channel unfiltered, as every metric is\n";
  for (const auto& filter : trial.result.filters)
    out << "shown: " << filter.channel << (filter.refused ? " unfiltered, its rate does not allow CFC " : " through CFC ")
        << filter.frequency_class << "; every metric is of the unfiltered samples\n";
  for (const std::string& line : calibrations_used(trial)) out << "recorded with calibration: " << line << '\n';
  for (const std::string& note : trial.decode_notes) out << "record: " << note << '\n';
  for (const auto& note : trial.notes) out << "note " << note.created_utc << ' ' << note.author << ": " << note.text << '\n';
}

void print_budgets(std::ostream& out, const analysis::TrialResult& result) {
  out << "\nUncertainty budgets (JCGM 100:2008): input, its standard uncertainty, its share of the metric's, part of the "
         "variance\n";
  for (const analysis::Metric& metric : result.metrics) {
    const analysis::Measured* m = metric.measured();
    if (m == nullptr) continue;
    out << '\n'
        << metric.name << " = " << m->value << ' ' << metric.unit << ", standard uncertainty " << m->standard_uncertainty
        << ", 95 % from " << m->low_95 << " to " << (m->at_least ? std::string{"no upper end"} : std::to_string(m->high_95))
        << (m->beyond_calibration ? ", extrapolated beyond the calibrated span" : "") << "\n  by " << metric.method << '\n';
    const double variance = m->standard_uncertainty * m->standard_uncertainty;
    for (const analysis::Contribution& line : m->budget) {
      std::ostringstream uncertainty, share, part;
      uncertainty << line.standard_uncertainty << ' ' << line.unit;
      share << line.share << ' ' << metric.unit;
      part << std::fixed << std::setprecision(1) << (variance > 0.0 ? 100.0 * line.share * line.share / variance : 0.0) << " %";
      out << "  " << padded(line.source, 44) << padded(uncertainty.str(), 20) << padded(share.str(), 22) << part.str() << '\n';
    }
  }
}

nlohmann::ordered_json trial_json(const ReportTrial& trial) {
  nlohmann::ordered_json out;
  if (trial.row.number > 0) {
    out["trial"] = trial.row.number;
    out["status"] = word(trial.row.status);
    out["started_utc"] = trial.row.started_utc;
    out["virtual_rig"] = trial.row.virtual_rig;
    out["origin"] = trial.row.origin;
  }
  if (!trial.bypasses.empty()) out["bypasses"] = trial.bypasses;
  if (!trial.judged) {
    out["verdict"] = verdict_word(trial);
    out["why_not_judged"] = trial.why_not_judged;
    return out;
  }
  out.update(nlohmann::ordered_json::parse(daq::result_json(trial.result)));
  if (const auto used = calibrations_used(trial); !used.empty()) out["calibrations"] = used;
  if (!trial.decode_notes.empty()) out["record"] = trial.decode_notes;
  return out;
}

}  // namespace coldstroke::gui
