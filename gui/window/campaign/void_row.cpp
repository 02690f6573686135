// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/campaign/void_row.hpp"

#include <QHBoxLayout>
#include <QLineEdit>
#include <QPushButton>

namespace coldstroke::gui {

VoidRow::VoidRow(QWidget* parent) : QWidget{parent} {
  reason_ = new QLineEdit;
  reason_->setObjectName("void_reason");
  reason_->setPlaceholderText(tr("reason: a physical cause found in other records than the suspect value"));
  reason_->setAccessibleName(tr("Reason to void the chosen trial"));
  person_ = new QLineEdit;
  person_->setObjectName("void_person");
  person_->setPlaceholderText(tr("who says so"));
  person_->setAccessibleName(tr("Who voids the trial"));
  person_->setMaximumWidth(160);
  button_ = new QPushButton;
  button_->setObjectName("void_trial");
  button_->setToolTip(tr("For good. The trial stays in every list with what it had been judged."));
  auto* row = new QHBoxLayout{this};
  row->setContentsMargins(0, 0, 0, 0);
  row->addWidget(reason_, 1);
  row->addWidget(person_);
  row->addWidget(button_);
  connect(reason_, &QLineEdit::textChanged, this, &VoidRow::follow);
  connect(person_, &QLineEdit::textChanged, this, &VoidRow::follow);
  connect(button_, &QPushButton::clicked, this, [this] {
    Q_EMIT voidWanted(*number_, person_->text().trimmed(), reason_->text().trimmed());
    reason_->clear();
  });
  follow();
}

void VoidRow::setTrial(std::optional<qlonglong> number) {
  if (number != number_) reason_->clear();  // a reason is given for one trial
  number_ = number;
  follow();
}

void VoidRow::follow() {
  button_->setText(number_ ? tr("Void trial %1").arg(*number_) : tr("Void a trial"));
  button_->setEnabled(number_ && !reason_->text().trimmed().isEmpty() && !person_->text().trimmed().isEmpty());
}

}  // namespace coldstroke::gui
