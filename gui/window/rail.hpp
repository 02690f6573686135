// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QAbstractButton>
#include <QWidget>
#include <vector>

namespace coldstroke::gui {

/// One page of the rail: its key, large, and its name.
class RailButton : public QAbstractButton {
  Q_OBJECT
 public:
  RailButton(const QString& key, const QString& name, QWidget* parent = nullptr);
  [[nodiscard]] QSize sizeHint() const override { return {92, 52}; }

 protected:
  void paintEvent(QPaintEvent* event) override;
  void nextCheckState() override {}  // the rail says which page is shown

 private:
  QString key_;
};

/// The pages, top to bottom on the left edge; one key each, which works everywhere except while a text is being typed.
class Rail : public QWidget {
  Q_OBJECT
 public:
  explicit Rail(QWidget* parent = nullptr);
  void add(const QString& key, const QString& name, int page);
  void choose(int page);

 Q_SIGNALS:
  void chosen(int page);

 protected:
  void paintEvent(QPaintEvent* event) override;

 private:
  std::vector<std::pair<int, RailButton*>> buttons_;
};

}  // namespace coldstroke::gui
