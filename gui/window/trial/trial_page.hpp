// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>
#include <optional>

#include "analysis/result.hpp"
#include "gui/report/report_trial.hpp"

class QLabel;
class QLineEdit;
class QPlainTextEdit;
class QPushButton;
class QSplitter;
class QTabWidget;

namespace coldstroke::gui {

class Chart;
class MetricTable;
class SpeedCheck;
class TrialTraces;
class VerdictChip;

/// What happened in one ejection: traces with marks, verdict, metrics, findings, notes.
class TrialPage : public QWidget {
  Q_OBJECT
 public:
  explicit TrialPage(QWidget* parent = nullptr);
  void show(const ReportTrial& trial);
  void showReading(qlonglong number);  ///< while a worker reads it
  void showComplaint(qlonglong number, const Complaint& complaint);
  void showNothing();
  /// Trials before and after the one shown, if any; `place`: "trial 3 of 12".
  void setNeighbours(std::optional<qlonglong> before, std::optional<qlonglong> after, const QString& place);
  /// Empty: notes can be written; else the reason why not, shown in the field.
  void setNotesBlocked(const QString& reason);
  void addNote(const QString& author, const QString& words);  ///< shows one just written
  void keepDraft();                        ///< a note typed but not yet kept is kept now: nothing typed is lost
  void showMessage(const QString& words);  ///< e.g. where a report was written
  [[nodiscard]] TrialTraces* traces() const { return traces_; }
  [[nodiscard]] MetricTable* table() const { return table_; }
  [[nodiscard]] std::optional<qlonglong> number() const { return number_; }

 Q_SIGNALS:
  void trialWanted(qlonglong number);
  void noteWritten(qlonglong number, QString words);
  void reportWanted(qlonglong number);

 protected:
  void keyPressEvent(QKeyEvent* event) override;
  void resizeEvent(QResizeEvent* event) override;
  void changeEvent(QEvent* event) override;

 private:
  QWidget* makeBar();
  QWidget* makeRight();
  void showWords(const ReportTrial& trial);
  void drawBudget();
  void empty(const QString& title, const QString& sentence);
  void go(const std::optional<qlonglong>& number);

  QSplitter* split_;
  QPushButton *before_, *after_, *stroke_, *all_marks_, *whole_, *unfiltered_, *report_;
  QLabel *place_, *sentence_, *message_;
  VerdictChip* verdict_;
  TrialTraces* traces_;
  MetricTable* table_;
  SpeedCheck* speeds_;
  QPlainTextEdit* words_;
  QTabWidget* below_;
  Chart* budget_;
  std::optional<analysis::TrialResult> result_;
  QLineEdit* note_;
  std::optional<qlonglong> number_, before_number_, after_number_;
};

}  // namespace coldstroke::gui
