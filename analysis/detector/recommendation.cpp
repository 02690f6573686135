// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/detector/recommendation.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "analysis/detector/board_counts.hpp"
#include "analysis/detector/statistic_rises.hpp"

namespace coldstroke::analysis {
namespace {

using std::string;

constexpr std::size_t kFewEjections = 10;

/// Margins of one cell. Levels from the level margin would mix the two sides; here each side is kept apart.
struct Sides {
  double lowest_in_time = std::numeric_limits<double>::infinity();  ///< levels, threshold's unit
  double highest_silent = 0.0;
  std::size_t weakest = 0, loudest = 0;  ///< recordings
};

void levels_of(const PreparedRecording& r, std::span<const Rise> rises, double unit, std::size_t index, Sides& sides) {
  double silent = 0.0;
  if (r.label == Label::must_stay_silent) {
    silent = rises.empty() ? 0.0 : static_cast<double>(rises.back().level) * unit;
  } else {
    const double reached = static_cast<double>(level_by(rises, r.last_in_time_index)) * unit;
    if (reached < sides.lowest_in_time) {
      sides.lowest_in_time = reached;
      sides.weakest = index;
    }
    if (r.first_motion_index > 0) silent = static_cast<double>(level_by(rises, r.first_motion_index - 1)) * unit;
  }
  if (silent > sides.highest_silent) {
    sides.highest_silent = silent;
    sides.loudest = index;
  }
}

/// Both sides of a window, from the rises of every recording.
Sides sides_of(const OperatingMapPlan& plan, const DetectorSettings& s) {
  Sides out;
  std::vector<Rise> rises;
  ScanScratch scratch;
  for (std::size_t i = 0; i < plan.library.recordings.size(); ++i) {
    detector_rises(plan.streams[i], s, scratch, rises);
    levels_of(plan.library.recordings[i], rises, statistic_unit(s, plan.library.board), i, out);
  }
  return out;
}

ProposalMargins margins_of(const MapCell& cell, const Sides& sides, double threshold, double latest_seconds) {
  return {1.0 - threshold / sides.lowest_in_time, 1.0 - sides.highest_silent / threshold,
          cell.time_margin_seconds.value_or(0.0) / latest_seconds};
}

struct Best {
  std::size_t row = 0, column = 0;
  ProposalMargins margins;
  Sides sides;
};

/// The longest deadline (samples after building) that never lets a late decision through, and the shortest that lets all through.
struct DeadlineRoom {
  std::int64_t shortest = 1, longest = std::numeric_limits<std::int64_t>::max();
};

DeadlineRoom deadline_room(const OperatingMapPlan& plan, const DetectorSettings& s) {
  DeadlineRoom out;
  for (std::size_t i = 0; i < plan.streams.size(); ++i) {
    const PreparedRecording& r = plan.library.recordings[i];
    if (r.label != Label::must_fire) continue;
    const auto building = first_crossing(plan.streams[i].sample_rises, s.building_counts);
    if (!building) {
      out.longest = 0;
      continue;
    }
    const auto at = static_cast<std::int64_t>(*building);
    out.longest = std::min(out.longest, static_cast<std::int64_t>(r.last_in_time_index) - at);
    const auto decision = replay(s, r.counts);
    if (decision) out.shortest = std::max(out.shortest, static_cast<std::int64_t>(*decision) - at);
  }
  return out;
}

std::vector<Recording> with_latest_decision(std::span<const Recording> library, double latest_seconds) {
  std::vector<Recording> out{library.begin(), library.end()};
  for (Recording& r : out)
    if (r.label == Label::must_fire) r.deadline_seconds = std::min(r.deadline_seconds, latest_seconds);
  return out;
}

/// nullopt: cancelled. An empty optional inside: no cell gets every recording right.
std::optional<std::optional<Best>> search(const OperatingMapPlan& plan, double latest_seconds,
                                          const std::function<bool()>& cancelled) {
  std::optional<Best> best;
  for (std::size_t row = 0; row < plan.rows.values.size(); ++row) {
    const auto cells = map_row(plan, row, cancelled);
    if (!cells) return std::nullopt;
    const bool any =
        std::any_of(cells->begin(), cells->end(), [](const MapCell& c) { return c.outcome == CellOutcome::always_in_time; });
    if (!any) continue;
    const Sides sides = sides_of(plan, plan.at(row, 0));
    for (std::size_t column = 0; column < cells->size(); ++column) {
      const MapCell& cell = (*cells)[column];
      if (cell.outcome != CellOutcome::always_in_time) continue;
      const double threshold = threshold_in_force(plan.at(row, column), plan.library.board);
      const ProposalMargins margins = margins_of(cell, sides, threshold, latest_seconds);
      if (!best || margins.smallest() > best->margins.smallest()) best = Best{row, column, margins, sides};
    }
  }
  return std::optional{best};
}

string percent(double fraction) { return std::to_string(static_cast<long>(std::floor(100.0 * fraction + 1.0e-9))) + " %"; }

string binding_text(const Best& best, const PreparedLibrary& library) {
  const double least = best.margins.smallest();
  if (least == best.margins.weaker)
    return "\"" + library.recordings[best.sides.weakest].name + "\" may be " + percent(least) + " weaker before it is missed";
  if (least == best.margins.quieter)
    return "\"" + library.recordings[best.sides.loudest].name + "\" reaches all but " + percent(least) + " of the threshold";
  return "the slowest decision leaves " + percent(least) + " of the time to the latest safe one";
}

/// Fills in the deadline, or says why it is left out.
string add_deadline(const OperatingMapPlan& plan, const DetectorSettings& settings, Proposal& proposal) {
  const DeadlineRoom room = deadline_room(plan, settings);
  if (room.shortest > room.longest)
    return "; no deadline is proposed: counted from the building level, one that lets every decision through would end after the "
           "latest safe decision";
  const std::int64_t samples = (room.shortest + room.longest) / 2;
  proposal.spec.deadline_seconds = static_cast<double>(samples) / plan.library.board.sample_rate_hz;
  return "";
}

Proposal proposal_of(const OperatingMapPlan& plan, const RecommendationRequest& request, const Best& best, double latest_seconds,
                     string& reason) {
  Proposal out;
  out.spec = with_parameter(with_parameter(request.spec, MapParameter::window_seconds, plan.rows.values[best.row]),
                            MapParameter::threshold, plan.columns.values[best.column]);
  out.spec.name = "proposed, from " + request.spec.name;
  out.spec.deadline_seconds.reset();
  out.margins = best.margins;
  out.latest_safe_decision_seconds = latest_seconds;
  reason = "of " + std::to_string(plan.settings.size()) + " settings this one has the largest smallest margin, " +
           percent(best.margins.smallest()) + ": " + binding_text(best, plan.library);
  reason += add_deadline(plan, plan.at(best.row, best.column), out);
  out.summary = map_cell(plan.library, *settings_of(out.spec));
  if (out.summary.outcome != CellOutcome::always_in_time) {
    // Building before first motion (a bump while waiting) can spend the deadline; then none is safer.
    out.spec.deadline_seconds.reset();
    out.summary = map_cell(plan.library, *settings_of(out.spec));
    reason += "; no deadline is proposed: some recording builds long before first motion and would be inhibited";
  }
  return out;
}

}  // namespace

double ProposalMargins::smallest() const { return std::min({weaker, quieter, sooner}); }

Result<std::optional<Recommendation>> recommend(std::span<const Recording> library, const RecommendationRequest& request,
                                                const std::function<bool()>& cancelled) {
  const double latest = request.ignition_window_end_seconds - request.igniter_delay_seconds;
  if (!std::isfinite(latest) || request.igniter_delay_seconds < 0.0 || latest <= 0.0)
    return complain("the ignition window ends " + std::to_string(request.ignition_window_end_seconds) +
                        " s after first motion and the igniter takes " + std::to_string(request.igniter_delay_seconds) + " s",
                    "recommendation", "no decision could be soon enough: use a faster igniter or a later window end");
  DetectorSpec base = request.spec;
  base.deadline_seconds.reset();  // sought afterwards: first every decision, then the time to forbid one
  const auto judged = with_latest_decision(library, latest);
  const auto plan = plan_operating_map(judged, base, {MapParameter::window_seconds, request.window_seconds},
                                       {MapParameter::threshold, request.thresholds});
  if (!plan) return tl::unexpected{plan.error()};
  const auto best = search(*plan, latest, cancelled);
  if (!best) return std::optional<Recommendation>{};
  Recommendation out;
  if (*best)
    out.proposal = proposal_of(*plan, request, **best, latest, out.reason);
  else
    out.reason =
        "none of the " + std::to_string(plan->settings.size()) +
        " settings gets every recording right: widen the candidates, try another kind, or look at the map for what binds";
  out.missing_evidence = missing_evidence(library, plan->library.findings);
  return std::optional{std::move(out)};
}

std::vector<string> missing_evidence(std::span<const Recording> library, std::span<const Finding> findings) {
  std::vector<string> out;
  std::size_t ejections = 0;
  for (const Recording& r : library)
    ejections +=
        r.label == Label::must_fire && (r.provenance == Provenance::bench || r.provenance == Provenance::imported) ? 1 : 0;
  if (ejections == 0) {
    out.push_back("no must-fire recording comes from a real ejection: computed ones prove the arithmetic, not the vehicle");
  } else {
    const string shown = percent(std::pow(0.05, 1.0 / static_cast<double>(ejections)));
    out.push_back((ejections < kFewEjections ? "only " : "") + std::to_string(ejections) +
                  " must-fire recordings come from real ejections: all of them right shows no more than " + shown +
                  " reliability at 95 % confidence");
  }
  for (const Event event : kSilentEvents) {
    const auto is = [&](const Recording& r) { return r.label == Label::must_stay_silent && r.event == event; };
    if (std::none_of(library.begin(), library.end(), is))
      out.push_back(string{"no must-stay-silent recording of "} + word(event));
    else if (std::all_of(library.begin(), library.end(), [&](const Recording& r) {
               return !is(r) || r.provenance == Provenance::synthesised || r.provenance == Provenance::variant;
             }))
      out.push_back(string{"recordings of "} + word(event) + " are all computed, none was measured");
  }
  for (const Finding& f : findings)
    if (f.kind != "no_silent_recordings") out.push_back((f.channel.empty() ? "" : "\"" + f.channel + "\": ") + f.message);
  return out;
}

}  // namespace coldstroke::analysis
