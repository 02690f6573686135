// SPDX-License-Identifier: GPL-3.0-or-later
//
// A launch detector as a person describes it (seconds, g), and as the board runs it (samples, counts).
// Definitions, the rounding of each number and the description table: docs/detectors.md.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "analysis/result.hpp"

namespace coldstroke::analysis {

/// The reference family. Numbers are those of the board's own settings.
enum class DetectorKind : std::uint8_t { moving_mean = 1, sustained = 2, velocity_gain = 3, k_of_n = 4 };
/// What a detector is doing. Numbers are those of the wire format.
enum class DetectorState : std::uint8_t { idle = 0, building = 1, decided = 2, inhibited = 3 };
/// The axis a detector watches. By convention z is along the tube, towards the nose.
enum class Axis : std::uint8_t { x = 0, y = 1, z = 2 };

[[nodiscard]] const char* word(DetectorKind kind);    ///< "moving_mean", "sustained", "velocity_gain", "k_of_n"
[[nodiscard]] const char* word(DetectorState state);  ///< "idle", "building", "decided", "inhibited"
[[nodiscard]] const char* word(Axis axis);            ///< "x", "y", "z"

inline constexpr std::uint32_t kDetectorWindowMaxSamples = 512;  ///< what the reference board holds
inline constexpr int kDetectorFilterShiftMax = 12;

/// How a board's accelerometer turns specific force into counts.
struct BoardSampling {
  double sample_rate_hz = 0.0;
  int bits = 16;         ///< of a signed sample, 8 .. 24
  double range_g = 0.0;  ///< +-range: the most negative count is -range_g
  bool operator==(const BoardSampling&) const = default;
};

/// One count, in g: range_g / 2^(bits - 1).
[[nodiscard]] double count_g(const BoardSampling& board);

/// A detector in physical units. Thresholds are net of rest: 4 g at rest_g = 1 trips when the board reads 5 g.
struct DetectorSpec {
  std::string name;
  DetectorKind kind = DetectorKind::moving_mean;
  Axis axis = Axis::z;
  /// Exactly one of the two. Sustained: how long the level must hold (0: plain threshold), N periods being N + 1 samples.
  std::optional<double> window_seconds;
  std::optional<std::uint32_t> window_samples;
  double threshold_g = 0.0;                ///< all but velocity gain; net, > 0
  double velocity_gain_mps = 0.0;          ///< velocity gain: speed gained within the window, > 0
  std::uint32_t required_samples = 0;      ///< k of n: k
  double building_g = 0.0;                 ///< net level at or above which something has started, > 0
  std::optional<double> deadline_seconds;  ///< from the first building sample; then the detector inhibits itself
  int filter_shift = 0;                    ///< single-pole low-pass, 0: none
  double rest_g = 1.0;                     ///< reading of the watched axis at rest
  BoardSampling board;
  bool operator==(const DetectorSpec&) const = default;
};

/// The same as the board holds it; field for field the settings of the C reference (protocol/board/detector.h).
struct DetectorSettings {
  DetectorKind kind = DetectorKind::moving_mean;
  std::int32_t rest_counts = 0;
  std::int32_t threshold_counts = 0;
  std::int64_t sum_threshold = 0;
  std::uint32_t window_samples = 0;
  std::int32_t building_counts = 0;
  std::uint32_t deadline_samples = 0;  ///< 0: none
  std::uint32_t required_samples = 0;
  std::uint8_t filter_shift = 0;
  bool operator==(const DetectorSettings&) const = default;
};

/// Whether a board would accept these numbers.
[[nodiscard]] bool in_range(const DetectorSettings& settings);

/// Integer settings of a description. Every number is rounded to the nearest integer, halves away from zero; one that rounds to
/// nothing (a threshold under half a count) is refused. Complaints name the detector and the key at fault.
[[nodiscard]] Result<DetectorSettings> settings_of(const DetectorSpec& spec);

/// The level the settings really test for, in g (velocity gain: m/s), after rounding.
[[nodiscard]] double threshold_in_force(const DetectorSettings& settings, const BoardSampling& board);

/// What the running quantity of a detector must reach: the sum for means and gains, the level for the other kinds.
[[nodiscard]] std::int64_t statistic_threshold(const DetectorSettings& settings);
/// One unit of that running quantity in the threshold's own unit, g or m/s.
[[nodiscard]] double statistic_unit(const DetectorSettings& settings, const BoardSampling& board);

/// Time constant of the low-pass, seconds: -1 / (rate ln(1 - 2^-shift)); 0 for shift 0. Shift 1 .. kDetectorFilterShiftMax.
[[nodiscard]] double filter_time_constant_seconds(int filter_shift, double sample_rate_hz);
/// The shift whose time constant is nearest (by ratio) to `seconds`; 0 if `seconds` is below half that of shift 1.
[[nodiscard]] int nearest_filter_shift(double seconds, double sample_rate_hz);

}  // namespace coldstroke::analysis
