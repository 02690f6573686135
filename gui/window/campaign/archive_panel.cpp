// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/campaign/archive_panel.hpp"

#include <QComboBox>
#include <QGridLayout>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>
#include <QVBoxLayout>

#include "gui/report/evidence_words.hpp"
#include "gui/window/detector/sheet_map.hpp"
#include "gui/window/label.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {

ArchivePanel::ArchivePanel(QWidget* parent) : JobPanel{"archive_panel", tr("Check every byte"), parent} {
  head_ = new QLineEdit;
  head_->setObjectName("archive_head");
  head_->setPlaceholderText(tr("from the foot of a signed sheet, if there is one"));
  head_->setMinimumWidth(340);
  addToRow(head_, tr("Head of the chain"));
  endRow();
  auto* grid = new QGridLayout;
  grid->setColumnStretch(2, 1);
  qobject_cast<QVBoxLayout*>(layout())->addLayout(grid);
  paper_ = new QComboBox;
  paper_->setObjectName("archive_paper");
  paper_->setAccessibleName(tr("Paper of a PDF"));
  paper_->addItems({tr("A4"), tr("Letter")});
  addAction(grid, "archive_sheet",
            tr("PDF or HTML, by the name's ending: what was shown and what was not, every trial, to be signed."),
            {tr("Write the verdict sheet"), tr("Sheet (*.pdf *.html)"), true, [this](const auto& file) { writeSheet(file); }});
  grid->addWidget(paper_, 0, 1);
  addAction(grid, "archive_hdf5", tr("Traces with units, time bases and uncertainties in one file."),
            {tr("Export as HDF5"), tr("HDF5 (*.h5)"), true, [this](const auto& file) { writeHdf5(file); }});
  addAction(grid, "archive_tables", tr("A new folder: README, data dictionary, a line a trial, and the traces of each."),
            {tr("Export as CSV tables"), tr("New folder (*)"), true, [this](const auto& folder) { writeTables(folder); }});
  answer_ = addAnswer("archive_answer");
}

void ArchivePanel::addAction(QGridLayout* grid, const char* name, const QString& meaning, const FileRequest& request) {
  auto* button = new QPushButton{tr("%1 ...").arg(request.title)};
  button->setObjectName(name);
  buttons_.push_back(button);
  connect(button, &QPushButton::clicked, this, [this, request] { Q_EMIT fileRequested(request); });
  auto* words = wrapped_label("");
  words->setText(meaning);
  const int row = grid->rowCount() - (grid->count() == 0 ? 1 : 0);
  grid->addWidget(button, row, 0);
  grid->addWidget(words, row, 2, Qt::AlignVCenter);
}

void ArchivePanel::setCampaign(const std::filesystem::path& campaign) {
  if (campaign != campaign_) {
    cancel();
    answer_->clear();
    say({});
  }
  campaign_ = campaign;
  followJob();
}

QString ArchivePanel::wanting() const { return campaign_.empty() ? tr("Open a campaign first") : QString{}; }

void ArchivePanel::followJob() {
  JobPanel::followJob();
  for (QPushButton* button : buttons_) {
    button->setEnabled(!busy() && ready());
    button->setToolTip(wanting());
  }
}

void ArchivePanel::start(const QString& doing, std::function<Result<Lines>(const daq::Progress&)> work) {
  if (busy() || !ready()) return;
  say({});
  answer_->setText(doing);
  job_->start([this, work = std::move(work)](const BackgroundJob::Asked& asked) { return work(job_->progress(asked)); },
              [this](const Result<Lines>& done, bool) {
                answer_->clear();
                if (!done) return complain(done.error());
                answer_->setText(text_lines(*done));
              });
}

void ArchivePanel::begin() {
  start(tr("Checking ..."),
        [file = campaign_, head = head_->text().trimmed().toStdString()](const daq::Progress& progress) -> Result<Lines> {
          auto checked = verify_campaign(file, head, progress);
          if (!checked) return tl::unexpected{checked.error()};
          return std::move(checked->lines);
        });
}

void ArchivePanel::writeSheet(const std::filesystem::path& file) {
  SheetRequest request;
  if (intended_)
    if (auto intended = intended_(); !intended.empty()) request.intended = std::move(intended);
  const PaperSize paper = paper_->currentIndex() == 0 ? PaperSize::a4 : PaperSize::letter;
  start(tr("Writing the verdict sheet ..."),
        [campaign = campaign_, file, request, paper](const daq::Progress& progress) -> Result<Lines> {
          const auto input = read_mapped_sheet(campaign, request, progress);
          if (!input) return tl::unexpected{input.error()};
          auto written = write_sheet(file, *input, paper);
          if (!written) return tl::unexpected{written.error()};
          return Lines{"Written: " + *written};
        });
}

void ArchivePanel::writeHdf5(const std::filesystem::path& file) { writeOut(daq::export_hdf5, file); }

void ArchivePanel::writeTables(const std::filesystem::path& folder) { writeOut(daq::export_folder, folder); }

void ArchivePanel::writeOut(Exporter exporter, const std::filesystem::path& to) {
  start(tr("Exporting ..."), [from = campaign_, exporter, to](const daq::Progress& progress) -> Result<Lines> {
    const auto campaign = daq::Campaign::open_read_only(from);
    if (!campaign) return tl::unexpected{campaign.error()};
    if (auto done = exporter(*campaign, to, {}, progress); !done) return tl::unexpected{done.error()};
    return Lines{"Exported: " + to.string()};
  });
}

}  // namespace coldstroke::gui
