// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>

#include "analysis/result.hpp"
#include "gui/report/trial_source.hpp"

class QComboBox;
class QLabel;
class QPushButton;
class QSortFilterProxyModel;
class QTableView;

namespace coldstroke::gui {

class DotStrip;
class TrialListModel;

/// What the campaign has shown so far: the count in one sentence, a mark a trial, and the table of trials.
class CampaignPage : public QWidget {
  Q_OBJECT
 public:
  explicit CampaignPage(QWidget* parent = nullptr);
  void show(const CampaignRows& rows);
  void showComplaint(const Complaint& complaint);
  void showNothing();
  void showMessage(const QString& words);
  [[nodiscard]] QTableView* table() const { return table_; }
  [[nodiscard]] DotStrip* strip() const { return strip_; }
  /// Trial numbers in order, for "previous" and "next".
  [[nodiscard]] std::vector<qlonglong> numbers() const;

 Q_SIGNALS:
  void trialWanted(qlonglong number);
  void fileWanted();  ///< the person wants to open another campaign
  void reportWanted();

 private:
  QWidget* makeTop();
  void makeTable();
  void showStrip();
  void choose(qlonglong number);
  QLabel *title_, *sentence_, *message_;
  QComboBox* metric_;
  QPushButton* report_;
  DotStrip* strip_;
  TrialListModel* model_;
  QSortFilterProxyModel* sorted_;
  QTableView* table_;
};

}  // namespace coldstroke::gui
