// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/label.hpp"

#include "gui/window/look.hpp"

namespace coldstroke::gui {

QLabel* wrapped_label(const char* object_name) {
  auto* label = new QLabel;
  label->setObjectName(object_name);
  label->setWordWrap(true);
  label->setTextFormat(Qt::PlainText);
  label->setAlignment(Qt::AlignTop | Qt::AlignLeft);
  return label;
}

void put(QLabel* label, const QString& words) {
  if (label->text() != words) label->setText(words);
}

QLabel* heading_label(const QString& words) {
  auto* label = new QLabel{words};
  label->setFont(type(kHeadingPt, true));
  return label;
}

}  // namespace coldstroke::gui
