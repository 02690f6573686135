// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/detector/operating_map.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <limits>

#include "analysis/detector/statistic_rises.hpp"

namespace coldstroke::analysis {
namespace {

constexpr std::size_t kNever = std::numeric_limits<std::size_t>::max();

/// One recording under changing settings of one kind: keeps what the next cell can use again.
class RecordingScan {
 public:
  /// `shared`, if given, is used wherever its rest and filter are asked for.
  RecordingScan(const PreparedRecording& recording, const NetStream* shared) : recording_{recording}, shared_{shared} {}

  /// Brings everything up to date with `s`. A pass only if the running quantity is another one than last time.
  void look(const DetectorSettings& s, ScanScratch& scratch) {
    const bool other_stream =
        stream_ == nullptr || s.rest_counts != stream_->rest_counts || s.filter_shift != stream_->filter_shift;
    if (other_stream) choose_stream(s);
    const bool other_rises =
        other_stream || s.window_samples != last_.window_samples || s.required_samples != last_.required_samples;
    if (other_rises) {
      detector_rises(*stream_, s, scratch, rises_);
      cursor_ = 0;
    }
    if (other_rises || s.deadline_samples != last_.deadline_samples || s.building_counts != last_.building_counts) cut(s);
    last_ = s;
  }

  /// First crossing of `threshold`, unless the detector had inhibited itself by then. Thresholds in ascending order cost, all
  /// together, one walk along the rises.
  [[nodiscard]] std::optional<std::size_t> decision(std::int64_t threshold) {
    if (cursor_ > 0 && rises_[cursor_ - 1].level >= threshold) cursor_ = 0;
    while (cursor_ < rises_.size() && rises_[cursor_].level < threshold) ++cursor_;
    if (cursor_ == rises_.size() || rises_[cursor_].index > last_chance_) return std::nullopt;
    return rises_[cursor_].index;
  }

  /// Signed distance of the recording from its own edge, in steps of the running quantity; >= 0 exactly if it came out right.
  [[nodiscard]] std::int64_t slack_steps(std::int64_t threshold) const {
    const std::int64_t quiet = threshold - 1 - level_where_silent_;
    return recording_.label == Label::must_stay_silent ? quiet : std::min(level_in_time_ - threshold, quiet);
  }

 private:
  void choose_stream(const DetectorSettings& s) {
    if (shared_ != nullptr && s.rest_counts == shared_->rest_counts && s.filter_shift == shared_->filter_shift) {
      stream_ = shared_;
      return;
    }
    own_ = net_stream(recording_.counts, s);
    stream_ = &own_;
  }

  /// The last sample at which the detector can decide, and the levels reached by then. The deadline counts from the first
  /// building sample; a decision before that one is before the deadline too, so this cut is all that self-inhibition amounts to.
  void cut(const DetectorSettings& s) {
    last_chance_ = kNever;
    if (s.deadline_samples != 0) {
      const auto building = first_crossing(stream_->sample_rises, s.building_counts);
      if (building) last_chance_ = *building + s.deadline_samples;
    }
    if (recording_.label == Label::must_stay_silent) {
      level_where_silent_ = level_by(rises_, last_chance_);
      return;
    }
    level_in_time_ = level_by(rises_, std::min(last_chance_, recording_.last_in_time_index));
    const std::size_t motion = recording_.first_motion_index;
    level_where_silent_ = motion == 0 ? 0 : level_by(rises_, std::min(last_chance_, motion - 1));
  }

  const PreparedRecording& recording_;
  const NetStream* shared_;
  NetStream own_;
  const NetStream* stream_ = nullptr;
  std::vector<Rise> rises_;
  std::size_t cursor_ = 0;  // rises before it are below the last threshold asked for
  std::size_t last_chance_ = kNever;
  std::int64_t level_in_time_ = 0, level_where_silent_ = 0;
  DetectorSettings last_;
};

/// A cell being filled, recording by recording.
struct Tally {
  MapCell cell;
  std::int64_t slack = std::numeric_limits<std::int64_t>::max();
  double latency_sum_seconds = 0.0;
  bool margin_known = true;

  void add(const PreparedRecording& r, double rate_hz, std::optional<std::size_t> decision, std::int64_t steps,
           std::uint32_t index) {
    if (steps < slack) {
      slack = steps;
      cell.binding_recording = index;
    }
    const RecordingResult result = judge(r, rate_hz, decision);
    switch (result.outcome) {
      case ReplayOutcome::in_time:
        ++cell.in_time;
        break;
      case ReplayOutcome::late:
        ++cell.late;
        break;
      case ReplayOutcome::missed:
        ++cell.missed;
        break;
      case ReplayOutcome::early:
        ++cell.early;
        break;
      case ReplayOutcome::silent:
        ++cell.silent;
        return;
      case ReplayOutcome::false_decision:
        ++cell.false_decisions;
        return;
    }
    if (result.outcome == ReplayOutcome::missed || result.outcome == ReplayOutcome::early) {
      margin_known = false;
      return;
    }
    const double latency = *result.latency_seconds, margin = r.deadline_seconds - latency;
    latency_sum_seconds += latency;
    if (!cell.latency_max_seconds || latency > *cell.latency_max_seconds) cell.latency_max_seconds = latency;
    if (!cell.time_margin_seconds || margin < *cell.time_margin_seconds) cell.time_margin_seconds = margin;
  }

