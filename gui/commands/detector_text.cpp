// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/commands/detector_text.hpp"

#include <algorithm>
#include <cstdio>
#include <iomanip>

#include "analysis/statistics/comparison.hpp"

namespace coldstroke::gui {

namespace {

using analysis::ReplayOutcome;
using Json = nlohmann::ordered_json;

constexpr std::size_t kMostLines = 20;

bool right(ReplayOutcome outcome) { return outcome == ReplayOutcome::in_time || outcome == ReplayOutcome::silent; }

std::string milliseconds(const std::optional<double>& seconds) {
  if (!seconds) return "-";
  char text[32];
  std::snprintf(text, sizeof text, "%.1f ms", *seconds * 1000.0);
  return text;
}

std::string percent(double fraction) {
  char text[32];
  std::snprintf(text, sizeof text, "%.0f %%", fraction * 100.0);
  return text;
}

std::string result_words(const analysis::RecordingResult& result) {
  return std::string{word(result.outcome)} + (result.latency_seconds ? " (" + milliseconds(result.latency_seconds) + ")" : "");
}

}  // namespace

void print_findings(std::ostream& out, std::span<const analysis::Finding> findings) {
  for (const auto& finding : findings) out << "finding " << finding.kind << ": " << finding.message << '\n';
}

void print_side_by_side(std::ostream& out, std::span<const analysis::DetectorLine> lines,
                        std::span<const analysis::Recording> library) {
  std::size_t widest = 8;
  for (const auto& line : lines) widest = std::max(widest, line.spec.name.size());
  const int name = static_cast<int>(widest) + 2;
  out << library.size() << " recordings\n"
      << std::left << std::setw(name) << "detector" << std::setw(16) << "outcome" << std::right << std::setw(8) << "in time"
      << std::setw(6) << "late" << std::setw(8) << "missed" << std::setw(7) << "early" << std::setw(7) << "false" << std::setw(8)
      << "silent" << std::setw(13) << "latency max" << std::setw(13) << "time margin" << '\n';
  for (const auto& line : lines) {
    const analysis::MapCell& c = line.summary;
    out << std::left << std::setw(name) << line.spec.name << std::setw(16) << word(c.outcome) << std::right << std::setw(8)
        << c.in_time << std::setw(6) << c.late << std::setw(8) << c.missed << std::setw(7) << c.early << std::setw(7)
        << c.false_decisions << std::setw(8) << c.silent << std::setw(13) << milliseconds(c.latency_max_seconds) << std::setw(13)
        << milliseconds(c.time_margin_seconds) << '\n';
  }
  for (const auto& line : lines) {
    std::size_t wrong = 0;
    for (std::size_t i = 0; i < line.results.size(); ++i) {
      if (right(line.results[i].outcome) || ++wrong > kMostLines) continue;
      out << "  " << line.spec.name << ": \"" << library[i].name << "\" " << result_words(line.results[i]) << '\n';
    }
    if (wrong > kMostLines) out << "  " << line.spec.name << ": and " << wrong - kMostLines << " more\n";
  }
  if (!lines.empty()) print_findings(out, lines.front().findings);
}

Json side_by_side_json(std::span<const analysis::DetectorLine> lines, std::span<const analysis::Recording> library) {
  Json out{{"recordings", library.size()}, {"detectors", Json::array()}};
  for (const auto& line : lines) {
    Json results = Json::array();
    for (std::size_t i = 0; i < line.results.size(); ++i) {
      results.push_back(
          {{"recording", library[i].name}, {"label", word(library[i].label)}, {"outcome", word(line.results[i].outcome)}});
      if (line.results[i].decision_index) results.back()["decision_sample"] = *line.results[i].decision_index;
      if (line.results[i].latency_seconds) results.back()["latency_seconds"] = *line.results[i].latency_seconds;
    }
    const auto& c = line.summary;
    Json one{{"name", line.spec.name},
             {"kind", word(line.spec.kind)},
             {"outcome", word(c.outcome)},
             {"in_time", c.in_time},
             {"late", c.late},
             {"missed", c.missed},
             {"early", c.early},
             {"false", c.false_decisions},
             {"silent", c.silent},
             {"level_margin", c.level_margin}};
    if (c.latency_max_seconds) one["latency_max_seconds"] = *c.latency_max_seconds;
    if (c.time_margin_seconds) one["time_margin_seconds"] = *c.time_margin_seconds;
    Json findings = Json::array();
    for (const auto& finding : line.findings) findings.push_back({{"kind", finding.kind}, {"message", finding.message}});
    one["findings"] = std::move(findings);
    one["results"] = std::move(results);
    out["detectors"].push_back(std::move(one));
  }
  return out;
}

bool print_foreign_line(std::ostream& out, const std::string& name, const analysis::PreparedLibrary& library,
                        std::span<const daq::ForeignAnswer> answers) {
  std::size_t good = 0;
  std::string wrong;
  for (std::size_t i = 0; i < answers.size(); ++i) {
    if (answers[i].finding) {
      wrong += "  finding " + answers[i].finding->kind + ": " + answers[i].finding->message + "\n";
      continue;
    }
    const auto result = judge(library.recordings[i], library.board.sample_rate_hz, daq::decision_of(answers[i].changes));
    if (right(result.outcome))
      ++good;
    else
      wrong += "  " + name + ": \"" + library.recordings[i].name + "\" " + result_words(result) + "\n";
  }
  out << name << " (a library of your own): right on " << good << " of " << answers.size() << " recordings\n" << wrong;
  return wrong.empty();
}

void print_recommendation(std::ostream& out, const analysis::Recommendation& recommendation) {
  out << recommendation.reason << '\n';
  if (recommendation.proposal) {
    const auto& m = recommendation.proposal->margins;
    out << "margins: weaker " << percent(m.weaker) << ", quieter " << percent(m.quieter) << ", sooner " << percent(m.sooner)
        << "; latest safe decision " << milliseconds(recommendation.proposal->latest_safe_decision_seconds)
        << " after first motion\n";
  }
  for (const std::string& line : recommendation.missing_evidence) out << "missing: " << line << '\n';
  out << "This is arithmetic on the recordings given. A person decides.\n";
}

Result<void> print_before_after(std::ostream& out, const analysis::BeforeAfter& pairs, const std::string& before,
                                const std::string& after, double margin_seconds, bool json) {
  namespace st = analysis::statistics;
  st::ComparedSide first{after, 0, 0, {}}, second{before, 0, 0, {}};
  st::PairedSides same{after, before, {}, {}};
  for (const auto& pair : pairs.pairs) {
    if (pair.label != analysis::Label::must_fire) continue;
    const auto side = [&](const analysis::RecordingResult& result, st::ComparedSide& into,
                          std::vector<std::optional<double>>& list) {
      ++into.trials;
      if (result.outcome == ReplayOutcome::in_time) ++into.hits;
      const bool timed = result.latency_seconds && *result.latency_seconds >= 0.0;
      if (timed) into.values.push_back(*result.latency_seconds * 1000.0);
      list.push_back(timed ? std::optional{*result.latency_seconds * 1000.0} : std::nullopt);
    };
    side(pair.after, first, same.first);
    side(pair.before, second, same.second);
  }
  const st::ComparisonRequest request{0.95, margin_seconds * 1000.0, "latency", "ms"};
  const auto comparison = st::compare_configurations(first, second, request);
  if (!comparison) return tl::unexpected{comparison.error()};
  const auto paired = st::compare_on_same_stimuli(same, request);
  if (!paired) return tl::unexpected{paired.error()};
  if (json) {
    Json cases = Json::array();
    for (const std::size_t i : pairs.worst_first)
      cases.push_back({{"recording", pairs.pairs[i].name},
                       {"before", word(pairs.pairs[i].before.outcome)},
                       {"after", word(pairs.pairs[i].after.outcome)}});
    out << Json{{"sentence", comparison->sentence},
                {"numbers", comparison->numbers},
                {"paired_sentence", paired->sentence},
                {"paired_numbers", paired->numbers},
                {"right_before", pairs.right_before},
                {"wrong_before", pairs.wrong_before},
                {"right_after", pairs.right_after},
                {"wrong_after", pairs.wrong_after},
                {"mended", pairs.mended},
                {"broken", pairs.broken},
                {"worst_first", std::move(cases)}}
               .dump(1)
        << '\n';
    return {};
  }
  out << comparison->sentence << '\n' << paired->sentence << '\n';
  out << "all recordings: right " << pairs.right_before << " before and " << pairs.right_after << " after; " << pairs.mended
      << " mended, " << pairs.broken << " broken\n";
  for (const std::string& line : comparison->numbers) out << "  " << line << '\n';
  for (const std::string& line : paired->numbers) out << "  on the same recordings: " << line << '\n';
  out << "worst cases first:\n";
  for (std::size_t i = 0; i < std::min<std::size_t>(pairs.worst_first.size(), 8); ++i) {
    const auto& pair = pairs.pairs[pairs.worst_first[i]];
    out << "  \"" << pair.name << "\": " << result_words(pair.before) << ", then " << result_words(pair.after) << '\n';
  }
  return {};
}

}  // namespace coldstroke::gui
