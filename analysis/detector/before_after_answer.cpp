// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/detector/before_after_answer.hpp"

#include <cmath>
#include <optional>
#include <utility>

#include "analysis/statistics/comparison.hpp"
#include "analysis/statistics/wording.hpp"

namespace coldstroke::analysis {
namespace {

namespace st = statistics;

struct Sides {
  st::ComparedSide after, before;
  st::PairedSides paired;
  st::Share false_after, false_before;  ///< of the recordings that must stay silent
};

void add_must_fire(const RecordingResult& result, st::ComparedSide& side, std::vector<std::optional<double>>& list) {
  ++side.trials;
  if (result.outcome == ReplayOutcome::in_time) ++side.hits;
  const bool timed = result.latency_seconds && *result.latency_seconds >= 0.0;
  list.push_back(timed ? std::optional{*result.latency_seconds * 1000.0} : std::nullopt);
  if (timed) side.values.push_back(*list.back());
}

Sides sides_of(const BeforeAfter& pairs, const std::string& before, const std::string& after) {
  Sides out;
  out.after.label = out.paired.first_label = after;
  out.before.label = out.paired.second_label = before;
  for (const BeforeAfterPair& pair : pairs.pairs) {
    if (pair.label == Label::must_fire) {
      add_must_fire(pair.after, out.after, out.paired.first);
      add_must_fire(pair.before, out.before, out.paired.second);
      continue;
    }
    for (const auto& [result, share] : {std::pair{pair.after, &out.false_after}, std::pair{pair.before, &out.false_before}}) {
      ++share->trials;
      if (result.outcome != ReplayOutcome::silent) ++share->hits;
    }
  }
  return out;
}

std::string of(std::int64_t hits, std::int64_t trials) { return std::to_string(hits) + " of " + std::to_string(trials); }

/// Recordings of one label that changed sides.
struct Changed {
  const char* where;
  std::int64_t mended = 0, broken = 0;
  double p_two_sided = 1.0;  ///< McNemar exact
};

Result<Changed> changed_of(const BeforeAfter& pairs, Label label) {
  Changed out{label == Label::must_fire ? "where it must fire" : "where it must stay silent"};
  for (const BeforeAfterPair& pair : pairs.pairs) {
    if (pair.label != label) continue;
    out.mended += !right(pair.before.outcome) && right(pair.after.outcome) ? 1 : 0;
    out.broken += right(pair.before.outcome) && !right(pair.after.outcome) ? 1 : 0;
  }
  const auto test = st::mcnemar(out.mended, out.broken);
  if (!test) return tl::unexpected{test.error()};
  out.p_two_sided = test->p_two_sided;
  return out;
}

std::string words(const Changed& one, const char* word) {
  return std::string{word} + " " + one.where + " (" + std::to_string(one.mended) + " mended, " + std::to_string(one.broken) +
         " broken, " + st::probability(one.p_two_sided) + (one.p_two_sided < 0.025 ? "" : ", not shown") + ")";
}

/// A gain on one kind of recording must not hide a loss on the other: a false decision is no small change for a decision more.
/// Two tests stand in the sentence, so each is shown at 2.5 % (Bonferroni).
std::optional<std::string> mixed(const Changed& fire, const Changed& silent) {
  const auto net = [](const Changed& one) { return one.mended - one.broken; };
  if (net(fire) > 0 && net(silent) < 0) return "Mixed, " + words(fire, "better") + " and " + words(silent, "worse");
  if (net(fire) < 0 && net(silent) > 0) return "Mixed, " + words(silent, "better") + " and " + words(fire, "worse");
  return std::nullopt;
}

std::string verdict(const BeforeAfter& pairs, const st::PairedOutcomes& changed, const Changed& fire, const Changed& silent) {
  if (pairs.mended + pairs.broken == 0) return "No recording changes sides";
  if (auto both_ways = mixed(fire, silent)) return *both_ways;
  const bool shown = changed.p_two_sided < 0.05;
  const char* word = !shown ? "Not shown to differ" : pairs.mended > pairs.broken ? "Better" : "Worse";
  return std::string{word} + " (" + st::probability(changed.p_two_sided) + "): " + std::to_string(pairs.mended) +
         " recordings mended, " + std::to_string(pairs.broken) + " broken";
}

std::string latency_clause(const st::PairedComparison& paired) {
  if (!paired.order || !paired.order->shift) return "";
  const st::Shift& shift = *paired.order->shift;
  const double size = std::abs(shift.estimate);
  return "; where both decided the latency is " + st::fixed(size, 1) + " ms " + (shift.estimate < 0.0 ? "smaller" : "larger") +
         " (" + st::fixed(shift.interval.confidence * 100.0, 1) + " %" + ": " + st::fixed(shift.interval.low, 1) + " to " +
         st::fixed(shift.interval.high, 1) + " ms)";
}

void add_false_decisions(const Sides& sides, std::vector<std::string>& lines) {
  const auto fisher = st::fisher_exact(sides.false_after, sides.false_before);
  lines.push_back("False decisions, Fisher exact: " +
                  (fisher ? "two-sided " + st::probability(fisher->p_two_sided) : fisher.error().what));
  const auto share = st::share_difference(sides.false_after, sides.false_before, 0.95);
  lines.push_back("Difference of shares, false decisions, Newcombe: " +
                  (share ? "95 %: " + st::fixed(share->low, 3) + " to " + st::fixed(share->high, 3) : share.error().what));
}

}  // namespace

Result<BeforeAfterAnswer> answer_before_after(const BeforeAfter& pairs, const std::string& before, const std::string& after,
                                              double margin_seconds) {
  const Sides sides = sides_of(pairs, before, after);
  const st::ComparisonRequest request{0.95, margin_seconds * 1000.0, "latency", "ms"};
  const auto comparison = st::compare_configurations(sides.after, sides.before, request);
  if (!comparison) return tl::unexpected{comparison.error()};
  const auto paired = st::compare_on_same_stimuli(sides.paired, request);
  if (!paired) return tl::unexpected{paired.error()};
  const auto changed = st::mcnemar(pairs.mended, pairs.broken);
  if (!changed) return tl::unexpected{changed.error()};
  const auto fire = changed_of(pairs, Label::must_fire), silent = changed_of(pairs, Label::must_stay_silent);
  if (!fire) return tl::unexpected{fire.error()};
  if (!silent) return tl::unexpected{silent.error()};
  BeforeAfterAnswer out;
  out.sentence = verdict(pairs, *changed, *fire, *silent) + " from \"" + before + "\" to \"" + after + "\": decided in time in " +
                 of(sides.before.hits, sides.before.trials) + " before and " + of(sides.after.hits, sides.after.trials) +
                 " after, false decisions in " + of(sides.false_before.hits, sides.false_before.trials) + " before and " +
                 of(sides.false_after.hits, sides.false_after.trials) + " after" + latency_clause(*paired) + ".";
  out.numbers.push_back("All recordings: right " + std::to_string(pairs.right_before) + " before and " +
                        std::to_string(pairs.right_after) +
                        " after; changed sides, McNemar exact: " + st::probability(changed->p_two_sided));
  for (const Changed& one : {*fire, *silent})
    out.numbers.push_back(std::string{"Changed sides "} + one.where + ": " + std::to_string(one.mended) + " mended, " +
                          std::to_string(one.broken) + " broken, McNemar exact: " + st::probability(one.p_two_sided));
  add_false_decisions(sides, out.numbers);
  out.numbers.push_back(comparison->sentence);
  out.numbers.insert(out.numbers.end(), comparison->numbers.begin(), comparison->numbers.end());
  out.numbers.push_back(paired->sentence);
  for (const std::string& line : paired->numbers) out.numbers.push_back("On the same recordings: " + line);
  return out;
}

}  // namespace coldstroke::analysis
