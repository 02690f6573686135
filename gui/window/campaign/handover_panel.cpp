// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/campaign/handover_panel.hpp"
#include "gui/report/whole_file.hpp"

#include <QHBoxLayout>
#include <QHeaderView>
#include <QLabel>
#include <QPushButton>
#include <QSignalBlocker>
#include <QTableWidget>
#include <QVBoxLayout>
#include <algorithm>
#include <array>

#include "daq/setup/flight_configuration.hpp"
#include "gui/report/html_report.hpp"
#include "gui/window/label.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {
namespace {

enum Column { kItem, kTested, kIntended, kConsequence, kColumns };

// A bench never tests these; a flight has them.
constexpr std::array kOfFlightOnly{"motor", "balance.centre_of_mass_metres"};

QTableWidgetItem* read_only(const QString& words) {
  auto* item = new QTableWidgetItem{words};
  item->setFlags(Qt::ItemIsEnabled | Qt::ItemIsSelectable);
  return item;
}

std::string value_of(const std::vector<analysis::HandoverItem>& items, const std::string& key) {
  const auto found = std::ranges::find(items, key, &analysis::HandoverItem::key);
  return found == items.end() ? std::string{} : found->value;
}

}  // namespace

HandoverPanel::HandoverPanel(QWidget* parent) : QWidget{parent} {
  setObjectName("handover_panel");
  auto* open = new QPushButton{tr("Open ...")};
  open->setObjectName("handover_open");
  auto* save = new QPushButton{tr("Save ...")};
  save->setObjectName("handover_save");
  auto* as_tested = new QPushButton{tr("Enter all as tested")};
  as_tested->setObjectName("handover_as_tested");
  summary_ = wrapped_label("handover_summary");
  message_ = wrapped_label("handover_message");
  message_->hide();
  table_ = new QTableWidget{0, kColumns};
  table_->setObjectName("handover_table");
  table_->setAccessibleName(tr("Tested and intended configuration; the third column is entered"));
  table_->setHorizontalHeaderLabels({tr("item"), tr("tested"), tr("intended for flight"), tr("what it does to the evidence")});
  table_->horizontalHeader()->setDefaultAlignment(Qt::AlignLeft | Qt::AlignVCenter);
  table_->horizontalHeader()->setStretchLastSection(true);
  table_->verticalHeader()->hide();
  table_->verticalHeader()->setSectionResizeMode(QHeaderView::ResizeToContents);
  table_->setFrameShape(QFrame::NoFrame);
  table_->setWordWrap(true);
  auto* row = new QHBoxLayout;
  row->addWidget(new QLabel{tr("Intended for flight")});
  for (QPushButton* button : {open, save, as_tested}) row->addWidget(button);
  row->addStretch(1);
  auto* column = new QVBoxLayout{this};
  column->addLayout(row);
  column->addWidget(summary_);
  column->addWidget(message_);
  column->addWidget(table_, 1);
  connect(table_, &QTableWidget::itemChanged, this, &HandoverPanel::weigh);
  connect(as_tested, &QPushButton::clicked, this, [this] { fill(tested_); });
  connect(open, &QPushButton::clicked, this, [this] {
    Q_EMIT fileRequested({tr("Open a flight configuration"), tr("Flight configuration (*.toml)"), false,
                          [this](const auto& file) { this->open(file); }});
  });
  connect(save, &QPushButton::clicked, this, [this] {
    Q_EMIT fileRequested({tr("Save the flight configuration"), tr("Flight configuration (*.toml)"), true,
                          [this](const auto& file) { this->save(file); }});
  });
  fill({});
}

void HandoverPanel::setTested(std::vector<analysis::HandoverItem> tested) {
  const auto entered = intended();
  tested_ = std::move(tested);
  fill(entered);
}

std::vector<analysis::HandoverItem> HandoverPanel::intended() const {
  std::vector<analysis::HandoverItem> items;
  for (int row = 0; row < table_->rowCount(); ++row) {
    const QString value = table_->item(row, kIntended)->text().trimmed();
    if (!value.isEmpty()) items.push_back({table_->item(row, kItem)->text().toStdString(), value.toStdString()});
  }
  return items;
}

void HandoverPanel::fill(const std::vector<analysis::HandoverItem>& intended) {
  std::vector<std::string> keys;
  const auto add = [&keys](const std::string& key) {
    if (std::ranges::find(keys, key) == keys.end()) keys.push_back(key);
  };
  for (const auto& item : tested_) add(item.key);
  for (const auto& item : intended) add(item.key);
  for (const char* key : kOfFlightOnly) add(key);
  {
    const QSignalBlocker quiet{table_};
    table_->setRowCount(static_cast<int>(keys.size()));
    for (int row = 0; row < table_->rowCount(); ++row) {
      const std::string& key = keys[static_cast<std::size_t>(row)];
      const std::string tested = value_of(tested_, key);
      table_->setItem(row, kItem, read_only(text(key)));
      table_->setItem(row, kTested, read_only(tested.empty() ? tr("not tested") : text(tested)));
      table_->setItem(row, kIntended, new QTableWidgetItem{text(value_of(intended, key))});
      table_->setItem(row, kConsequence, read_only({}));
    }
  }
  table_->resizeColumnToContents(kItem);
  table_->setColumnWidth(kTested, 170);
  table_->setColumnWidth(kIntended, 170);
  weigh();
}

void HandoverPanel::weigh() {
  const auto entered = intended();
  const auto handover = analysis::compare_for_flight(tested_, entered);
  {
    const QSignalBlocker quiet{table_};
    for (int row = 0; row < table_->rowCount(); ++row) {
      const std::string key = table_->item(row, kItem)->text().toStdString();
      const auto different = std::ranges::find(handover.differences, key, &analysis::HandoverDifference::key);
      const bool same = std::ranges::any_of(handover.same, [&key](const auto& item) { return item.key == key; });
      const QString words = entered.empty()                           ? QString{}
                            : same                                    ? tr("alike")
                            : different != handover.differences.end() ? text(different->consequence)
                                                                      : tr("stated on neither side");
      table_->item(row, kConsequence)->setText(words);
    }
  }
  if (tested_.empty()) return summary_->setText(tr("Open a campaign with a trial: it says what was tested."));
  summary_->setText(
      entered.empty()
          ? tr("Nothing is entered yet. Type in the third column, or open a file. People decide what a difference means.")
          : tr("%1 of %2 items differ or are stated on one side only. What is entered goes on the verdict sheet; people decide.")
                .arg(handover.differences.size())
                .arg(handover.differences.size() + handover.same.size()));
}

void HandoverPanel::say(const QString& words) {
  message_->setText(words);
  message_->setVisible(!words.isEmpty());
}

void HandoverPanel::open(const std::filesystem::path& file) {
  const auto intended = daq::load_flight_configuration(file);
  if (!intended) return say(text(intended.error().what + " " + intended.error().where + ": " + intended.error().remedy));
  say({});
  fill(*intended);
}

void HandoverPanel::save(const std::filesystem::path& file) {
  if (intended().empty()) return say(tr("Nothing is entered, so nothing was saved."));
  const auto written = write_whole(file, daq::flight_configuration_text(intended()));
  say(written ? tr("Saved: %1").arg(text(file.string())) : text(written.error().what + " " + written.error().remedy));
}

}  // namespace coldstroke::gui
