// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QStringList>
#include <QWidget>
#include <vector>

#include "daq/bench/bench_view.hpp"
#include "daq/setup/setup.hpp"

class QGridLayout;
class QLabel;
class QLineEdit;
class QPushButton;

namespace coldstroke::gui {

class TickBox;

/// What people do before a charge: go through the list, one column a role, each signed by another person; and type the pressure
/// to charge to. Ticks, names and pressure are those of one trial: the next begins empty.
class ChecklistPanel : public QWidget {
  Q_OBJECT
 public:
  explicit ChecklistPanel(QWidget* parent = nullptr);
  /// Limits of the pressure that may be typed.
  void setSetup(const daq::Setup& setup);
  void show(const daq::BenchView& view);
  /// Whether it is open and a signature or the pressure is still missing.
  [[nodiscard]] static bool unfinished(const daq::BenchView& view);

 Q_SIGNALS:
  void signatureGiven(QString role, QString name, QStringList confirmed);
  void targetTyped(double pascals);
  void tracesWanted();

 private:
  struct Role {
    QString role;
    std::vector<TickBox*> ticks;
    QLineEdit* name = nullptr;
    QPushButton* sign = nullptr;
    QLabel* signed_by = nullptr;
  };
  void build(const daq::ChecklistView& checklist);
  void buildRole(const daq::ChecklistView& checklist, std::size_t place);
  void clearTicks();
  void showRole(Role& role, const daq::ChecklistView::Role& state, bool open);
  void sign(const Role& role);
  void takeTarget();
  void complain(const Complaint& complaint);

  daq::Setup setup_;
  daq::BenchView view_;
  QWidget* list_ = nullptr;
  std::vector<Role> roles_;
  QLineEdit* target_;
  QPushButton* take_target_;
  QLabel *target_state_, *complaint_, *title_;
};

}  // namespace coldstroke::gui
