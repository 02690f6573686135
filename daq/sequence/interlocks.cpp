// SPDX-License-Identifier: GPL-3.0-or-later
//
// Which interlock matters when. The lists below are the whole answer; what each line reads and wants is in interlock_lines.cpp.
#include "daq/sequence/interlocks.hpp"

#include <algorithm>
#include <array>
#include <span>

#include "daq/sequence/interlock_lines.hpp"

namespace coldstroke::daq {

namespace {

using lines::Line;

constexpr std::array kToBegin{lines::rig_link, lines::flight_link,  lines::no_playback,
                              lines::archive,  lines::archive_room, lines::setup_unchanged};
constexpr std::array kToCharge{
    lines::rig_link,      lines::boards_kept_running,  lines::flight_link,    lines::stop_loop,        lines::release_key,
    lines::lid_open,      lines::firing_channels,      lines::detector,       lines::no_playback,      lines::board_faults,

    lines::below_maximum, lines::valves_before_charge, lines::channels_alive, lines::channels_at_rest, lines::calibration,
    lines::declared,      lines::clock_alignment,      lines::archive,        lines::archive_room,     lines::setup_unchanged,
    lines::checklist,     lines::target_pressure};
constexpr std::array kToRelease{lines::rig_link,        lines::boards_kept_running,
                                lines::flight_link,     lines::stop_loop,
                                lines::release_key,     lines::lid_open,
                                lines::firing_channels, lines::detector,
                                lines::no_playback,     lines::board_faults,
                                lines::below_maximum,   lines::valves_all_shut,
                                lines::charge_window,   lines::steady,
                                lines::channels_alive,  lines::calibration,
                                lines::declared,        lines::clock_alignment,
                                lines::archive,         lines::archive_room,
                                lines::setup_unchanged, lines::checklist,
                                lines::target_pressure};
constexpr std::array kWhileCharged{
    lines::rig_link,      lines::boards_kept_running, lines::flight_link, lines::stop_loop,   lines::release_key,
    lines::lid_open,      lines::firing_channels,     lines::detector,    lines::no_playback, lines::board_faults,
    lines::below_maximum, lines::channels_alive};
constexpr std::array kWhileRecorded{lines::archive};
constexpr std::array kWhileCounting{lines::charge_window};
// The detector may rightly build or decide here: the stroke follows within milliseconds, and so do full ranges.
constexpr std::array kWhileReleasing{lines::rig_link,        lines::flight_link,  lines::stop_loop,
                                     lines::firing_channels, lines::board_faults, lines::below_maximum};
constexpr std::array kToReview{lines::rig_link, lines::pressure_low, lines::keep_clear_wait, lines::firing_channels};
constexpr std::array kToIdle{lines::rig_link, lines::pressure_low, lines::keep_clear_wait, lines::analysis_done};

/// Safety reference, section 8: overrides never cover stop loop and key, the people and the lid, the firing channels,
/// over-pressure and the latched detector. What only a board or the proof of a vented rig can say cannot be overridden either.
constexpr std::array<std::string_view, 12> kBypassable{"flight link",      "charge window", "pressure steady", "channels alive",
                                                       "channels at rest", "calibration",   "declared boards", "clock alignment",
                                                       "archive",          "archive room",  "setup unchanged", "analysis"};

void add(InterlockList& list, std::span<const Line> lines, const Readings& r, const Setup& s) {
  for (const Line line : lines) {
    std::optional<Interlock> interlock = line(r, s);
    if (!interlock) continue;
    interlock->bypassable = bypass_exists(interlock->name);
    const auto bypass = std::ranges::find(r.bypasses, interlock->name, &Bypass::interlock);
    if (interlock->bypassable && bypass != r.bypasses.end()) interlock->bypass_reason = bypass->reason;
    list.lines.push_back(std::move(*interlock));
  }
}

}  // namespace

bool bypass_exists(std::string_view interlock) { return std::ranges::find(kBypassable, interlock) != kBypassable.end(); }

bool InterlockList::all_hold() const { return std::ranges::all_of(lines, &Interlock::lets_pass); }

const Interlock* InterlockList::first_open() const {
  const auto line = std::ranges::find_if_not(lines, &Interlock::lets_pass);
  return line == lines.end() ? nullptr : &*line;
}

const Interlock* InterlockList::find(std::string_view name) const {
  const auto line = std::ranges::find(lines, name, &Interlock::name);
  return line == lines.end() ? nullptr : &*line;
}

InterlockList interlocks_to_enter(Step to, const Readings& r, const Setup& s) {
  InterlockList list;
  switch (to) {
    case Step::checks:
      add(list, kToBegin, r, s);
      break;
    case Step::charging:
      add(list, kToCharge, r, s);
      break;
    case Step::counting:
    case Step::releasing:
      add(list, kToRelease, r, s);
      break;
    case Step::review:
      add(list, kToReview, r, s);
      break;
    case Step::idle:
      add(list, kToIdle, r, s);
      break;
    default:
      break;
  }
  return list;
}

InterlockList interlocks_while(Step step, const Readings& r, const Setup& s) {
  InterlockList list;
  switch (step) {
    case Step::counting:
      add(list, kWhileCharged, r, s);
      add(list, kWhileCounting, r, s);
      add(list, kWhileRecorded, r, s);
      break;
    case Step::charging:
    case Step::settling:
      add(list, kWhileCharged, r, s);
      add(list, kWhileRecorded, r, s);
      break;
    case Step::releasing:
      add(list, kWhileReleasing, r, s);
      break;
    default:
      break;
  }
  return list;
}

}  // namespace coldstroke::daq
