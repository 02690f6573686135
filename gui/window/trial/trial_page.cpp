// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/trial/trial_page.hpp"

#include <QHBoxLayout>
#include <QKeyEvent>
#include <QLabel>
#include <QLineEdit>
#include <QPlainTextEdit>
#include <QPushButton>
#include <QScrollArea>
#include <QSplitter>
#include <QTabWidget>
#include <QVBoxLayout>

#include <algorithm>

#include "gui/report/figures.hpp"
#include "gui/report/metric_rows.hpp"
#include "gui/window/look.hpp"
#include "gui/window/plot/charts.hpp"
#include "gui/window/plot/trial_traces.hpp"
#include "gui/window/trial/metric_table.hpp"
#include "gui/window/trial/speed_check.hpp"
#include "gui/window/verdict_chip.hpp"

namespace coldstroke::gui {
namespace {

QPushButton* button(const char* name, const QString& words, const QString& tip) {
  auto* made = new QPushButton{words};
  made->setObjectName(name);
  made->setToolTip(tip);
  return made;
}

constexpr int kSideBySide = 960, kScrolledHeight = 1000;

QString paragraph(const QString& title, const QStringList& lines) {
  return lines.isEmpty() ? QString{} : title + "\n  " + lines.join("\n  ") + "\n";
}

}  // namespace

TrialPage::TrialPage(QWidget* parent) : QWidget{parent} {
  setObjectName("trial_page");
  auto* left = new QWidget;
  auto* column = new QVBoxLayout{left};
  column->setContentsMargins(0, 0, 0, 0);
  column->setSpacing(6);
  traces_ = new TrialTraces;
  column->addWidget(makeBar());
  column->addWidget(traces_, 1);
  split_ = new QSplitter;
  split_->addWidget(left);
  split_->addWidget(makeRight());
  split_->setStretchFactor(0, 3);
  split_->setStretchFactor(1, 2);
  split_->setSizes({640, 544});
  split_->setChildrenCollapsible(false);
  auto* scroll = new QScrollArea;
  scroll->setFrameShape(QFrame::NoFrame);
  scroll->setWidgetResizable(true);
  scroll->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  scroll->setFocusPolicy(Qt::NoFocus);
  scroll->setWidget(split_);
  auto* row = new QHBoxLayout{this};
  row->setContentsMargins(8, 8, 8, 8);
  row->addWidget(scroll);
  connect(stroke_, &QPushButton::clicked, traces_, &TrialTraces::showStroke);
  connect(all_marks_, &QPushButton::clicked, traces_, &TrialTraces::showAllMarks);
  connect(whole_, &QPushButton::clicked, traces_, &TrialTraces::showWholeRecord);
  connect(unfiltered_, &QPushButton::toggled, traces_, &TrialTraces::setUnfiltered);
  connect(report_, &QPushButton::clicked, this, [this] {
    if (number_) Q_EMIT reportWanted(*number_);
  });
  connect(before_, &QPushButton::clicked, this, [this] { go(before_number_); });
  connect(after_, &QPushButton::clicked, this, [this] { go(after_number_); });
  connect(table_, &QTableWidget::currentCellChanged, this, &TrialPage::drawBudget);
  connect(note_, &QLineEdit::returnPressed, this, &TrialPage::keepDraft);
  showNothing();
}

QWidget* TrialPage::makeBar() {
  auto* bar = new QWidget;
  auto* row = new QHBoxLayout{bar};
  row->setContentsMargins(0, 0, 0, 0);
  before_ = button("trial_before", tr("◀"), tr("Trial before this one (Page Up)"));
  after_ = button("trial_after", tr("▶"), tr("Trial after this one (Page Down)"));
  before_->setAccessibleName(tr("Trial before"));
  after_->setAccessibleName(tr("Trial after"));
  for (auto* one : {before_, after_}) one->setFixedWidth(40);
  stroke_ = button("show_stroke", tr("Stroke"), tr("Around the stroke (Home)"));
  all_marks_ =
      button("show_all_marks", tr("All marks"), tr("From before the stroke to the last mark, however late the decision came"));
  whole_ = button("show_whole", tr("Whole record"), tr("Everything that was recorded"));
  unfiltered_ =
      button("show_unfiltered", tr("Unfiltered"), tr("Every trace as recorded, without the setup's filter classes (U)"));
  unfiltered_->setCheckable(true);
  report_ = button("write_report", tr("Write report"), tr("Writes a one-page HTML report beside the campaign file"));
  place_ = new QLabel;
  place_->setObjectName("trial_place");
  place_->setFont(type(kHeadingPt, true));
  row->addWidget(before_);
  row->addWidget(place_);
  row->addWidget(after_);
  row->addStretch(1);
  for (auto* one : {stroke_, all_marks_, whole_, unfiltered_, report_}) row->addWidget(one);
  return bar;
}

QWidget* TrialPage::makeRight() {
  auto* right = new QWidget;
  auto* column = new QVBoxLayout{right};
  column->setContentsMargins(4, 0, 0, 0);
  column->setSpacing(6);
  verdict_ = new VerdictChip;
  verdict_->setObjectName("verdict");
  sentence_ = new QLabel;
  sentence_->setObjectName("verdict_sentence");
  sentence_->setWordWrap(true);
  sentence_->setTextFormat(Qt::PlainText);
  sentence_->setFont(type(kHeadingPt));
  table_ = new MetricTable;
  speeds_ = new SpeedCheck;
  words_ = new QPlainTextEdit;
  words_->setObjectName("trial_words");
  words_->setReadOnly(true);
  words_->setFrameShape(QFrame::NoFrame);
  words_->setTabChangesFocus(true);
  words_->setMinimumHeight(60);
  words_->setAccessibleName(tr("Findings and notes"));
  note_ = new QLineEdit;
  note_->setObjectName("trial_note");
  message_ = new QLabel;
  message_->setObjectName("trial_message");
  message_->setWordWrap(true);
  message_->setTextFormat(Qt::PlainText);
  message_->hide();
  column->addWidget(verdict_, 0, Qt::AlignLeft);
  column->addWidget(sentence_);
  column->addWidget(table_, 4);
  column->addWidget(speeds_);
  budget_ = new Chart{"trial_budget"};
  below_ = new QTabWidget;
  below_->setObjectName("trial_below");
  below_->setDocumentMode(true);
  below_->addTab(words_, tr("Findings and notes"));
  below_->addTab(budget_, tr("Uncertainty budget"));
  below_->setTabToolTip(1, tr("What makes the number chosen in the table uncertain, largest first (JCGM 100)"));
  column->addWidget(below_, 2);
  column->addWidget(note_);
  column->addWidget(message_);
  return right;
}

void TrialPage::keepDraft() {
  const QString words = note_->text().trimmed();
  note_->clear();
  if (number_ && !words.isEmpty()) Q_EMIT noteWritten(*number_, words);
}

void TrialPage::go(const std::optional<qlonglong>& number) {
  if (number) Q_EMIT trialWanted(*number);
}

void TrialPage::keyPressEvent(QKeyEvent* event) {
  if (event->key() == Qt::Key_PageUp)
    go(before_number_);
  else if (event->key() == Qt::Key_PageDown)
    go(after_number_);
  else if (event->key() == Qt::Key_U && event->modifiers() == Qt::NoModifier)
    unfiltered_->click();
  else
    QWidget::keyPressEvent(event);
}

// A narrow window has no room for plots and table side by side: one under the other, scrolled.
void TrialPage::resizeEvent(QResizeEvent*) {
  const bool narrow = width() < kSideBySide;
  split_->setOrientation(narrow ? Qt::Vertical : Qt::Horizontal);
  split_->setMinimumHeight(narrow ? kScrolledHeight : 0);
}

void TrialPage::setNeighbours(std::optional<qlonglong> before, std::optional<qlonglong> after, const QString& place) {
  before_number_ = before;
  after_number_ = after;
  before_->setEnabled(before.has_value());
  after_->setEnabled(after.has_value());
  place_->setText(place);
}

void TrialPage::setNotesBlocked(const QString& reason) {
  note_->setEnabled(reason.isEmpty());
  note_->setPlaceholderText(reason.isEmpty() ? tr("Note to this trial; Enter keeps it") : reason);
}

void TrialPage::showMessage(const QString& words) {
  message_->setText(words);
  message_->setVisible(!words.isEmpty());
}

void TrialPage::addNote(const QString& author, const QString& words) { words_->appendPlainText("  " + author + ": " + words); }

void TrialPage::empty(const QString& title, const QString& sentence) {
  traces_->clear();
  unfiltered_->setEnabled(false);
  table_->show({});
  speeds_->hide();
  words_->clear();
  result_.reset();
  drawBudget();
  verdict_->hide();
  sentence_->setText(title.isEmpty() ? sentence : title + "\n" + sentence);
  for (auto* one : {stroke_, all_marks_, whole_, report_}) one->setEnabled(false);
  showMessage({});
}

void TrialPage::showNothing() {
  number_.reset();
  empty({}, tr("No trial is open. Choose one on the Campaign page, or run one on the Bench."));
  setNeighbours({}, {}, {});
  setNotesBlocked(tr("No trial is open"));
}

void TrialPage::showReading(qlonglong number) {
  keepDraft();
  number_ = number;
  empty(tr("Reading trial %1 ...").arg(number), tr("Decoding what the boards sent."));
}

void TrialPage::showComplaint(qlonglong number, const Complaint& complaint) {
  keepDraft();
  number_ = number;
  empty(tr("Trial %1 cannot be shown.").arg(number),
        text(complaint.what) + "\n" + text(complaint.where) + "\n" + text(complaint.remedy));
}

void TrialPage::show(const ReportTrial& trial) {
  if (number_ != trial.row.number) keepDraft();
  number_ = trial.row.number;
  verdict_->show(verdict_word(trial), tr("Trial %1: ").arg(trial.row.number));
  verdict_->setVisible(true);
  sentence_->setText(text(verdict_sentence(trial)));
  traces_->show(trial.traces, trial.judged ? trial.result.marks : analysis::Marks{});
  unfiltered_->setEnabled(traces_->hasFiltered());
  result_.reset();
  if (trial.judged) result_ = trial.result;
  table_->show(trial.judged ? metric_rows(trial.result) : std::vector<MetricRow>{});
  drawBudget();
  if (trial.judged)
    speeds_->show(trial.result);
  else
    speeds_->hide();
  showWords(trial);
  for (auto* one : {stroke_, all_marks_, whole_, report_}) one->setEnabled(true);
  showMessage({});
}

// The first number that carries one until a row is chosen, so that the chart is never empty without reason.
void TrialPage::drawBudget() {
  const auto has_budget = [this](const MetricRow& row) {
    const analysis::Metric* metric = result_ && !row.name.empty() ? result_->metric(row.name) : nullptr;
    return metric != nullptr && metric->measured() != nullptr;
  };
  const auto& rows = table_->rows();
  const int chosen = table_->currentRow();
  const auto row = chosen >= 0 && chosen < static_cast<int>(rows.size()) ? rows.begin() + chosen
                                                                         : std::find_if(rows.begin(), rows.end(), has_budget);
  if (row == rows.end() || !has_budget(*row)) return budget_->showNothing(tr("Choose a number in the table above"));
  const MetricWords* words = metric_words(row->name);
  budget_->showBudget(text(row->title), *result_->metric(row->name)->measured(), text(row->unit),
                      words == nullptr ? 1.0 : words->per_unit);
}

void TrialPage::changeEvent(QEvent* event) {
  QWidget::changeEvent(event);
  if (event->type() == QEvent::PaletteChange) drawBudget();
}

void TrialPage::showWords(const ReportTrial& trial) {
  QStringList findings, absent, read, notes, used;
  for (const auto& finding : trial.result.findings)
    findings += (finding.channel.empty() ? QString{} : text(finding.channel) + ": ") + text(finding.message);
  for (const auto& metric : trial.result.metrics)
    if (const auto* reason = std::get_if<analysis::Absent>(&metric.value)) {
      const MetricWords* known = metric_words(metric.name);
      absent += (known == nullptr ? text(metric.name) : text(known->title)) + ": " + text(reason->reason);
    }
  for (const std::string& line : calibrations_used(trial)) used += text(line);
  for (const std::string& line : trial.decode_notes) read += text(line);
  for (const auto& note : trial.notes) notes += text(note.author) + ": " + text(note.text);
  const QString origin = tr("Started %1, %2").arg(text(trial.row.started_utc), text(trial.row.origin));
  words_->setPlainText(paragraph(tr("Findings"), findings.isEmpty() && trial.judged ? QStringList{tr("none")} : findings) +
                       paragraph(tr("Absent"), absent) + paragraph(tr("Calibrations it was recorded with"), used) +
                       paragraph(tr("How the record was read"), read) + paragraph(tr("Record"), {origin}) +
                       paragraph(tr("Notes"), notes).trimmed());
}

}  // namespace coldstroke::gui
