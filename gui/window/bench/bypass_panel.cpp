// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/bench/bypass_panel.hpp"

#include <QComboBox>
#include <QLineEdit>
#include <QPushButton>
#include <QVBoxLayout>

#include "daq/sequence/signatures.hpp"
#include "gui/window/label.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {

BypassPanel::BypassPanel(QWidget* parent) : QWidget{parent} {
  setObjectName("bypass_panel");
  auto* column = new QVBoxLayout{this};
  column->setContentsMargins(0, 6, 0, 0);
  column->setSpacing(4);
  words_ = wrapped_label("bypass_words");
  words_->setText(tr("Go on without one of these? The reason is kept with the trial and stands in every report."));
  which_ = new QComboBox;
  which_->setObjectName("bypass_which");
  which_->setAccessibleName(tr("Interlock to go on without"));
  reason_ = new QLineEdit;
  reason_->setObjectName("bypass_reason");
  reason_->setPlaceholderText(tr("why it is safe without it"));
  reason_->setAccessibleName(tr("Reason for going on without it"));
  go_on_ = new QPushButton{tr("Go on without it, this trial")};
  go_on_->setObjectName("bypass_go_on");
  complaint_ = wrapped_label("bypass_complaint");
  complaint_->setFont(type(kBodyPt, true));
  complaint_->hide();
  for (QWidget* one : std::initializer_list<QWidget*>{words_, which_, reason_, go_on_, complaint_}) column->addWidget(one);
  connect(go_on_, &QPushButton::clicked, this, &BypassPanel::take);
  connect(reason_, &QLineEdit::returnPressed, this, &BypassPanel::take);
  hide();
}

void BypassPanel::show(const std::vector<daq::InterlockLine>& lines) {
  QStringList names;
  for (const auto& line : lines)
    if (!line.holds && line.bypassable && line.bypass_reason.empty()) names += text(line.name);
  QStringList now;
  for (int k = 0; k < which_->count(); ++k) now += which_->itemText(k);
  if (names != now) {
    const QString chosen = which_->currentText();
    which_->clear();
    which_->addItems(names);
    // A reason that was written for another interlock must not slip over to the one that stands first now.
    if (names.contains(chosen))
      which_->setCurrentText(chosen);
    else
      reason_->clear();
  }
  setVisible(!names.isEmpty());
}

void BypassPanel::take() {
  const QString interlock = which_->currentText(), reason = reason_->text().trimmed();
  const auto trouble = daq::bypass_trouble(interlock.toStdString(), reason.toStdString());
  complaint_->setVisible(trouble.has_value());
  if (trouble) return put(complaint_, tr("✗ %1: %2.").arg(text(trouble->what), text(trouble->remedy)));
  reason_->clear();
  Q_EMIT bypassWanted(interlock, reason);
}

}  // namespace coldstroke::gui
