// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/detector/detector_page.hpp"

#include <QHBoxLayout>
#include <QLabel>
#include <QPushButton>
#include <QScrollArea>
#include <QTabWidget>
#include <QVBoxLayout>

#include "daq/detector/detector_table.hpp"
#include "daq/detector/library_table.hpp"
#include "gui/window/detector/before_after_panel.hpp"
#include "gui/window/detector/map_panel.hpp"
#include "gui/window/detector/playback_panel.hpp"
#include "gui/window/detector/proposal_panel.hpp"

namespace coldstroke::gui {

DetectorPage::DetectorPage(daq::VirtualRigProgram virtual_rig, QWidget* parent) : QWidget{parent} {
  setObjectName("detector_page");
  reading_ = new BackgroundJob{this};
  map_panel_ = new MapPanel;
  tabs_ = new QTabWidget;
  tabs_->setObjectName("detector_tabs");
  tabs_->addTab(map_panel_, tr("Operating map"));
  auto* before_after = new BeforeAfterPanel;
  connect(before_after, &BeforeAfterPanel::fileRequested, this, &DetectorPage::fileRequested);
  tabs_->addTab(before_after, tr("Before and after"));
  tabs_->addTab(new ProposalPanel, tr("Proposal"));
  tabs_->addTab(new PlaybackPanel{std::move(virtual_rig)}, tr("Playback"));
  auto* column = new QVBoxLayout{this};
  column->setContentsMargins(8, 8, 8, 8);
  column->setSpacing(8);
  column->addWidget(makeTop());
  auto* scroll = new QScrollArea;  // the smallest window is smaller than a panel's row of controls
  scroll->setWidget(tabs_);
  scroll->setWidgetResizable(true);
  scroll->setFrameShape(QFrame::NoFrame);
  column->addWidget(scroll, 1);
  for (int i = 0; i < tabs_->count(); ++i)
    connect(qobject_cast<DetectorPanel*>(tabs_->widget(i)), &DetectorPanel::saveWanted, this, &DetectorPage::saveWanted);
  connect(map_panel_, &DetectorPanel::shown, this, &DetectorPage::mapShown);
  spread();
}

MapView* DetectorPage::map() const { return map_panel_->view(); }

DetectorPanel* DetectorPage::panel() const { return qobject_cast<DetectorPanel*>(tabs_->currentWidget()); }

QWidget* DetectorPage::makeTop() {
  auto* top = new QWidget;
  auto* row = new QHBoxLayout{top};
  row->setContentsMargins(0, 0, 0, 0);
  files_ = new QLabel;
  files_->setObjectName("detector_files");
  files_->setTextFormat(Qt::PlainText);
  auto* library = new QPushButton{tr("Open a library")};
  library->setObjectName("detector_open_library");
  library->setToolTip(tr("Labelled recordings: a library table, or a campaign with its trials and the recordings kept in it"));
  auto* table = new QPushButton{tr("Open detectors")};
  table->setObjectName("detector_open_table");
  keep_ = new QPushButton{tr("Keep in a campaign")};
  keep_->setObjectName("detector_keep");
  keep_->setToolTip(tr("These recordings stay with the campaign for good, beside its trials"));
  row->addWidget(library);
  row->addWidget(table);
  row->addWidget(keep_);
  row->addWidget(files_, 1);
  const auto asks_for = [this](QPushButton* button, const QString& title, const QString& filter, auto then) {
    connect(button, &QPushButton::clicked, this, [this, title, filter, then] {
      Q_EMIT fileRequested({title, filter, false, [this, then](const std::filesystem::path& file) { (this->*then)(file); }});
    });
  };
  asks_for(library, tr("Open a library"), tr("Library or campaign (*.toml *.coldstroke);;All files (*)"),
           &DetectorPage::openLibrary);
  asks_for(table, tr("Open detectors"), tr("Detector table (*.toml)"), &DetectorPage::openTable);
  asks_for(keep_, tr("Keep the recordings in a campaign"), tr("Campaign (*.coldstroke);;All files (*)"), &DetectorPage::keepIn);
  return top;
}

void DetectorPage::openLibrary(const std::filesystem::path& file) {
  if (reading_->busy()) return;
  files_->setText(tr("reading %1").arg(QString::fromStdString(file.filename().string())));
  struct Read {
    Result<std::vector<analysis::Recording>> library;
    std::vector<std::string> left_out;
  };
  reading_->start(
      [file](const BackgroundJob::Asked&) {
        std::vector<std::string> left_out;
        auto library = daq::load_library(file, left_out);
        return Read{std::move(library), std::move(left_out)};
      },
      [this, file](Read read, bool) {
        if (read.library) show(std::move(*read.library), QString::fromStdString(file.filename().string()));
        if (!read.library) {
          spread();
          panel()->complain(read.library.error());
        } else if (!read.left_out.empty()) {
          files_->setText(files_->text() + tr("; left out: %1").arg(read.left_out.size()));
          files_->setToolTip(text(read.left_out.front()));
        }
      });
}

void DetectorPage::openTable(const std::filesystem::path& file) {
  auto table = daq::load_detector_table(file);
  if (!table) return panel()->complain(table.error());
  show(std::move(table->detectors));
}

void DetectorPage::save(const std::filesystem::path& file, const FileWriter& write) {
  if (const auto written = write(file); !written) panel()->complain(written.error());
}

void DetectorPage::keepIn(const std::filesystem::path& campaign) {
  if (reading_->busy()) return;
  const QString name = QString::fromStdString(campaign.filename().string());
  files_->setText(tr("keeping the recordings in %1").arg(name));
  reading_->start(
      [campaign, library = data_.library](const BackgroundJob::Asked&) { return daq::keep_recordings(campaign, *library); },
      [this, name](Result<std::vector<analysis::Finding>> kept, bool) {
        spread();
        if (!kept) return panel()->complain(kept.error());
        files_->setText(files_->text() + tr("; kept in %1").arg(name));
      });
}

void DetectorPage::show(std::vector<analysis::Recording> library, const QString& name) {
  data_.library = std::make_shared<const std::vector<analysis::Recording>>(std::move(library));
  data_.library_name = name;
  spread();
}

void DetectorPage::show(std::vector<analysis::DetectorSpec> detectors) {
  data_.detectors = std::move(detectors);
  spread();
}

void DetectorPage::spread() {
  keep_->setEnabled(!data_.library->empty());
  files_->setText(tr("%1, %2").arg(
      data_.library->empty() ? tr("no library") : tr("%1: %2 recordings").arg(data_.library_name).arg(data_.library->size()),
      data_.detectors.empty() ? tr("no detectors") : tr("%n detectors", nullptr, static_cast<int>(data_.detectors.size()))));
  for (int i = 0; i < tabs_->count(); ++i) qobject_cast<DetectorPanel*>(tabs_->widget(i))->setData(data_);
}

}  // namespace coldstroke::gui
