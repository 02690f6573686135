// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/campaign/import_panel.hpp"

#include <QLabel>
#include <QLineEdit>
#include <QPushButton>
#include <QVBoxLayout>

#include "gui/window/label.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {

ImportPanel::ImportPanel(QWidget* parent) : JobPanel{"import_panel", tr("Take in as a trial"), parent} {
  auto* add = new QPushButton{tr("Add a CSV file ...")};
  add->setObjectName("import_add");
  add->setToolTip(tr("One file for each sampling rate of one trial"));
  auto* setup = new QPushButton{tr("Setup ...")};
  setup->setObjectName("import_setup");
  setup->setToolTip(tr("The setup that the trial is judged by"));
  auto* clear = new QPushButton{tr("Begin again")};
  clear->setObjectName("import_clear");
  for (QPushButton* button : {add, setup, clear}) addToRow(button);
  endRow();
  columns_ = new QLineEdit;
  columns_->setObjectName("import_columns");
  columns_->setPlaceholderText(tr("columns whose headers say too little, e.g. F1=force:kN; az=acceleration:g   (remembered)"));
  columns_->setAccessibleName(tr("Columns"));
  files_ = wrapped_label("import_files");
  auto* column = qobject_cast<QVBoxLayout*>(layout());
  column->addWidget(columns_);
  column->addWidget(files_);
  answer_ = addAnswer("import_answer");
  connect(add, &QPushButton::clicked, this, [this] {
    Q_EMIT fileRequested(
        {tr("Add a CSV file"), tr("CSV (*.csv);;All files (*)"), false, [this](const auto& file) { addFile(file); }});
  });
  connect(setup, &QPushButton::clicked, this, [this] {
    Q_EMIT fileRequested({tr("Choose the setup"), tr("Setup (*.toml)"), false, [this](const auto& file) { setSetup(file); }});
  });
  connect(clear, &QPushButton::clicked, this, [this] {
    wish_.files.clear();
    columns_->clear();
    say({});
    showFiles();
  });
  showFiles();
}

void ImportPanel::setCampaign(const std::filesystem::path& campaign) {
  wish_.campaign = campaign;
  followJob();
}

void ImportPanel::addFile(const std::filesystem::path& csv) {
  wish_.files.push_back(csv);
  showFiles();
}

void ImportPanel::setSetup(const std::filesystem::path& setup) {
  wish_.setup = setup;
  showFiles();
}

void ImportPanel::showFiles() {
  QStringList lines;
  for (const auto& file : wish_.files) lines << tr("traces: %1").arg(text(file.string()));
  if (!wish_.setup.empty()) lines << tr("judged by: %1").arg(text(wish_.setup.string()));
  files_->setText(lines.isEmpty()
                      ? tr("Traces that were recorded elsewhere become a trial: the files are kept in the campaign as they are, "
                           "and the trial is judged by the setup.")
                      : lines.join('\n'));
  followJob();
}

QString ImportPanel::wanting() const {
  if (wish_.campaign.empty()) return tr("Open a campaign first");
  if (wish_.files.empty()) return tr("Add a CSV file first");
  return wish_.setup.empty() ? tr("Choose the setup first") : QString{};
}

void ImportPanel::begin() {
  ImportWish wish = wish_;
  for (const QString& one : columns_->text().split(';', Qt::SkipEmptyParts)) wish.columns.push_back(one.trimmed().toStdString());
  job_->start([wish](const BackgroundJob::Asked&) { return import_into_campaign(wish); },
              [this](const Result<Imported>& done, bool) {
                if (!done) return complain(done.error());
                say({});
                answer_->setText(text_lines(done->lines));
                wish_.files.clear();
                showFiles();
                Q_EMIT campaignChanged();
              });
}

}  // namespace coldstroke::gui
