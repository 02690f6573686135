// SPDX-License-Identifier: GPL-3.0-or-later
//
// What the window writes and which files people choose: notes, reports, the file chooser.
#include <QDateTime>
#include <QFileDialog>
#include <QVBoxLayout>

#include "gui/report/html_report.hpp"
#include "gui/report/rejudge.hpp"
#include "gui/report/whole_file.hpp"
#include "gui/window/bench/bench_page.hpp"
#include "gui/window/calibration/calibration_page.hpp"
#include "gui/window/campaign/campaign_page.hpp"
#include "gui/window/look.hpp"
#include "gui/window/main_window.hpp"
#include "gui/window/trial/trial_page.hpp"

namespace coldstroke::gui {

// A bench that runs owns its campaign file and takes notes to its running or last trial only.
QString MainWindow::notesBlocked(qlonglong number) const {
  if (bench_ == nullptr || campaign_ != bench_campaign_) return {};
  const auto view = bench_->view();
  if (view->last && view->last->number == number) return {};
  return tr("Notes to older trials can be written when the bench is closed");
}

void MainWindow::keepNote(qlonglong number, const QString& words) {
  if (bench_ != nullptr && campaign_ == bench_campaign_) {
    bench_->addNote(note_author(), words);
  } else {
    auto kept = doors_.add_note(campaign_, number, note_author().toStdString(), words.toStdString());
    if (!kept)
      return trial_page_->showMessage(
          tr("The note was not kept: %1 %2 Its text: %3").arg(text(kept.error().what), text(kept.error().remedy), words));
  }
  if (trial_page_->number() == number) trial_page_->addNote(note_author(), words);
}

void MainWindow::keepCalibration(const daq::CalibrationRecord& record) {
  if (!calibration_page_->setup()) return;
  const auto kept = daq::append_calibration(*calibration_page_->setup(), record);
  if (!kept) return calibration_page_->complain(kept.error());
  calibration_page_->say(tr("Kept. It is in force for whoever opens the setup from now on: open it again."));
}

// A bench that runs owns its campaign file.
void MainWindow::rejudgeTrials(const daq::Recalibration& correction) {
  if (source_ == nullptr) return calibration_page_->say(tr("No campaign is open: open one on the Campaign page."));
  if (bench_ != nullptr && campaign_ == bench_campaign_)
    return calibration_page_->say(
        tr("The rig writes to this campaign: leave the rig, or open another campaign, and judge then."));
  calibration_page_->say(tr("Judging again ..."));
  inBackground<std::vector<ReportTrial>>(
      [file = campaign_, correction] { return rejudge(file, std::nullopt, correction); },
      [this](Result<std::vector<ReportTrial>> judged) {
        if (!judged) return calibration_page_->complain(judged.error());
        calibration_page_->say(tr("Trials judged again: %1. The old results stay.").arg(judged->size()));
        reload();
      });
}

void MainWindow::voidTrial(qlonglong number, const QString& person, const QString& reason) {
  const auto done = doors_.void_trial(campaign_, number, person.toStdString(), reason.toStdString());
  if (!done) return campaign_page_->showComplaint(done.error());
  reload();
}

void MainWindow::choose(const QString& title, const QString& filter, std::function<void(const std::filesystem::path&)> then,
                        bool to_write) {
  if (page() == kChoosing) return;
  before_panel_ = page();
  auto* dialogue = new QFileDialog{chooser_, title, QString{}, filter};
  dialogue->setObjectName("file_chooser");
  dialogue->setOption(QFileDialog::DontUseNativeDialog);
  dialogue->setFileMode(to_write ? QFileDialog::AnyFile : QFileDialog::ExistingFile);
  dialogue->setAcceptMode(to_write ? QFileDialog::AcceptSave : QFileDialog::AcceptOpen);
  dialogue->setWindowFlags(Qt::Widget);  // fills the page instead of covering the window
  dialogue->setSizeGripEnabled(false);
  chooser_->layout()->addWidget(dialogue);
  dialogue->show();
  goTo(kChoosing);
  dialogue->setFocus();
  connect(dialogue, &QDialog::finished, this, [this, dialogue, then = std::move(then)](int accepted) {
    const QStringList files = dialogue->selectedFiles();
    dialogue->deleteLater();
    goTo(before_panel_);
    if (accepted == QDialog::Accepted && !files.isEmpty()) then(files.first().toStdString());
  });
}

void MainWindow::writeReport(std::optional<qlonglong> number) {
  if (source_ == nullptr) return;
  const auto source = source_;
  const auto file = report_path(campaign_, number ? std::optional<std::int64_t>{*number} : std::nullopt);
  ReportHead head;
  head.program_version = COLDSTROKE_VERSION;
  head.written_utc = QDateTime::currentDateTimeUtc().toString(Qt::ISODate).toStdString();
  const auto say = [this, number](const QString& words) {
    if (number)
      trial_page_->showMessage(words);
    else
      campaign_page_->showMessage(words);
  };
  say(tr("Writing the report ..."));
  inBackground<std::string>(
      [source, number, head, file]() -> Result<std::string> {
        auto html = number ? report_of_trial(*source, head, *number) : report_of_campaign(*source, head);
        if (!html) return html;
        if (auto written = write_whole(file, *html); !written) return tl::unexpected{written.error()};
        return file.string();
      },
      [say](Result<std::string> written) {
        if (written)
          say(tr("Report written: %1").arg(text(*written)));
        else
          say(tr("No report: %1 %2 %3")
                  .arg(text(written.error().what), text(written.error().where), text(written.error().remedy)));
      });
}

}  // namespace coldstroke::gui
