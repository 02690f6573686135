// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>
#include <vector>

#include "analysis/evidence/flight_handover.hpp"
#include "analysis/result.hpp"
#include "gui/window/file_request.hpp"

class QLabel;
class QTableWidget;

namespace coldstroke::gui {

/// The configuration intended for flight, entered beside the tested one: each difference with what it does to the evidence.
class HandoverPanel : public QWidget {
  Q_OBJECT
 public:
  explicit HandoverPanel(QWidget* parent = nullptr);
  /// What the last trial of the campaign was made with; what is intended stays.
  void setTested(std::vector<analysis::HandoverItem> tested);
  /// What stands in the column of intended values; empty: nothing entered.
  [[nodiscard]] std::vector<analysis::HandoverItem> intended() const;
  void open(const std::filesystem::path& file);
  void save(const std::filesystem::path& file);

 Q_SIGNALS:
  void fileRequested(const coldstroke::gui::FileRequest& request);

 private:
  void fill(const std::vector<analysis::HandoverItem>& intended);
  void weigh();
  void say(const QString& words);
  std::vector<analysis::HandoverItem> tested_;
  QTableWidget* table_;
  QLabel *summary_, *message_;
};

}  // namespace coldstroke::gui
