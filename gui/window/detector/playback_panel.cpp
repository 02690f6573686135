// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/detector/playback_panel.hpp"
#include "gui/report/whole_file.hpp"

#include <QComboBox>
#include <QLabel>
#include <QSerialPortInfo>
#include <QVBoxLayout>
#include <sstream>

#include "daq/playback/played_answers.hpp"
#include "gui/window/bench/headline_bar.hpp"
#include "gui/window/detector/detector_words.hpp"
#include "gui/window/detector/figure_shapes.hpp"

namespace coldstroke::gui {
namespace {

constexpr int kBaud = 921600;
constexpr std::size_t kMostFindings = 40;

}  // namespace

PlaybackPanel::PlaybackPanel(daq::VirtualRigProgram virtual_rig, QWidget* parent)
    : DetectorPanel{"playback_panel", tr("Play the library to the board"), parent}, virtual_rig_{std::move(virtual_rig)} {
  board_ = new QComboBox;
  board_->setObjectName("playback_board");
  board_->setEditable(true);
  board_->setMinimumContentsLength(24);
  board_->addItem(tr("virtual board, simulated time"), "lockstep");
  board_->addItem(tr("virtual board, real time"), "virtual");
  for (const QSerialPortInfo& port : QSerialPortInfo::availablePorts()) board_->addItem(port.systemLocation(), "port");
  addToRow(board_, tr("Flight board"));
  detector_ = addDetectorChoice("playback_detector", tr("held to"));
  detector_->setMinimumContentsLength(26);
  addSave(tr("Answers (*.json)"),
          [this](const auto& file) { return write_whole(file, daq::playback_json(made_->report, made_->run)); });
  endRow();
  auto* column = qobject_cast<QVBoxLayout*>(layout());
  column->insertWidget(
      0, new HatchedBanner{"playback_banner", tr("PLAYBACK, no trial: the detector hears recordings, nothing is ejected.")});
  answer_ = addAnswer(
      "playback_answer",
      tr("The board refuses unless its arm switch is at safe and every firing channel is open or on its registered dummy load. "
         "Close the bench first if it holds the flight board's port. Tube empty, no gas."));
  fillDetectors();
}

void PlaybackPanel::fillDetectors() {
  DetectorPanel::fillDetectors();
  detector_->insertItem(0, tr("what the board says of itself"));
  detector_->setCurrentIndex(0);
}

void PlaybackPanel::begin() {
  const QString typed = board_->currentText();
  const int item = board_->findText(typed);
  const QString how = item < 0 ? QString{"port"} : board_->itemData(item).toString();
  std::optional<analysis::DetectorSpec> held_to;
  if (detector_->currentIndex() > 0) held_to = data_.detectors[static_cast<std::size_t>(detector_->currentIndex() - 1)];
  const auto work = [this, library = data_.library, how, typed, held_to,
                     program = virtual_rig_](const BackgroundJob::Asked& asked) -> Result<Answer> {
    const daq::StimulusMaker make = [&](const daq::BoardClaims& claims) { return daq::stimuli_of(*library, claims); };
    const daq::PlaybackProgress progress = job_->progress(asked);
    auto run = how == "port" ? daq::play_over_port({typed.toStdString(), kBaud}, make, progress)
                             : daq::play_to_virtual_board({}, how == "lockstep", make, progress, program);
    if (!run) return tl::unexpected{run.error()};
    auto report = daq::judge_playback(*run, held_to);
    if (!report) return tl::unexpected{report.error()};
    return Answer{std::move(*run), std::move(*report)};
  };
  job_->start(work, [this](Result<Answer> answer, bool) { showAnswer(std::move(answer)); });
}

void PlaybackPanel::showAnswer(Result<Answer> answer) {
  if (!answer) return complain(answer.error());
  say({});
  if (answer->run.ended_early) complain(*answer->run.ended_early);
  made_ = std::make_shared<Answer>(std::move(*answer));
  std::ostringstream words;
  print_playback(words, made_->report, made_->run, kMostFindings);
  answer_->setText(text(words.str()));
  has_answer_ = true;
  followJob();
  Q_EMIT shown();
}

}  // namespace coldstroke::gui
