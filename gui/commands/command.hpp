// SPDX-License-Identifier: GPL-3.0-or-later
//
// What all verbs share: exit codes, how a complaint is printed, how Ctrl-C is heard.
#pragma once

#include <CLI/CLI.hpp>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "analysis/result.hpp"

namespace coldstroke::gui {

/// Exit codes of every verb, listed in each --help.
enum class Exit : int {
  done = 0,           ///< done; every judged trial passed
  failed = 1,         ///< a trial failed, or an integrity check found something
  not_judged = 2,     ///< a trial is void or was aborted
  bad_input = 3,      ///< arguments, setup, traces or campaign file: nothing was done
  bench_trouble = 4,  ///< a port, a board or the virtual rig does not play its part
};
inline constexpr std::string_view kExitCodes =
    "Exit codes: 0 done, every judged trial passed; 1 a trial failed or a check found something; 2 a trial is void or aborted; "
    "3 bad input; 4 a port, a board or the virtual rig does not play its part.";

/// The worse of two: bench trouble, bad input, failed, not judged, done.
[[nodiscard]] Exit worse(Exit a, Exit b);
/// Exit code of one trial's verdict word.
[[nodiscard]] Exit exit_of(std::string_view verdict);

/// Accepts whole numbers from `low` to `high`, in digits; anything else is refused with what is allowed.
[[nodiscard]] CLI::Validator whole_number(std::int64_t low, std::int64_t high);
/// A finite number from `low` to `high`: CLI11's own ranges let "nan" through, because it is neither below nor above.
[[nodiscard]] CLI::Validator number_within(double low, double high);
inline constexpr double kSmallest = 1.0e-9, kLargest = 1.0e9;  ///< where only the sign matters
inline constexpr std::int64_t kMostTrials = 1'000'000;
inline constexpr std::int64_t kHighestSeed = 9'007'199'254'740'992;  // 2^53: exact wherever a number is read as a double

/// To standard error: what, where, what to do.
void print_complaint(const Complaint& complaint);

/// Writes the HTML report of a campaign, or of one trial of it, to `html_file`.
Result<void> report_to_file(const std::string& campaign, const std::string& html_file, std::optional<std::int64_t> only_trial);

/// From now on SIGINT and SIGTERM set a flag instead of ending the program, so that a bench can vent first.
void catch_stop_signals();
[[nodiscard]] bool stop_asked();

/// Each adds its verb to `app`; when chosen it runs and leaves its exit code in `exit`.
void add_virtual(CLI::App& app, Exit& exit);
void add_window(CLI::App& app, Exit& exit);
void add_eject(CLI::App& app, Exit& exit);
void add_analyse(CLI::App& app, Exit& exit);
void add_attach(CLI::App& app, Exit& exit);
void add_recalibrate(CLI::App& app, Exit& exit);
void add_fit(CLI::App& app, Exit& exit);
void add_show(CLI::App& app, Exit& exit);
void add_verify(CLI::App& app, Exit& exit);
void add_report(CLI::App& app, Exit& exit);
void add_sheet(CLI::App& app, Exit& exit);
void add_plan(CLI::App& app, Exit& exit);
void add_weigh(CLI::App& app, Exit& exit);
void add_compare(CLI::App& app, Exit& exit);
void add_void(CLI::App& app, Exit& exit);
void add_export(CLI::App& app, Exit& exit);
void add_import(CLI::App& app, Exit& exit);
void add_detector(CLI::App& app, Exit& exit);
void add_detector_playback(CLI::App& group, Exit& exit);  ///< below "detector"
void add_detector_library(CLI::App& group, Exit& exit);   ///< below "detector": library, keep, record
void add_foreign_detector(CLI::App& app, Exit& exit);     ///< not listed: this program starts itself with it
void add_charge(CLI::App& app, Exit& exit);
void add_climb(CLI::App& app, Exit& exit);

/// The window; returns the process's exit code.
int run_window(int argc, char** argv);

}  // namespace coldstroke::gui
