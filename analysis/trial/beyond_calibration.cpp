// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/trial/beyond_calibration.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <initializer_list>
#include <string_view>

#include "analysis/trial/speed_agreement.hpp"

namespace coldstroke::analysis {
namespace {

constexpr double kCoveredShare = 0.01;     // of the span
constexpr double kAfterSeconds = 20.0e-3;  // the tilt rate is read so long after separation
constexpr double kBeforeSeconds = 0.1;     // the charge is read within this before first motion

/// The part of the record that a metric is made of.
enum class Part { stroke, charge_to_separation, after, whole };

struct Basis {
  std::string_view metric;
  std::initializer_list<Role> roles;
  Part part;
};

const Basis kBases[] = {{"impulse_newton_seconds", {Role::force}, Part::stroke},
                        {"peak_force_newtons", {Role::force}, Part::stroke},
                        {"mean_force_newtons", {Role::force}, Part::stroke},
                        {"rise_time_seconds", {Role::force}, Part::stroke},
                        {"exit_speed_from_force_mps", {Role::force}, Part::stroke},
                        {"energy_joules", {Role::force}, Part::stroke},
                        {"efficiency_ratio", {Role::force, Role::supply_pressure}, Part::charge_to_separation},
                        {"peak_acceleration_g", {Role::vehicle_acceleration}, Part::stroke},
                        {"mean_acceleration_g", {Role::vehicle_acceleration}, Part::stroke},
                        {"exit_speed_from_acceleration_mps", {Role::vehicle_acceleration}, Part::stroke},
                        {"droop_pascals", {Role::supply_pressure}, Part::charge_to_separation},
                        {"release_pressure_pascals", {Role::supply_pressure}, Part::charge_to_separation},
                        {"recovery_pascals", {Role::supply_pressure}, Part::after},
                        {"tip_off_rate_radians_per_second", {Role::tilt_rate, Role::second_tilt_rate}, Part::stroke},
                        {"tip_off_tilt_radians", {Role::tilt_rate, Role::second_tilt_rate}, Part::stroke},
                        {"onset_tilt_radians", {Role::tilt_rate, Role::second_tilt_rate}, Part::stroke},
                        {"lateral_peak_g", {Role::lateral_acceleration, Role::second_lateral_acceleration}, Part::stroke},
                        {"firing_current_amperes", {Role::dummy_load_current}, Part::whole},
                        {"firing_action_ampere2_seconds", {Role::dummy_load_current}, Part::whole}};

/// They rest on an exit speed alone.
constexpr std::string_view kAfterTheExitSpeed[] = {
    "coast_apex_metres",         "coast_apex_time_seconds",     "onset_height_metres",         "onset_speed_mps",
    "onset_before_apex_seconds", "onset_in_window_probability", "latest_safe_decision_seconds"};

struct Extent {
  double low = INFINITY, high = -INFINITY;
  [[nodiscard]] bool within(const CalibratedSpan& span) const {
    const double slack = kCoveredShare * (span.high - span.low);
    return !(low < span.low - slack) && !(high > span.high + slack);
  }
};

Extent extent(const Trace& trace, double from, double to) {
  Extent out;
  for (std::size_t i = 0; i < trace.samples.size(); ++i) {
    const double at = trace.start_seconds + static_cast<double>(i) * trace.period_seconds;
    if (at < from || at > to) continue;
    out.low = std::min(out.low, trace.samples[i]);
    out.high = std::max(out.high, trace.samples[i]);
  }
  return out;
}

class Marker {
 public:
  Marker(const TraceSet& traces, const Evidence& evidence, std::vector<Metric>& metrics, std::vector<Finding>& findings)
      : traces_{traces}, e_{evidence}, metrics_{metrics}, findings_{findings} {}

  void mark(const Basis& basis) {
    Measured* measured = of(basis.metric);
    for (const Role role : basis.roles)
      if (measured != nullptr && beyond(role, basis.part)) measured->beyond_calibration = true;
  }

  /// The speed that the climb was computed from is the one that is best known.
  void mark_what_follows(const Measured* speed) {
    if (speed == nullptr || !speed->beyond_calibration) return;
    for (const std::string_view name : kAfterTheExitSpeed)
      if (Measured* measured = of(name); measured != nullptr) measured->beyond_calibration = true;
  }

 private:
  Measured* of(std::string_view name) {
    const auto found = std::ranges::find(metrics_, name, &Metric::name);
    return found == metrics_.end() ? nullptr : std::get_if<Measured>(&found->value);
  }

  bool beyond(Role role, Part part) {
    const Trace* trace = find(traces_, role);
    if (trace == nullptr || !trace->calibrated) return false;
    double from = -INFINITY, to = INFINITY;
    if (part != Part::whole) {
      if (!e_.first_motion || !e_.separation) return false;
      from = part == Part::after ? e_.separation->seconds : e_.first_motion->seconds;
      // What a pressure is read by lies before the stroke.
      if (part == Part::charge_to_separation && role == Role::supply_pressure) from -= kBeforeSeconds;
      if (part != Part::after) to = e_.separation->seconds;
      if (role == Role::tilt_rate || role == Role::second_tilt_rate) to += kAfterSeconds;
    }
    const Extent seen = extent(*trace, from, to);
    if (seen.within(*trace->calibrated)) return false;
    note(*trace, seen);
    return true;
  }

  void note(const Trace& trace, const Extent& seen) {
    const auto said = [&](const Finding& f) { return f.kind == "beyond_calibration" && f.channel == trace.name; };
    if (std::ranges::any_of(findings_, said)) return;
    char text[240];
    std::snprintf(text, sizeof text,
                  "It reads from %.4g to %.4g where the calibration covers %.4g to %.4g (SI): what rests on it is extrapolated.",
                  seen.low, seen.high, trace.calibrated->low, trace.calibrated->high);
    findings_.push_back({"beyond_calibration", trace.name, text});
  }

  const TraceSet& traces_;
  const Evidence& e_;
  std::vector<Metric>& metrics_;
  std::vector<Finding>& findings_;
};

}  // namespace

void mark_beyond_calibration(const TraceSet& traces, const Evidence& evidence, std::vector<Metric>& metrics,
                             std::vector<Finding>& findings) {
  Marker marker{traces, evidence, metrics, findings};
  for (const Basis& basis : kBases) marker.mark(basis);
  // A stroke's duration scales with nothing, but its shape is read from the force, or else from the acceleration.
  marker.mark({"exit_speed_from_stroke_mps", {evidence.force.usable() ? Role::force : Role::vehicle_acceleration}, Part::stroke});
  marker.mark_what_follows(best_exit_speed(metrics));
}

}  // namespace coldstroke::analysis
