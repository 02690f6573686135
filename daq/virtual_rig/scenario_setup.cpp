// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/virtual_rig/scenario_setup.hpp"

#include <numbers>
#include <string_view>

#include "daq/setup/setup.hpp"
#include "daq/setup/units.hpp"
#include "daq/virtual_rig/scenario.hpp"

namespace coldstroke::daq {

Result<std::string> setup_text_for(const std::string& scenario) {
  const auto known = load_scenario(scenario);
  if (!known) return tl::unexpected{known.error()};
  std::string text{virtual_setup_text()};
  const auto state = [&text](std::string_view key, const std::string& value) {
    const std::size_t at = text.find(std::string{"\n"} + std::string{key} + " = ") + key.size() + 4;
    text.replace(at, text.find_first_of(" \n", at) - at, value);
  };
  state("reservoir_volume_litres", shortest(known->gas.reservoir_volume_m3 * 1.0e3));
  if (known->detector.filter_seconds > 0.0) {
    // A filter ahead of the detector is ahead of the stream too: the lag of a single pole is its time constant.
    const double sensor = known->acceleration.damping / (std::numbers::pi * known->acceleration.bandwidth_hz);
    state("accelerometer_lag_milliseconds", shortest(1.0e3 * (sensor + known->detector.filter_seconds)));
  }
  if (!known->firing.dummy_load) return text;
  static constexpr std::string_view kOpen = "ends_in = \"open\"";
  const std::string load = "ends_in = \"dummy_load\"\nohms = " + shortest(known->firing.load_ohms);
  for (std::size_t at = text.find(kOpen); at != std::string::npos; at = text.find(kOpen, at + load.size()))
    text.replace(at, kOpen.size(), load);
  // An invented igniter, so that the firing chain can be judged from the dummy load's current.
  const Scenario::Firing& f = known->firing;
  text +=
      "\n[igniter]\nall_fire_amperes = 1.0\nhold_milliseconds = 20\nbridge_threshold_amperes = 0.32\n"
      "bridge_time_constant_milliseconds = 15\nbridge_ohms = 1.6\nhot_factor = 1.5\nsupply_volts = " +
      shortest(f.battery_volts) +
      "\nloop_ohms_high = " + shortest(1.15 * (f.load_ohms + f.series_ohms + f.wire_ohms + f.battery_ohms)) +
      "\n\n[[criterion]]\nname = \"firing chain\"\nkind = \"would_fire\"\n";
  return text;
}

}  // namespace coldstroke::daq
