// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/figures.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <numbers>

namespace coldstroke::gui {
namespace {

constexpr std::array kMetricWords{
    MetricWords{"first_motion_seconds", "First motion", "ms", 1.0e3,
                "Instant the vehicle starts to move (onset of net force), on the record's own time."},
    MetricWords{"stroke_time_seconds", "Stroke time", "ms", 1.0e3, "First motion to end of stroke."},
    MetricWords{"impulse_newton_seconds", "Impulse", "N s", 1.0,
                "Force on the vehicle over the stroke, net of its weight, integrated from first motion to separation."},
    MetricWords{"peak_force_newtons", "Peak force", "N", 1.0,
                "Largest force of the piston on the vehicle during the stroke, weight included."},
    MetricWords{"peak_acceleration_g", "Peak acceleration", "g", 1.0,
                "Largest felt acceleration during the stroke; at rest upright it reads 1 g."},
    MetricWords{"mean_acceleration_g", "Mean acceleration", "g", 1.0, "Felt acceleration averaged over the stroke."},
    MetricWords{"exit_speed_from_force_mps", "Exit speed, force", "m/s", 1.0,
                "Speed at separation from the impulse and the moving mass."},
    MetricWords{"exit_speed_from_acceleration_mps", "Exit speed, accel.", "m/s", 1.0,
                "Speed at separation from the acceleration, gravity removed, integrated over the stroke."},
    MetricWords{"exit_speed_from_stroke_mps", "Exit speed, stroke", "m/s", 1.0,
                "Speed at separation scaled so that the travel matches the measured stroke."},
    MetricWords{"droop_pascals", "Supply droop", "bar", 1.0e-5, "Fall of the supply pressure during the stroke."},
    MetricWords{"detector_latency_seconds", "Detector latency", "ms", 1.0e3,
                "First motion to the flight board's own first decision, on the bench clock. Negative: decided before motion."},
    MetricWords{"mean_force_newtons", "Mean force", "N", 1.0,
                "Force of the piston on the vehicle averaged over the stroke, weight included."},
    MetricWords{"rise_time_seconds", "Rise time", "ms", 1.0e3, "From 10 to 90 % of the net peak force."},
    MetricWords{"exit_speed_from_free_fall_mps", "Exit speed, free fall", "m/s", 1.0,
                "Speed at separation from the time in the air and the landing height."},
    MetricWords{"energy_joules", "Energy", "J", 1.0, "Work done on the vehicle: its kinetic energy at separation and its lift."},
    MetricWords{"efficiency_ratio", "Efficiency", "%", 100.0, "Work on the vehicle over the energy of the charge."},
    MetricWords{"recovery_pascals", "Supply recovery", "bar", 1.0e-5,
                "Rise of the supply pressure from its lowest after the stroke."},
    MetricWords{"supply_fall_seconds", "Supply fall", "ms", 1.0e3, "From 10 to 90 % of the supply pressure's fall."},
    MetricWords{"chamber_rise_seconds", "Chamber rise", "ms", 1.0e3,
                "From 10 to 90 % of the chamber pressure's rise to its peak. Longer: a valve opens slowly or not at all."},
    MetricWords{"valve_delay_seconds", "Valve delay", "ms", 1.0e3,
                "Release command to the middle of the chamber pressure's rise."},
    MetricWords{"release_pressure_pascals", "Release pressure", "bar", 1.0e-5, "Supply pressure just before the release, gauge."},
    MetricWords{"coast_apex_metres", "Coast apex", "m", 1.0,
                "Height of the unpowered climb above the tube's mouth, with quadratic drag."},
    MetricWords{"coast_apex_time_seconds", "Time to apex", "s", 1.0, "Separation to the top of the unpowered climb."},
    MetricWords{"thrust_onset_seconds", "Thrust onset", "ms", 1.0e3,
                "Separation to where thrust would begin: decision, logic, igniter delay and build-up."},
    MetricWords{"onset_height_metres", "Height at onset", "m", 1.0, "Height above the mouth where thrust would begin."},
    MetricWords{"onset_speed_mps", "Speed at onset", "m/s", 1.0, "Vertical speed where thrust would begin; negative: falling."},
    MetricWords{"onset_before_apex_seconds", "Onset to apex", "ms", 1.0e3,
                "From where thrust would begin to the top of the climb; negative: it would begin in the fall."},
    MetricWords{"onset_in_window_probability", "Onset in window", "%", 100.0,
                "Probability that thrust would begin high enough and still rising fast enough."},
    MetricWords{"latest_safe_decision_seconds", "Latest safe decision", "ms", 1.0e3,
                "From first motion. After this the flight board must inhibit itself; this program cannot do it for the board."},
    MetricWords{"tip_off_rate_radians_per_second", "Tip-off rate", "deg/s", 57.29577951308232,
                "Turn rate of the vehicle just after it left the tube."},
    MetricWords{"tip_off_tilt_radians", "Tilt at exit", "deg", 57.29577951308232,
                "Tilt from vertical at separation, the tube's own tilt added at its worst."},
    MetricWords{"onset_tilt_radians", "Tilt at onset", "deg", 57.29577951308232,
                "Tilt where thrust would begin, the turn rate going on."},
    MetricWords{"lateral_peak_g", "Lateral peak", "g", 1.0, "Largest acceleration across the tube during the stroke."},
    MetricWords{"firing_current_amperes", "Firing current", "A", 1.0,
                "Current through the dummy load that sits in the igniter's place."},
    MetricWords{"firing_hold_seconds", "Firing hold", "ms", 1.0e3,
                "How long the current was at or above the all-fire current with its margin."},
    MetricWords{"firing_start_seconds", "Firing start", "ms", 1.0e3, "First motion to the first current in the dummy load."},
    MetricWords{"firing_action_ampere2_seconds", "Firing action", "A2 s", 1.0, "Integral of the squared current."},
};

}  // namespace

ScreenUnit screen_unit(analysis::Quantity quantity) {
  switch (quantity) {
    case analysis::Quantity::force:
      return {"N", 1.0};
    case analysis::Quantity::gauge_pressure:
      return {"bar", 1.0e-5};
    case analysis::Quantity::acceleration:
      return {"g", 1.0 / 9.80665};
    case analysis::Quantity::current:
      return {"A", 1.0};
    case analysis::Quantity::angular_rate:
      return {"deg/s", 180.0 / std::numbers::pi};
    case analysis::Quantity::temperature:
      return {"K", 1.0};
    case analysis::Quantity::other:
      break;
  }
  return {"", 1.0};
}

std::string channel_title(analysis::Role role, std::string_view name) {
  switch (role) {
    case analysis::Role::force:
      return "force";
    case analysis::Role::supply_pressure:
      return "supply";
    case analysis::Role::chamber_pressure:
      return "chamber";
    case analysis::Role::vehicle_acceleration:
      return "acceleration";
    case analysis::Role::dummy_load_current:
      return "dummy-load current";
    case analysis::Role::lateral_acceleration:
      return "lateral acceleration";
    case analysis::Role::second_lateral_acceleration:
      return "lateral acceleration 2";
    case analysis::Role::tilt_rate:
      return "tilt rate";
    case analysis::Role::second_tilt_rate:
      return "tilt rate 2";
    case analysis::Role::temperature:
      return "temperature";
    case analysis::Role::other:
      break;
  }
  return std::string{name};
}

std::string trace_legend(const analysis::Trace& trace, bool filtered) {
  const ScreenUnit unit = screen_unit(trace.quantity);
  std::string words = channel_title(trace.role, trace.name) + (unit.symbol.empty() ? "" : " " + std::string{unit.symbol});
  return words + (trace.frequency_class > 0 && filtered ? ", CFC " + std::to_string(trace.frequency_class) : ", unfiltered");
}

const MetricWords* metric_words(std::string_view name) {
  const auto found =
      std::find_if(kMetricWords.begin(), kMetricWords.end(), [&](const auto& words) { return words.name == name; });
  return found == kMetricWords.end() ? nullptr : &*found;
}

std::string decimal(double value, int decimals) {
  std::array<char, 352> text{};  // the longest double with 9 decimals has 319 characters
  std::snprintf(text.data(), text.size(), "%.*f", std::clamp(decimals, 0, 9), value);
  std::string out{text.data()};
  if (out.front() == '-' && out.find_first_not_of("-0.") == std::string::npos) out.erase(0, 1);
  return out;
}

int decimals_for(double value, int digits) {
  const double size = std::abs(value);
  if (!std::isfinite(size) || size == 0.0) return std::clamp(digits - 1, 0, 9);
  const int magnitude = static_cast<int>(std::floor(std::log10(size)));
  // 0.0996 to two digits rounds up to 0.100: one decimal less is wanted then.
  const int wanted = digits - 1 - magnitude;
  const double step = std::pow(10.0, -wanted);
  const bool carries = std::round(size / step) >= std::pow(10.0, digits);
  return std::clamp(carries ? wanted - 1 : wanted, 0, 9);
}

std::string significant(double value, int digits) { return decimal(value, decimals_for(value, digits)); }

std::string bound_text(double bound) { return decimal(std::floor(bound * 1.0e4) * 1.0e-4, 4); }

std::string with_uncertainty(double value, double uncertainty) {
  if (!std::isfinite(uncertainty) || uncertainty <= 0.0) return significant(value, 4);
  const int decimals = decimals_for(uncertainty, 2);
  return decimal(value, decimals) + " ± " + decimal(uncertainty, decimals);
}

std::string age(double seconds) {
  if (!std::isfinite(seconds)) return "never";
  const double old = std::max(0.0, seconds);
  if (old < 0.9995) return decimal(std::ceil(old * 1.0e3), 0) + " ms";
  if (old < 59.95) return decimal(std::ceil(old * 10.0) / 10.0, 1) + " s";
  if (old < 3600.0) return decimal(std::ceil(old / 60.0), 0) + " min";
  return decimal(std::ceil(old / 3600.0), 0) + " h";
}

std::string grouped(unsigned long long count) {
  std::string digits = std::to_string(count);
  if (digits.size() <= 4) return digits;
  for (std::size_t at = digits.size() - 3;; at -= 3) {
    digits.insert(at, "\u202f");
    if (at <= 3) break;
  }
  return digits;
}

std::string number_stretches(std::span<const std::int64_t> numbers) {
  std::string text;
  for (std::size_t k = 0; k < numbers.size();) {
    std::size_t last = k;
    while (last + 1 < numbers.size() && numbers[last + 1] == numbers[last] + 1) ++last;
    if (last == k + 1) last = k;
    text += (text.empty() ? "" : ", ") + std::to_string(numbers[k]) + (last > k ? " to " + std::to_string(numbers[last]) : "");
    k = last + 1;
  }
  return text;
}

}  // namespace coldstroke::gui
