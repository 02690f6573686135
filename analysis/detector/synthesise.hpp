// SPDX-License-Identifier: GPL-3.0-or-later
//
// Recordings computed from stated parameters. They fill gaps in a library and give margins; they are no evidence about a real
// vehicle, and every one says that it is synthesised. Shapes and typical values are this project's own invention (common sense of
// size, no source), but for the stroke, which is the model of analysis/pneumatics.
//
// All along z, the tube's axis, in felt g: at rest upright 1, in free fall 0. Formulas: docs/detectors.md.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "analysis/detector/recording.hpp"
#include "analysis/pneumatics/stroke_model.hpp"

namespace coldstroke::analysis {

/// What surrounds the event.
struct Scene {
  double sample_rate_hz = 2000.0;
  double quiet_seconds = 0.3;   ///< at rest before it
  double tail_seconds = 0.3;    ///< at rest after it
  double noise_rms_g = 0.02;    ///< white Gaussian
  std::uint64_t seed = 1;       ///< of the noise and any random phases
  double sensor_range_g = 0.0;  ///< readings are held at +- this; 0: no limit
};

enum class PulseShape : std::uint8_t { rectangular, half_sine, ramp };  ///< ramp: rises from 0 to the peak, then drops
[[nodiscard]] const char* word(PulseShape shape);

/// A net pulse from rest, then free fall, a landing pulse (half-sine) and rest.
struct PulseParameters {
  PulseShape shape = PulseShape::rectangular;
  double peak_g = 10.0;  ///< net of rest
  double duration_seconds = 0.04;
  double deadline_seconds = 0.06;  ///< latest safe decision after first motion
  double fall_seconds = 1.0;
  double landing_peak_g = 30.0;  ///< 0: none
  double landing_seconds = 0.01;
};

/// A stroke of the gas model, ballistic flight without drag, landing from `mouth_height_metres` above the ground.
struct EjectionParameters {
  StrokeParameters stroke;  ///< with at least one valve; all are told to open at once after the quiet time
  double charge_gauge_pascals = 8.0e5;
  double mouth_height_metres = 0.8;
  double deadline_seconds = 0.06;
  double landing_peak_g = 30.0;
  double landing_seconds = 0.01;
};

/// A handling event. What level, duration and frequency mean depends on the event (docs/detectors.md).
struct SilentParameters {
  Event event = Event::carrying;
  double level_g = 0.3;
  double duration_seconds = 3.0;
  double frequency_hz = 1.8;
};

/// Mid-range parameters of each of kSilentEvents.
[[nodiscard]] SilentParameters typical(Event event);

/// The pulse at quiet_seconds, which is first motion. Complaint: a number out of range, with its name.
[[nodiscard]] Result<Recording> synthesise_pulse(std::string name, const PulseParameters& parameters, const Scene& scene);
/// First motion is where the model's friction lets go. Complaint also if the vehicle does not leave within 0.5 s.
[[nodiscard]] Result<Recording> synthesise_ejection(std::string name, const EjectionParameters& parameters, const Scene& scene);
[[nodiscard]] Result<Recording> synthesise_silent(std::string name, const SilentParameters& parameters, const Scene& scene);

/// A mixed library for trials of the method: `must_fire` recordings, ejections (charges 5 to 10 bar of an invented rig) and the
/// three pulse shapes in turn, and `each_silent` of every one of kSilentEvents, parameters drawn from `scene.seed` around the
/// typical ones (factors 0.6 to 1.5). Complaint: as of the single recordings (a sample rate too low for a knock's ringing).
[[nodiscard]] Result<std::vector<Recording>> synthetic_library(std::size_t must_fire, std::size_t each_silent,
                                                               const Scene& scene);

}  // namespace coldstroke::analysis
