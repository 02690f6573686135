// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/campaign/trial_list_model.hpp"

#include <algorithm>

#include "gui/report/figures.hpp"
#include "gui/report/metric_rows.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {
namespace {

const char* metric_of(int column) {
  switch (column) {
    case TrialListModel::kLatency:
      return "detector_latency_seconds";
    case TrialListModel::kPeak:
      return "peak_acceleration_g";
    case TrialListModel::kSpeed:
      return "exit_speed_from_force_mps";
    case TrialListModel::kImpulse:
      return "impulse_newton_seconds";
    default:
      return nullptr;
  }
}

const analysis::Measured* measured(const ReportTrial& trial, const char* metric) {
  const analysis::Metric* found = trial.judged ? trial.result.metric(metric) : nullptr;
  return found == nullptr ? nullptr : found->measured();
}

QString metric_text(const ReportTrial& trial, const char* metric) {
  const analysis::Measured* value = measured(trial, metric);
  if (value == nullptr) return QStringLiteral("–");
  const double per_unit = metric_words(metric)->per_unit;
  if (value->at_least) return text("≥ " + significant(value->value * per_unit, 3));
  return text(with_uncertainty(value->value * per_unit, 0.5 * (value->high_95 - value->low_95) * per_unit));
}

QString outcome_text(const ReportTrial& trial) {
  if (!trial.judged) return QStringLiteral("–");
  return text(analysis::word(trial.result.outcome)).replace('_', ' ');
}

QString cell_text(const ReportTrial& trial, int column) {
  if (const char* metric = metric_of(column)) return metric_text(trial, metric);
  switch (column) {
    case TrialListModel::kNumber:
      return QString::number(trial.row.number);
    case TrialListModel::kVerdict:
      return verdict_label(verdict_word(trial));
    case TrialListModel::kDetector:
      return outcome_text(trial);
    case TrialListModel::kFindings:
      return trial.judged ? QString::number(trial.result.findings.size()) : QStringLiteral("–");
    case TrialListModel::kStarted:
      return text(trial.row.started_utc);
    default: {
      const bool says_so = !trial.row.virtual_rig || trial.row.origin.starts_with("virtual");
      return (says_so ? QString{} : QObject::tr("virtual: ")) + text(trial.row.origin);
    }
  }
}

QVariant sort_key(const ReportTrial& trial, int column) {
  if (column == TrialListModel::kNumber) return static_cast<qlonglong>(trial.row.number);
  if (column == TrialListModel::kFindings) return static_cast<qulonglong>(trial.result.findings.size());
  if (const char* metric = metric_of(column)) {
    const analysis::Measured* value = measured(trial, metric);
    return value == nullptr ? -1.0e300 : value->value;  // absent stands before every number
  }
  return cell_text(trial, column);
}

}  // namespace

void TrialListModel::show(std::vector<ReportTrial> trials) {
  beginResetModel();
  trials_ = std::move(trials);
  endResetModel();
}

std::optional<int> TrialListModel::rowOf(qlonglong number) const {
  const auto found = std::find_if(trials_.begin(), trials_.end(), [&](const auto& trial) { return trial.row.number == number; });
  if (found == trials_.end()) return std::nullopt;
  return static_cast<int>(found - trials_.begin());
}

int TrialListModel::rowCount(const QModelIndex& parent) const { return parent.isValid() ? 0 : static_cast<int>(trials_.size()); }
int TrialListModel::columnCount(const QModelIndex& parent) const { return parent.isValid() ? 0 : kColumns; }

QVariant TrialListModel::data(const QModelIndex& index, int role) const {
  if (!index.isValid()) return {};
  const ReportTrial& trial = trials_.at(static_cast<std::size_t>(index.row()));
  switch (role) {
    case Qt::DisplayRole:
      return cell_text(trial, index.column());
    case Qt::UserRole:
      return sort_key(trial, index.column());
    case Qt::ToolTipRole:
      return text(verdict_sentence(trial));
    case Qt::TextAlignmentRole: {
      const bool number = metric_of(index.column()) != nullptr || index.column() == kNumber || index.column() == kFindings;
      return QVariant::fromValue((number ? Qt::AlignRight : Qt::AlignLeft) | Qt::AlignVCenter);
    }
    default:
      return {};
  }
}

QVariant TrialListModel::headerData(int section, Qt::Orientation orientation, int role) const {
  if (orientation != Qt::Horizontal) return {};
  if (role == Qt::ToolTipRole) {
    const char* metric = metric_of(section);
    return metric == nullptr ? QVariant{} : QVariant{text(metric_words(metric)->meaning)};
  }
  if (role != Qt::DisplayRole) return {};
  switch (section) {
    case kNumber:
      return tr("trial");
    case kVerdict:
      return tr("verdict");
    case kDetector:
      return tr("detector");
    case kLatency:
      return tr("latency, ms");
    case kPeak:
      return tr("peak, g");
    case kSpeed:
      return tr("exit speed, m/s");
    case kImpulse:
      return tr("impulse, N s");
    case kFindings:
      return tr("findings");
    case kStarted:
      return tr("started (UTC)");
    default:
      return tr("origin");
  }
}

}  // namespace coldstroke::gui
