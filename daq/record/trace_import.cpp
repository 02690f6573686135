// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/record/trace_import.hpp"

#include <algorithm>
#include <cerrno>
#include <cmath>
#include <cstring>
#include <fstream>
#include <iterator>

#include "analysis/signal/saturation.hpp"
#include "daq/record/csv_columns.hpp"
#include "daq/record/stream_collector.hpp"

namespace coldstroke::daq {
namespace {

using analysis::IndexRun;

constexpr double kStepTolerance = 0.01;  // of a step, between neighbouring rows
constexpr double kGridTolerance = 0.10;  // of a step, between a row and the even grid of the whole record

/// Even time line through the rows: row i is sample `index[i]`.
struct TimeGrid {
  double start_seconds = 0.0, period_seconds = 0.0;
  std::vector<std::size_t> index;
  [[nodiscard]] std::size_t size() const { return index.back() + 1; }
};

std::string at(const CsvTable& table, const std::string& source, const CsvColumn& column, std::size_t row) {
  return source + ", line " + std::to_string(table.lines[row]) + ", column " + std::to_string(column.position + 1) + " \"" +
         column.header + "\"";
}

Result<std::vector<double>> rising_times(const CsvTable& table, const std::string& source) {
  const CsvColumn& time = *table.column(kTimeWord);
  std::vector<double> seconds;
  seconds.reserve(time.values.size());
  for (std::size_t row = 0; row < time.values.size(); ++row) {
    if (!time.values[row]) return complain("The time is empty.", at(table, source, time, row), "Give every row its time.");
    if (row > 0 && *time.values[row] <= seconds.back()) {
      return complain(
          *time.values[row] == seconds.back() ? "The time is the same as in the row before." : "The time runs backwards.",
          at(table, source, time, row), "Sort the rows by time, one row an instant.");
    }
    seconds.push_back(*time.values[row]);
  }
  if (seconds.size() < 2) {
    return complain("There is only one row, so there is no sampling rate.", source + ", line " + std::to_string(table.lines[0]),
                    "Name a record with many rows.");
  }
  return seconds;
}

/// The usual step: the mean of all steps that lie near the median, which evens out the rounding of printed times.
double usual_step(const std::vector<double>& seconds) {
  std::vector<double> steps;
  for (std::size_t i = 1; i < seconds.size(); ++i) steps.push_back(seconds[i] - seconds[i - 1]);
  std::vector<double> sorted = steps;
  const auto middle = sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 2);
  std::ranges::nth_element(sorted, middle);
  const double median = *middle;
  double sum = 0.0, count = 0.0;
  for (const double step : steps) {
    if (std::abs(step - median) > kStepTolerance * median) continue;
    sum += step;
    count += 1.0;
  }
  return sum / count;
}

Result<TimeGrid> even_grid(const CsvTable& table, const std::string& source) {
  const auto seconds = rising_times(table, source);
  if (!seconds) return tl::unexpected{seconds.error()};
  const CsvColumn& time = *table.column(kTimeWord);
  const double step = usual_step(*seconds);
  TimeGrid grid;
  grid.start_seconds = seconds->front();
  grid.index = {0};
  const double longest = 10.0 * static_cast<double>(seconds->size()) + 1000.0;
  for (std::size_t row = 1; row < seconds->size(); ++row) {
    const double steps = ((*seconds)[row] - (*seconds)[row - 1]) / step;
    const double whole = std::round(steps);
    if (whole < 1.0 || std::abs(steps - whole) > kStepTolerance) {
      return complain("The time step here is " + std::to_string(steps) + " of the usual " + std::to_string(step * 1e3) + " ms.",
                      at(table, source, time, row), "Give evenly sampled rows (to 1 %); a gap must be a whole number of steps.");
    }
    if (static_cast<double>(grid.index.back()) + whole > longest) {
      return complain("There is a gap of " + std::to_string(whole) + " samples before this row.", at(table, source, time, row),
                      "Cut the record to the trial.");
    }
    grid.index.push_back(grid.index.back() + static_cast<std::size_t>(whole));
  }
  grid.period_seconds = (seconds->back() - seconds->front()) / static_cast<double>(grid.index.back());
  for (std::size_t row = 0; row < seconds->size(); ++row) {
    const double even = grid.start_seconds + static_cast<double>(grid.index[row]) * grid.period_seconds;
    if (std::abs((*seconds)[row] - even) > kGridTolerance * grid.period_seconds) {
      return complain("The sampling rate changes within the record: this row is off the even grid by " +
                          std::to_string(((*seconds)[row] - even) * 1e3) + " ms.",
                      at(table, source, time, row), "Give a record sampled at one rate.");
    }
  }
  return grid;
}

void fill_samples(analysis::Trace& trace, const CsvColumn& column, const TimeGrid& grid) {
  std::vector<bool> present(grid.size(), false);
  trace.samples.assign(grid.size(), 0.0);
  const auto first_good = std::ranges::find_if(column.values, [](const auto& value) { return value.has_value(); });
  double last_good = first_good->value();
  std::size_t next = 0;
  for (std::size_t row = 0; row < column.values.size(); ++row) {
    if (!column.values[row]) continue;
    for (; next < grid.index[row]; ++next) trace.samples[next] = last_good;
    last_good = *column.values[row];
    trace.samples[next] = last_good;
    present[next++] = true;
  }
  for (; next < grid.size(); ++next) trace.samples[next] = last_good;
  trace.missing = missing_runs(present);
}

void apply_channel(analysis::Trace& trace, const ChannelSetup& channel) {
  trace.gain_standard_uncertainty = channel.calibration.gain_standard_uncertainty;
  trace.zero_standard_uncertainty = channel.calibration.zero_standard_uncertainty;
  trace.calibrated = channel.calibration.span;
  trace.resolution = std::abs(channel.calibration.scale);
  trace.frequency_class = channel.frequency_class;
  trace.saturated =
      analysis::joined(analysis::saturated_runs(trace.samples, channel.range_low, channel.range_high, trace.resolution),
                       analysis::flat_top_runs(trace.samples, trace.resolution));
}

void add_trace(ImportedTraces& imported, const CsvColumn& column, const TimeGrid& grid, const Setup& setup) {
  if (std::ranges::none_of(column.values, [](const auto& value) { return value.has_value(); })) {
    imported.notes.push_back("Column \"" + column.header + "\" is empty throughout and was not used.");
    return;
  }
  analysis::Trace trace;
  trace.name = column.header;
  trace.quantity = column.role->quantity;
  trace.role = column.role->role;
  trace.start_seconds = grid.start_seconds;
  trace.period_seconds = grid.period_seconds;
  fill_samples(trace, column, grid);
  if (const ChannelSetup* channel = setup.channel(trace.role)) {
    apply_channel(trace, *channel);
  } else {
    imported.notes.push_back("The setup has no channel with the role of column \"" + column.header +
                             "\": its uncertainty and range are taken as unknown.");
  }
  std::size_t lost = 0;
  for (const IndexRun& run : trace.missing) lost += run.last - run.first;
  if (lost > 0) imported.notes.push_back("Column \"" + column.header + "\": " + std::to_string(lost) + " samples are missing.");
  imported.traces.traces.push_back(std::move(trace));
}

Result<analysis::DetectorRecord> detector_record(const CsvTable& table, const std::string& source, const TimeGrid& grid) {
  analysis::DetectorRecord record;
  const CsvColumn* column = table.column(kDetectorWord);
  if (column == nullptr || std::ranges::none_of(column->values, [](const auto& value) { return value.has_value(); }))
    return record;
  bool before = false;
  for (std::size_t row = 0; row < column->values.size(); ++row) {
    const auto& value = column->values[row];
    if (!value || (*value != 0.0 && *value != 1.0)) {
      return complain(value ? "The detector column holds " + std::to_string(*value) + "." : "The detector column is empty here.",
                      at(table, source, *column, row), "Give 0 or 1 in every row, or leave the whole column empty.");
    }
    const bool now = *value == 1.0;
    if (now && !before) {
      record.decisions_seconds.push_back(grid.start_seconds + static_cast<double>(grid.index[row]) * grid.period_seconds);
    }
    before = now;
  }
  record.source = analysis::DecisionSource::imported;
  record.polling_period_seconds = grid.period_seconds;
  record.record_end_seconds = grid.start_seconds + static_cast<double>(grid.index.back()) * grid.period_seconds;
  return record;
}

}  // namespace

