// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>
#include <optional>

class QLabel;
class QLineEdit;
class QPushButton;

namespace coldstroke::gui {

/// Sets the chosen trial's verdict aside: only with a reason and a name, and for good.
class VoidRow : public QWidget {
  Q_OBJECT
 public:
  explicit VoidRow(QWidget* parent = nullptr);
  void setTrial(std::optional<qlonglong> number);  ///< none: nothing is chosen

 Q_SIGNALS:
  void voidWanted(qlonglong number, const QString& person, const QString& reason);

 private:
  void follow();
  std::optional<qlonglong> number_;
  QLineEdit *reason_, *person_;
  QPushButton* button_;
};

}  // namespace coldstroke::gui
