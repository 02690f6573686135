// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/campaign/campaign_page.hpp"

#include <QComboBox>
#include <QHBoxLayout>
#include <QHeaderView>
#include <QKeyEvent>
#include <QLabel>
#include <QMouseEvent>
#include <QPushButton>
#include <QSortFilterProxyModel>
#include <QStyledItemDelegate>
#include <QTableView>
#include <QVBoxLayout>
#include <filesystem>

#include "gui/report/figures.hpp"
#include "gui/report/html_report.hpp"
#include "gui/window/campaign/dot_strip.hpp"
#include "gui/window/campaign/trial_list_model.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {
namespace {

constexpr const char* kFirstMetric = "detector_latency_seconds";

class VerdictDelegate : public QStyledItemDelegate {
 public:
  using QStyledItemDelegate::QStyledItemDelegate;
  void paint(QPainter* painter, const QStyleOptionViewItem& option, const QModelIndex& index) const override {
    QStyledItemDelegate::paint(painter, option, index);
    const QString words = index.data().toString();
    const std::string word = words.mid(2).toStdString();  // after the shape and its space
    paint_chip(*painter, QRectF{option.rect}.adjusted(3.0, 2.0, -3.0, -2.0), verdict_meaning(word), look_of(option.widget), words,
               type(kBodyPt, true));
  }
  [[nodiscard]] QSize sizeHint(const QStyleOptionViewItem& option, const QModelIndex& index) const override {
    return QStyledItemDelegate::sizeHint(option, index) + QSize{28, 0};
  }
};

// Enter opens the trial; item views otherwise only start an editor.
class TrialTable : public QTableView {
 public:
  using QTableView::QTableView;

 protected:
  void keyPressEvent(QKeyEvent* event) override {
    if ((event->key() == Qt::Key_Return || event->key() == Qt::Key_Enter) && currentIndex().isValid())
      Q_EMIT activated(currentIndex());
    else
      QTableView::keyPressEvent(event);
  }
  void mouseDoubleClickEvent(QMouseEvent* event) override {
    const QModelIndex at = indexAt(event->pos());
    if (at.isValid()) Q_EMIT activated(at);
  }
};

}  // namespace

CampaignPage::CampaignPage(QWidget* parent) : QWidget{parent} {
  setObjectName("campaign_page");
  strip_ = new DotStrip;
  makeTable();
  message_ = new QLabel;
  message_->setObjectName("campaign_message");
  message_->setTextFormat(Qt::PlainText);
  message_->setWordWrap(true);
  message_->hide();
  auto* column = new QVBoxLayout{this};
  column->setContentsMargins(8, 8, 8, 8);
  column->setSpacing(8);
  column->addWidget(makeTop());
  column->addWidget(strip_, 2);
  column->addWidget(table_, 3);
  column->addWidget(message_);
  connect(strip_, &DotStrip::chosen, this, &CampaignPage::choose);
  connect(strip_, &DotStrip::opened, this, &CampaignPage::trialWanted);
  showNothing();
}

QWidget* CampaignPage::makeTop() {
  auto* top = new QWidget;
  title_ = new QLabel;
  title_->setObjectName("campaign_title");
  title_->setTextFormat(Qt::PlainText);
  title_->setSizePolicy(QSizePolicy::Ignored, QSizePolicy::Preferred);  // a long name must not keep the window wide
  sentence_ = new QLabel;
  sentence_->setObjectName("campaign_sentence");
  sentence_->setFont(type(kReadoutPt, true));
  sentence_->setWordWrap(true);
  sentence_->setTextFormat(Qt::PlainText);
  metric_ = new QComboBox;
  metric_->setObjectName("campaign_metric");
  metric_->setAccessibleName(tr("Metric shown"));
  for (const std::string_view name : analysis::kMetricNames) {
    const MetricWords* words = metric_words(name);
    metric_->addItem(words == nullptr ? text(name) : text(words->title), text(name));
  }
  metric_->setCurrentIndex(metric_->findData(kFirstMetric));
  connect(metric_, &QComboBox::currentIndexChanged, this, &CampaignPage::showStrip);
  report_ = new QPushButton{tr("Write report")};
  report_->setObjectName("campaign_report");
  report_->setToolTip(tr("Writes an HTML report of all trials beside the campaign file"));
  connect(report_, &QPushButton::clicked, this, &CampaignPage::reportWanted);
  auto* open = new QPushButton{tr("Open a campaign ...")};
  open->setObjectName("campaign_open");
  connect(open, &QPushButton::clicked, this, &CampaignPage::fileWanted);
  auto* row = new QHBoxLayout;
  row->addWidget(title_, 1);
  row->addWidget(new QLabel{tr("show")});
  row->addWidget(metric_);
  row->addWidget(report_);
  row->addWidget(open);
  auto* column = new QVBoxLayout{top};
  column->setContentsMargins(0, 0, 0, 0);
  column->addWidget(sentence_);
  column->addLayout(row);
  return top;
}

