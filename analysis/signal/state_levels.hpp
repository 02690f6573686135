// SPDX-License-Identifier: GPL-3.0-or-later
//
// Levels and transition of a signal with two states, for pressure and valve edges: IEEE Std 181-2011 (IEC 60469), histogram mode.
// Always on unfiltered samples. A pulse without an upper state (a half-sine) has no such levels: take its peak.
#pragma once

#include <cstddef>
#include <optional>
#include <span>

namespace coldstroke::analysis {

struct StateLevels {
  double low = 0.0, high = 0.0;  ///< of the two states, in the unit of the samples
};

/// Histogram of `bins` equal bins from the smallest to the largest sample, divided in the middle; in each half the state is the
/// centre of the fullest bin (the lowest of equals). Nothing for fewer than two samples, samples that are all equal or not
/// numbers, or fewer than two bins.
[[nodiscard]] std::optional<StateLevels> state_levels(std::span<const double> samples, std::size_t bins = 100);

/// One transition between the states. Places are in samples from samples[0], real numbers, by straight lines between samples.
struct Transition {
  double at_10 = 0.0, at_50 = 0.0, at_90 = 0.0;  ///< of the way from the first state to the second
  bool rising = true;
  [[nodiscard]] double duration() const { return at_90 - at_10; }  ///< 10 to 90 %
};

/// The first transition between the levels: its 50 % crossing, the last 10 % crossing before and the first 90 % crossing after
/// it. Nothing if the samples never go all the way.
[[nodiscard]] std::optional<Transition> first_transition(std::span<const double> samples, const StateLevels& levels);

}  // namespace coldstroke::analysis
