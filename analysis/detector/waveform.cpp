// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/detector/waveform.hpp"

#include <algorithm>
#include <array>
#include <boost/math/constants/constants.hpp>
#include <boost/random/mersenne_twister.hpp>
#include <boost/random/normal_distribution.hpp>
#include <boost/random/uniform_real_distribution.hpp>
#include <cmath>

namespace coldstroke::analysis {
namespace {

constexpr double kPi = boost::math::constants::pi<double>();

double sine(double frequency_hz, double t, double phase = 0.0) { return std::sin(2.0 * kPi * frequency_hz * t + phase); }

/// `before` for a while, then a blow and the ringing it leaves.
Waveform blow(const SilentParameters& p, double before_seconds, const std::function<double(double)>& before) {
  const auto felt = [=](double t) {
    if (t < before_seconds) return before(t);
    const double since = t - before_seconds;
    const double ringing = 0.3 * p.level_g * sine(p.frequency_hz, since) * std::exp(-since / (2.0 * p.duration_seconds));
    return 1.0 + p.level_g * half_sine(since, p.duration_seconds) + (since > p.duration_seconds ? ringing : 0.0);
  };
  return {felt, before_seconds + 12.0 * p.duration_seconds};
}

/// Free fall, impact, a bounce of a third of time and level, impact, rest.
Waveform hand_drop(const SilentParameters& p) {
  const double fall = p.duration_seconds, bounce = fall / 3.0, contact = 0.5 / p.frequency_hz;
  const auto felt = [=](double t) {
    if (t < fall) return 0.0;
    if (t < fall + contact) return p.level_g * half_sine(t - fall, contact);
    if (t < fall + contact + bounce) return 0.0;
    const double since = t - fall - contact - bounce;
    return since < contact ? p.level_g / 3.0 * half_sine(since, contact) : 1.0;
  };
  return {felt, fall + bounce + 2.0 * contact};
}

/// Six tones around the frequency, and a pothole of three times the level every second.
Waveform transport(const SilentParameters& p, std::uint64_t seed) {
  boost::random::mt19937_64 engine{seed};
  boost::random::uniform_real_distribution<double> phase{0.0, 2.0 * kPi}, factor{0.4, 2.5};
  std::array<std::pair<double, double>, 6> tones;
  for (auto& [frequency, shift] : tones) {
    frequency = p.frequency_hz * factor(engine);
    shift = phase(engine);
  }
  const auto felt = [=](double t) {
    double out = 1.0;
    for (const auto& [frequency, shift] : tones) out += p.level_g / std::sqrt(3.0) * sine(frequency, t, shift);
    return out + 3.0 * p.level_g * half_sine(std::fmod(t + 0.5, 1.0), 0.03);
  };
  return {felt, p.duration_seconds};
}

}  // namespace

double half_sine(double t, double duration) { return t > 0.0 && t < duration ? std::sin(kPi * t / duration) : 0.0; }

Waveform silent_waveform(const SilentParameters& p, std::uint64_t seed) {
  switch (p.event) {
    case Event::setting_down:
      return blow(p, 0.0, [](double) { return 1.0; });
    case Event::landing:
      return blow(p, 1.0, [](double t) { return 1.0 + 0.2 * sine(0.8, t); });  // swings under its parachute first
    case Event::tube_knock:
      return {[=](double t) { return 1.0 + p.level_g * std::exp(-t / p.duration_seconds) * sine(p.frequency_hz, t); },
              8.0 * p.duration_seconds};
    case Event::wind_rocking:
      return {[=](double t) { return 1.0 + p.level_g * sine(p.frequency_hz, t) * sine(0.23 * p.frequency_hz, t); },
              p.duration_seconds};
    case Event::hand_drop:
      return hand_drop(p);
    case Event::line_snag:
      return {
          [=](double t) { return 1.0 + p.level_g * half_sine(t, p.duration_seconds) * (1.0 + 0.3 * sine(p.frequency_hz, t)); },
          p.duration_seconds};
    case Event::transport:
      return transport(p, seed);
    default:  // carrying: steps and their second harmonic
      return {[=](double t) { return 1.0 + p.level_g * (sine(p.frequency_hz, t) + 0.35 * sine(2.0 * p.frequency_hz, t, 1.0)); },
              p.duration_seconds};
  }
}

std::vector<double> sampled_mps2(const Waveform& waveform, const Scene& scene, double rest_after_g) {
  boost::random::mt19937_64 engine{scene.seed};
  boost::random::normal_distribution<double> noise{0.0, 1.0};
  const double whole = scene.quiet_seconds + waveform.seconds + scene.tail_seconds;
  const auto count = static_cast<std::size_t>(std::floor(whole * scene.sample_rate_hz)) + 1;
  std::vector<double> out(count);
  for (std::size_t k = 0; k < count; ++k) {
    const double t = static_cast<double>(k) / scene.sample_rate_hz - scene.quiet_seconds;
    double felt = t < 0.0 ? 1.0 : t <= waveform.seconds ? waveform.felt_g(t) : rest_after_g;
    felt += scene.noise_rms_g * noise(engine);
    if (scene.sensor_range_g > 0.0) felt = std::clamp(felt, -scene.sensor_range_g, scene.sensor_range_g);
    out[k] = felt * kStandardGravity;
  }
  return out;
}

}  // namespace coldstroke::analysis
