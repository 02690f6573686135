// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/flight/climb.hpp"

#include <algorithm>
#include <array>
#include <boost/math/distributions/normal.hpp>
#include <cmath>
#include <cstdio>

#include "analysis/flight/ignition_window.hpp"
#include "analysis/trial/budget.hpp"
#include "analysis/trial/speed_agreement.hpp"

namespace coldstroke::analysis {
namespace {

enum Input : std::size_t { exit_speed, mass, drag_area, air_density, decision, igniter, build_up, kInputs };
constexpr std::array<const char*, kInputs> kInputNames{"exit speed", "vehicle mass",  "drag area",      "air density",
                                                       "decision",   "igniter delay", "thrust build-up"};
constexpr std::array<const char*, kInputs> kInputUnits{"m/s", "kg", "m2", "kg/m3", "s", "s", "s"};

/// What the climb is computed from: values and standard uncertainties. Decision and delays in seconds, the first from separation.
struct Given {
  std::array<double, kInputs> value{}, uncertainty{};
  double tilt = 0.0, stroke_seconds = 0.0;
  std::optional<IgnitionWindowSetup> window;
  double surely_thrust_seconds = 0.0;  ///< after the decision, with the wanted probability
  bool decided = false;
};

enum Output : std::size_t {
  apex_height,
  apex_time,
  onset,
  onset_height,
  onset_speed,
  before_apex,
  probability,
  latest,
  kOutputs
};
using Outputs = std::array<std::optional<double>, kOutputs>;

VerticalPart climb_from(const Given& g, const std::array<double, kInputs>& x) {
  return vertical_part({x[mass], x[drag_area], x[air_density]}, x[exit_speed], g.tilt);
}

Outputs compute(const Given& g, const std::array<double, kInputs>& x) {
  Outputs out;
  const VerticalPart climb = climb_from(g, x);
  const Apex apex = apex_of(climb.coast, climb.exit_speed_mps);
  out[apex_height] = apex.height_metres;
  out[apex_time] = apex.seconds;
  if (!g.window) return out;
  const auto window = ignition_window(climb, *g.window);
  // From first motion, where detector latency is counted from.
  if (window) out[latest] = window->closes_seconds - g.surely_thrust_seconds + g.stroke_seconds;
  if (!g.decided) return out;
  const double at = x[decision] + g.window->logic_seconds + x[igniter] + x[build_up];
  out[onset] = at;
  out[before_apex] = apex.seconds - at;
  if (at >= 0.0) {
    const CoastPoint point = coast_at(climb.coast, climb.exit_speed_mps, at);
    out[onset_height] = point.height_metres;
    out[onset_speed] = point.speed_mps;
  }
  out[probability] = window ? probability_in_window(*window, *g.window, x[decision]) : 0.0;
  return out;
}

/// Which inputs make an output uncertain. The delays' scatter is inside the probability and the deadline, not about them.
bool matters(Output output, std::size_t input) {
  return !((output == probability || output == latest) && (input == igniter || input == build_up));
}

/// All outputs with one input a standard uncertainty lower and higher.
struct Varied {
  Outputs low, high;
};

std::array<Varied, kInputs> varied(const Given& g) {
  std::array<Varied, kInputs> out;
  for (std::size_t i = 0; i < kInputs; ++i) {
    if (!(g.uncertainty[i] > 0.0)) continue;
    auto low = g.value, high = g.value;
    low[i] -= g.uncertainty[i];
    high[i] += g.uncertainty[i];
    out[i] = {compute(g, low), compute(g, high)};
  }
  return out;
}

/// A probability near 0 or 1 does not bend like a straight line; its normal deviate nearly does, so the budget is made on that
/// scale and its interval taken back. Lines and standard uncertainty are those of the straight line at the value.
Measured probability_budget(const Given& g, const std::array<Varied, kInputs>& around, double value) {
  const boost::math::normal standard;
  const auto deviate = [&](double p) { return boost::math::quantile(standard, std::clamp(p, 1.0e-12, 1.0 - 1.0e-12)); };
  Budget on_scale;
  for (std::size_t i = 0; i < kInputs; ++i) {
    const double u = g.uncertainty[i];
    const auto &low = around[i].low[probability], &high = around[i].high[probability];
    if (u > 0.0 && matters(probability, i) && low && high)
      on_scale.add(kInputNames[i], u, kInputUnits[i], (deviate(*high) - deviate(*low)) / (2.0 * u));
  }
  const double z = deviate(value), half = on_scale.half_width_95();
  Measured out = on_scale.scaled(boost::math::pdf(standard, z)).measured(value);
  out.low_95 = std::min(value, boost::math::cdf(standard, z - half));
  out.high_95 = std::max(value, boost::math::cdf(standard, z + half));
  return out;
}

Measured with_budget(const Given& g, const std::array<Varied, kInputs>& around, Output output, double value) {
  if (output == probability) return probability_budget(g, around, value);
  Budget budget;
  for (std::size_t i = 0; i < kInputs; ++i) {
    const double u = g.uncertainty[i];
    if (!(u > 0.0) || !matters(output, i)) continue;
    const auto &low = around[i].low[output], &high = around[i].high[output];
    budget.add(kInputNames[i], u, kInputUnits[i], low && high ? (*high - *low) / (2.0 * u) : 0.0);
  }
  return budget.measured(value);
}

const Measured* measured(const std::vector<Metric>& metrics, std::string_view name) {
  const auto found = std::find_if(metrics.begin(), metrics.end(), [name](const Metric& m) { return m.name == name; });
  return found == metrics.end() ? nullptr : found->measured();
}

struct Words {
  const char *name, *unit, *method;
};
constexpr std::array<Words, kOutputs> kWords{{
    {"coast_apex_metres", "m", "height above the tube's mouth: closed form with quadratic drag, from the best exit speed"},
    {"coast_apex_time_seconds", "s", "separation to apex: closed form with quadratic drag"},
    {"thrust_onset_seconds", "s", "separation to thrust: decision, logic, mean igniter delay and mean build-up"},
    {"onset_height_metres", "m", "height above the tube's mouth at the expected thrust onset"},
    {"onset_speed_mps", "m/s", "vertical speed at the expected thrust onset, upwards positive"},
    {"onset_before_apex_seconds", "s", "expected thrust onset to apex; negative: the vehicle is falling"},
    {"onset_in_window_probability", "1", "of thrust above the least height and faster than the least speed, over both delays"},
    {"latest_safe_decision_seconds", "s", "from first motion: a later decision brings thrust too late too often; inhibit then"},
}};

void note_window(const Given& g, const Outputs& out, Climb& climb) {
  const VerticalPart path = climb_from(g, g.value);
  const auto window = ignition_window(path, *g.window);
  char text[240];
  if (!window) {
    std::snprintf(text, sizeof text, "The vehicle is never above %.3g m and rising faster than %.3g m/s at once: no safe thrust.",
                  g.window->least_height_metres, g.window->least_speed_mps);
    climb.findings.push_back({"no_ignition_window", "", text});
    climb.no_window = true;
    return;
  }
  climb.earliest_current_seconds = window->opens_seconds - (thrust_seconds_at(*g.window, 1.0e-3) - g.window->logic_seconds);
  climb.latest_current_seconds = window->closes_seconds - g.surely_thrust_seconds + g.window->logic_seconds;
  if (!out[onset]) return;
  if (*out[onset] > window->closes_seconds || *out[onset] < window->opens_seconds) {
    std::snprintf(text, sizeof text, "Thrust is expected %.3g s after separation, outside the window of %.3g to %.3g s.",
                  *out[onset], window->opens_seconds, window->closes_seconds);
    climb.findings.push_back({"onset_outside_window", "", text});
  }
}

}  // namespace

Climb climb_of(const TrialSetup& setup, const std::vector<Metric>& stroke_metrics) {
  Climb climb;
  const Measured *speed = best_exit_speed(stroke_metrics), *latency = measured(stroke_metrics, "detector_latency_seconds"),
                 *stroke = measured(stroke_metrics, "stroke_time_seconds");
  std::array<std::string, kOutputs> why;
  why.fill("the vehicle never is high and fast enough for a window");
  Given g;
  std::string none;
  if (!setup.coast)
    none = "the setup has no [coast]";
  else if (speed == nullptr || !(speed->value > 0.0))
    none = "no exit speed is known";
  else if (!(setup.vehicle_mass_kg > 0.0))
    none = "the vehicle's mass in the setup is not positive";
  Outputs out;
  std::array<Varied, kInputs> around;
  if (none.empty()) {
    const double drag = setup.coast->drag_area_m2, air = setup.coast->air_density_kg_per_m3;
    g.value = {speed->value, setup.vehicle_mass_kg, drag, air, 0.0, 0.0, 0.0};
    g.uncertainty = {speed->standard_uncertainty,
                     setup.vehicle_mass_standard_uncertainty_kg,
                     drag * setup.coast->drag_area_relative_standard_uncertainty,
                     air * kAirRelativeStandardUncertainty,
                     0.0,
                     0.0,
                     0.0};
    g.tilt = setup.tilt_radians;
    if (setup.ignition_window && stroke != nullptr) {
      g.window = setup.ignition_window;
      g.stroke_seconds = stroke->value;
      g.surely_thrust_seconds = thrust_seconds_at(*g.window, g.window->wanted_probability);
      g.value[igniter] = g.window->igniter.mean_seconds;
      g.value[build_up] = g.window->build_up.mean_seconds;
      g.uncertainty[igniter] = g.window->igniter.standard_deviation_seconds;
      g.uncertainty[build_up] = g.window->build_up.standard_deviation_seconds;
      g.decided = latency != nullptr;
      if (latency != nullptr) {
        g.value[decision] = latency->value - stroke->value;
        g.uncertainty[decision] = std::hypot(latency->standard_uncertainty, stroke->standard_uncertainty);
      }
    }
    out = compute(g, g.value);
    around = varied(g);
    if (g.window) note_window(g, out, climb);
  }
  for (std::size_t i = 0; i < kOutputs; ++i) {
    if (!none.empty())
      why[i] = none;
    else if (i > apex_time && !setup.ignition_window)
      why[i] = "the setup has no [ignition_window]";
    else if (i > apex_time && !g.window)
      why[i] = "the stroke time is not known";
    else if (i > apex_time && i != latest && !g.decided)
      why[i] = "the detector's latency is not known";
    else if ((i == onset_height || i == onset_speed) && out[onset])
      why[i] = "thrust would begin inside the tube";
    Metric metric{kWords[i].name, kWords[i].unit, out[i] ? kWords[i].method : "", Absent{why[i]}};
    if (out[i] && std::isfinite(*out[i])) metric.value = with_budget(g, around, static_cast<Output>(i), *out[i]);
    climb.metrics.push_back(std::move(metric));
  }
  if (const Measured* safe = climb.metrics[latest].measured(); safe != nullptr && setup.decision_deadline_seconds > safe->value) {
    char text[240];
    std::snprintf(
        text, sizeof text,
        "The setup's decision deadline of %.4g s lies after the latest safe decision, %.4g s after first motion: a decision "
        "between them counts as in time and is not safe.",
        setup.decision_deadline_seconds, safe->value);
    climb.findings.push_back({"deadline_after_latest_safe", "", text});
  }
  if (const Measured* at = climb.metrics[onset].measured(); at != nullptr) {
    climb.onset_seconds = at->value;
    climb.onset_standard_uncertainty_seconds = at->standard_uncertainty;
  }
  return climb;
}

}  // namespace coldstroke::analysis
