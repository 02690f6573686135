// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>
#include <memory>

#include "analysis/result.hpp"
#include "gui/report/trial_source.hpp"
#include "gui/window/file_request.hpp"

class QLabel;
class QProgressBar;
class QPushButton;
class QSortFilterProxyModel;
class QTabWidget;
class QTableView;

namespace coldstroke::gui {

class DotStrip;
class ArchivePanel;
class ComparisonPanel;
class DriftPanel;
class EvidenceReader;
class HandoverPanel;
class ImportPanel;
class MetricChoice;
class PlanPanel;
class VoidRow;
struct WeighedCampaign;
class TrialListModel;

/// What the campaign has shown so far, in one sentence with what is still wanted; below it tabs: the trials, limits and drift,
/// plan, comparison, what is intended for flight, sheet and exports, import. A campaign that lies on disk is weighed beside the
/// page, with progress and a way to stop.
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
  void fileRequested(const coldstroke::gui::FileRequest& request);
  void voidWanted(qlonglong number, const QString& person, const QString& reason);
  void campaignChanged();  ///< something was added to the file

 private:
  QWidget* makeTop();
  QWidget* makeTrials();
  void makeTabs();
  void makeTable();
  QWidget* makeProgress();
  void showStrip();
  void forget();
  void showDrift();
  void choose(qlonglong number);
  void setCampaign(const std::filesystem::path& file);
  QLabel *title_, *sentence_, *plan_, *message_;
  QWidget* progress_row_;
  QProgressBar* progress_;
  QTabWidget* tabs_;
  DriftPanel* drift_;
  PlanPanel* plans_;
  ComparisonPanel* comparison_;
  HandoverPanel* handover_;
  ArchivePanel* archive_;
  ImportPanel* import_;
  VoidRow* void_;
  EvidenceReader* reader_;
  std::shared_ptr<const WeighedCampaign> weighed_;
  MetricChoice* metric_;
  QPushButton* report_;
  DotStrip* strip_;
  TrialListModel* model_;
  QSortFilterProxyModel* sorted_;
  QTableView* table_;
};

}  // namespace coldstroke::gui
