// SPDX-License-Identifier: GPL-3.0-or-later
//
// The board's detector, sample by sample, in integers: the same decision at the same sample as the C reference, which a test
// holds it to (tests/analysis/detector/board_agreement_test.cpp). This is the straightforward replay that every faster method is
// compared with.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "analysis/detector/detector_spec.hpp"

namespace coldstroke::analysis {

/// Single-pole low-pass in integers: level += x - floor(level / 2^shift), output floor(level / 2^shift), from level 0.
class IntegerLowPass {
 public:
  explicit IntegerLowPass(unsigned shift) : shift_{shift} {}
  [[nodiscard]] std::int32_t feed(std::int32_t x);

 private:
  unsigned shift_;
  std::int64_t level_ = 0;
};

/// A sample less rest, kept inside 32 bits.
[[nodiscard]] std::int32_t net_of_rest(std::int32_t counts, std::int32_t rest_counts);

class DetectorModel {
 public:
  /// Settings out of range give a detector that is inhibited from the start, as on the board.
  explicit DetectorModel(const DetectorSettings& settings);
  /// One sample in counts. True exactly once, at the sample that decides.
  bool feed(std::int32_t counts);
  [[nodiscard]] DetectorState state() const { return state_; }

 private:
  [[nodiscard]] bool condition(std::int32_t net);

  DetectorSettings settings_;
  IntegerLowPass filter_;
  std::vector<std::int32_t> window_;  ///< the newest `window_samples` net counts, zeros before the first
  std::size_t at_ = 0;
  std::int64_t sum_ = 0;
  std::uint32_t at_threshold_ = 0;  ///< sustained: in a row; k of n: in the window
  std::uint32_t since_building_ = 0;
  DetectorState state_ = DetectorState::idle;
};

/// A detector entered `state` at sample `sample_index`.
struct StateChange {
  std::size_t sample_index = 0;
  DetectorState state = DetectorState::idle;
  bool operator==(const StateChange&) const = default;
};

/// Sample of the first decision among changes of state.
[[nodiscard]] std::optional<std::size_t> decision_of(std::span<const StateChange> changes);

/// Index of the sample that decides, if one does.
[[nodiscard]] std::optional<std::size_t> replay(const DetectorSettings& settings, std::span<const std::int32_t> counts);
/// Every change of state, ascending. A detector that decides on its first building sample changes once, to decided, as the
/// board reports it. Inhibited from the start (settings out of range): one change at sample 0.
[[nodiscard]] std::vector<StateChange> state_changes(const DetectorSettings& settings, std::span<const std::int32_t> counts);

}  // namespace coldstroke::analysis
