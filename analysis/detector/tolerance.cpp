// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/detector/tolerance.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "analysis/detector/board_counts.hpp"
#include "analysis/detector/prepared_library.hpp"
#include "analysis/pneumatics/stroke_model.hpp"
#include "analysis/statistics/wording.hpp"

namespace coldstroke::analysis {
namespace {

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

/// One recording of a search, cut down to what decides: the watched axis, and of one that must fire what a decision in time can
/// lie in. A late decision and none at all are both wrong.
class Subject {
 public:
  Subject(const ToleranceSearch& search, Change change, std::size_t recording)
      : search_{search}, change_{change}, step_{ladder(change, search.steps).step} {
    const Recording& whole = search.library[recording];
    seed_ = search.steps.noise_seed + 1'000'003 * recording;
    const auto axis = static_cast<std::size_t>(search.spec->axis);
    const auto& samples = whole.along(search.spec->axis);
    const double shortest = change == Change::shorter_stroke ? 1.0 - search.steps.fraction_max : 1.0;
    const double needed = (whole.first_motion_seconds + whole.deadline_seconds / shortest) * whole.sample_rate_hz + kSpareSamples;
    const std::size_t count = whole.label == Label::must_fire && needed < static_cast<double>(samples.size())
                                  ? static_cast<std::size_t>(needed)
                                  : samples.size();
    lean_.label = whole.label;
    lean_.sample_rate_hz = whole.sample_rate_hz;
    lean_.rest_g = whole.rest_g;
    lean_.first_motion_seconds = whole.first_motion_seconds;
    lean_.deadline_seconds = whole.deadline_seconds;
    lean_.axes[axis].assign(samples.begin(), samples.begin() + static_cast<std::ptrdiff_t>(count));
    highest_mps2_ = *std::ranges::max_element(lean_.axes[axis]);
  }

  [[nodiscard]] bool comes_out_right(std::size_t step) const {
    const Variation variation = variation_of(change_, static_cast<double>(step) * step_, seed_ + step);
    if (lean_.label == Label::must_stay_silent && too_low_to_decide(variation)) return true;
    const Recording changed = vary(lean_, variation);
    // Only a must_fire recording can become unusable by a change: shortened until first motion is its last sample.
    const auto samples = static_cast<double>(changed.along(search_.spec->axis).size());
    if (lean_.label == Label::must_fire && (samples - 1.0) / changed.sample_rate_hz < changed.first_motion_seconds) return false;
    const PreparedRecording prepared = prepare_recording(changed, search_.spec->axis, search_.spec->board);
    return right(judge(prepared, search_.spec->board.sample_rate_hz, replay(search_.settings, prepared.counts)).outcome);
  }

 private:
  /// Room for the straight lines between samples and between instants.
  static constexpr double kSpareSamples = 4.0;

  /// No mean, no held level and no k of n reaches a threshold that no sample reaches; a gain needs one of its share. What is
  /// between samples, and behind the low-pass, is no higher than the highest sample.
  [[nodiscard]] bool too_low_to_decide(const Variation& variation) const {
    if (variation.noise_rms_g > 0.0) return false;
    const double rest = lean_.rest_g[static_cast<std::size_t>(search_.spec->axis)] * kStandardGravity;
    const double highest = rest + variation.level_factor * (highest_mps2_ - rest) + variation.offset_g * kStandardGravity;
    const std::int64_t net = std::max(0, net_of_rest(count_of(highest, search_.spec->board), search_.settings.rest_counts));
    const bool sums = search_.settings.kind == DetectorKind::moving_mean || search_.settings.kind == DetectorKind::velocity_gain;
    return (sums ? net * search_.settings.window_samples : net) < statistic_threshold(search_.settings);
  }

  const ToleranceSearch& search_;
  Change change_;
  double step_;
  std::uint64_t seed_ = 0;
  Recording lean_;
  double highest_mps2_ = 0.0;
};

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

Result<ToleranceSearch> plan_tolerances(std::span<const Recording> library, const DetectorSpec& spec,
                                        const ToleranceSteps& steps) {
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
  ToleranceSearch out{library, &spec, *settings, steps, {}};
  const auto as_recorded = replay_library(*prepared, *settings);
  for (std::size_t i = 0; i < as_recorded.size(); ++i)
    if (!right(as_recorded[i].outcome)) out.wrong_as_recorded.push_back(i);
  return out;
}

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

std::size_t step_count(const ToleranceSearch& search, Change change) { return ladder(change, search.steps).count; }

std::optional<std::size_t> any_wrong_step(const ToleranceSearch& search, Change change, std::size_t recording,
                                          std::size_t up_to) {
  if (up_to == 0) return std::nullopt;
  const Subject subject{search, change, recording};
  if (subject.comes_out_right(up_to)) return std::nullopt;
  std::size_t right_at = 0, wrong_at = up_to;
  while (wrong_at - right_at > 1) {
    const std::size_t middle = right_at + (wrong_at - right_at) / 2;
    (subject.comes_out_right(middle) ? right_at : wrong_at) = middle;
  }
  return wrong_at;
}

std::optional<std::size_t> first_wrong_step(const ToleranceSearch& search, Change change, std::size_t recording,
                                            std::size_t up_to, const std::function<bool()>& cancelled) {
  if (up_to == 0) return std::nullopt;
  const Subject subject{search, change, recording};
  for (std::size_t step = 1; step <= up_to; ++step) {
    if (cancelled && cancelled()) return std::nullopt;
    if (!subject.comes_out_right(step)) return step;
  }
  return std::nullopt;
}

Tolerance tolerance_at(const ToleranceSearch& search, Change change, std::size_t last_right) {
  const Ladder l = ladder(change, search.steps);
  Tolerance out{change, static_cast<double>(last_right) * l.step, std::nullopt, std::nullopt};
  if (last_right >= l.count) return out;
  out.fails_at = static_cast<double>(last_right + 1) * l.step;
  for (std::size_t i = 0; i < search.library.size() && !out.binding_recording; ++i)
    if (concerns(change, search.library[i].label) && !Subject{search, change, i}.comes_out_right(last_right + 1))
      out.binding_recording = i;
  return out;
}

std::optional<Tolerances> tolerances(const ToleranceSearch& search, const std::function<bool()>& cancelled) {
  Tolerances out{search.wrong_as_recorded, {}};
  if (!out.wrong_as_recorded.empty()) return out;
  for (std::size_t c = 0; c < kChangeCount; ++c) {
    const auto change = static_cast<Change>(c);
    std::size_t last_right = step_count(search, change);
    bool any = false;
    for (std::size_t i = 0; i < search.library.size(); ++i) {
      if (!concerns(change, search.library[i].label)) continue;
      any = true;
      if (const auto wrong = first_wrong_step(search, change, i, last_right, cancelled)) last_right = *wrong - 1;
      if (cancelled && cancelled()) return std::nullopt;
    }
    if (any) out.each.push_back(tolerance_at(search, change, last_right));
  }
  return out;
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