void CampaignPage::makeTable() {
  model_ = new TrialListModel{this};
  sorted_ = new QSortFilterProxyModel{this};
  sorted_->setSourceModel(model_);
  sorted_->setSortRole(Qt::UserRole);
  table_ = new TrialTable;
  table_->setObjectName("trial_list");
  table_->setModel(sorted_);
  table_->setItemDelegateForColumn(TrialListModel::kVerdict, new VerdictDelegate{table_});
  table_->setSortingEnabled(true);
  table_->sortByColumn(TrialListModel::kNumber, Qt::DescendingOrder);
  table_->setSelectionBehavior(QTableView::SelectRows);
  table_->setSelectionMode(QTableView::SingleSelection);
  table_->setEditTriggers(QTableView::NoEditTriggers);
  table_->setTabKeyNavigation(false);
  table_->setShowGrid(false);
  table_->setFrameShape(QFrame::NoFrame);
  table_->verticalHeader()->hide();
  table_->verticalHeader()->setDefaultSectionSize(24);
  table_->horizontalHeader()->setStretchLastSection(true);
  table_->horizontalHeader()->setHighlightSections(false);
  table_->setAccessibleName(tr("Trials; Enter opens one"));
  connect(table_, &QTableView::activated, this,
          [this](const QModelIndex& index) { Q_EMIT trialWanted(model_->number(sorted_->mapToSource(index).row())); });
  connect(table_->selectionModel(), &QItemSelectionModel::currentRowChanged, this, [this](const QModelIndex& now) {
    if (now.isValid()) strip_->choose(model_->number(sorted_->mapToSource(now).row()));
  });
}

void CampaignPage::showStrip() { strip_->show(model_->trials(), metric_->currentData().toString().toStdString()); }

void CampaignPage::choose(qlonglong number) {
  const auto row = model_->rowOf(number);
  if (!row) return;
  const QModelIndex index = sorted_->mapFromSource(model_->index(*row, 0));
  table_->setCurrentIndex(index);
  table_->scrollTo(index);
}

std::vector<qlonglong> CampaignPage::numbers() const {
  std::vector<qlonglong> all;
  for (const ReportTrial& trial : model_->trials()) all.push_back(trial.row.number);
  return all;
}

void CampaignPage::show(const CampaignRows& rows) {
  std::vector<std::string> verdicts;
  for (const ReportTrial& trial : rows.trials) verdicts.push_back(verdict_word(trial));
  sentence_->setText(text(tally_sentence(verdicts)));
  const QString file = text(std::filesystem::path{rows.file}.filename().string());
  title_->setText(rows.name.empty() ? file : text(rows.name) + "   " + file);
  title_->setToolTip(text(rows.file));
  const QModelIndex before = table_->currentIndex();
  const qlonglong kept = before.isValid() ? model_->number(sorted_->mapToSource(before).row()) : -1;
  model_->show(rows.trials);
  table_->resizeColumnsToContents();
  showStrip();
  choose(kept);
  report_->setEnabled(!rows.trials.empty());
  showMessage({});
}

void CampaignPage::showNothing() {
  model_->show({});
  showStrip();
  sentence_->setText(tr("No campaign is open."));
  title_->setText({});
  report_->setEnabled(false);
  showMessage({});
}

void CampaignPage::showComplaint(const Complaint& complaint) {
  showMessage(text(complaint.what) + "\n" + text(complaint.where) + "\n" + text(complaint.remedy));
}

void CampaignPage::showMessage(const QString& words) {
  message_->setText(words);
  message_->setVisible(!words.isEmpty());
}

}  // namespace coldstroke::gui