Result<ImportedTraces> import_csv_text(std::string_view text, const std::string& source, const ColumnMap& columns,
                                       const Setup& setup) {
  auto table = read_csv(text, source, columns);
  if (!table) return tl::unexpected{table.error()};
  const auto grid = even_grid(*table, source);
  if (!grid) return tl::unexpected{grid.error()};
  ImportedTraces imported;
  imported.notes = std::move(table->notes);
  for (const CsvColumn& column : table->columns) {
    if (column.role->word != kTimeWord && column.role->word != kDetectorWord) add_trace(imported, column, *grid, setup);
  }
  auto detector = detector_record(*table, source, *grid);
  if (!detector) return tl::unexpected{detector.error()};
  imported.traces.detector = std::move(*detector);
  const auto& decisions = imported.traces.detector.decisions_seconds;
  if (!decisions.empty() && decisions.front() == grid->start_seconds) {
    imported.notes.push_back("The detector is 1 from the first row on: it decided then or before.");
  }
  imported.traces.alignment_method = "one record";
  if (imported.traces.traces.empty() && imported.traces.detector.source == analysis::DecisionSource::none) {
    return complain("No column but the time means anything.", source + ", line 1",
                    "Name columns such as \"force_N\" or map them: COLUMN=ROLE:UNIT with " + column_role_words() + ".");
  }
  return imported;
}

Result<ImportedTraces> import_csv(const std::filesystem::path& file, const ColumnMap& columns, const Setup& setup) {
  std::error_code ignored;
  if (std::filesystem::is_directory(file, ignored)) {
    return complain("This is a folder, not a CSV file.", file.string(), "Name the file itself.");
  }
  std::ifstream stream{file, std::ios::binary};
  if (!stream) {
    return complain("The file cannot be opened: " + std::string{std::strerror(errno)} + ".", file.string(),
                    "Check the name and that you may read it.");
  }
  const std::string text{std::istreambuf_iterator<char>{stream}, {}};
  if (stream.bad()) return complain("The file cannot be read to its end.", file.string(), "Check the disk.");
  return import_csv_text(text, file.string(), columns, setup);
}

}  // namespace coldstroke::daq
