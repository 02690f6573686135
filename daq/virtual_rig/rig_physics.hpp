// SPDX-License-Identifier: GPL-3.0-or-later
//
// Gas, valves, piston, vehicle and the person beside the rig, in bench time. Knows no board and no byte: valves are commanded,
// loads come out, and one true story an ejection. Equations: analysis/pneumatics/stroke_model.hpp.
#pragma once

#include <array>
#include <cstdint>
#include <deque>
#include <optional>
#include <vector>

#include "analysis/pneumatics/stroke_model.hpp"
#include "daq/virtual_rig/random.hpp"
#include "daq/virtual_rig/scenario.hpp"
#include "daq/virtual_rig/truth.hpp"
#include "daq/virtual_rig/valve_drive.hpp"
#include "daq/virtual_rig/vehicle_flight.hpp"

namespace coldstroke::daq {

/// What the sensors stand in, SI, before any of their own faults.
struct Loads {
  double force_newtons = 0.0;         ///< on the cell, change since tared with the vehicle seated
  double supply_pascals = 0.0;        ///< gauge
  double chamber_pascals = 0.0;       ///< gauge
  std::array<double, 3> felt_mps2{};  ///< specific force of the vehicle along x, y, z (z along the tube)
};

/// A piece of time in which the loads run straight from one value to the other.
struct LoadRun {
  double start = 0.0, end = 0.0;  ///< bench seconds
  Loads from, to;
};

/// Faults of gas and mechanics in force now.
struct PhysicsFaults {
  std::array<bool, 2> fast_shut{}, fast_open{};
  bool jammed = false;
  double vent_factor = 1.0, leak_conductance = 0.0, creep_kg_per_s = 0.0, creep_lock_up_pascals = 0.0;
  double hammer_mps2 = 0.0;  ///< peak of the shock that the valves' hammer gives the vehicle at release
  bool cable_drops = false;  ///< even if the scenario says it does not
};

/// What is true of this rig and vehicle, drawn from the declared uncertainties.
struct DrawnParts {
  double vehicle_mass_kg = 0.0, piston_mass_kg = 0.0, stroke_metres = 0.0;
};

class RigPhysics {
 public:
  RigPhysics(const Scenario& scenario, std::uint64_t seed);

  /// Valve coils and lid drive as the rig board's outputs (CS_VALVE_*, CS_LID_OPEN) at bench time `now`.
  void command(std::uint16_t outputs, double now);
  void set_faults(const PhysicsFaults& faults) { faults_ = faults; }

  /// How long the next step may be: short while gas flows through the fast valves, the vehicle moves or something strikes.
  [[nodiscard]] double step_seconds() const;
  /// Goes on to `end` (not before now); the loads' runs, one or more without a gap, are in `runs`.
  void advance(double end, std::vector<LoadRun>& runs);

  [[nodiscard]] double now() const { return now_; }
  [[nodiscard]] const Loads& loads() const { return loads_; }
  /// CS_VALVE_* and CS_LID_OPEN as sensed at the valves.
  [[nodiscard]] std::uint16_t readback() const;
  /// CS_INPUT_LID_*_SWITCH.
  [[nodiscard]] std::uint16_t lid_switches() const;
  [[nodiscard]] bool cable_connected() const { return cable_; }
  [[nodiscard]] const DrawnParts& drawn() const { return drawn_; }
  [[nodiscard]] const analysis::StrokeState& gas() const { return state_; }
  [[nodiscard]] Place place() const { return flight_.place(); }

  /// Number of the ejection that the seated vehicle stands for, from 1.
  [[nodiscard]] int ejection() const { return story_.number; }
  [[nodiscard]] EjectionStory& story() { return story_; }
  [[nodiscard]] const EjectionStory& story() const { return story_; }
  /// The story of an ejection that is over (vehicle back on its seat), once each.
  [[nodiscard]] std::optional<EjectionStory> take_finished();

 private:
  void draw_ejection();
  void prepare_parameters();
  void openings(double when, std::vector<double>& out) const;
  [[nodiscard]] double next_corner(double end) const;
  void gas_step(double end, std::vector<LoadRun>& runs);
  void leave_tube(double when, const analysis::StrokeState& at_exit);
  void note_extremes(double acceleration_mps2, double when);
  void note_rise();
  void note_recovery(double seconds);
  void person();
  void seat_vehicle(double now);
  [[nodiscard]] double force_of(double acceleration_mps2, double now) const;
  [[nodiscard]] Loads loads_at(double acceleration_mps2, double now) const;
  [[nodiscard]] double blow(double now) const;
  [[nodiscard]] double fast_opening(std::size_t valve, double when) const;
  [[nodiscard]] double gauge() const { return state_.reservoir_pascals - scenario_.gas.ambient_pascals; }

  Scenario scenario_;
  Random draw_, scatter_;
  DrawnParts drawn_;
  PhysicsFaults faults_;
  double now_ = 0.0;
  std::array<ValveDrive, 2> fast_;
  ValveDrive charge_, vent_;
  bool lid_open_commanded_ = false;
  double lid_ = 0.0;  ///< 0 shut .. 1 open
  analysis::StrokeParameters parameters_;
  analysis::StrokeState state_;
  VehicleFlight flight_;
  Loads loads_;
  EjectionStory story_;
  struct Push {
    double when, acceleration_mps2;
  };
  std::vector<Push> pushes_;  ///< of this stroke, for its rise time
  /// The reservoir's mean over each millisecond of the last 50 after separation, the millisecond under way, the lowest mean
  /// of 50.
  std::deque<double> milliseconds_;
  double under_way_ = 0.0, under_way_seconds_ = 0.0, lowest_mean_ = 0.0;
  std::optional<EjectionStory> finished_;
  bool cable_ = true, in_tube_ = true;
  double breakaway_newtons_ = 0.0;  ///< drawn for this ejection
  double left_at_ = -1.0e9, left_speed_ = 0.0, hammer_at_ = -1.0e9;
  std::vector<double> open_start_, open_mid_, open_end_;
};

}  // namespace coldstroke::daq
