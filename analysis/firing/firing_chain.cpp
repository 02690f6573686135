// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/firing/firing_chain.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <vector>

namespace coldstroke::analysis {
namespace {

constexpr double kGapSeconds = 1.0e-3;

template <class... Values>
std::string sentence(const char* format, Values... values) {
  char text[320];
  std::snprintf(text, sizeof text, format, values...);
  return text;
}

struct Run {
  std::size_t first = 0, end = 0;
  [[nodiscard]] std::size_t length() const { return end - first; }
};

/// The runs of samples at or above `level` in [from, to), gaps to 1 ms bridged.
std::vector<Run> runs_above(const FiringCurrent& c, double level, std::size_t from, std::size_t to) {
  const auto bridge = static_cast<std::size_t>(std::floor(kGapSeconds / c.period_seconds + 1.0e-9));
  std::vector<Run> out;
  Run now;
  std::size_t below = 0;
  bool on = false;
  const auto close = [&](std::size_t end) {
    if (!on) return;
    now.end = end;
    out.push_back(now);
    on = false;
  };
  for (std::size_t i = from; i < to; ++i) {
    if (c.amperes[i] >= level) {
      if (!on) now.first = i, on = true;
      below = 0;
    } else if (on && ++below > bridge) {
      close(i + 1 - below);
    }
  }
  close(to - below);
  return out;
}

Run longest(const std::vector<Run>& runs) {
  const auto found = std::ranges::max_element(runs, {}, &Run::length);
  return found == runs.end() ? Run{} : *found;
}

double mean(std::span<const double> values) {
  double sum = 0.0;
  for (const double v : values) sum += v;
  return values.empty() ? 0.0 : sum / static_cast<double>(values.size());
}

/// Largest mean over any `length` samples of the run.
double largest_mean(std::span<const double> run, std::size_t length) {
  if (run.size() <= length) return mean(run);
  double sum = mean(run.first(length)) * static_cast<double>(length), best = sum;
  for (std::size_t i = length; i < run.size(); ++i) best = std::max(best, sum += run[i] - run[i - length]);
  return best / static_cast<double>(length);
}

/// Seconds from the first sample at which the bridge model fires, each sample holding for one period.
std::optional<double> bridge_seconds(const FiringCurrent& c, const FiringSetup& s, const Run& run) {
  const double keep = std::exp(-c.period_seconds / s.bridge_time_constant_seconds);
  const double threshold = s.bridge_threshold_amperes * s.bridge_threshold_amperes;
  double y = 0.0;
  for (std::size_t i = run.first; i < run.end; ++i) {
    const double amperes = hot_bridge_amperes(s, std::max(0.0, c.amperes[i])) / s.margin, drive = amperes * amperes;
    const double next = drive + (y - drive) * keep;
    if (next >= threshold) {
      const double part =
          drive > threshold ? -s.bridge_time_constant_seconds * std::log((drive - threshold) / (drive - y)) : c.period_seconds;
      return static_cast<double>(i - run.first) * c.period_seconds + part;
    }
    y = next;
  }
  return std::nullopt;
}

void measure_pulse(const FiringCurrent& c, const FiringSetup& s, const Run& pulse, FiringReport& out) {
  const auto samples = c.amperes.subspan(pulse.first, pulse.length());
  const auto hold = static_cast<std::size_t>(std::max(1.0, std::round(s.hold_seconds / c.period_seconds)));
  out.start_seconds = c.start_seconds + static_cast<double>(pulse.first) * c.period_seconds;
  out.end_seconds = c.start_seconds + static_cast<double>(pulse.end - 1) * c.period_seconds;
  out.amperes = largest_mean(samples, hold);
  out.hot_amperes = hot_bridge_amperes(s, *out.amperes);
  double squares = 0.0;
  for (const double v : samples) squares += v * v;
  out.action_ampere2_seconds = squares * c.period_seconds;
  if (s.supply_volts > 0.0 && *out.amperes > 0.0) {
    out.loop_ohms = s.supply_volts / *out.amperes;
    out.loop_too_high = s.loop_ohms_high > 0.0 && *out.loop_ohms > s.loop_ohms_high;
  }
  // The level through the dummy load that gives the wanted current into the hot bridge; the relation is a straight line.
  const double needed = s.margin * s.all_fire_amperes, per_ampere = hot_bridge_amperes(s, *out.amperes) / *out.amperes;
  const Run held = longest(runs_above(c, needed / per_ampere, pulse.first, pulse.end));
  out.held_seconds = static_cast<double>(held.length()) * c.period_seconds;
  out.bridge_seconds = bridge_seconds(c, s, pulse);
}

std::string too_low(const FiringSetup& s, const FiringReport& r) {
  std::string out = sentence("%.3g A, %.3g A into the hot bridge: below %.3g A, %.3g times the all-fire current.", *r.amperes,
                             *r.hot_amperes, s.margin * s.all_fire_amperes, s.margin);
  if (r.loop_too_high)
    out += sentence(" The loop has %.3g ohm where at most %.3g ohm is stated; a continuity check still shows it closed.",
                    *r.loop_ohms, s.loop_ohms_high);
  return out;
}

/// Does it heat the bridge to its threshold, with margin and hold time? The instant is not looked at.
FiringReport judge_heat(const FiringCurrent& current, const FiringSetup& setup, const Run& pulse) {
  FiringReport out;
  measure_pulse(current, setup, pulse, out);
  const double needed = setup.margin * setup.all_fire_amperes, held_ms = *out.held_seconds * 1.0e3;
  out.outcome = FiringOutcome::too_short;
  if (*out.held_seconds <= 0.0) {
    out.outcome = FiringOutcome::too_low;
    out.reason = too_low(setup, out);
  } else if (*out.hot_amperes < needed) {
    out.reason =
        sentence("At or above %.3g A for %.3g ms only; %.3g ms are wanted.", needed, held_ms, setup.hold_seconds * 1.0e3);
  } else if (!out.bridge_seconds) {
    out.reason = sentence("%.3g A held for %.3g ms does not heat the bridge to its threshold.", *out.amperes, held_ms);
  } else if (*out.held_seconds < setup.hold_seconds * (1.0 - 1.0e-9)) {
    out.reason = sentence("%.3g A held for %.3g ms; %.3g ms are wanted.", *out.amperes, held_ms, setup.hold_seconds * 1.0e3);
  } else {
    out.outcome = FiringOutcome::would_fire;
    out.reason =
        sentence("%.3g A, %.3g A into the hot bridge, held %.3g ms: %.3g times all-fire, bridge at its threshold after %.3g ms.",
                 *out.amperes, *out.hot_amperes, held_ms, *out.hot_amperes / setup.all_fire_amperes, *out.bridge_seconds * 1.0e3);
  }
  return out;
}

/// Of a current that would fire.
void judge_instant(const FiringLimits& limits, FiringReport& out) {
  if (limits.never_left) {
    out.outcome = FiringOutcome::too_early;
    out.reason = "The current would fire the igniter although the vehicle has not left the tube.";
  } else if (limits.not_before_seconds && *out.start_seconds < *limits.not_before_seconds) {
    out.outcome = FiringOutcome::too_early;
    out.reason = sentence("The current begins %.3g ms before the earliest instant that is allowed.",
                          (*limits.not_before_seconds - *out.start_seconds) * 1.0e3);
  } else if (limits.no_window) {
    out.outcome = FiringOutcome::too_late;
    out.reason = "The current would fire the igniter, but no instant of this climb is safe for thrust.";
  } else if (limits.not_after_seconds && *out.start_seconds > *limits.not_after_seconds) {
    out.outcome = FiringOutcome::too_late;
    out.reason = sentence("The current begins %.3g ms after the latest safe instant: thrust could come when the climb is over.",
                          (*out.start_seconds - *limits.not_after_seconds) * 1.0e3);
  }
}

/// See judge_firing: pulses of two samples or more, in order.
std::vector<Run> pulses_of(const FiringCurrent& c, const FiringSetup& s, double floor) {
  const double heats = std::max(floor, 0.5 * s.bridge_threshold_amperes);
  const auto above = [&](double level) {
    std::vector<Run> runs = runs_above(c, level, 0, c.amperes.size());
    std::erase_if(runs, [](const Run& run) { return run.length() < 2; });
    return runs;
  };
  std::vector<Run> pulses = above(heats);
  if (pulses.empty()) return above(floor);
  constexpr std::size_t kEdgeSamples = 2;  // what a filter of a sample's length makes of a sharp edge
  for (Run& run : pulses) {
    for (std::size_t k = 0; k < kEdgeSamples && run.first > 0 && c.amperes[run.first - 1] >= floor; ++k) --run.first;
    for (std::size_t k = 0; k < kEdgeSamples && run.end < c.amperes.size() && c.amperes[run.end] >= floor; ++k) ++run.end;
  }
  return pulses;
}

}  // namespace

const char* word(FiringOutcome outcome) {
  switch (outcome) {
    case FiringOutcome::no_current:
      return "no_current";
    case FiringOutcome::too_low:
      return "too_low";
    case FiringOutcome::too_short:
      return "too_short";
    case FiringOutcome::too_early:
      return "too_early";
    case FiringOutcome::too_late:
      return "too_late";
    case FiringOutcome::would_fire:
      return "would_fire";
  }
  return "no_current";
}

std::optional<double> bridge_fires_after_seconds(const FiringSetup& setup, double amperes) {
  if (!(amperes > setup.bridge_threshold_amperes)) return std::nullopt;
  const double ratio = setup.bridge_threshold_amperes / amperes;
  return -setup.bridge_time_constant_seconds * std::log1p(-ratio * ratio);
}

double hot_bridge_amperes(const FiringSetup& setup, double dummy_amperes) {
  const double hot = setup.bridge_ohms * setup.hot_factor;
  if (!(dummy_amperes > 0.0) || !(hot > 0.0)) return dummy_amperes;
  if (!(setup.supply_volts > 0.0)) return dummy_amperes * std::min(1.0, setup.dummy_ohms / hot);
  const double rest = std::max(0.0, setup.supply_volts / dummy_amperes - setup.dummy_ohms);
  return std::min(setup.supply_volts / (rest + hot), dummy_amperes * std::max(1.0, setup.dummy_ohms / hot));
}

FiringReport judge_firing(const FiringCurrent& current, const FiringSetup& setup, const FiringLimits& limits) {
  FiringReport out;
  FiringCurrent seen = current;
  std::vector<double> turned;
  const double floor = std::max(current.floor_amperes, 1.0e-6);
  out.reason = sentence("No current above %.3g A went through the dummy load.", floor);
  if (current.amperes.empty()) return out;
  const auto [lowest, highest] = std::ranges::minmax(current.amperes);
  const bool reversed = lowest < -floor && -lowest > highest;
  if (reversed) {
    for (const double amperes : current.amperes) turned.push_back(-amperes);
    seen.amperes = turned;
  }
  for (const Run& pulse : pulses_of(seen, setup, floor)) {
    FiringReport one = judge_heat(seen, setup, pulse);
    if (one.outcome == FiringOutcome::would_fire) {
      out = std::move(one);
      break;
    }
    if (!out.held_seconds || *one.action_ampere2_seconds > *out.action_ampere2_seconds) out = std::move(one);
  }
  if (out.outcome == FiringOutcome::would_fire) judge_instant(limits, out);
  out.reversed = reversed && out.held_seconds;
  return out;
}

}  // namespace coldstroke::analysis
