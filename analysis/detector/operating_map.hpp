// SPDX-License-Identifier: GPL-3.0-or-later
//
// The operating map: a detector's outcome over a whole library for every pair of two of its parameters.
//
// Exact: a cell is what replaying its own integer settings sample by sample would give. Cells of a row that share the running
// quantity (all but threshold, building level and deadline alike) share one pass over the samples, so a map of window rows and
// threshold columns costs, a window, one pass plus its thresholds. Rows are independent: callers may compute them on as many
// threads as they like, from one const plan.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "analysis/detector/prepared_library.hpp"
#include "analysis/detector/statistic_rises.hpp"

namespace coldstroke::analysis {

/// A parameter a map may vary. Units as in DetectorSpec.
enum class MapParameter : std::uint8_t {
  window_seconds,
  window_samples,
  threshold,  ///< threshold_g, or velocity_gain_mps for a velocity gain
  required_samples,
  filter_shift,
  building_g,
  deadline_seconds,
  rest_g
};
[[nodiscard]] const char* word(MapParameter parameter);  ///< "window_seconds" ...

struct MapAxis {
  MapParameter parameter = MapParameter::threshold;
  std::vector<double> values;  ///< strictly ascending; integers for sample counts and the shift
};

/// A cell's colour. The first of these that holds, in this order.
enum class CellOutcome : std::uint8_t {
  false_decisions,  ///< some recording decided that must stay silent, or before first motion
  late,             ///< none of those, but some decision came after the deadline
  misses,           ///< none of those, and no must_fire recording was decided
  sometimes,        ///< some decided in time, the others not at all
  always_in_time    ///< every must_fire recording in time, every other silent
};
[[nodiscard]] const char* word(CellOutcome outcome);  ///< "false", "late", "misses", "sometimes", "always_in_time"

struct MapCell {
  CellOutcome outcome = CellOutcome::misses;
  std::uint32_t in_time = 0, late = 0, missed = 0, early = 0, false_decisions = 0, silent = 0;  ///< recordings
  /// Over must_fire recordings decided at or after first motion; absent if there are none.
  std::optional<double> latency_max_seconds, latency_mean_seconds;
  /// Smallest deadline less latency over the must_fire recordings, negative if one was late; absent if one was never decided
  /// or decided early.
  std::optional<double> time_margin_seconds;
  /// Smallest distance between what a recording reached and the threshold, on the right side, in the threshold's unit (g, m/s):
  /// how much higher the threshold may go before a recording is not decided in time, or lower before one decides that must not
  /// (less one step of the running quantity). >= 0 exactly if always_in_time.
  double level_margin = 0.0;
  std::uint32_t binding_recording = 0;  ///< index of the recording that sets level_margin
  bool operator==(const MapCell&) const = default;
};

/// All that a row needs, immutable once made.
struct OperatingMapPlan {
  PreparedLibrary library;
  std::vector<NetStream> streams;  ///< one a recording, for the first cell's rest and filter; other cells make their own
  MapAxis rows, columns;
  std::vector<DetectorSettings> settings;  ///< row by row, rows * columns
  [[nodiscard]] const DetectorSettings& at(std::size_t row, std::size_t column) const {
    return settings[row * columns.values.size() + column];
  }
};

/// The other way round from word(); nullopt for anything else.
[[nodiscard]] std::optional<MapParameter> map_parameter(std::string_view word);
/// The value that `spec` has for it; a window in samples or seconds at the board's rate. nullopt: no deadline.
[[nodiscard]] std::optional<double> parameter_value(const DetectorSpec& spec, MapParameter parameter);
/// `count` values from `low` to `high`, both among them, evenly apart; one alone is `low`.
[[nodiscard]] std::vector<double> even_values(double low, double high, std::size_t count);
/// `spec` with one parameter set. A window given in seconds replaces one given in samples and the other way round.
[[nodiscard]] DetectorSpec with_parameter(DetectorSpec spec, MapParameter parameter, double value);

/// Checks library, axes and the settings of every cell. Complaints: those of the library and the detector, an axis without
/// values, values not ascending, the same parameter twice, more than 4 million cells, no must_fire recording (silence would pass
/// for success). `spec` gives every parameter that is not varied.
[[nodiscard]] Result<OperatingMapPlan> plan_operating_map(std::span<const Recording> library, const DetectorSpec& spec,
                                                          MapAxis rows, MapAxis columns);

/// One row of the map. `cancelled` (may be empty) is asked before every recording; true gives nullopt. Thread-safe for one plan.
[[nodiscard]] std::optional<std::vector<MapCell>> map_row(const OperatingMapPlan& plan, std::size_t row,
                                                          const std::function<bool()>& cancelled = {});

struct OperatingMap {
  MapAxis rows, columns;
  std::vector<MapCell> cells;  ///< row by row
  [[nodiscard]] const MapCell& at(std::size_t row, std::size_t column) const {
    return cells[row * columns.values.size() + column];
  }
};

/// All rows, one after the other.
[[nodiscard]] std::optional<OperatingMap> operating_map(const OperatingMapPlan& plan,
                                                        const std::function<bool()>& cancelled = {});

/// One setting over the prepared library by the same fast way as a cell.
[[nodiscard]] MapCell map_cell(const PreparedLibrary& library, const DetectorSettings& settings);

}  // namespace coldstroke::analysis
