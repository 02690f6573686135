// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/sequence/hand_valves.hpp"

#include <array>
#include <cmath>
#include <cstdio>

namespace coldstroke::daq {

namespace {

std::string bar(double pascals) {
  std::array<char, 32> buffer{};
  std::snprintf(buffer.data(), buffer.size(), "%.2f bar", std::round(pascals / 1.0e3) / 100.0 + 0.0);  // never "-0.00 bar"
  return buffer.data();
}

/// Gas that comes in through an open charge valve lifts the pressure faster than this share of the steady limit allows.
bool rises(const Readings& r, const Setup& s) { return r.pressure_slope > s.charge.steady_pascals_per_second; }

}  // namespace

std::vector<HandStep> hand_steps(Step step, const Readings& r, const Setup& s) {
  if (s.charge_valves == ChargeValves::driven) return {};
  const bool known = pressure_known(r, s);
  const std::string now = known ? bar(r.pressure_pascals) : "pressure not known";
  const HandStep vent{"Open the vent valve fully and leave it open",
                      now + ", proven below " + bar(s.sequence.vented_below_pascals), proven_low(r, s)};
  const HandStep shut{"Shut the charge valve", now + ", must not rise", known && !rises(r, s)};
  switch (step) {
    case Step::idle:
    case Step::checks:
      return {shut, vent};
    case Step::charging:
      return {{"Shut the vent valve", now + ", proven once the pressure holds above the vented limit",
               known && r.pressure_pascals >= 2.0 * s.sequence.vented_below_pascals},
              {"Set the regulator to " + bar(s.charge.target_pascals) + " and open the charge valve slowly",
               now + ", proven at " + bar(s.charge.target_pascals), known && r.pressure_pascals >= s.charge.target_pascals}};
    case Step::settling:
      return {{"Shut the charge valve, then the bottle; go behind the line", now + ", proven by a steady pressure",
               known && r.steady_seconds >= s.charge.settle_seconds}};
    case Step::venting:
    case Step::aborting:
    case Step::keep_clear:
    case Step::locked_out:
    case Step::review:
      return {shut, vent};
    default:
      return {};
  }
}

std::vector<std::string> lacking_protections(const Setup& s) {
  if (s.charge_valves == ChargeValves::driven) return {};
  return {"a lost link, a stopped program or a dead computer does not vent this rig: only a person at the vent valve does",
          "an abort shuts the fast valves; the pressure stays until a person opens the vent valve",
          "over-pressure is not shut off: the relief valve is the only protection",
          "nothing shuts the charge valve by itself if the regulator creeps",
          "the positions of charge and vent valve are not read back: the pressure reading is the only proof"};
}

}  // namespace coldstroke::daq
