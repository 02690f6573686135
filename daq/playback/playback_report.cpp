// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/playback/playback_report.hpp"

namespace coldstroke::daq {
namespace {

void add_troubles(const StimulusAnswer& answer, const std::string& name, PlaybackReport& out) {
  if (answer.resets > 0)
    out.findings.push_back({"board_reset_midway", name,
                            "\"" + name + "\": the board reset " + std::to_string(answer.resets) +
                                " time(s) while it was played" + (answer.complete ? "; it was played again whole." : ".")});
  if (!answer.complete)
    out.findings.push_back({"stimulus_not_played", name, "\"" + name + "\" was not played whole. " + answer.trouble});
}

}  // namespace

Result<PlaybackReport> playback_report(const PlaybackRun& run, const analysis::DetectorSpec& spec) {
  const auto settings = settings_of(spec);
  if (!settings) return tl::unexpected{settings.error()};
  PlaybackReport out;
  out.stimuli = run.answers.size();
  for (std::size_t i = 0; i < run.answers.size(); ++i) {
    const StimulusAnswer& answer = run.answers[i];
    const Stimulus& stimulus = run.stimuli[i];
    add_troubles(answer, stimulus.name, out);
    out.refused += answer.refused;
    out.starved += answer.starved;
    out.resets += static_cast<std::uint64_t>(answer.resets);
    PlaybackLine line{stimulus.name, std::nullopt};
    if (answer.complete) {
      ++out.played;
      out.samples_sent += answer.sent;
      out.samples_played += answer.played;
      std::vector<std::int32_t> counts;
      counts.reserve(stimulus.counts.size());
      for (const auto& sample : stimulus.counts) counts.push_back(sample[static_cast<std::size_t>(spec.axis)]);
      auto agreement = compare_playback(*settings, counts, answer.changes);
      if (!agreement) {
        out.findings.push_back(
            {"firmware_differs", stimulus.name, agreement.error().what + " (" + agreement.error().where + ")."});
      } else {
        out.samples_compared += agreement->samples_compared;
        out.samples_differing += agreement->samples_differing;
        if (agreement->agrees()) ++out.agreeing;
        if (agreement->reported_decision) ++out.decided;
        if (auto finding = playback_finding(*agreement, stimulus.name, spec.board.sample_rate_hz))
          out.findings.push_back(std::move(*finding));
        line.agreement = *agreement;
      }
    }
    out.lines.push_back(std::move(line));
  }
  out.samples_lost = out.samples_sent - out.samples_played;
  return out;
}

Result<PlaybackReport> judge_playback(const PlaybackRun& run, const std::optional<analysis::DetectorSpec>& held_to) {
  const auto claimed = claimed_detector(run.claims);
  if (!held_to && !claimed) return tl::unexpected{claimed.error()};
  auto report = playback_report(run, held_to ? *held_to : *claimed);
  if (!report || !held_to) return report;
  if (!claimed) report->findings.push_back({"unknown_claim", "", claimed.error().what + "."});
  if (claimed)
    for (auto& finding : compare_claims(*claimed, *held_to)) report->findings.push_back(std::move(finding));
  return report;
}

std::string sentence(const PlaybackReport& report) {
  std::string out = std::to_string(report.played) + " of " + std::to_string(report.stimuli) + " stimuli played, " +
                    std::to_string(report.samples_lost) + " of " + std::to_string(report.samples_sent) + " samples lost; ";
  if (report.played == 0) return out + "nothing was played whole, so nothing is compared.";
  const bool all = report.agreeing == report.played;
  return out + "board and replay agree in " + (all ? "all " : std::to_string(report.agreeing) + " of ") +
         std::to_string(report.played) + " that were played.";
}

}  // namespace coldstroke::daq
