// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/detector/tolerance_job.hpp"

#include <algorithm>
#include <array>
#include <atomic>
#include <vector>

#include "daq/detector/spread_work.hpp"

namespace coldstroke::daq {
namespace {

using analysis::Change;

/// One recording changed in one way.
struct Piece {
  Change change;
  std::size_t recording;
};

void lower(std::atomic<std::size_t>& limit, std::size_t to) {
  std::size_t now = limit;
  while (to < now && !limit.compare_exchange_weak(now, to)) {
  }
}

}  // namespace

std::optional<analysis::Tolerances> compute_tolerances(const analysis::ToleranceSearch& search, unsigned threads,
                                                       const std::function<void(std::size_t, std::size_t)>& progress,
                                                       const std::function<bool()>& cancelled) {
  analysis::Tolerances out{search.wrong_as_recorded, {}};
  if (!out.wrong_as_recorded.empty()) return out;
  std::vector<Piece> pieces;
  std::array<std::atomic<std::size_t>, analysis::kChangeCount> last_right{};
  for (std::size_t c = 0; c < analysis::kChangeCount; ++c) {
    const auto change = static_cast<Change>(c);
    last_right[c] = step_count(search, change);
    for (std::size_t i = 0; i < search.library.size(); ++i)
      if (concerns(change, search.library[i].label)) pieces.push_back({change, i});
  }
  const bool whole = spread_work(
      2 * pieces.size(), threads,
      [&](std::size_t at, const std::function<bool()>& stopped) {
        const Piece& piece = pieces[at % pieces.size()];
        auto& limit = last_right[static_cast<std::size_t>(piece.change)];
        const auto wrong = at < pieces.size() ? any_wrong_step(search, piece.change, piece.recording, limit)
                                              : first_wrong_step(search, piece.change, piece.recording, limit, stopped);
        if (wrong) lower(limit, *wrong - 1);
        return !stopped();
      },
      [&](std::size_t done) {
        if (progress) progress(done, 2 * pieces.size());
      },
      cancelled);
  if (!whole) return std::nullopt;
  for (std::size_t c = 0; c < analysis::kChangeCount; ++c) {
    const auto change = static_cast<Change>(c);
    if (std::ranges::any_of(pieces, [change](const Piece& piece) { return piece.change == change; }))
      out.each.push_back(tolerance_at(search, change, last_right[c]));
  }
  return out;
}

}  // namespace coldstroke::daq
