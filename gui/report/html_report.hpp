// SPDX-License-Identifier: GPL-3.0-or-later
//
// The printed test report: one HTML file that needs nothing beside itself (no script, no picture, no font, no network).
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "analysis/result.hpp"
#include "gui/report/report_trial.hpp"
#include "gui/report/trial_source.hpp"

namespace coldstroke::gui {

struct ReportHead {
  std::string campaign_name, purpose, campaign_file;
  std::string program_version;
  std::string written_utc;            ///< ISO 8601
  std::vector<std::string> cautions;  ///< beside the ones every report carries
};

/// How many trials of a run get their traces drawn: the fails first, then the voids, then the newest.
inline constexpr std::size_t kDrawnTrials = 8;

/// A report of one trial, or of a run of trials with one line each. Fails, voids and aborted trials are always listed.
/// Text from boards and people is escaped. Works without a display and without Qt.
[[nodiscard]] std::string html_report(const ReportHead& head, const std::vector<ReportTrial>& trials);

/// Positions of the trials whose traces a report of these draws: only they need `traces` filled in.
[[nodiscard]] std::vector<std::size_t> drawn_trials(const std::vector<ReportTrial>& trials);

/// Report of one trial (`number`), or of all trials, of a campaign: reads what is drawn, no more. The head's campaign name and
/// file are filled from the source.
[[nodiscard]] Result<std::string> report_of_trial(const TrialSource& source, ReportHead head, std::int64_t number);
[[nodiscard]] Result<std::string> report_of_campaign(const TrialSource& source, ReportHead head);

/// "NAME-trial-14.html" or "NAME-report.html" beside the campaign file.
[[nodiscard]] std::filesystem::path report_path(const std::filesystem::path& campaign, std::optional<std::int64_t> trial);

/// "22 of 24 judged trials passed, 1 failed, 1 void; 2 not judged (1 aborted, 1 interrupted)."
/// `verdicts`: one word a trial as verdict_word gives it.
[[nodiscard]] std::string tally_sentence(const std::vector<std::string>& verdicts);

}  // namespace coldstroke::gui
