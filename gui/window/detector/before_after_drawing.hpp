// SPDX-License-Identifier: GPL-3.0-or-later
//
// The worst cases of a comparison with their traces, and the comparison as files.
#pragma once

#include <span>

#include "analysis/detector/before_after_answer.hpp"
#include "analysis/detector/recording.hpp"
#include "daq/playback/played_answers.hpp"
#include "gui/window/detector/figure_shapes.hpp"

namespace coldstroke::gui {

/// Two detectors compared over a library, with all that is shown of it. `library` may be let go afterwards.
struct BeforeAfterFigure {
  /// A recording that one of them gets wrong, or on which the change costs the most, as the trace of the watched axis.
  struct Case {
    QString words;  ///< name and both outcomes
    double sample_rate_hz = 0.0;
    std::vector<double> felt_g;
    std::optional<double> first_motion_seconds, deadline_seconds;  ///< from the recording's start; must_fire only
    std::optional<double> before_seconds, after_seconds;           ///< the decisions
  };
  QString before, after;
  analysis::BeforeAfter pairs;
  analysis::BeforeAfterAnswer answer;
  std::vector<Case> worst;                    ///< six at most, worst first
  std::vector<analysis::Finding> findings{};  ///< of played answers: what is left out
};

/// Complaint: of the library or either detector, or of the margin.
[[nodiscard]] Result<BeforeAfterFigure> before_after_figure(std::span<const analysis::Recording> library,
                                                            const analysis::DetectorSpec& before,
                                                            const analysis::DetectorSpec& after, double margin_seconds);
/// What two boards answered to a playback of `library`, each under a name that tells which file it came from.
struct PlayedSide {
  QString name;
  daq::PlayedAnswers answers;
};
/// Complaint: of the library or the margin; nothing is left to compare; the file cannot be read.
[[nodiscard]] Result<PlayedSide> read_played_side(const std::filesystem::path& file);
[[nodiscard]] Result<BeforeAfterFigure> played_figure(std::span<const analysis::Recording> library, const PlayedSide& before,
                                                      const PlayedSide& after, double margin_seconds);
[[nodiscard]] std::vector<FigureShape> before_after_shapes(const BeforeAfterFigure& figure, const QSizeF& size, const Look& look);
/// One line a recording: label, both outcomes, decisions and latencies.
[[nodiscard]] std::string before_after_csv(const BeforeAfterFigure& figure);
[[nodiscard]] std::string before_after_json(const BeforeAfterFigure& figure);
/// As a picture (.png, .svg) or a table (.csv, .json), by the name's ending.
[[nodiscard]] Result<void> write_before_after(const std::filesystem::path& file, const BeforeAfterFigure& figure);
/// "in time (7.0 ms)"
[[nodiscard]] std::string result_words(const analysis::RecordingResult& result);

}  // namespace coldstroke::gui
