// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/detector/detector_spec.hpp"

#include <cmath>
#include <limits>

#include "analysis/pneumatics/stroke_model.hpp"

namespace coldstroke::analysis {
namespace {

using std::string;

string place(const DetectorSpec& spec, const char* key) {
  return "detector " + (spec.name.empty() ? string{"without a name"} : "\"" + spec.name + "\"") + ", " + key;
}

bool positive(double value) { return std::isfinite(value) && value > 0.0; }

/// Nearest integer, or nothing if it is not a number or does not fit `limit`.
std::optional<std::int64_t> nearest(double value, double limit) {
  if (!std::isfinite(value) || std::abs(value) > limit) return std::nullopt;
  return std::llround(value);
}

std::optional<Complaint> board_fault(const DetectorSpec& spec) {
  const BoardSampling& board = spec.board;
  if (!positive(board.sample_rate_hz) || board.sample_rate_hz > 1.0e6)
    return Complaint{"the board's sample rate is " + std::to_string(board.sample_rate_hz) + " Hz",
                     place(spec, "board.sample_rate_hz"), "give a rate above 0 and up to 1 MHz"};
  if (board.bits < 8 || board.bits > 24)
    return Complaint{"a word of " + std::to_string(board.bits) + " bits", place(spec, "board.bits"), "give 8 to 24 bits"};
  if (!positive(board.range_g) || board.range_g > 10000.0)
    return Complaint{"a range of " + std::to_string(board.range_g) + " g", place(spec, "board.range_g"),
                     "give the range above 0 and up to 10000 g"};
  return std::nullopt;
}

Result<std::uint32_t> window_of(const DetectorSpec& spec) {
  if (spec.window_seconds.has_value() == spec.window_samples.has_value())
    return complain(spec.window_seconds ? "the window is given twice" : "no window is given", place(spec, "window_seconds"),
                    "give either window_seconds or window_samples");
  const std::uint32_t least = spec.kind == DetectorKind::sustained ? 0 : 1;
  const double asked =
      spec.window_samples ? static_cast<double>(*spec.window_samples) : *spec.window_seconds * spec.board.sample_rate_hz;
  const auto samples = nearest(asked, 1.0e9);
  if (!samples || *samples < least || *samples > kDetectorWindowMaxSamples)
    return complain("a window of " + std::to_string(asked) + " samples at " + std::to_string(spec.board.sample_rate_hz) + " Hz",
                    place(spec, spec.window_samples ? "window_samples" : "window_seconds"),
                    "the board holds " + std::to_string(least) + " to " + std::to_string(kDetectorWindowMaxSamples) +
                        " samples: shorten the window, or lower the sample rate");
  return static_cast<std::uint32_t>(*samples);
}

/// A net level in counts: at least one, and within the board's reach above rest.
Result<std::int32_t> level_of(const DetectorSpec& spec, double level_g, const char* key) {
  const auto counts = nearest(level_g / count_g(spec.board), 1.0e9);
  if (!positive(level_g) || !counts || *counts < 1)
    return complain(
        "a level of " + std::to_string(level_g) + " g, where one count is " + std::to_string(count_g(spec.board)) + " g",
        place(spec, key), "give a level above rest of at least one count");
  if (level_g + spec.rest_g > spec.board.range_g)
    return complain("the level " + std::to_string(level_g) + " g above a rest of " + std::to_string(spec.rest_g) +
                        " g is beyond the range, " + std::to_string(spec.board.range_g) + " g, so it can never be read",
                    place(spec, key), "lower the level, or choose a wider range");
  return static_cast<std::int32_t>(*counts);
}

std::optional<Complaint> set_threshold(const DetectorSpec& spec, DetectorSettings& out) {
  if (spec.kind != DetectorKind::velocity_gain) {
    const auto level = level_of(spec, spec.threshold_g, "threshold_g");
    if (!level) return level.error();
    out.threshold_counts = *level;
    return std::nullopt;
  }
  const auto sum = nearest(spec.velocity_gain_mps * spec.board.sample_rate_hz / (count_g(spec.board) * kStandardGravity), 1.0e15);
  if (!positive(spec.velocity_gain_mps) || !sum || *sum < 1)
    return Complaint{"a velocity gain of " + std::to_string(spec.velocity_gain_mps) + " m/s", place(spec, "velocity_gain_mps"),
                     "give a speed above 0"};
  out.sum_threshold = *sum;
  return std::nullopt;
}

std::optional<Complaint> set_deadline(const DetectorSpec& spec, DetectorSettings& out) {
  if (!spec.deadline_seconds) return std::nullopt;
  const auto samples = nearest(*spec.deadline_seconds * spec.board.sample_rate_hz, 4.0e9);
  if (!positive(*spec.deadline_seconds) || !samples || *samples < 1)
    return Complaint{"a deadline of " + std::to_string(*spec.deadline_seconds) + " s", place(spec, "deadline_seconds"),
                     "give at least one sample period, or leave it out for a detector without a deadline"};
  out.deadline_samples = static_cast<std::uint32_t>(*samples);
  return std::nullopt;
}

std::optional<Complaint> set_rest(const DetectorSpec& spec, DetectorSettings& out) {
  const auto rest = nearest(spec.rest_g / count_g(spec.board), 1.0e9);
  if (!rest || std::abs(spec.rest_g) > spec.board.range_g)
    return Complaint{"a rest reading of " + std::to_string(spec.rest_g) + " g", place(spec, "rest_g"),
                     "give what the watched axis reads at rest, inside the range"};
  out.rest_counts = static_cast<std::int32_t>(*rest);
  return std::nullopt;
}

std::optional<Complaint> set_small_integers(const DetectorSpec& spec, DetectorSettings& out) {
  if (spec.filter_shift < 0 || spec.filter_shift > kDetectorFilterShiftMax)
    return Complaint{"a filter shift of " + std::to_string(spec.filter_shift), place(spec, "filter_shift"),
                     "give 0 (no filter) to " + std::to_string(kDetectorFilterShiftMax)};
  out.filter_shift = static_cast<std::uint8_t>(spec.filter_shift);
  if (spec.kind != DetectorKind::k_of_n) return std::nullopt;
  if (spec.required_samples < 1 || spec.required_samples > out.window_samples)
    return Complaint{
        std::to_string(spec.required_samples) + " samples required of a window of " + std::to_string(out.window_samples),
        place(spec, "required_samples"), "give 1 up to the samples of the window"};
  out.required_samples = spec.required_samples;
  return std::nullopt;
}

}  // namespace

const char* word(DetectorKind kind) {
  switch (kind) {
    case DetectorKind::moving_mean:
      return "moving_mean";
    case DetectorKind::sustained:
      return "sustained";
    case DetectorKind::velocity_gain:
      return "velocity_gain";
    case DetectorKind::k_of_n:
      return "k_of_n";
  }
  return "unknown";
}

const char* word(DetectorState state) {
  switch (state) {
    case DetectorState::idle:
      return "idle";
    case DetectorState::building:
      return "building";
    case DetectorState::decided:
      return "decided";
    case DetectorState::inhibited:
      return "inhibited";
  }
  return "unknown";
}

const char* word(Axis axis) { return axis == Axis::x ? "x" : axis == Axis::y ? "y" : "z"; }

double count_g(const BoardSampling& board) { return std::ldexp(board.range_g, 1 - board.bits); }

bool in_range(const DetectorSettings& settings) {
  if (settings.building_counts <= 0 || settings.window_samples > kDetectorWindowMaxSamples ||
      settings.filter_shift > kDetectorFilterShiftMax)
    return false;
  switch (settings.kind) {
    case DetectorKind::moving_mean:
      return settings.threshold_counts > 0 && settings.window_samples > 0;
    case DetectorKind::sustained:
      return settings.threshold_counts > 0;
    case DetectorKind::velocity_gain:
      return settings.sum_threshold > 0 && settings.window_samples > 0;
    case DetectorKind::k_of_n:
      return settings.threshold_counts > 0 && settings.required_samples > 0 &&
             settings.required_samples <= settings.window_samples;
  }
  return false;
}

Result<DetectorSettings> settings_of(const DetectorSpec& spec) {
  if (auto fault = board_fault(spec)) return tl::unexpected{*fault};
  DetectorSettings out;
  out.kind = spec.kind;
  const auto window = window_of(spec);
  if (!window) return tl::unexpected{window.error()};
  out.window_samples = *window;
  for (const auto set : {set_rest, set_threshold, set_deadline, set_small_integers})
    if (auto fault = set(spec, out)) return tl::unexpected{*fault};
  const auto building = level_of(spec, spec.building_g, "building_g");
  if (!building) return tl::unexpected{building.error()};
  out.building_counts = *building;
  return out;
}

std::int64_t statistic_threshold(const DetectorSettings& settings) {
  switch (settings.kind) {
    case DetectorKind::moving_mean:
      return std::int64_t{settings.threshold_counts} * settings.window_samples;
    case DetectorKind::velocity_gain:
      return settings.sum_threshold;
    default:
      return settings.threshold_counts;
  }
}

double statistic_unit(const DetectorSettings& settings, const BoardSampling& board) {
  switch (settings.kind) {
    case DetectorKind::moving_mean:
      return count_g(board) / static_cast<double>(settings.window_samples);
    case DetectorKind::velocity_gain:
      return count_g(board) * kStandardGravity / board.sample_rate_hz;
    default:
      return count_g(board);
  }
}

double threshold_in_force(const DetectorSettings& settings, const BoardSampling& board) {
  return static_cast<double>(statistic_threshold(settings)) * statistic_unit(settings, board);
}

double filter_time_constant_seconds(int filter_shift, double sample_rate_hz) {
  if (filter_shift <= 0) return 0.0;
  return -1.0 / (sample_rate_hz * std::log1p(-std::ldexp(1.0, -filter_shift)));
}

int nearest_filter_shift(double seconds, double sample_rate_hz) {
  if (!(seconds >= 0.5 * filter_time_constant_seconds(1, sample_rate_hz))) return 0;
  int best = 1;
  double least = std::numeric_limits<double>::infinity();
  for (int shift = 1; shift <= kDetectorFilterShiftMax; ++shift) {
    const double off = std::abs(std::log(seconds / filter_time_constant_seconds(shift, sample_rate_hz)));
    if (off < least) {
      least = off;
      best = shift;
    }
  }
  return best;
}

}  // namespace coldstroke::analysis
