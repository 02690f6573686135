// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QPlainTextEdit>
#include <vector>

#include "analysis/result.hpp"

namespace coldstroke::gui {

/// The lines that a complaint about a setup names ("..., line 12, key ..."), rising, each once.
[[nodiscard]] std::vector<int> complained_lines(const Complaint& complaint);

/// A setup file as it stands on disk, with line numbers; lines at fault are marked. Read only: it is edited where it lies.
class SetupText : public QPlainTextEdit {
  Q_OBJECT
 public:
  explicit SetupText(QWidget* parent = nullptr);
  void show(const QString& words, std::vector<int> lines_at_fault);
  [[nodiscard]] const std::vector<int>& linesAtFault() const { return faults_; }

 protected:
  void resizeEvent(QResizeEvent* event) override;
  void changeEvent(QEvent* event) override;

 private:
  friend class LineNumbers;
  void paintNumbers(QPaintEvent& event);
  [[nodiscard]] int numbersWidth() const;
  void markFaults();
  QWidget* numbers_;
  std::vector<int> faults_;
};

}  // namespace coldstroke::gui
