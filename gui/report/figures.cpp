// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/figures.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

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
    case analysis::Role::other:
      break;
  }
  return std::string{name};
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

}  // namespace coldstroke::gui
