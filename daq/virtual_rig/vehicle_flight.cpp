// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/virtual_rig/vehicle_flight.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "analysis/pneumatics/stroke_model.hpp"

namespace coldstroke::daq {
namespace {
constexpr double kToppleSeconds = 0.3;  // after the blow the vehicle tips over in the net
}

VehicleFlight::VehicleFlight(const Scenario& scenario, double mass_kg)
    : gravity_{analysis::kStandardGravity * std::cos(scenario.tube.tilt_radians)},
      net_height_{scenario.vehicle.net_height_metres},
      landing_seconds_{scenario.vehicle.landing_seconds},
      handling_seconds_{scenario.vehicle.handling_seconds} {
  const double density = scenario.gas.ambient_pascals / (analysis::kAirGasConstant * scenario.gas.ambient_kelvin);
  const double area = 0.25 * std::numbers::pi * scenario.vehicle.diameter_metres * scenario.vehicle.diameter_metres;
  drag_per_speed2_ = 0.5 * density * scenario.vehicle.drag_coefficient * area / mass_kg;
}

double VehicleFlight::drag(double speed) const { return drag_per_speed2_ * speed * std::abs(speed); }

void VehicleFlight::go(Place place, double now) {
  place_ = place;
  since_ = now;
}

void VehicleFlight::leave(double now, double speed_mps) {
  go(Place::airborne, now);
  now_ = now;
  speed_ = speed_mps;
  height_ = apex_ = 0.0;
}

void VehicleFlight::pick_up(double now) {
  go(Place::handled, now);
  now_ = now;
}

void VehicleFlight::advance(double now) {
  const double step = now - now_;
  now_ = now;
  switch (place_) {
    case Place::airborne: {
      // Midpoint rule: at a millisecond the error of the whole flight is far below a millimetre.
      const double middle = speed_ + 0.5 * step * (-gravity_ - drag(speed_));
      height_ += step * middle;
      speed_ += step * (-gravity_ - drag(middle));
      apex_ = std::max(apex_, height_);
      if (speed_ < 0.0 && height_ <= net_height_) {
        // A half sine of this peak takes all the speed away in landing_seconds: integral = 2/pi * peak * duration.
        blow_ = -speed_ * std::numbers::pi / (2.0 * landing_seconds_);
        speed_ = 0.0;
        go(Place::landing, now);
      }
      break;
    }
    case Place::landing:
      if (now >= since_ + landing_seconds_) go(Place::lying, now);
      break;
    case Place::handled:
      if (now >= since_ + handling_seconds_) go(Place::seated, now);
      break;
    case Place::seated:
    case Place::lying:
      break;
  }
}

VehicleFlight::Felt VehicleFlight::felt(double now) const {
  const double g = analysis::kStandardGravity;
  switch (place_) {
    case Place::airborne:
      return {.x = 0.0, .z = -drag(speed_)};
    case Place::landing:
      return {.x = 0.0,
              .z = blow_ * std::sin(std::numbers::pi * std::clamp((now - since_) / landing_seconds_, 0.0, 1.0)) + gravity_};
    case Place::lying: {
      const double lean = 0.5 * std::numbers::pi * std::clamp((now - since_) / kToppleSeconds, 0.0, 1.0);
      return {.x = g * std::sin(lean), .z = g * std::cos(lean)};
    }
    case Place::handled: {
      const double lean = 0.5 * std::numbers::pi * std::clamp(1.0 - (now - since_) / handling_seconds_, 0.0, 1.0);
      return {.x = g * std::sin(lean), .z = g * std::cos(lean)};
    }
    case Place::seated:
      break;
  }
  return {.x = 0.0, .z = gravity_};
}

}  // namespace coldstroke::daq
