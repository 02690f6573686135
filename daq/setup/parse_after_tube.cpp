// SPDX-License-Identifier: GPL-3.0-or-later
#include <numbers>

#include "analysis/flight/coast.hpp"
#include "analysis/pneumatics/stroke_model.hpp"
#include "daq/setup/parse_parts.hpp"

namespace coldstroke::daq {
namespace {

constexpr double kThousandth = 1.0e-3;

analysis::CoastSetup parse_coast(TableReader table) {
  analysis::CoastSetup coast;
  const double diameter = table.number("diameter_metres", {0.0, 10.0, true});
  const double coefficient = table.number("drag_coefficient", {0.0, 10.0});
  coast.drag_area_m2 = coefficient * 0.25 * std::numbers::pi * diameter * diameter;
  coast.drag_area_relative_standard_uncertainty = table.number("drag_relative_standard_uncertainty", {0.0, 1.0}, 0.2);
  const double height = table.number("site_height_metres", {-1000.0, 9000.0}, 0.0);
  const auto density = table.optional_number("air_density_kg_per_m3", {0.1, 2.0});
  coast.air_density_kg_per_m3 = density.value_or(analysis::standard_air_density_kg_per_m3(height));
  table.refuse_unknown();
  return coast;
}

analysis::IgnitionWindowSetup parse_window(TableReader table, std::optional<double> igniter_delay_seconds) {
  analysis::IgnitionWindowSetup window;
  window.logic_seconds = table.number("logic_milliseconds", {0.0, 60'000.0}) * kThousandth;
  window.igniter.mean_seconds = igniter_delay_seconds.value_or(0.0);
  window.igniter.standard_deviation_seconds =
      table.number("igniter_delay_standard_deviation_milliseconds", {0.0, 60'000.0}) * kThousandth;
  window.build_up.mean_seconds = table.number("build_up_milliseconds", {0.0, 60'000.0}) * kThousandth;
  window.build_up.standard_deviation_seconds =
      table.number("build_up_standard_deviation_milliseconds", {0.0, 60'000.0}) * kThousandth;
  window.least_height_metres = table.number("least_height_metres", {0.0, 1000.0});
  window.least_speed_mps = table.number("least_speed_mps", {0.0, 1000.0});
  window.wanted_probability = table.number("wanted_probability", {0.5, 0.999999}, 0.999);
  // A gamma distribution wider than it is long is nearly all at zero: a slip of the finger.
  if (window.igniter.standard_deviation_seconds > window.igniter.mean_seconds)
    table.complain("igniter_delay_standard_deviation_milliseconds", "is above the delay itself", "at most flight.igniter_delay");
  if (window.build_up.standard_deviation_seconds > window.build_up.mean_seconds)
    table.complain("build_up_standard_deviation_milliseconds", "is above the build-up itself", "at most build_up_milliseconds");
  if (!igniter_delay_seconds)
    table.complain("", "needs the delay from decision to gas", "flight.igniter_delay_milliseconds = NUMBER");
  table.refuse_unknown();
  return window;
}

analysis::FiringSetup parse_igniter(TableReader table, const std::vector<FiringChannel>& channels) {
  analysis::FiringSetup firing;
  firing.all_fire_amperes = table.number("all_fire_amperes", {0.0, 1000.0, true});
  firing.hold_seconds = table.number("hold_milliseconds", {0.0, 10'000.0, true}) * kThousandth;
  firing.margin = table.number("margin", {1.0, 10.0}, 1.5);
  firing.bridge_threshold_amperes = table.number("bridge_threshold_amperes", {0.0, 1000.0, true});
  firing.bridge_time_constant_seconds = table.number("bridge_time_constant_milliseconds", {0.0, 10'000.0, true}) * kThousandth;
  firing.bridge_ohms = table.number("bridge_ohms", {0.0, 1000.0, true});
  firing.hot_factor = table.number("hot_factor", {1.0, 5.0}, 1.5);
  firing.supply_volts = table.number("supply_volts", {0.0, 1000.0}, 0.0);
  firing.loop_ohms_high = table.number("loop_ohms_high", {0.0, 10'000.0}, 0.0);
  if (firing.bridge_threshold_amperes > firing.all_fire_amperes)
    table.complain("bridge_threshold_amperes", "is above all_fire_amperes", "at most all_fire_amperes");
  if (firing.loop_ohms_high > 0.0 && !(firing.supply_volts > 0.0))
    table.complain("loop_ohms_high", "cannot be compared without the supply's voltage", "supply_volts = NUMBER with it");
  // The rig board samples the current of the first channel.
  if (channels.empty() || !channels.front().dummy_load)
    table.complain("", "needs a dummy load on the first firing channel",
                   "flight.firing_channel[1] with ends_in = \"dummy_load\"");
  else
    firing.dummy_ohms = channels.front().ohms;
  table.refuse_unknown();
  return firing;
}

FastValvesSetup parse_fast_valves(TableReader table) {
  FastValvesSetup valves;
  constexpr double kCubicMetresPerSecondPascal = 1.0e-8;  // in a dm3/(s bar)
  valves.count = table.whole("count", 1, 64);
  valves.conductance_m3_per_s_pa = table.number("conductance_dm3_per_s_bar", {0.0, 10'000.0, true}) * kCubicMetresPerSecondPascal;
  valves.critical_ratio = table.number("critical_ratio", {0.0, 0.9});
  valves.opening_seconds = table.number("opening_milliseconds", {0.0, 1000.0, true}) * kThousandth;
  valves.dead_volume_m3 = table.number("dead_volume_cm3", {0.0, 1.0e6, true}) * 1.0e-6;
  valves.running_friction_newtons = table.number("running_friction_newtons", {0.0, 1.0e5, true});
  valves.seal_friction_fraction = table.number("seal_friction_fraction", {0.0, 0.5, true});
  table.refuse_unknown();
  return valves;
}

}  // namespace

void parse_after_tube(TableReader& root, Setup& setup) {
  if (root.has("fast_valves")) setup.fast_valves = parse_fast_valves(root.table("fast_valves"));
  if (root.has("coast")) setup.trial.coast = parse_coast(root.table("coast"));
  if (root.has("ignition_window"))
    setup.trial.ignition_window = parse_window(root.table("ignition_window"), setup.trial.igniter_delay_seconds);
  if (root.has("igniter")) setup.trial.firing = parse_igniter(root.table("igniter"), setup.firing_channels);
  if (root.has("tip_off")) {
    TableReader table = root.table("tip_off");
    setup.trial.tip_off = analysis::TipOffSetup{table.number("wall_contact_g", {0.0, 1000.0, true}) * analysis::kStandardGravity};
    table.refuse_unknown();
  }
}

}  // namespace coldstroke::daq
