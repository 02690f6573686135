// SPDX-License-Identifier: GPL-3.0-or-later
//
// What a flight board says of itself, and the detector that this describes.
#pragma once

#include <string>
#include <vector>

#include "analysis/detector/detector_spec.hpp"
#include "analysis/result.hpp"
#include "analysis/trial/analyse.hpp"
#include "protocol/wire/message.hpp"

namespace coldstroke::daq {

/// The answers to a hello.
struct BoardClaims {
  wire::Identity identity;
  wire::StreamDescription stream;
  std::vector<wire::DetectorSetting> settings;
  bool operator==(const BoardClaims&) const = default;
};

/// What a board said of itself when a trial was recorded, from the JSON kept with it (docs/campaign-file.md, identity): its name,
/// its settings, and the first stream of three axes. Complaint: it never introduced itself, or without settings or such a stream.
[[nodiscard]] Result<BoardClaims> archived_claims(const std::string& identity_json);

/// The detector that the settings describe, with the board's own rate, word and range. Keys: detector, axis, window_ms or
/// window_samples, threshold_g or speed_mps, building_g, and where they apply required_samples, deadline_ms (0: none),
/// filter_shift, rest_g (left out: 1 along z, 0 across). filter_ms speaks of a filter ahead of the converter, which playback does
/// not pass through. Complaint, with the key: a detector that this program does not know, a missing key, a number that is none.
[[nodiscard]] Result<analysis::DetectorSpec> claimed_detector(const BoardClaims& claims);

/// Rate, word and range of a stream of accelerations.
[[nodiscard]] analysis::BoardSampling sampling_of(const wire::StreamDescription& stream);

/// Findings "claim_differs" for each number in which the settings claimed differ from those expected.
[[nodiscard]] std::vector<analysis::Finding> compare_claims(const analysis::DetectorSpec& claimed,
                                                            const analysis::DetectorSpec& expected);

}  // namespace coldstroke::daq
