// SPDX-License-Identifier: GPL-3.0-or-later
//
// The flight board's own log, brought in by hand after a trial: kept in the campaign as an attachment with how its columns were
// read, placed on the bench time line, and judged in place of what came over the link.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "analysis/result.hpp"
#include "analysis/trial/trace.hpp"
#include "daq/record/campaign.hpp"
#include "daq/record/trace_import.hpp"
#include "daq/setup/setup.hpp"
#include "daq/stream/clock_alignment.hpp"

namespace coldstroke::daq {

struct FlightLog {
  std::string name;  ///< file name without folder
  std::string text;  ///< the file as it is
  ColumnMap columns;
  bool board_clock = false;  ///< its times are the board's own clock, as in its frames; false: a time line of its own
  bool operator==(const FlightLog&) const = default;
};

/// The trial as far as it is known without the log.
struct LoggedTrial {
  const ClockAlignment* clocks = nullptr;       ///< nullptr: there is none
  const analysis::Trace* force = nullptr;       ///< nullptr: none recorded
  std::optional<double> board_period_seconds;   ///< of the samples that the board's detector sees, where it described them
  double from_seconds = 0.0, to_seconds = 0.0;  ///< of the record
};

/// The log's acceleration and decisions on the bench time line, cut to the trial's record.
struct PlacedLog {
  std::vector<analysis::Trace> traces;
  analysis::DetectorRecord detector;
  std::string alignment_method;  ///< "clock exchange" or "shared pulse"
  std::vector<std::string> notes;
};

/// By the clock exchange where the log carries the board's clock, else by the pulse that force and acceleration share. Complains
/// of what import_csv_text complains of, of columns that are not a flight board's, of a log that does not reach into the trial,
/// holds more than one such pulse, or holds decisions of before the trial.
[[nodiscard]] Result<PlacedLog> place_flight_log(const FlightLog& log, const Setup& setup, const LoggedTrial& trial);

/// The newest log attached to the trial, if there is one.
[[nodiscard]] Result<std::optional<FlightLog>> attached_flight_log(const Campaign& campaign, std::int64_t trial);
/// Keeps the log with the trial, in two attachments: the file as it is, and how it is read. Complains if the trial has it
/// already.
[[nodiscard]] Result<void> keep_flight_log(Campaign& campaign, std::int64_t trial, const FlightLog& log);

}  // namespace coldstroke::daq
