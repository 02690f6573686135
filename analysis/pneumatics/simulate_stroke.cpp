// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cassert>

#include "analysis/pneumatics/stroke_model.hpp"

namespace coldstroke::analysis {
namespace {

std::vector<double> openings_at(const StrokeParameters& q, const std::vector<double>& commands, double time) {
  std::vector<double> out(q.valves.size());
  for (std::size_t i = 0; i < out.size(); ++i) out[i] = opening(q.valves[i], time - commands[i]);
  return out;
}

/// Corners of the opening ramps: steps end there, so that no step integrates across one.
std::vector<double> corners(const StrokeParameters& q, const std::vector<double>& commands, double limit) {
  std::vector<double> out;
  for (std::size_t i = 0; i < q.valves.size(); ++i) {
    out.push_back(commands[i] + q.valves[i].dead_time_seconds);
    out.push_back(commands[i] + q.valves[i].dead_time_seconds + q.valves[i].opening_seconds);
  }
  out.push_back(limit);
  std::sort(out.begin(), out.end());
  return out;
}

void note_peak(const StrokeParameters& q, const StrokeState& state, double time, StrokeSummary& out) {
  const double a = acceleration(q, state);
  if (a <= out.peak_acceleration_mps2) return;
  out.peak_acceleration_mps2 = a;
  out.peak_net_force_newtons = a * (q.vehicle_mass_kg + q.piston_mass_kg);
  out.peak_time_seconds = time;
}

}  // namespace

StrokeSummary simulate_stroke(const StrokeParameters& parameters, double charge_gauge_pascals, double step_seconds,
                              double limit_seconds, const std::vector<double>& valve_command_seconds) {
  assert(valve_command_seconds.empty() || valve_command_seconds.size() == parameters.valves.size());
  const std::vector<double> commands =
      valve_command_seconds.empty() ? std::vector<double>(parameters.valves.size(), 0.0) : valve_command_seconds;
  StrokeState state;
  state.reservoir_pascals = parameters.ambient_pascals + charge_gauge_pascals;
  state.chamber_pascals = parameters.ambient_pascals;
  state.reservoir_kelvin = state.chamber_kelvin = parameters.ambient_kelvin;
  const std::vector<double> ends = corners(parameters, commands, limit_seconds);
  StrokeSummary out;
  double time = 0.0;
  while (time < limit_seconds) {
    // The next corner strictly ahead; a corner a rounding error away would make a step of no length.
    const auto corner = std::find_if(ends.begin(), ends.end(), [&](double end) { return end > time + 1.0e-12; });
    if (corner == ends.end()) break;
    const bool to_corner = *corner < time + step_seconds;
    const double next = to_corner ? *corner : time + step_seconds;
    const double step = next - time;
    // A valve without a ramp jumps at its corner: look at the openings just inside the step.
    const double inside = 1.0e-6 * step;
    StrokeEvents events;
    const StrokeState after = advance(parameters, state, openings_at(parameters, commands, time + inside),
                                      openings_at(parameters, commands, time + 0.5 * step),
                                      openings_at(parameters, commands, next - inside), step, &events);
    if (events.first_motion_seconds && !out.first_motion_seconds) out.first_motion_seconds = time + *events.first_motion_seconds;
    if (events.exit_seconds) {
      out.exit_seconds = time + *events.exit_seconds;
      out.at_exit = events.at_exit;
      note_peak(parameters, out.at_exit, *out.exit_seconds, out);
      break;
    }
    time = next;
    state = after;
    note_peak(parameters, state, time, out);
  }
  if (!out.exit_seconds) out.at_exit = state;
  out.exit_speed_mps = out.exit_seconds ? out.at_exit.speed_mps : 0.0;
  out.reservoir_at_exit_pascals = out.at_exit.reservoir_pascals;
  out.chamber_at_exit_pascals = out.at_exit.chamber_pascals;
  return out;
}

}  // namespace coldstroke::analysis
