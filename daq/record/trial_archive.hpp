// SPDX-License-Identifier: GPL-3.0-or-later
//
// From an archived trial's raw bytes back to traces and a result. The live bench judges through this very path, so that
// judging an archived trial again gives the same bits.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "analysis/trial/analyse.hpp"
#include "daq/record/campaign.hpp"
#include "daq/record/flight_log.hpp"
#include "daq/record/recalibration.hpp"

namespace coldstroke::daq {

struct DecodedTrial {
  analysis::TraceSet traces;       ///< time line: rig board clock, zero at the start of the record
  std::vector<std::string> notes;  ///< what decoding found: losses, read-back, alignment
  std::string alignment_method;
};

/// Decodes one trial. Complains if the trial has no rig samples at all. `log`: the flight board's own, which then stands for what
/// came over its link; complains if it cannot be placed.
[[nodiscard]] Result<DecodedTrial> decode_trial(const std::vector<RawRow>& raw, const Setup& setup,
                                                const FlightLog* log = nullptr);

/// The traces of an archived trial: decoded from its raw bytes, or read again from the files it was imported from.
[[nodiscard]] Result<DecodedTrial> archived_traces(const Campaign& campaign, std::int64_t trial, const Setup& setup);

/// What an archived trial is judged with: the setup stored with it and the calibrations corrected since.
struct SetupInForce {
  Setup setup;
  std::vector<std::string> corrections;  ///< a sentence each, oldest first
};
/// `more`: one correction on top of those that are kept.
[[nodiscard]] Result<SetupInForce> setup_in_force(const Campaign& campaign, std::int64_t trial,
                                                  const Recalibration* more = nullptr);

/// decode + analyse for one archived trial, with the setup in force.
struct JudgedTrial {
  analysis::TrialSetup setup;  ///< judged with
  analysis::TraceSet traces;
  analysis::TrialResult result;
  std::vector<std::string> notes;
};
/// `other`: judge with this setup instead of the stored one.
[[nodiscard]] Result<JudgedTrial> judge_trial(const Campaign& campaign, std::int64_t trial, const Setup* other = nullptr);
/// Judges with `correction` on top of what is in force; nothing is written.
[[nodiscard]] Result<JudgedTrial> judge_recalibrated(const Campaign& campaign, std::int64_t trial,
                                                     const Recalibration& correction);
/// Judges the trial with the flight board's own log, keeps the log with the trial and adds the result beside the old ones.
/// Nothing is written if the log is refused. Complains of a trial that was stopped before release.
[[nodiscard]] Result<JudgedTrial> attach_flight_log(Campaign& campaign, std::int64_t trial, const FlightLog& log);

/// The machine-readable form of a result (docs/methods.md), one JSON object; doubles with full precision.
[[nodiscard]] std::string result_json(const analysis::TrialResult& result);
/// Inverse, for showing stored results. Complains if the text is not such a result.
[[nodiscard]] Result<analysis::TrialResult> parse_result_json(const std::string& text);

}  // namespace coldstroke::daq
