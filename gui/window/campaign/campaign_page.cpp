// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/campaign/campaign_page.hpp"

#include <QHBoxLayout>
#include <QHeaderView>
#include <QKeyEvent>
#include <QLabel>
#include <QMouseEvent>
#include <QProgressBar>
#include <QPushButton>
#include <QScrollArea>
#include <QSortFilterProxyModel>
#include <QStyledItemDelegate>
#include <QTabWidget>
#include <QTableView>
#include <QVBoxLayout>
#include <filesystem>
#include <optional>

#include "gui/report/figures.hpp"
#include "gui/report/html_report.hpp"
#include "gui/window/campaign/archive_panel.hpp"
#include "gui/window/campaign/comparison_panel.hpp"
#include "gui/window/campaign/dot_strip.hpp"
#include "gui/window/campaign/drift_panel.hpp"
#include "gui/window/campaign/evidence_reader.hpp"
#include "gui/window/campaign/handover_panel.hpp"
#include "gui/window/campaign/import_panel.hpp"
#include "gui/window/campaign/metric_choice.hpp"
#include "gui/window/campaign/plan_panel.hpp"
#include "gui/window/campaign/trial_list_model.hpp"
#include "gui/window/campaign/void_row.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {
namespace {

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
  column->addWidget(makeProgress());
  column->addWidget(message_);
  makeTabs();
  column->addWidget(tabs_, 1);
  reader_ = new EvidenceReader{this};
  connect(reader_, &EvidenceReader::progressed, this, [this](int done, int of) {
    progress_->setRange(0, of);
    progress_->setValue(done);
  });
  connect(reader_, &EvidenceReader::weighed, this, &CampaignPage::showEvidence);
  connect(reader_, &EvidenceReader::refused, this, [this](const QString& why) {
    progress_row_->hide();
    showMessage(tr("The campaign could not be weighed: %1").arg(why));
  });
  connect(strip_, &DotStrip::chosen, this, &CampaignPage::choose);
  connect(strip_, &DotStrip::opened, this, &CampaignPage::trialWanted);
  showNothing();
}

QWidget* CampaignPage::makeTrials() {
  auto* trials = new QWidget;
  void_ = new VoidRow;
  connect(void_, &VoidRow::voidWanted, this, &CampaignPage::voidWanted);
  auto* column = new QVBoxLayout{trials};
  column->setContentsMargins(0, 4, 0, 0);
  column->addWidget(strip_, 2);
  column->addWidget(table_, 3);
  column->addWidget(void_);
  return trials;
}

void CampaignPage::makeTabs() {
  tabs_ = new QTabWidget;
  tabs_->setObjectName("campaign_tabs");
  drift_ = new DriftPanel;
  plans_ = new PlanPanel;
  comparison_ = new ComparisonPanel;
  handover_ = new HandoverPanel;
  archive_ = new ArchivePanel;
  import_ = new ImportPanel;
  tabs_->addTab(makeTrials(), tr("Trials"));
  // The smallest window is smaller than a panel's row of controls.
  for (const auto& [panel, words] : std::initializer_list<std::pair<QWidget*, QString>>{{drift_, tr("Limits and drift")},
                                                                                        {plans_, tr("Plan")},
                                                                                        {comparison_, tr("Comparison")},
                                                                                        {handover_, tr("For flight")},
                                                                                        {archive_, tr("Sheet and exports")},
                                                                                        {import_, tr("Import")}}) {
    auto* scroll = new QScrollArea;
    scroll->setWidget(panel);
    scroll->setWidgetResizable(true);
    scroll->setFrameShape(QFrame::NoFrame);
    tabs_->addTab(scroll, words);
  }
  archive_->setIntended([this] { return handover_->intended(); });
  connect(comparison_, &ComparisonPanel::fileRequested, this, &CampaignPage::fileRequested);
  connect(handover_, &HandoverPanel::fileRequested, this, &CampaignPage::fileRequested);
  connect(archive_, &ArchivePanel::fileRequested, this, &CampaignPage::fileRequested);
  connect(import_, &ImportPanel::fileRequested, this, &CampaignPage::fileRequested);
  connect(import_, &ImportPanel::campaignChanged, this, &CampaignPage::campaignChanged);
}

