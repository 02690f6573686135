// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/detector/proposal_panel.hpp"
#include "gui/report/whole_file.hpp"

#include <QComboBox>
#include <QDoubleSpinBox>
#include <QLabel>
#include <sstream>

#include "daq/detector/detector_table.hpp"
#include "gui/window/detector/detector_words.hpp"
#include "gui/window/detector/figure_shapes.hpp"

namespace coldstroke::gui {
namespace {

constexpr int kWindows = 50, kThresholds = 50;

/// Every window from one sample to 100 ms, every threshold up to half the range: what a person would look among.
analysis::RecommendationRequest request_for(const analysis::DetectorSpec& spec) {
  analysis::RecommendationRequest out;
  out.spec = spec;
  const double most = spec.kind == analysis::DetectorKind::velocity_gain ? 10.0 : spec.board.range_g / 2.0;
  for (int i = 1; i <= kWindows; ++i) out.window_seconds.push_back(0.1 * i / kWindows);
  for (int i = 1; i <= kThresholds; ++i) out.thresholds.push_back(most * i / kThresholds);
  return out;
}

}  // namespace

ProposalPanel::ProposalPanel(QWidget* parent) : DetectorPanel{"proposal_panel", tr("Propose"), parent} {
  detector_ = addDetectorChoice("proposal_detector", tr("Kind and board of"));
  igniter_delay_ = addMilliseconds("igniter_delay", tr("igniter delay"), 0.0, 10'000.0, 20.0);
  thrust_by_ = addMilliseconds("thrust_by", tr("thrust must begin by"), 1.0, 60'000.0, 300.0);
  addSave(tr("Detector table (*.toml)"),
          [this](const auto& file) { return write_whole(file, daq::detector_table_text(made_->proposal->spec)); });
  endRow();
  answer_ = addAnswer(
      "proposal_answer",
      tr("Delay from a decision to thrust, and the last instant after first motion for thrust to begin: of your igniter and your "
         "flight."));
}

void ProposalPanel::begin() {
  auto request = request_for(chosen(detector_));
  request.igniter_delay_seconds = igniter_delay_->value() / 1000.0;
  request.ignition_window_end_seconds = thrust_by_->value() / 1000.0;
  job_->start(
      [library = data_.library, request](const BackgroundJob::Asked& asked) { return recommend(*library, request, asked); },
      [this](Answer answer, bool stopped) { showAnswer(std::move(answer), stopped); });
}

void ProposalPanel::showAnswer(Answer answer, bool stopped) {
  if (!answer) return complain(answer.error());
  if (stopped || !*answer) return say(tr("Stopped."));
  say({});
  made_ = std::move(**answer);
  std::ostringstream words;
  print_recommendation(words, *made_);
  if (made_->proposal) words << "\n" << daq::detector_table_text(made_->proposal->spec);
  answer_->setText(text(words.str()));
  has_answer_ = made_->proposal.has_value();
  followJob();
  Q_EMIT shown();
}

}  // namespace coldstroke::gui
