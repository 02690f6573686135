// SPDX-License-Identifier: GPL-3.0-or-later
//
// The library inside a campaign: its trials, and the labelled recordings kept beside them (docs/campaign-file.md, stimulus).
#pragma once

#include <cstdint>
#include <filesystem>
#include <span>
#include <string>
#include <vector>

#include "analysis/detector/recording.hpp"
#include "analysis/result.hpp"
#include "analysis/trial/trace.hpp"
#include "daq/record/campaign.hpp"
#include "daq/record/evidence_trials.hpp"

namespace coldstroke::daq {

/// The vehicle's acceleration among these traces as a recording along z, with neither label nor source. Complaint: there is none,
/// or samples of it are missing.
[[nodiscard]] Result<analysis::Recording> recording_of_traces(const analysis::TraceSet& traces, const std::string& name);

/// Every recorded trial of a campaign whose vehicle moved and whose acceleration was kept, as must-fire recordings; `only` 0:
/// all, else that one, which then may be without motion: it was recorded without gas and must stay silent. Trials that cannot
/// serve are named in `left_out`, each with its reason.
[[nodiscard]] Result<std::vector<analysis::Recording>> recordings_of_campaign(const std::filesystem::path& campaign,
                                                                              std::int64_t only,
                                                                              std::vector<std::string>& left_out,
                                                                              const Progress& progress = {});

/// The recordings kept beside the trials, oldest first. What another program wrote without what a replay needs is named in
/// `left_out`.
[[nodiscard]] Result<std::vector<analysis::Recording>> kept_recordings(const Campaign& campaign,
                                                                       std::vector<std::string>& left_out);

/// A campaign's whole library: its trials, then what is kept beside them.
[[nodiscard]] Result<std::vector<analysis::Recording>> library_of_campaign(const std::filesystem::path& campaign,
                                                                           std::vector<std::string>& left_out,
                                                                           const Progress& progress = {});

/// Whether a recording of this name could be kept in that campaign, or in a new one of this name: to be asked before it is made.
[[nodiscard]] Result<void> check_place_for(const std::filesystem::path& campaign, const std::string& name);

/// Keeps these recordings, along the tube (z), in a campaign for good; a file that is not there is begun. Returns what
/// check_library says of the campaign's library with them. Nothing is kept if that is a complaint: no recording, a name that the
/// library has already, the same samples labelled both ways, no sample along the tube. A write that fails midway leaves what was
/// written before it.
[[nodiscard]] Result<std::vector<analysis::Finding>> keep_recordings(const std::filesystem::path& campaign,
                                                                     std::span<const analysis::Recording> recordings);

}  // namespace coldstroke::daq
