// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/detector/agreement.hpp"

#include <algorithm>
#include <numeric>

namespace coldstroke::analysis {
namespace {

std::optional<Complaint> order_fault(std::span<const StateChange> changes, std::size_t sample_count, const char* whose) {
  for (std::size_t i = 0; i < changes.size(); ++i) {
    const std::string where = std::string{whose} + " change of state " + std::to_string(i + 1);
    if (changes[i].sample_index >= sample_count)
      return Complaint{
          "it lies at sample " + std::to_string(changes[i].sample_index) + " of a stimulus of " + std::to_string(sample_count),
          where, "check that the board counts from the stimulus' first sample and did not reset; play it again"};
    if (i > 0 && changes[i].sample_index < changes[i - 1].sample_index)
      return Complaint{"it lies before the one ahead of it", where,
                       "the board reset or lost count midway: play the stimulus again"};
  }
  return std::nullopt;
}

/// Walks a list of changes: the state at any sample, asked in ascending order.
class StateWalk {
 public:
  explicit StateWalk(std::span<const StateChange> changes) : changes_{changes} {}
  DetectorState at(std::size_t sample) {
    while (next_ < changes_.size() && changes_[next_].sample_index <= sample) state_ = changes_[next_++].state;
    return state_;
  }
  [[nodiscard]] std::size_t next_change(std::size_t otherwise) const {
    return next_ < changes_.size() ? changes_[next_].sample_index : otherwise;
  }

 private:
  std::span<const StateChange> changes_;
  std::size_t next_ = 0;
  DetectorState state_ = DetectorState::idle;
};

bool timed(const RecordingResult& r) { return r.outcome == ReplayOutcome::in_time || r.outcome == ReplayOutcome::late; }

std::string decision_text(std::optional<std::size_t> index, double sample_rate_hz) {
  if (!index) return "no decision";
  return "a decision at sample " + std::to_string(*index) + " (" + std::to_string(static_cast<double>(*index) / sample_rate_hz) +
         " s)";
}

void count(const BeforeAfterPair& p, BeforeAfter& out) {
  const bool was = right(p.before.outcome), is = right(p.after.outcome);
  (was ? out.right_before : out.wrong_before) += 1;
  (is ? out.right_after : out.wrong_after) += 1;
  out.mended += !was && is ? 1 : 0;
  out.broken += was && !is ? 1 : 0;
  if (timed(p.before)) out.latencies_before_seconds.push_back(*p.before.latency_seconds);
  if (timed(p.after)) out.latencies_after_seconds.push_back(*p.after.latency_seconds);
  if (timed(p.before) && timed(p.after))
    out.latency_changes_seconds.push_back(*p.after.latency_seconds - *p.before.latency_seconds);
}

/// Worst first: 0 broken, 1 wrong both times, 2 right after.
int rank(const BeforeAfterPair& p) { return right(p.after.outcome) ? 2 : right(p.before.outcome) ? 0 : 1; }

double latency_increase(const BeforeAfterPair& p) {
  return timed(p.before) && timed(p.after) ? *p.after.latency_seconds - *p.before.latency_seconds : -1.0e9;
}

}  // namespace

Result<PlaybackAgreement> compare_playback(std::span<const StateChange> predicted, std::span<const StateChange> reported,
                                           std::size_t sample_count) {
  if (auto fault = order_fault(predicted, sample_count, "predicted")) return tl::unexpected{*fault};
  if (auto fault = order_fault(reported, sample_count, "reported")) return tl::unexpected{*fault};
  PlaybackAgreement out;
  out.samples_compared = sample_count;
  out.predicted_decision = decision_of(predicted);
  out.reported_decision = decision_of(reported);
  StateWalk ours{predicted}, theirs{reported};
  for (std::size_t k = 0; k < sample_count;) {
    const DetectorState here = ours.at(k), there = theirs.at(k);
    const std::size_t until = std::min(ours.next_change(sample_count), theirs.next_change(sample_count));
    if (here != there) {
      out.samples_differing += until - k;
      if (!out.first_difference) {
        out.first_difference = k;
        out.predicted_there = here;
        out.reported_there = there;
      }
    }
    k = until;
  }
  return out;
}

Result<PlaybackAgreement> compare_playback(const DetectorSettings& settings, std::span<const std::int32_t> counts,
                                           std::span<const StateChange> reported) {
  return compare_playback(state_changes(settings, counts), reported, counts.size());
}

std::optional<Finding> playback_finding(const PlaybackAgreement& a, const std::string& stimulus, double sample_rate_hz) {
  if (a.agrees()) return std::nullopt;
  std::string text = "at sample " + std::to_string(*a.first_difference) + " the settings it states give " +
                     word(a.predicted_there) + ", the board reported " + word(a.reported_there) + "; " +
                     std::to_string(a.samples_differing) + " of " + std::to_string(a.samples_compared) +
                     " samples differ; predicted " + decision_text(a.predicted_decision, sample_rate_hz) + ", reported " +
                     decision_text(a.reported_decision, sample_rate_hz);
  return Finding{"firmware_differs", stimulus, std::move(text)};
}

Result<std::vector<DetectorLine>> side_by_side(std::span<const Recording> library, std::span<const DetectorSpec> specs) {
  std::vector<DetectorLine> out;
  for (const DetectorSpec& spec : specs) {
    const auto settings = settings_of(spec);
    if (!settings) return tl::unexpected{settings.error()};
    auto prepared = prepare_library(library, spec.axis, spec.board);
    if (!prepared) return tl::unexpected{prepared.error()};
    out.push_back(
        {spec, *settings, replay_library(*prepared, *settings), map_cell(*prepared, *settings), std::move(prepared->findings)});
  }
  return out;
}

Result<BeforeAfter> compare_detectors(std::span<const Recording> library, const DetectorSpec& before, const DetectorSpec& after) {
  const std::vector<DetectorSpec> both{before, after};
  const auto lines = side_by_side(library, both);
  if (!lines) return tl::unexpected{lines.error()};
  std::vector<BeforeAfterPair> pairs;
  for (std::size_t i = 0; i < library.size(); ++i)
    pairs.push_back({i, library[i].name, library[i].label, (*lines)[0].results[i], (*lines)[1].results[i]});
  return compare_results(std::move(pairs));
}

BeforeAfter compare_results(std::vector<BeforeAfterPair> pairs) {
  BeforeAfter out;
  out.pairs = std::move(pairs);
  for (const BeforeAfterPair& pair : out.pairs) count(pair, out);
  out.worst_first.resize(out.pairs.size());
  std::iota(out.worst_first.begin(), out.worst_first.end(), std::size_t{0});
  std::stable_sort(out.worst_first.begin(), out.worst_first.end(), [&](std::size_t a, std::size_t b) {
    const BeforeAfterPair &p = out.pairs[a], &q = out.pairs[b];
    return rank(p) != rank(q) ? rank(p) < rank(q) : latency_increase(p) > latency_increase(q);
  });
  return out;
}

}  // namespace coldstroke::analysis
