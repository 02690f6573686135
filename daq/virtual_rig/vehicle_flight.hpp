// SPDX-License-Identifier: GPL-3.0-or-later
//
// What becomes of the vehicle after it has left the tube: climb and fall with quadratic drag, the blow of the landing in a net,
// lying on its side, being put back. One dimension, along the tube's axis; attitude stays as it left. A rough but whole story, so
// that a late decision has something to be late for.
#pragma once

#include "daq/virtual_rig/scenario.hpp"

namespace coldstroke::daq {

enum class Place { seated, airborne, landing, lying, handled };

class VehicleFlight {
 public:
  VehicleFlight(const Scenario& scenario, double mass_kg);

  /// Leaves the tube at `now` with this speed.
  void leave(double now, double speed_mps);
  /// A person picks it up (or frees it in the tube) at `now`; seated when handling time is over.
  void pick_up(double now);
  /// Moves on to `now` (s). Steps of a millisecond or less.
  void advance(double now);

  [[nodiscard]] Place place() const { return place_; }
  [[nodiscard]] double since() const { return since_; }  ///< when `place` began
  /// Specific force along x (across) and z (along the vehicle), m/s^2, at `now`, while not in the tube.
  struct Felt {
    double x = 0.0, z = 0.0;
  };
  [[nodiscard]] Felt felt(double now) const;
  [[nodiscard]] double height_metres() const { return height_; }
  [[nodiscard]] double apex_metres() const { return apex_; }

 private:
  [[nodiscard]] double drag(double speed) const;  ///< deceleration, m/s^2, against the motion
  void go(Place place, double now);

  double gravity_;          ///< along the axis, m/s^2
  double drag_per_speed2_;  ///< 1/m
  double net_height_, landing_seconds_, handling_seconds_;
  Place place_ = Place::seated;
  double since_ = 0.0, now_ = 0.0;
  double speed_ = 0.0, height_ = 0.0, apex_ = 0.0, blow_ = 0.0;
};

}  // namespace coldstroke::daq
