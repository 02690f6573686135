// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/detector/detector_words.hpp"

#include <algorithm>

#include "analysis/statistics/wording.hpp"

namespace coldstroke::gui {

namespace st = analysis::statistics;

void print_findings(std::ostream& out, std::span<const analysis::Finding> findings, std::size_t most_of_a_kind) {
  std::vector<std::pair<std::string, std::size_t>> kinds;  // in the order they come up
  for (const auto& finding : findings) {
    auto seen = std::ranges::find(kinds, finding.kind, &std::pair<std::string, std::size_t>::first);
    if (seen == kinds.end()) seen = kinds.insert(kinds.end(), {finding.kind, 0});
    if (++seen->second > most_of_a_kind) continue;
    out << "finding " << finding.kind;
    if (!finding.channel.empty()) out << ", \"" << finding.channel << '"';
    out << ": " << finding.message << '\n';
  }
  for (const auto& [kind, count] : kinds)
    if (count > most_of_a_kind) out << "finding " << kind << ": and " << count - most_of_a_kind << " more\n";
}

void print_recommendation(std::ostream& out, const analysis::Recommendation& recommendation) {
  const auto percent = [](double fraction) { return st::fixed(fraction * 100.0, 0) + " %"; };
  out << recommendation.reason << '\n';
  if (recommendation.proposal) {
    const auto& m = recommendation.proposal->margins;
    out << "margins: weaker " << percent(m.weaker) << ", quieter " << percent(m.quieter) << ", sooner " << percent(m.sooner)
        << "; latest safe decision " << st::fixed(recommendation.proposal->latest_safe_decision_seconds * 1000.0, 1)
        << " ms after first motion\n";
  }
  for (const std::string& line : recommendation.missing_evidence) out << "missing: " << line << '\n';
  out << "This is arithmetic on the recordings given. A person decides.\n";
}

void print_playback(std::ostream& out, const daq::PlaybackReport& report, const daq::PlaybackRun& run,
                    std::size_t most_of_a_kind) {
  out << "PLAYBACK, no trial: firmware " << run.claims.identity.firmware_name << ' ' << run.claims.identity.firmware_version
      << '\n'
      << sentence(report) << '\n'
      << report.samples_compared << " samples compared, " << report.samples_differing << " differ; the board decided on "
      << report.decided << " stimuli; " << report.refused << " samples sent again after a loss on the line; " << report.starved
      << " ticks waited for the host; " << report.resets << " resets; " << st::fixed(run.elapsed_seconds, 1) << " s\n";
  print_findings(out, report.findings, most_of_a_kind);
}

}  // namespace coldstroke::gui
