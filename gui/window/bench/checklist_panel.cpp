// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/bench/checklist_panel.hpp"

#include <QGridLayout>
#include <QHBoxLayout>
#include <QLineEdit>
#include <QLocale>
#include <QPushButton>
#include <QVBoxLayout>
#include <algorithm>

#include "daq/sequence/signatures.hpp"
#include "daq/setup/charge_target.hpp"
#include "gui/report/figures.hpp"
#include "gui/window/bench/tick_box.hpp"
#include "gui/window/label.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {
namespace {

bool same_list(const daq::ChecklistView& a, const daq::ChecklistView& b) {
  return a.items == b.items &&
         std::ranges::equal(a.roles, b.roles, {}, &daq::ChecklistView::Role::role, &daq::ChecklistView::Role::role);
}

QString bar(double pascals) { return text(decimal(pascals * 1.0e-5, 2)) + QStringLiteral(" bar"); }

}  // namespace

ChecklistPanel::ChecklistPanel(QWidget* parent) : QWidget{parent} {
  setObjectName("checklist_panel");
  auto* column = new QVBoxLayout{this};
  column->setContentsMargins(8, 4, 8, 8);
  column->setSpacing(6);
  title_ = heading_label({});
  title_->setObjectName("checklist_title");
  auto* traces = new QPushButton{tr("Show the traces")};
  traces->setObjectName("checklist_traces");
  connect(traces, &QPushButton::clicked, this, &ChecklistPanel::tracesWanted);
  auto* top = new QHBoxLayout;
  top->addWidget(title_, 1);
  top->addWidget(traces);
  column->addLayout(top);

  target_ = new QLineEdit;
  target_->setObjectName("target_pressure");
  target_->setMaximumWidth(90);
  target_->setAccessibleName(tr("Target pressure, bar gauge"));
  take_target_ = new QPushButton{tr("Set")};
  take_target_->setObjectName("target_set");
  target_state_ = wrapped_label("target_state");
  connect(target_, &QLineEdit::returnPressed, this, &ChecklistPanel::takeTarget);
  connect(take_target_, &QPushButton::clicked, this, &ChecklistPanel::takeTarget);
  auto* row = new QHBoxLayout;
  row->addWidget(new QLabel{tr("Charge to")});
  row->addWidget(target_);
  row->addWidget(new QLabel{tr("bar")});
  row->addWidget(take_target_);
  row->addWidget(target_state_, 1);
  column->addLayout(row);
  complaint_ = wrapped_label("checklist_complaint");
  complaint_->setFont(type(kBodyPt, true));
  column->addWidget(complaint_);
  column->addStretch(1);
}

bool ChecklistPanel::unfinished(const daq::BenchView& view) {
  const bool unsigned_role = std::ranges::any_of(view.checklist.roles, [](const auto& role) { return role.name.empty(); });
  return view.checklist.open && (unsigned_role || !view.typed_target_pascals);
}

void ChecklistPanel::setSetup(const daq::Setup& setup) { setup_ = setup; }

void ChecklistPanel::build(const daq::ChecklistView& checklist) {
  delete list_;
  roles_.clear();
  list_ = new QWidget;
  auto* grid = new QGridLayout{list_};
  grid->setContentsMargins(0, 4, 0, 0);
  grid->setHorizontalSpacing(12);
  grid->setVerticalSpacing(1);
  grid->setColumnStretch(0, 1);
  for (std::size_t k = 0; k < checklist.items.size(); ++k) {
    auto* item = wrapped_label("checklist_item");
    item->setText(text(checklist.items[k]));
    grid->addWidget(item, static_cast<int>(k) + 1, 0, Qt::AlignVCenter);
  }
  for (std::size_t k = 0; k < checklist.roles.size(); ++k) buildRole(checklist, k);
  // Above the complaint, which stands before the stretch.
  auto* column = static_cast<QVBoxLayout*>(layout());
  column->insertWidget(column->count() - 2, list_);
}

