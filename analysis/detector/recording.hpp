// SPDX-License-Identifier: GPL-3.0-or-later
//
// One labelled recording of specific force, and what can be said of a library of them before any detector is run.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/detector/detector_spec.hpp"
#include "analysis/result.hpp"
#include "analysis/trial/analyse.hpp"

namespace coldstroke::analysis {

enum class Label : std::uint8_t { must_fire, must_stay_silent };
/// What happened to the vehicle.
enum class Event : std::uint8_t {
  ejection,
  pulse,  ///< a bare pulse of stated shape
  carrying,
  setting_down,
  tube_knock,
  wind_rocking,
  hand_drop,
  landing,
  line_snag,
  transport,
  other
};
enum class Provenance : std::uint8_t {
  bench,        ///< recorded through the bench, no gas or an unarmed ejection
  imported,     ///< from a file of traces recorded elsewhere
  synthesised,  ///< computed from stated parameters
  variant       ///< another recording scaled, stretched, noised or offset
};
[[nodiscard]] const char* word(Label label);            ///< "must_fire", "must_stay_silent"
[[nodiscard]] const char* word(Event event);            ///< "ejection", "tube_knock" ...
[[nodiscard]] const char* word(Provenance provenance);  ///< "bench" ...
/// The value of an enumeration from 0 to `last` whose `word` this is.
template <class Enum>
[[nodiscard]] std::optional<Enum> from_word(std::string_view said, Enum last) {
  for (int i = 0; i <= static_cast<int>(last); ++i)
    if (said == word(static_cast<Enum>(i))) return static_cast<Enum>(i);
  return std::nullopt;
}

/// Events a library needs before it can speak of silence.
inline constexpr std::array kSilentEvents{Event::carrying,  Event::setting_down, Event::tube_knock, Event::wind_rocking,
                                          Event::hand_drop, Event::landing,      Event::line_snag,  Event::transport};

/// A stated parameter of a recording, unit last in the name: "peak_g", "duration_seconds".
struct RecordingParameter {
  std::string name;
  double value = 0.0;
  bool operator==(const RecordingParameter&) const = default;
};

/// Sample k of every axis was taken k / sample_rate_hz after the recording began. What a still accelerometer reads is
/// `rest_g`, upright along z: +1 g (specific force, docs/methods.md).
struct Recording {
  std::string name;  ///< unique in a library
  Label label = Label::must_stay_silent;
  Event event = Event::other;
  Provenance provenance = Provenance::synthesised;
  std::string source;  ///< free text: trial, file, or method
  std::vector<RecordingParameter> parameters;
  double sample_rate_hz = 0.0;
  std::array<std::vector<double>, 3> axes;  ///< x, y, z in m/s^2; an axis not recorded is empty, the others are equally long
  std::array<double, 3> rest_g{0.0, 0.0, 1.0};
  double sensor_range_g = 0.0;  ///< of the accelerometer that recorded it, 0: unknown
  /// must_fire only: when the vehicle began to move, and how long after that a decision is still in time.
  double first_motion_seconds = 0.0;
  double deadline_seconds = 0.0;
  bool operator==(const Recording&) const = default;

  [[nodiscard]] const std::vector<double>& along(Axis axis) const { return axes[static_cast<std::size_t>(axis)]; }
};

/// Scales, stretches, noises and shifts, to find out how far a detector carries. Applied in this order.
struct Variation {
  double level_factor = 1.0;  ///< on everything net of rest; 0.77: a 23 % weaker pulse
  double time_factor = 1.0;   ///< > 0, on all that follows first motion (must_fire) or the start; 0.69: a 31 % shorter stroke
  double offset_g = 0.0;      ///< added to every sample of every axis
  double noise_rms_g = 0.0;   ///< >= 0, white Gaussian
  std::uint64_t noise_seed = 0;
};

/// The recording so changed; name and parameters say how. The deadline stays as it was, in seconds from first motion.
[[nodiscard]] Recording vary(const Recording& recording, const Variation& variation);

/// Findings about a library watched along one axis, or the complaint that forbids its use: no recording; no sample along the
/// axis; samples that are not finite; a sample rate or rest that is none; a must_fire recording without first motion inside it
/// or without a deadline; a name used twice; the same samples labelled both ways. Findings, the library stays usable:
///  "mixed_sample_rates", "clipped" (the accelerometer's range was reached: truth is larger), "no_silent_recordings",
///  "repeated_recording" (same samples, same label), "short_recording" (must_fire ends before its own deadline).
[[nodiscard]] Result<std::vector<Finding>> check_library(std::span<const Recording> library, Axis axis);

}  // namespace coldstroke::analysis
