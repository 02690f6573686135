// SPDX-License-Identifier: GPL-3.0-or-later
//
// Reservoir, fast valves, piston and vehicle: the ordinary differential equations of one ejection, for the virtual rig and,
// later, the charge planner. ISO 6358 valve flow, first-law balances of reservoir and chamber, friction with breakaway.
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <vector>

namespace coldstroke::analysis {

inline constexpr double kStandardGravity = 9.80665;  ///< m/s^2
inline constexpr double kAirGasConstant = 287.05;    ///< J/(kg K), dry air
inline constexpr double kAirHeatCapacityRatio = 1.4;
inline constexpr double kIsoReferenceDensity = 1.185;       ///< kg/m^3, ISO 8778 reference air
inline constexpr double kIsoReferenceTemperature = 293.15;  ///< K

/// Mass flow through a valve, kg/s, positive from 1 to 2, signed. ISO 6358: sonic conductance `c` in m^3/(s Pa),
/// critical ratio `b`, absolute pressures Pa, temperatures K of each side; linear from ratio 0.999 to 1.
[[nodiscard]] double iso6358_mass_flow(double c, double b, double p1, double t1, double p2, double t2);
/// Isentropic orifice of effective area `cd_area` m^2; same conventions, `t1` being the temperature of whichever side gas leaves.
/// Source: NACA Report 1135 (1953), isentropic flow relations.
[[nodiscard]] double isentropic_mass_flow(double cd_area, double gamma, double gas_constant, double p1, double t1, double p2);

struct Valve {
  double conductance = 0.0;  ///< m^3/(s Pa)
  double critical_ratio = 0.3;
  double dead_time_seconds = 0.0;  ///< command to first flow
  double opening_seconds = 0.0;    ///< linear ramp after the dead time; also used for shutting
};

struct StrokeParameters {
  double bore_metres = 0.04, stroke_metres = 0.3;
  double vehicle_mass_kg = 1.5, piston_mass_kg = 0.1;
  double reservoir_volume_m3 = 0.00075, dead_volume_m3 = 3.0e-5;
  std::vector<Valve> valves;
  double breakaway_newtons = 25.0, running_friction_newtons = 15.0, seal_friction_fraction = 0.05;
  double tilt_radians = 0.0;
  double ambient_pascals = 101325.0, ambient_kelvin = 293.15;
  double regulator_flow_kg_per_s = 0.0;  ///< Q_max * rho0; 0: shut
  double regulator_set_pascals = 0.0;    ///< absolute
  double regulator_band_pascals = 1.0e5;
  bool isothermal = false;
  // In force now: a rig that works its valves changes these (and regulator_flow_kg_per_s) between calls of `advance`.
  // Both vents lead to ambient, ISO 6358 with critical ratio `vent_critical_ratio`; 0: shut.
  double reservoir_vent_conductance = 0.0;  ///< m^3/(s Pa): vent valve and any leak of the reservoir, added up
  double chamber_vent_conductance = 0.0;    ///< m^3/(s Pa): the chamber's way out, e.g. the fast valves' exhaust when they shut
  double vent_critical_ratio = 0.3;
  double reservoir_wall_watts_per_kelvin = 0.0;  ///< heat from walls at ambient_kelvin; 0: adiabatic. Unused if isothermal
};

/// State of the gas and the moving mass. Absolute pressures.
struct StrokeState {
  double reservoir_pascals = 101325.0, reservoir_kelvin = 293.15;
  double chamber_pascals = 101325.0, chamber_kelvin = 293.15;
  double travel_metres = 0.0, speed_mps = 0.0;
  bool moving = false;
};

/// What one full ejection comes to, from command at t = 0 to exit (or to `limit_seconds` if it never leaves).
struct StrokeSummary {
  std::optional<double> first_motion_seconds, exit_seconds;
  double exit_speed_mps = 0.0;
  double peak_net_force_newtons =
      0.0;  ///< largest m * a of the moving mass: what a reaction cell tared with the vehicle seated reads
  double peak_time_seconds = 0.0;
  double peak_acceleration_mps2 = 0.0;                                    ///< kinematic
  double reservoir_at_exit_pascals = 0.0, chamber_at_exit_pascals = 0.0;  ///< absolute
  StrokeState at_exit;
};

/// What happened inside one step, seconds after its start. Located by root search on the step itself, not by its end.
struct StrokeEvents {
  std::optional<double> first_motion_seconds;  ///< friction let go
  std::optional<double> stopped_seconds;       ///< came to rest inside the tube (a jam hazard), or fell back on its seat
  std::optional<double> exit_seconds;          ///< piston at its stop: the vehicle leaves
  StrokeState at_exit;                         ///< with exit_seconds: the state there, the vehicle's speed in it
};

/// The state `step_seconds` (> 0, any length) later. `openings_*`: 0..1, one a valve, at the start, middle and end of the step;
/// a parabola through them serves in between, so a step should not straddle the corner of an opening ramp by much.
/// Classical Runge-Kutta 4, split inside as the gas needs to stay stable, and at first motion, rest and exit.
///  - held (not moving): x stays while the driving force is within the breakaway friction (never below the running one); the seat
///  carries at x = 0;
///  - moving: friction opposes the motion; at rest inside the tube it is held again (and may fall back if friction allows);
///  - at the stop: x = stroke, speed 0, moving false, for good; gas goes on flowing in and out of the chamber.
/// Not modelled: front-tube back pressure, leak past the piston, kinetic energy of the gas, muzzle blow-down after exit.
[[nodiscard]] StrokeState advance(const StrokeParameters& parameters, const StrokeState& state,
                                  const std::vector<double>& openings_start, const std::vector<double>& openings_mid,
                                  const std::vector<double>& openings_end, double step_seconds, StrokeEvents* events = nullptr);
/// Opening 0..1 of a valve `since_command` seconds after the command to open (<0: 0).
[[nodiscard]] double opening(const Valve& valve, double since_command_seconds);
/// Acceleration of the moving mass now, m/s^2 along the tube (0 while held).
[[nodiscard]] double acceleration(const StrokeParameters& parameters, const StrokeState& state);
/// Whole ejection with valves commanded together at t = 0 (`valve_command_seconds`, if given, one start a valve).
/// `charge_gauge_pascals` in the reservoir at ambient temperature. Event-located, step 20 us unless told. A piston that never
/// leaves has no exit_seconds and exit speed 0.
[[nodiscard]] StrokeSummary simulate_stroke(const StrokeParameters& parameters, double charge_gauge_pascals,
                                            double step_seconds = 20.0e-6, double limit_seconds = 0.5,
                                            const std::vector<double>& valve_command_seconds = {});

}  // namespace coldstroke::analysis
