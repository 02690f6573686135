// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QLabel>
#include <QString>
#include <string>
#include <string_view>

namespace coldstroke::gui {

/// A verdict as a coloured field with shape and word, large enough to be read from the line.
class VerdictChip : public QLabel {
  Q_OBJECT
 public:
  explicit VerdictChip(QWidget* parent = nullptr);
  /// `before`: words in front of the verdict, e.g. "Trial 13: ".
  void show(std::string_view verdict, const QString& before = {});
  [[nodiscard]] QSize sizeHint() const override;
  [[nodiscard]] QSize minimumSizeHint() const override;

 protected:
  void paintEvent(QPaintEvent* event) override;
  void resizeEvent(QResizeEvent* event) override;

 private:
  void fit();
  std::string verdict_;
};

}  // namespace coldstroke::gui
