// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/commands/detector_text.hpp"

#include <algorithm>
#include <cstdio>
#include <iomanip>
#include <iostream>

#include "daq/detector/library_table.hpp"
#include "daq/detector/tolerance_job.hpp"
#include "gui/commands/command.hpp"
#include "gui/commands/progress_line.hpp"
#include "gui/report/figures.hpp"
#include "gui/window/detector/detector_words.hpp"
#include "gui/window/detector/map_drawing.hpp"

namespace coldstroke::gui {

namespace {

using analysis::ReplayOutcome;
using Json = nlohmann::ordered_json;

constexpr std::size_t kMostLines = 20;

std::string milliseconds(const std::optional<double>& seconds) {
  if (!seconds) return "-";
  char text[32];
  std::snprintf(text, sizeof text, "%.1f ms", *seconds * 1000.0);
  return text;
}

}  // namespace

Result<std::vector<analysis::Recording>> read_library(const std::string& file) {
  std::vector<std::string> left_out;
  auto library = daq::load_library(file, left_out, progress_line("reading"));
  for (const std::string& line : left_out) std::cerr << "left out: " << line << '\n';
  return library;
}

void print_library(std::ostream& out, std::span<const analysis::Recording> library) {
  std::size_t widest = 9, fire = 0;
  for (const auto& recording : library) widest = std::max(widest, recording.name.size());
  const int name = static_cast<int>(widest) + 2;
  out << std::left << std::setw(name) << "recording" << std::setw(18) << "label" << std::setw(14) << "event" << std::right
      << std::setw(10) << "seconds" << std::setw(10) << "Hz"
      << "  from\n";
  for (const auto& recording : library) {
    const auto samples = recording.along(analysis::Axis::z).size();
    fire += recording.label == analysis::Label::must_fire ? 1 : 0;
    out << std::left << std::setw(name) << recording.name << std::setw(18) << word(recording.label) << std::setw(14)
        << word(recording.event) << std::right << std::setw(10)
        << decimal(static_cast<double>(samples) / recording.sample_rate_hz, 3) << std::setw(10)
        << decimal(recording.sample_rate_hz, 1) << "  " << word(recording.provenance);
    if (!recording.source.empty()) out << ": " << recording.source;
    for (const auto& parameter : recording.parameters) out << ", " << parameter.name << ' ' << significant(parameter.value, 4);
    out << '\n';
  }
  out << library.size() << (library.size() == 1 ? " recording: " : " recordings: ") << fire << " must fire, "
      << library.size() - fire << " must stay silent\n";
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
    Json one{{"name", line.spec.name}, {"kind", word(line.spec.kind)}};
    one.update(cell_json(line.summary));
    Json findings = Json::array();
    for (const auto& finding : line.findings) findings.push_back({{"kind", finding.kind}, {"message", finding.message}});
    one["findings"] = std::move(findings);
    one["results"] = std::move(results);
    out["detectors"].push_back(std::move(one));
  }
  return out;
}

Result<bool> print_tolerances(std::ostream& out, std::span<const analysis::Recording> library,
                              std::span<const analysis::DetectorSpec> detectors) {
  for (const auto& spec : detectors) {
    const auto search = plan_tolerances(library, spec);
    if (!search) return tl::unexpected{search.error()};
    const auto progress = [&spec, told = std::size_t{0}](std::size_t done, std::size_t of) mutable {
      if (10 * done / of == told) return;
      told = 10 * done / of;
      std::cerr << spec.name << ": " << 10 * told << " % of the tolerances\n";
    };
    const auto found = daq::compute_tolerances(*search, 0, progress, stop_asked);
    if (!found) return false;
    out << spec.name << ": " << sentence(*found) << '\n';
  }
  return true;
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
    const auto result = judge(library.recordings[i], library.board.sample_rate_hz, analysis::decision_of(answers[i].changes));
    if (right(result.outcome))
      ++good;
    else
      wrong += "  " + name + ": \"" + library.recordings[i].name + "\" " + result_words(result) + "\n";
  }
  out << name << " (a library of your own): right on " << good << " of " << answers.size() << " recordings\n" << wrong;
  return wrong.empty();
}

void print_before_after(std::ostream& out, const BeforeAfterFigure& figure) {
  out << figure.answer.sentence << '\n';
  for (const std::string& line : figure.answer.numbers) out << "  " << line << '\n';
  out << "worst cases first:\n";
  for (const auto& one : figure.worst) out << "  " << one.words.toStdString() << '\n';
  print_findings(out, figure.findings);
}

}  // namespace coldstroke::gui
