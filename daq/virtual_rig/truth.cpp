// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/virtual_rig/truth.hpp"

#include <cmath>
#include <nlohmann/json.hpp>

#include "analysis/pneumatics/stroke_model.hpp"

namespace coldstroke::daq {
namespace {

constexpr double kG = analysis::kStandardGravity;

nlohmann::ordered_json or_null(const std::optional<double>& value) { return value ? nlohmann::ordered_json(*value) : nullptr; }

}  // namespace

std::optional<double> EjectionTruth::stroke_seconds() const {
  if (!story.first_motion_seconds || !story.separation_seconds) return std::nullopt;
  return *story.separation_seconds - *story.first_motion_seconds;
}

std::optional<double> EjectionTruth::latency_seconds() const {
  if (story.decisions_seconds.empty() || !story.first_motion_seconds) return std::nullopt;
  return story.decisions_seconds.front() - *story.first_motion_seconds;
}

std::string EjectionTruth::outcome() const {
  if (!story.first_motion_seconds) return "no_motion";
  const std::optional<double> latency = latency_seconds();
  if (!latency) return "missed";
  if (*latency < 0.0) return "early";
  return *latency <= decision_deadline_seconds ? "in_time" : "late";
}

double EjectionTruth::peak_force_newtons() const {
  return vehicle_mass_kg * (story.peak_acceleration_mps2 + kG * std::cos(tilt_radians));
}

double EjectionTruth::peak_felt_g() const { return story.peak_acceleration_mps2 / kG + std::cos(tilt_radians); }

std::optional<double> EjectionTruth::mean_felt_g() const {
  const std::optional<double> stroke = stroke_seconds();
  if (!stroke) return std::nullopt;
  return story.exit_speed_mps / (kG * *stroke) + std::cos(tilt_radians);
}

std::string EjectionTruth::json() const {
  const auto on_rig_clock = [this](const std::optional<double>& bench) {
    return bench ? nlohmann::ordered_json(rig_seconds(*bench)) : nullptr;
  };
  const bool left = story.separation_seconds.has_value();
  const auto if_left = [left](double value) { return left ? nlohmann::ordered_json(value) : nullptr; };
  nlohmann::ordered_json out;
  out["scenario"] = scenario;
  out["seed"] = seed;
  out["ejection"] = story.number;
  out["faults"] = faults;
  out["impulse_newton_seconds"] = if_left(impulse_newton_seconds());
  out["peak_force_newtons"] = if_left(peak_force_newtons());
  out["peak_acceleration_g"] = if_left(peak_felt_g());
  out["mean_acceleration_g"] = or_null(mean_felt_g());
  out["stroke_time_seconds"] = or_null(stroke_seconds());
  out["exit_speed_mps"] = if_left(story.exit_speed_mps);
  out["rise_time_seconds"] = or_null(story.rise_time_seconds);
  out["lateral_peak_g"] = if_left(story.lateral_peak_mps2 / kG);
  out["droop_pascals"] = if_left(droop_pascals());
  out["recovery_pascals"] = if_left(story.recovery_pascals);
  const PressureEdges edges = story.pressures.edges();
  out["supply_fall_seconds"] = or_null(edges.supply_fall_seconds);
  out["chamber_rise_seconds"] = or_null(edges.chamber_rise_seconds);
  out["valve_delay_seconds"] = or_null(edges.valve_delay_seconds);
  out["detector_latency_seconds"] = or_null(latency_seconds());
  out["outcome"] = outcome();
  out["memory_lost"] = story.memory_lost;
  out["release_rig_clock_seconds"] = on_rig_clock(story.release_seconds);
  out["first_motion_rig_clock_seconds"] = on_rig_clock(story.first_motion_seconds);
  out["separation_rig_clock_seconds"] = on_rig_clock(story.separation_seconds);
  out["landing_rig_clock_seconds"] = on_rig_clock(story.landing_seconds);
  out["decisions_rig_clock_seconds"] = nlohmann::ordered_json::array();
  for (const double decision : story.decisions_seconds) out["decisions_rig_clock_seconds"].push_back(rig_seconds(decision));
  out["release_bench_seconds"] = or_null(story.release_seconds);
  out["first_motion_bench_seconds"] = or_null(story.first_motion_seconds);
  out["charge_at_release_pascals"] = story.release_seconds ? nlohmann::ordered_json(story.reservoir_at_release_pascals) : nullptr;
  out["apex_metres"] = if_left(story.apex_metres);
  out["vehicle_mass_kg"] = vehicle_mass_kg;
  out["piston_mass_kg"] = piston_mass_kg;
  out["stroke_metres"] = stroke_metres;
  out["rig_clock_offset_seconds"] = rig_offset_seconds;
  out["rig_clock_drift_ppm"] = rig_drift_ppm;
  out["flight_clock_offset_seconds"] = flight_offset_seconds;
  out["flight_clock_drift_ppm"] = flight_drift_ppm;
  return out.dump();
}

}  // namespace coldstroke::daq
