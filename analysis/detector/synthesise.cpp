// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/detector/synthesise.hpp"

#include <algorithm>
#include <boost/random/mersenne_twister.hpp>
#include <boost/random/uniform_real_distribution.hpp>
#include <cmath>

#include "analysis/detector/waveform.hpp"

namespace coldstroke::analysis {
namespace {

using std::string;

struct Limit {
  const char* key;
  double value, low, high;
};

std::optional<Complaint> outside(const string& name, std::initializer_list<Limit> limits) {
  for (const Limit& l : limits) {
    if (std::isfinite(l.value) && l.value >= l.low && l.value <= l.high) continue;
    return Complaint{string{l.key} + " is " + std::to_string(l.value), "synthesised recording \"" + name + "\"",
                     "give " + std::to_string(l.low) + " to " + std::to_string(l.high)};
  }
  return std::nullopt;
}

std::optional<Complaint> scene_fault(const string& name, const Scene& s) {
  return outside(name, {{"sample_rate_hz", s.sample_rate_hz, 50.0, 100'000.0},
                        {"quiet_seconds", s.quiet_seconds, 0.0, 60.0},
                        {"tail_seconds", s.tail_seconds, 0.0, 60.0},
                        {"noise_rms_g", s.noise_rms_g, 0.0, 100.0},
                        {"sensor_range_g", s.sensor_range_g, 0.0, 10'000.0}});
}

Recording begun(string name, Label label, Event event, string source, const Scene& scene) {
  Recording r;
  r.name = std::move(name);
  r.label = label;
  r.event = event;
  r.source = std::move(source);
  r.sample_rate_hz = scene.sample_rate_hz;
  r.sensor_range_g = scene.sensor_range_g;
  r.parameters = {
      {"quiet_seconds", scene.quiet_seconds}, {"noise_rms_g", scene.noise_rms_g}, {"seed", static_cast<double>(scene.seed)}};
  return r;
}

double pulse_net_g(const PulseParameters& p, double t) {
  if (t < 0.0 || t >= p.duration_seconds) return 0.0;
  switch (p.shape) {
    case PulseShape::rectangular:
      return p.peak_g;
    case PulseShape::half_sine:
      return p.peak_g * half_sine(t, p.duration_seconds);
    case PulseShape::ramp:
      return p.peak_g * t / p.duration_seconds;
  }
  return 0.0;
}

/// The stroke of the gas model, felt g at sample instants after the valve command; instants of motion and exit.
struct FeltStroke {
  std::vector<double> felt_g;
  double first_motion_seconds = 0.0, exit_seconds = 0.0, exit_speed_mps = 0.0;
};

constexpr double kStrokeLimitSeconds = 0.5;

std::optional<FeltStroke> felt_stroke(const EjectionParameters& p, double sample_rate_hz) {
  const StrokeParameters& q = p.stroke;
  StrokeState state;
  state.reservoir_pascals = q.ambient_pascals + p.charge_gauge_pascals;
  state.chamber_pascals = q.ambient_pascals;
  state.reservoir_kelvin = state.chamber_kelvin = q.ambient_kelvin;
  const auto openings = [&](double t) {
    std::vector<double> out;
    for (const Valve& v : q.valves) out.push_back(opening(v, t));
    return out;
  };
  // Steps of at most 50 us, a whole number of them to the sample period.
  const double period = 1.0 / sample_rate_hz;
  const int steps = static_cast<int>(std::ceil(period / 50.0e-6));
  const double step = period / steps, weight_g = std::cos(q.tilt_radians);
  FeltStroke out;
  bool moved = false;
  for (std::size_t k = 0; static_cast<double>(k) * period < kStrokeLimitSeconds; ++k) {
    out.felt_g.push_back(weight_g + acceleration(q, state) / kStandardGravity);
    for (int i = 0; i < steps; ++i) {
      const double t = static_cast<double>(k) * period + i * step;
      StrokeEvents events;
      const StrokeState after = advance(q, state, openings(t), openings(t + 0.5 * step), openings(t + step), step, &events);
      if (!moved && events.first_motion_seconds) {
        moved = true;
        out.first_motion_seconds = t + *events.first_motion_seconds;
      }
      if (events.exit_seconds) {
        out.exit_seconds = t + *events.exit_seconds;
        out.exit_speed_mps = events.at_exit.speed_mps;
        return out;
      }
      state = after;
    }
  }
  return std::nullopt;
}

/// Felt g after leaving: free fall until `landing_at`, then the landing.
double after_leaving(double t, double landing_at, double peak_g, double seconds) {
  return t < landing_at ? 0.0 : peak_g * half_sine(t - landing_at, seconds);
}

}  // namespace

const char* word(PulseShape shape) {
  return shape == PulseShape::rectangular ? "rectangular" : shape == PulseShape::half_sine ? "half_sine" : "ramp";
}

SilentParameters typical(Event event) {
  switch (event) {
    case Event::setting_down:
      return {event, 2.5, 0.015, 60.0};
    case Event::tube_knock:
      return {event, 8.0, 0.012, 220.0};
    case Event::wind_rocking:
      return {event, 0.15, 4.0, 1.1};
    case Event::hand_drop:
      return {event, 40.0, 0.35, 150.0};
    case Event::landing:
      return {event, 12.0, 0.012, 45.0};
    case Event::line_snag:
      return {event, 2.2, 0.08, 25.0};
    case Event::transport:
      return {event, 0.35, 4.0, 12.0};
    default:
      return {Event::carrying, 0.3, 3.0, 1.8};
  }
}

Result<Recording> synthesise_pulse(string name, const PulseParameters& p, const Scene& scene) {
  if (auto fault = scene_fault(name, scene)) return tl::unexpected{*fault};
  if (auto fault = outside(name, {{"peak_g", p.peak_g, 1.0e-6, 10'000.0},
                                  {"duration_seconds", p.duration_seconds, 1.0e-6, 10.0},
                                  {"deadline_seconds", p.deadline_seconds, 1.0e-6, 60.0},
                                  {"fall_seconds", p.fall_seconds, 0.0, 60.0},
                                  {"landing_peak_g", p.landing_peak_g, 0.0, 10'000.0},
                                  {"landing_seconds", p.landing_seconds, 1.0e-6, 10.0}}))
    return tl::unexpected{*fault};
  Recording r = begun(std::move(name), Label::must_fire, Event::pulse, string{word(p.shape)} + " pulse, fall, landing", scene);
  r.first_motion_seconds = scene.quiet_seconds;
  r.deadline_seconds = p.deadline_seconds;
  r.parameters.insert(r.parameters.end(), {{"peak_g", p.peak_g},
                                           {"duration_seconds", p.duration_seconds},
                                           {"fall_seconds", p.fall_seconds},
                                           {"landing_peak_g", p.landing_peak_g},
                                           {"landing_seconds", p.landing_seconds}});
  const double landing_at = p.duration_seconds + p.fall_seconds;
  // A sample that falls on the first instant but for the last bits of a division belongs to the pulse.
  const auto felt = [&](double t) {
    const double inside = std::max(0.0, t);
    return inside < p.duration_seconds - 1.0e-9 ? 1.0 + pulse_net_g(p, inside)
                                                : after_leaving(inside, landing_at, p.landing_peak_g, p.landing_seconds);
  };
  r.axes[2] = sampled_mps2({felt, landing_at + p.landing_seconds}, scene, 1.0);
  return r;
}

Result<Recording> synthesise_ejection(string name, const EjectionParameters& p, const Scene& scene) {
  if (auto fault = scene_fault(name, scene)) return tl::unexpected{*fault};
  if (auto fault = outside(name, {{"charge_gauge_pascals", p.charge_gauge_pascals, 1.0, 1.0e8},
                                  {"mouth_height_metres", p.mouth_height_metres, 0.0, 100.0},
                                  {"deadline_seconds", p.deadline_seconds, 1.0e-6, 60.0},
                                  {"landing_peak_g", p.landing_peak_g, 0.0, 10'000.0},
                                  {"landing_seconds", p.landing_seconds, 1.0e-6, 10.0}}))
    return tl::unexpected{*fault};
  const auto stroke = felt_stroke(p, scene.sample_rate_hz);
  if (!stroke)
    return complain("the vehicle does not leave the tube within half a second", "synthesised recording \"" + name + "\"",
                    "raise charge_gauge_pascals, or lower masses and friction");
  Recording r =
      begun(std::move(name), Label::must_fire, Event::ejection, "gas model, ballistic flight without drag, landing", scene);
  r.first_motion_seconds = scene.quiet_seconds + stroke->first_motion_seconds;
  r.deadline_seconds = p.deadline_seconds;
  const double up = stroke->exit_speed_mps * std::cos(p.stroke.tilt_radians), g = kStandardGravity;
  const double landing_at = stroke->exit_seconds + (up + std::sqrt(up * up + 2.0 * g * p.mouth_height_metres)) / g;
  r.parameters.insert(r.parameters.end(), {{"charge_gauge_pascals", p.charge_gauge_pascals},
                                           {"exit_speed_mps", stroke->exit_speed_mps},
                                           {"stroke_time_seconds", stroke->exit_seconds - stroke->first_motion_seconds},
                                           {"mouth_height_metres", p.mouth_height_metres},
                                           {"landing_peak_g", p.landing_peak_g},
                                           {"landing_seconds", p.landing_seconds}});
  const auto felt = [&](double t) {
    const double place = t * scene.sample_rate_hz;
    const auto left = static_cast<std::size_t>(place);
    if (t >= stroke->exit_seconds) return after_leaving(t, landing_at, p.landing_peak_g, p.landing_seconds);
    if (left + 1 >= stroke->felt_g.size()) return stroke->felt_g.back();
    return std::lerp(stroke->felt_g[left], stroke->felt_g[left + 1], place - static_cast<double>(left));
  };
  r.axes[2] = sampled_mps2({felt, landing_at + p.landing_seconds}, scene, 0.0);  // it lies on its side
  return r;
}

Result<Recording> synthesise_silent(string name, const SilentParameters& p, const Scene& scene) {
  if (auto fault = scene_fault(name, scene)) return tl::unexpected{*fault};
  if (std::find(kSilentEvents.begin(), kSilentEvents.end(), p.event) == kSilentEvents.end())
    return complain(string{"a silent recording of "} + word(p.event), "synthesised recording \"" + name + "\"",
                    "choose one of carrying, setting_down, tube_knock, wind_rocking, hand_drop, landing, line_snag, transport");
  if (auto fault = outside(name, {{"level_g", p.level_g, 0.0, 10'000.0},
                                  {"duration_seconds", p.duration_seconds, 1.0e-4, 600.0},
                                  {"frequency_hz", p.frequency_hz, 0.01, 0.5 * scene.sample_rate_hz}}))
    return tl::unexpected{*fault};
  Recording r = begun(std::move(name), Label::must_stay_silent, p.event, string{word(p.event)} + ", formula", scene);
  r.parameters.insert(r.parameters.end(),
                      {{"level_g", p.level_g}, {"duration_seconds", p.duration_seconds}, {"frequency_hz", p.frequency_hz}});
  r.axes[2] = sampled_mps2(silent_waveform(p, scene.seed), scene, 1.0);
  return r;
}

namespace {

/// Factors of size, drawn from a seed.
class Draw {
 public:
  explicit Draw(std::uint64_t seed) : engine_{seed} {}
  double factor() { return factor_(engine_); }
  double fraction() { return fraction_(engine_); }
  std::uint64_t seed() { return engine_(); }

 private:
  boost::random::mt19937_64 engine_;
  boost::random::uniform_real_distribution<double> factor_{0.6, 1.5}, fraction_{0.0, 1.0};
};

Result<Recording> drawn_must_fire(std::size_t i, const Scene& scene, Draw& draw) {
  const string name = "must fire " + std::to_string(i + 1);
  if (i % 4 == 0) {
    EjectionParameters p;
    p.stroke.valves.assign(2, Valve{8.0e-8, 0.3, 0.006, 0.010});
    p.charge_gauge_pascals = 5.0e5 + 5.0e5 * draw.fraction();
    return synthesise_ejection(name, p, scene);
  }
  PulseParameters p;
  p.shape = static_cast<PulseShape>(i % 4 - 1);
  p.peak_g = 18.0 * draw.factor();
  p.duration_seconds = 0.04 * draw.factor();
  return synthesise_pulse(name, p, scene);
}

Result<Recording> drawn_silent(Event event, std::size_t i, const Scene& scene, Draw& draw) {
  SilentParameters p = typical(event);
  p.level_g *= draw.factor();
  p.duration_seconds *= draw.factor();
  p.frequency_hz *= draw.factor();
  return synthesise_silent(string{word(event)} + " " + std::to_string(i + 1), p, scene);
}

}  // namespace

Result<std::vector<Recording>> synthetic_library(std::size_t must_fire, std::size_t each_silent, const Scene& scene) {
  Draw draw{scene.seed};
  std::vector<Recording> out;
  Scene here = scene;
  for (std::size_t i = 0; i < must_fire + each_silent * kSilentEvents.size(); ++i) {
    here.seed = draw.seed();
    const std::size_t silent = i - must_fire;
    auto made = i < must_fire ? drawn_must_fire(i, here, draw)
                              : drawn_silent(kSilentEvents[silent / each_silent], silent % each_silent, here, draw);
    if (!made) return tl::unexpected{made.error()};
    out.push_back(std::move(*made));
  }
  return out;
}

}  // namespace coldstroke::analysis
