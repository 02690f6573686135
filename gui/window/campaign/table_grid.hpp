// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QTableWidget>

#include "gui/report/sheet.hpp"

namespace coldstroke::gui {

/// A table of the verdict sheet on screen: rows are read, not edited, and columns share the width as on paper.
class TableGrid : public QTableWidget {
  Q_OBJECT
 public:
  explicit TableGrid(const char* name, const QString& accessible_name, QWidget* parent = nullptr);
  void show(const SheetTable& table);

 protected:
  void resizeEvent(QResizeEvent* event) override;

 private:
  void share();
  std::vector<double> widths_;
};

}  // namespace coldstroke::gui
