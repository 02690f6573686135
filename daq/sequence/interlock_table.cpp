// SPDX-License-Identifier: GPL-3.0-or-later
//
// The interlocks as a page for people: which line is asked when, written from the lists themselves so that it cannot drift.
#include <algorithm>
#include <array>
#include <cmath>
#include <string>
#include <vector>

#include "daq/sequence/interlocks.hpp"
#include "protocol/wire/message.hpp"

namespace coldstroke::daq {

namespace {

constexpr std::array kGates{Step::checks, Step::charging, Step::counting, Step::review, Step::idle};
constexpr std::array kHeld{Step::charging, Step::settling, Step::counting, Step::releasing};

/// What a line is read from. A line that is not named here cannot get into the page.
struct Source {
  std::string_view interlock, reading;
};
constexpr std::array kSources{
    Source{"rig link", "age of the rig board's newest state frame"},
    Source{"boards kept running", "boot counters of both boards"},
    Source{"flight link", "age of the flight board's newest state frame; not asked of a flight board that records by itself"},
    Source{"emergency-stop loop", "input of the rig board"},
    Source{"release key", "input of the rig board"},
    Source{"lid", "its two switches; not asked on a tube without a lid"},
    Source{"firing channels",
           "resistance of each channel and the arm switch, as the flight board reads them; current through the "
           "dummy load without a decision"},
    Source{"detector", "state told by the flight board"},
    Source{"playback", "state told by the flight board"},
    Source{"rig board faults", "latched faults of the rig board"},
    Source{"pressure below maximum", "supply pressure, alive and inside its range"},
    Source{"valve read-back", "outputs and read-back of the rig board; hand valves are proven by the pressure"},
    Source{"charge window", "supply pressure, alive and inside its range"},
    Source{"pressure steady", "slope of the supply pressure"},
    Source{"pressure proven low", "supply and chamber pressure, alive and inside their ranges"},
    Source{"channels alive", "each channel over half a second"},
    Source{"channels at rest", "mean and scatter of each channel over half a second; not asked of a top-up"},
    Source{"calibration", "dates of the setup, today's date"},
    Source{"declared boards", "identity and detector settings that the boards tell"},
    Source{"clock alignment", "clock exchanges with both boards; not asked of a flight board that records by itself"},
    Source{"archive", "the archive's last commit"},
    Source{"archive room", "free room on the disk"},
    Source{"setup unchanged", "the setup file"},
    Source{"checklist", "signatures of the running trial"},
    Source{"target pressure", "what a person typed in the checks of the running trial"},
    Source{"keep-clear wait", "time since keep clear or locked out was entered"},
    Source{"analysis", "state of read-back and analysis"},
};

std::string source_of(const std::string& interlock) {
  const auto found = std::ranges::find(kSources, interlock, &Source::interlock);
  return found == kSources.end() ? "NOT DESCRIBED" : std::string{found->reading};
}

std::string freshness(const Interlock& line) {
  return line.fresh_seconds == kNever ? "-" : std::to_string(std::lround(line.fresh_seconds * 1000.0)) + " ms";
}

/// What losing the line means in `step`: where the sequence goes at once.
std::string lost_in(Step step, const std::string& name, const InterlockList& held) {
  if (held.find(name) == nullptr) return "";
  const std::string to = word(transition(step, SequenceEvent::interlock_lost)->to);
  if (name != "firing channels") return to;
  return to + "; live: " + word(transition(step, SequenceEvent::live_channel_found)->to);
}

}  // namespace

std::string interlock_table(const Setup& setup) {
  Readings vented;
  vented.rig_outputs = vented.rig_readback = wire::kVentValve;
  std::vector<Interlock> all;  // in the order in which they are first asked
  std::array<InterlockList, kGates.size()> gates;
  for (std::size_t g = 0; g < kGates.size(); ++g) {
    gates[g] = interlocks_to_enter(kGates[g], vented, setup);
    for (const Interlock& line : gates[g].lines)
      if (std::ranges::find(all, line.name, &Interlock::name) == all.end()) all.push_back(line);
  }
  std::string out = "| interlock | reading | limit | older than this is no reading | bypass |";
  for (const Step gate : kGates) out += std::string{" to "} + word(gate) + " |";
  for (const Step step : kHeld) out += std::string{" lost in "} + word(step) + " |";
  out += "\n|";
  for (std::size_t k = 0; k < 5 + kGates.size() + kHeld.size(); ++k) out += "---|";
  out += "\n";
  for (const Interlock& line : all) {
    out += "| " + line.name + " | " + source_of(line.name) + " | " + line.limit + " | " + freshness(line) + " | " +
           (line.bypassable ? "with a reason" : "none") + " |";
    for (const InterlockList& gate : gates) out += gate.find(line.name) == nullptr ? " |" : " must hold |";
    for (const Step step : kHeld) {
      const std::string to = lost_in(step, line.name, interlocks_while(step, vented, setup));
      out += to.empty() ? " |" : " " + to + " |";
    }
    out += "\n";
  }
  return out;
}

}  // namespace coldstroke::daq
