// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>
#include <memory>

#include "analysis/result.hpp"
#include "gui/report/trial_source.hpp"

class QComboBox;
class QLabel;
class QProgressBar;
class QPushButton;
class QSortFilterProxyModel;
class QTableView;

namespace coldstroke::gui {

class DotStrip;
class DriftView;
class EvidenceReader;
struct WeighedCampaign;
class TrialListModel;

/// What the campaign has shown so far: the demonstration in one sentence, what more passes would prove, a mark a trial, the drift
/// chart of the metric, and the table of trials. A campaign that lies on disk is weighed beside the page, with progress and a way
/// to stop.
class CampaignPage : public QWidget {
  Q_OBJECT
 public:
  explicit CampaignPage(QWidget* parent = nullptr);
  void show(const CampaignRows& rows);
  void showComplaint(const Complaint& complaint);
  void showNothing();
  void showMessage(const QString& words);
  /// What the trials show together, once it is weighed.
  void showEvidence(std::shared_ptr<const WeighedCampaign> weighed);
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
  QWidget* makeProgress();
  void showStrip();
  void showDrift();
  void choose(qlonglong number);
  QLabel *title_, *sentence_, *plan_, *message_;
  QWidget* progress_row_;
  QProgressBar* progress_;
  DriftView* drift_;
  EvidenceReader* reader_;
  std::shared_ptr<const WeighedCampaign> weighed_;
  QComboBox* metric_;
  QPushButton* report_;
  DotStrip* strip_;
  TrialListModel* model_;
  QSortFilterProxyModel* sorted_;
  QTableView* table_;
};

}  // namespace coldstroke::gui
