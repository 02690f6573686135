// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QAbstractTableModel>
#include <optional>
#include <vector>

#include "gui/report/report_trial.hpp"

namespace coldstroke::gui {

/// The trials of a campaign as a table. Sorting role (Qt::UserRole): the plain number or word of a cell.
class TrialListModel : public QAbstractTableModel {
  Q_OBJECT
 public:
  enum Column { kNumber, kVerdict, kDetector, kLatency, kPeak, kSpeed, kImpulse, kFindings, kStarted, kOrigin, kColumns };
  using QAbstractTableModel::QAbstractTableModel;
  void show(std::vector<ReportTrial> trials);
  [[nodiscard]] const std::vector<ReportTrial>& trials() const { return trials_; }
  [[nodiscard]] qlonglong number(int row) const { return trials_.at(static_cast<std::size_t>(row)).row.number; }
  [[nodiscard]] std::optional<int> rowOf(qlonglong number) const;

  [[nodiscard]] int rowCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] int columnCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] QVariant data(const QModelIndex& index, int role) const override;
  [[nodiscard]] QVariant headerData(int section, Qt::Orientation orientation, int role) const override;

 private:
  std::vector<ReportTrial> trials_;
};

}  // namespace coldstroke::gui
