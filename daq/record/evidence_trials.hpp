// SPDX-License-Identifier: GPL-3.0-or-later
//
// From a campaign file to trials as evidence: what was tested in each, how it came out, and under which charge.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "analysis/evidence/campaign_evidence.hpp"
#include "analysis/evidence/flight_handover.hpp"
#include "daq/record/campaign.hpp"

namespace coldstroke::daq {

/// What was tested, as parts that restart the count when they change: firmware, detector settings, rig, vehicle and mass, charge
/// band, criteria. Nothing else is in it: a recalibrated channel or another board of the same firmware restarts nothing.
/// `flight_identity`: JSON as stored with the trial, empty if the board never introduced itself.
[[nodiscard]] analysis::statistics::Configuration tested_configuration(const Setup& setup, const std::string& flight_identity);

/// The same, in the words of a flight configuration file, to be compared with one.
[[nodiscard]] std::vector<analysis::HandoverItem> tested_items(const Setup& setup, const std::string& flight_identity);

/// Mean (SI) of the channel with this role over the last `window_seconds` before release, or before first motion if no release is
/// known. Nothing without such a channel, or if every sample of that time is missing.
[[nodiscard]] std::optional<double> mean_before_release(const analysis::TraceSet& traces, const analysis::Marks& marks,
                                                        analysis::Role role, double window_seconds);

/// All trials in order. Decodes each trial's raw bytes for its charge and judges those without a stored result, so it takes tens
/// of milliseconds a trial. A trial that cannot be decoded is kept with what is known of it. One that was not judged and whose
/// flight board did not introduce itself is taken to have had the board of the trial before.
[[nodiscard]] Result<std::vector<analysis::EvidenceTrial>> read_evidence(const Campaign& campaign, const Progress& progress = {});

}  // namespace coldstroke::daq