void CampaignPage::setCampaign(const std::filesystem::path& file) {
  comparison_->setCampaign(file);
  archive_->setCampaign(file);
  import_->setCampaign(file);
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
  plan_ = new QLabel;
  plan_->setObjectName("campaign_plan");
  plan_->setWordWrap(true);
  plan_->setTextFormat(Qt::PlainText);
  plan_->hide();
  metric_ = new MetricChoice{"campaign_metric"};
  metric_->setAccessibleName(tr("Metric shown"));
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
  column->addWidget(plan_);
  column->addLayout(row);
  return top;
}

QWidget* CampaignPage::makeProgress() {
  progress_row_ = new QWidget;
  progress_ = new QProgressBar;
  progress_->setObjectName("campaign_progress");
  progress_->setFormat(tr("weighing trial %v of %m"));
  auto* stop = new QPushButton{tr("Stop weighing")};
  stop->setObjectName("campaign_stop");
  connect(stop, &QPushButton::clicked, this, [this] {
    reader_->cancel();
    progress_row_->hide();
  });
  auto* row = new QHBoxLayout{progress_row_};
  row->setContentsMargins(0, 0, 0, 0);
  row->addWidget(progress_, 1);
  row->addWidget(stop);
  progress_row_->hide();
  return progress_row_;
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
    const auto number = now.isValid() ? std::optional{model_->number(sorted_->mapToSource(now).row())} : std::nullopt;
    if (number) strip_->choose(*number);
    void_->setTrial(number);
  });
}

void CampaignPage::showStrip() {
  strip_->show(model_->trials(), metric_->chosenMetric());
  showDrift();
}

void CampaignPage::showDrift() { drift_->show(weighed_.get(), metric_->chosenMetric()); }

void CampaignPage::showEvidence(std::shared_ptr<const WeighedCampaign> weighed) {
  weighed_ = std::move(weighed);
  progress_row_->hide();
  const auto& evidence = weighed_->evidence;
  sentence_->setText(text(evidence.statement.sentence));
  QStringList plan;
  for (const auto& goal : evidence.statement.goals)
    plan << text(decimal(goal.goal.reliability, 2) + " at " + decimal(100.0 * goal.goal.confidence, 0) +
                 " %: " + (goal.shown ? "shown" : std::to_string(goal.passes_still_needed) + " more passes"));
  QStringList lines{plan.join("      ")};
  for (const std::string& note : evidence.statement.notes) lines << text(note);
  constexpr qsizetype kShownLines = 4;
  plan_->setToolTip(lines.join('\n'));
  if (lines.size() > kShownLines) {
    const qsizetype more = lines.size() - kShownLines + 1;
    lines = lines.first(kShownLines - 1);
    lines << tr("and %1 more notes (here as a tip, and on the verdict sheet)").arg(more);
  }
  plan_->setText(lines.join('\n'));
  plan_->show();
  plans_->setEvidence(weighed_.get());
  handover_->setTested(weighed_->tested);
  showDrift();
}

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

/// What was weighed of the campaign before.
void CampaignPage::forget() {
  reader_->cancel();
  weighed_.reset();
  plan_->hide();
  progress_row_->hide();
  plans_->setEvidence(nullptr);
  handover_->setTested({});
}

void CampaignPage::show(const CampaignRows& rows) {
  forget();
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
  std::error_code error;
  setCampaign(rows.file);
  if (rows.trials.empty() || !std::filesystem::is_regular_file(rows.file, error)) return;
  progress_->setRange(0, static_cast<int>(rows.trials.size()));
  progress_->setValue(0);
  progress_row_->show();
  reader_->read(rows.file);
}

void CampaignPage::showNothing() {
  forget();
  setCampaign({});
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