  [[nodiscard]] MapCell finished(const DetectorSettings& settings, const BoardSampling& board) const {
    MapCell out = cell;
    const std::uint32_t decided = out.in_time + out.late;
    if (decided > 0) out.latency_mean_seconds = latency_sum_seconds / decided;
    if (!margin_known) out.time_margin_seconds.reset();
    out.level_margin = static_cast<double>(slack) * statistic_unit(settings, board);
    out.outcome = out.false_decisions + out.early > 0 ? CellOutcome::false_decisions
                  : out.late > 0                      ? CellOutcome::late
                  : out.missed == 0                   ? CellOutcome::always_in_time
                  : out.in_time > 0                   ? CellOutcome::sometimes
                                                      : CellOutcome::misses;
    return out;
  }
};

/// `settings` differ in numbers, not in kind. `streams`: none, or one a recording.
std::optional<std::vector<MapCell>> cells_of(const PreparedLibrary& library, std::span<const NetStream> streams,
                                             std::span<const DetectorSettings> settings, const std::function<bool()>& cancelled) {
  std::vector<Tally> tallies(settings.size());
  ScanScratch scratch;
  for (std::size_t i = 0; i < library.recordings.size(); ++i) {
    if (cancelled && cancelled()) return std::nullopt;
    const PreparedRecording& recording = library.recordings[i];
    RecordingScan scan{recording, streams.empty() ? nullptr : &streams[i]};
    for (std::size_t c = 0; c < settings.size(); ++c) {
      scan.look(settings[c], scratch);
      const std::int64_t threshold = statistic_threshold(settings[c]);
      tallies[c].add(recording, library.board.sample_rate_hz, scan.decision(threshold), scan.slack_steps(threshold),
                     static_cast<std::uint32_t>(i));
    }
  }
  std::vector<MapCell> out;
  out.reserve(settings.size());
  for (std::size_t c = 0; c < settings.size(); ++c) out.push_back(tallies[c].finished(settings[c], library.board));
  return out;
}

bool takes_integers(MapParameter p) {
  return p == MapParameter::window_samples || p == MapParameter::required_samples || p == MapParameter::filter_shift;
}

std::optional<Complaint> axis_fault(const MapAxis& axis, const char* which) {
  const std::string where = std::string{"map, "} + which + " (" + word(axis.parameter) + ")";
  if (axis.values.empty()) return Complaint{"no values", where, "give at least one value"};
  for (std::size_t i = 0; i < axis.values.size(); ++i) {
    const double v = axis.values[i];
    if (!std::isfinite(v)) return Complaint{"a value is not a number", where, "give numbers"};
    if (i > 0 && v <= axis.values[i - 1])
      return Complaint{"values do not ascend at " + std::to_string(v), where, "sort them and take repeats out"};
    if (takes_integers(axis.parameter) && (v != std::floor(v) || v < 0.0 || v > 1.0e6))
      return Complaint{std::to_string(v) + " is no count", where, "give whole numbers"};
  }
  return std::nullopt;
}

}  // namespace

const char* word(MapParameter parameter) {
  static constexpr std::array kWords{"window_seconds", "window_samples", "threshold",        "required_samples",
                                     "filter_shift",   "building_g",     "deadline_seconds", "rest_g"};
  return kWords[static_cast<std::size_t>(parameter)];
}

const char* word(CellOutcome outcome) {
  static constexpr std::array kWords{"false", "late", "misses", "sometimes", "always_in_time"};
  return kWords[static_cast<std::size_t>(outcome)];
}

std::optional<MapParameter> map_parameter(std::string_view name) {
  for (int i = 0; i <= static_cast<int>(MapParameter::rest_g); ++i)
    if (name == word(static_cast<MapParameter>(i))) return static_cast<MapParameter>(i);
  return std::nullopt;
}

std::optional<double> parameter_value(const DetectorSpec& spec, MapParameter parameter) {
  const double rate = spec.board.sample_rate_hz;
  switch (parameter) {
    case MapParameter::window_seconds:
      return spec.window_seconds.value_or(spec.window_samples.value_or(0) / rate);
    case MapParameter::window_samples:
      return spec.window_samples ? static_cast<double>(*spec.window_samples)
                                 : std::round(spec.window_seconds.value_or(0.0) * rate);
    case MapParameter::threshold:
      return spec.kind == DetectorKind::velocity_gain ? spec.velocity_gain_mps : spec.threshold_g;
    case MapParameter::required_samples:
      return spec.required_samples;
    case MapParameter::filter_shift:
      return spec.filter_shift;
    case MapParameter::building_g:
      return spec.building_g;
    case MapParameter::deadline_seconds:
      return spec.deadline_seconds;
    case MapParameter::rest_g:
      return spec.rest_g;
  }
  return std::nullopt;
}

std::vector<double> even_values(double low, double high, std::size_t count) {
  std::vector<double> out;
  out.reserve(count);
  for (std::size_t i = 0; i < count; ++i)
    out.push_back(count == 1 ? low : low + (high - low) * static_cast<double>(i) / static_cast<double>(count - 1));
  return out;
}

DetectorSpec with_parameter(DetectorSpec spec, MapParameter parameter, double value) {
  switch (parameter) {
    case MapParameter::window_seconds:
      spec.window_seconds = value;
      spec.window_samples.reset();
      break;
    case MapParameter::window_samples:
      spec.window_samples = static_cast<std::uint32_t>(value);
      spec.window_seconds.reset();
      break;
    case MapParameter::threshold:
      (spec.kind == DetectorKind::velocity_gain ? spec.velocity_gain_mps : spec.threshold_g) = value;
      break;
    case MapParameter::required_samples:
      spec.required_samples = static_cast<std::uint32_t>(value);
      break;
    case MapParameter::filter_shift:
      spec.filter_shift = static_cast<int>(value);
      break;
    case MapParameter::building_g:
      spec.building_g = value;
      break;
    case MapParameter::deadline_seconds:
      spec.deadline_seconds = value;
      break;
    case MapParameter::rest_g:
      spec.rest_g = value;
      break;
  }
  return spec;
}

Result<OperatingMapPlan> plan_operating_map(std::span<const Recording> library, const DetectorSpec& spec, MapAxis rows,
                                            MapAxis columns) {
  if (auto fault = axis_fault(rows, "rows")) return tl::unexpected{*fault};
  if (auto fault = axis_fault(columns, "columns")) return tl::unexpected{*fault};
  if (rows.parameter == columns.parameter)
    return complain(std::string{"both axes vary "} + word(rows.parameter), "map", "choose two different parameters");
  if (rows.values.size() * columns.values.size() > 4'000'000)
    return complain(std::to_string(rows.values.size() * columns.values.size()) + " cells", "map", "ask for 4 million at most");
  OperatingMapPlan plan;
  plan.settings.reserve(rows.values.size() * columns.values.size());
  for (const double r : rows.values) {
    const DetectorSpec row = with_parameter(spec, rows.parameter, r);
    for (const double c : columns.values) {
      auto settings = settings_of(with_parameter(row, columns.parameter, c));
      if (!settings) return tl::unexpected{settings.error()};
      plan.settings.push_back(*settings);
    }
  }
  auto prepared = prepare_library(library, spec.axis, spec.board);
  if (!prepared) return tl::unexpected{prepared.error()};
  if (std::none_of(library.begin(), library.end(), [](const Recording& r) { return r.label == Label::must_fire; }))
    return complain("no recording must fire", "library",
                    "add ejections: without them a detector that never decides looks perfect");
  plan.library = std::move(*prepared);
  plan.streams.reserve(library.size());
  for (const PreparedRecording& r : plan.library.recordings) plan.streams.push_back(net_stream(r.counts, plan.settings.front()));
  plan.rows = std::move(rows);
  plan.columns = std::move(columns);
  return plan;
}

std::optional<std::vector<MapCell>> map_row(const OperatingMapPlan& plan, std::size_t row,
                                            const std::function<bool()>& cancelled) {
  const std::size_t width = plan.columns.values.size();
  assert(row < plan.rows.values.size());
  return cells_of(plan.library, plan.streams, std::span{plan.settings}.subspan(row * width, width), cancelled);
}

std::optional<OperatingMap> operating_map(const OperatingMapPlan& plan, const std::function<bool()>& cancelled) {
  OperatingMap out{plan.rows, plan.columns, {}};
  out.cells.reserve(plan.settings.size());
  for (std::size_t row = 0; row < plan.rows.values.size(); ++row) {
    auto cells = map_row(plan, row, cancelled);
    if (!cells) return std::nullopt;
    out.cells.insert(out.cells.end(), cells->begin(), cells->end());
  }
  return out;
}

MapCell map_cell(const PreparedLibrary& library, const DetectorSettings& settings) {
  return cells_of(library, {}, std::span{&settings, 1}, {})->front();
}

}  // namespace coldstroke::analysis