void ChecklistPanel::buildRole(const daq::ChecklistView& checklist, std::size_t place) {
  auto* grid = static_cast<QGridLayout*>(list_->layout());
  const int column = static_cast<int>(place) + 1, items = static_cast<int>(checklist.items.size());
  Role role;
  role.role = text(checklist.roles[place].role);
  auto* title = new QLabel{role.role};
  title->setFont(type(kBodyPt, true));
  grid->addWidget(title, 0, column, Qt::AlignHCenter);
  for (int k = 0; k < items; ++k) {
    auto* tick = new TickBox;
    tick->setObjectName(QStringLiteral("tick_%1_%2").arg(place).arg(k));
    tick->setAccessibleName(role.role + ": " + text(checklist.items[static_cast<std::size_t>(k)]));
    grid->addWidget(tick, k + 1, column, Qt::AlignHCenter);
    role.ticks.push_back(tick);
  }
  role.name = new QLineEdit;
  role.name->setObjectName(QStringLiteral("signer_%1").arg(place));
  role.name->setPlaceholderText(tr("name of the %1").arg(role.role));
  role.name->setAccessibleName(role.name->placeholderText());
  role.sign = new QPushButton{tr("Sign")};
  role.sign->setObjectName(QStringLiteral("sign_%1").arg(place));
  role.sign->setAccessibleName(tr("Sign as %1").arg(role.role));
  role.signed_by = wrapped_label("signed_by");
  role.signed_by->setAlignment(Qt::AlignVCenter | Qt::AlignLeft);
  auto* line = new QHBoxLayout;
  line->setSpacing(8);
  line->addWidget(role.name, 2);
  line->addWidget(role.sign);
  line->addWidget(role.signed_by, 3);
  grid->addLayout(line, items + column, 0, 1, static_cast<int>(checklist.roles.size()) + 1);
  connect(role.sign, &QPushButton::clicked, this, [this, place] { sign(roles_[place]); });
  connect(role.name, &QLineEdit::returnPressed, this, [this, place] { sign(roles_[place]); });
  roles_.push_back(role);
}

void ChecklistPanel::clearTicks() {
  for (Role& role : roles_) {
    for (TickBox* tick : role.ticks) tick->setChecked(false);
    role.name->clear();
  }
  target_->clear();
  complaint_->clear();
}

void ChecklistPanel::show(const daq::BenchView& view) {
  if (list_ == nullptr || !same_list(view.checklist, view_.checklist)) build(view.checklist);
  const bool new_list = view.checklist.open && (!view_.checklist.open || view.trial_number != view_.trial_number);
  view_ = view;
  if (new_list) clearTicks();
  put(title_, tr("Before the charge of trial %1").arg(view.trial_number));
  for (std::size_t k = 0; k < roles_.size(); ++k) showRole(roles_[k], view.checklist.roles[k], view.checklist.open);
  target_->setEnabled(view.checklist.open);
  take_target_->setEnabled(view.checklist.open);
  if (view.typed_target_pascals) {
    put(target_state_, tr("✓ %1 for this trial").arg(bar(*view.typed_target_pascals)));
  } else if (!setup_.parts.empty()) {
    put(target_state_, tr("type it: %1 to %2; weakest part %3, %4")
                           .arg(bar(setup_.charge.low_pascals), bar(setup_.charge.high_pascals), text(setup_.weakest_part().name),
                                bar(setup_.weakest_part().limit_pascals)));
  }
}

void ChecklistPanel::showRole(Role& role, const daq::ChecklistView::Role& state, bool open) {
  const bool done = !state.name.empty();
  for (TickBox* tick : role.ticks) {
    tick->setEnabled(open && !done);
    if (done) tick->setChecked(!state.unattended);  // nobody looked: nothing is ticked
  }
  role.name->setEnabled(open && !done);
  role.sign->setEnabled(open && !done);
  put(role.signed_by, done ? tr("✓ %1: %2, %3").arg(role.role, text(state.name), text(state.clock_time))
                           : tr("%1 has not signed").arg(role.role));
}

void ChecklistPanel::sign(const Role& role) {
  std::vector<std::string> confirmed;
  QStringList items;
  for (std::size_t k = 0; k < role.ticks.size(); ++k)
    if (role.ticks[k]->isChecked()) {
      confirmed.push_back(view_.checklist.items[k]);
      items += text(confirmed.back());
    }
  daq::ChecklistSetup list;
  list.items = view_.checklist.items;
  std::vector<daq::Signature> given;
  for (const auto& one : view_.checklist.roles) {
    list.roles.push_back(one.role);
    if (!one.name.empty()) given.push_back({one.role, one.name, one.clock_time, one.unattended});
  }
  const QString name = role.name->text().trimmed();
  if (auto trouble = daq::signature_trouble(view_.step, list, given, role.role.toStdString(), name.toStdString(), confirmed))
    return complain(*trouble);
  complaint_->clear();
  Q_EMIT signatureGiven(role.role, name, items);
}

void ChecklistPanel::takeTarget() {
  bool number = false;
  // Either decimal sign: people type the one of their language.
  const double typed = QLocale::c().toDouble(target_->text().trimmed().replace(',', '.'), &number);
  if (auto trouble = daq::target_trouble(number ? typed * 1.0e5 : -1.0, setup_)) return complain(*trouble);
  complaint_->clear();
  Q_EMIT targetTyped(typed * 1.0e5);
}

void ChecklistPanel::complain(const Complaint& complaint) {
  put(complaint_, tr("✗ %1: %2; %3.").arg(text(complaint.where), text(complaint.what), text(complaint.remedy)));
}

}  // namespace coldstroke::gui
