// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/detector/tolerance.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "analysis/detector/prepared_library.hpp"
#include "analysis/statistics/wording.hpp"

namespace coldstroke::analysis {
namespace {

bool concerns(Change change, Label label) {
  switch (change) {
    case Change::weaker_pulse:
    case Change::shorter_stroke:
    case Change::longer_stroke:
      return label == Label::must_fire;
    case Change::stronger_silent:
    case Change::longer_silent:
      return label == Label::must_stay_silent;
    default:
      return true;
  }
}

Variation variation_of(Change change, double amount, std::uint64_t seed) {
  Variation v;
  switch (change) {
    case Change::weaker_pulse:
      v.level_factor = 1.0 - amount;
      break;
    case Change::shorter_stroke:
      v.time_factor = 1.0 - amount;
      break;
    case Change::longer_stroke:
    case Change::longer_silent:
      v.time_factor = 1.0 + amount;
      break;
    case Change::stronger_silent:
      v.level_factor = 1.0 + amount;
      break;
    case Change::offset_up:
      v.offset_g = amount;
      break;
    case Change::offset_down:
      v.offset_g = -amount;
      break;
    case Change::noise:
      v.noise_rms_g = amount;
      v.noise_seed = seed;
      break;
  }
  return v;
}

struct Ladder {
  double step = 0.0;
  std::size_t count = 0;
};

Ladder ladder(Change change, const ToleranceSteps& s) {
  const auto of = [](double step, double max) { return Ladder{step, static_cast<std::size_t>(std::floor(max / step + 1.0e-9))}; };
  switch (change) {
    case Change::weaker_pulse:
    case Change::shorter_stroke:
      return of(s.fraction_step, s.fraction_max);
    case Change::longer_stroke:
    case Change::stronger_silent:
    case Change::longer_silent:
      return of(s.fraction_step, 10.0 * s.fraction_max);
    default:
      return of(s.level_step_g, s.level_max_g);
  }
}

bool right(ReplayOutcome outcome) { return outcome == ReplayOutcome::in_time || outcome == ReplayOutcome::silent; }

struct Subject {
  std::span<const Recording> library;
  const DetectorSpec& spec;
  const DetectorSettings& settings;
  const ToleranceSteps& steps;
};

bool comes_out_right(const Recording& recording, const Subject& s) {
  const auto prepared = prepare_library(std::span{&recording, 1}, s.spec.axis, s.spec.board);
  // Only a must_fire recording can become unusable by a change: shortened until first motion is its last sample.
  if (!prepared) return false;
  return right(replay_library(*prepared, s.settings).front().outcome);
}

/// nullopt: cancelled.
std::optional<Tolerance> climb(Change change, const Subject& s, const std::function<bool()>& cancelled) {
  const Ladder l = ladder(change, s.steps);
  Tolerance out{change, static_cast<double>(l.count) * l.step, std::nullopt, std::nullopt};
  std::size_t limit = l.count;  // no recording has failed up to here
  for (std::size_t i = 0; i < s.library.size(); ++i) {
    if (!concerns(change, s.library[i].label)) continue;
    for (std::size_t k = 1; k <= limit; ++k) {
      if (cancelled && cancelled()) return std::nullopt;
      const std::uint64_t seed = s.steps.noise_seed + 1'000'003 * i + k;
      if (comes_out_right(vary(s.library[i], variation_of(change, static_cast<double>(k) * l.step, seed)), s)) continue;
      limit = k - 1;
      out.tolerated = static_cast<double>(limit) * l.step;
      out.fails_at = static_cast<double>(k) * l.step;
      out.binding_recording = i;
    }
  }
  return out;
}

/// Rounded down: a tolerance is never overstated.
std::string amount_text(const Tolerance& t) {
  const auto hundredths = static_cast<long>(std::floor(100.0 * t.tolerated + 1.0e-6));
  const bool level = t.change == Change::offset_up || t.change == Change::offset_down || t.change == Change::noise;
  if (!level) return std::to_string(hundredths) + " %";
  const std::string rest = std::to_string(hundredths % 100);
  return std::to_string(hundredths / 100) + "." + (rest.size() < 2 ? "0" : "") + rest + " g";
}

}  // namespace

const char* word(Change change) {
  static constexpr std::array<const char*, kChangeCount> kWords{
      "weaker_pulse", "shorter_stroke", "longer_stroke", "stronger_silent", "longer_silent", "offset_up", "offset_down", "noise"};
  return kWords[static_cast<std::size_t>(change)];
}

Result<std::optional<Tolerances>> tolerances(std::span<const Recording> library, const DetectorSpec& spec,
                                             const ToleranceSteps& steps, const std::function<bool()>& cancelled) {
  const auto positive = [](double v) { return std::isfinite(v) && v > 0.0; };
  if (!positive(steps.fraction_step) || !positive(steps.level_step_g) || !positive(steps.fraction_max) ||
      steps.fraction_max >= 1.0 || !positive(steps.level_max_g) || steps.fraction_max / steps.fraction_step > 1.0e5 ||
      steps.level_max_g / steps.level_step_g > 1.0e5)
    return complain("the steps of the tolerance search are out of range", "tolerance steps",
                    "give steps above 0, a largest fraction below 1, and no more than 100000 steps");
  const auto settings = settings_of(spec);
  if (!settings) return tl::unexpected{settings.error()};
  const auto prepared = prepare_library(library, spec.axis, spec.board);
  if (!prepared) return tl::unexpected{prepared.error()};
  Tolerances out;
  const auto as_recorded = replay_library(*prepared, *settings);
  for (std::size_t i = 0; i < as_recorded.size(); ++i)
    if (!right(as_recorded[i].outcome)) out.wrong_as_recorded.push_back(i);
  if (!out.wrong_as_recorded.empty()) return std::optional{out};
  const Subject subject{library, spec, *settings, steps};
  for (std::size_t c = 0; c < kChangeCount; ++c) {
    const auto change = static_cast<Change>(c);
    if (std::none_of(library.begin(), library.end(), [&](const Recording& r) { return concerns(change, r.label); })) continue;
    auto found = climb(change, subject, cancelled);
    if (!found) return std::optional<Tolerances>{};
    out.each.push_back(*found);
  }
  return std::optional{out};
}

std::string sentence(const Tolerances& tolerances) {
  if (!tolerances.wrong_as_recorded.empty())
    return "gets " + statistics::counted(static_cast<std::int64_t>(tolerances.wrong_as_recorded.size()), "recording") +
           " wrong as recorded, so nothing is tolerated";
  static constexpr std::array<const char*, kChangeCount> kEndings{
      " weaker pulse",    " shorter stroke",    " longer stroke",       " stronger handling",
      " longer handling", " of offset upwards", " of offset downwards", " rms of noise"};
  std::string out;
  for (const Tolerance& t : tolerances.each)
    out += std::string{out.empty() ? "tolerates " : ", "} + (t.fails_at ? "" : "at least ") + amount_text(t) +
           kEndings[static_cast<std::size_t>(t.change)];
  return out.empty() ? "there is nothing to tolerate" : out;
}

}  // namespace coldstroke::analysis
