// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/campaign/table_grid.hpp"

#include <QHeaderView>
#include <numeric>

#include "gui/window/look.hpp"

namespace coldstroke::gui {

TableGrid::TableGrid(const char* name, const QString& accessible_name, QWidget* parent) : QTableWidget{parent} {
  setObjectName(name);
  setAccessibleName(accessible_name);
  setEditTriggers(QTableWidget::NoEditTriggers);
  setSelectionBehavior(QTableWidget::SelectRows);
  setTabKeyNavigation(false);
  setShowGrid(false);
  setWordWrap(true);
  setFrameShape(QFrame::NoFrame);
  verticalHeader()->hide();
  horizontalHeader()->setHighlightSections(false);
  horizontalHeader()->setDefaultAlignment(Qt::AlignLeft | Qt::AlignVCenter);
}

void TableGrid::show(const SheetTable& table) {
  widths_ = table.widths;
  setColumnCount(static_cast<int>(table.head.size()));
  setRowCount(static_cast<int>(table.rows.size()));
  QStringList head;
  for (const std::string& words : table.head) head << text(words);
  setHorizontalHeaderLabels(head);
  for (int row = 0; row < rowCount(); ++row) {
    const auto& cells = table.rows[static_cast<std::size_t>(row)];
    for (int column = 0; column < columnCount(); ++column) {
      auto* item = new QTableWidgetItem{text(cells[static_cast<std::size_t>(column)])};
      item->setFlags(Qt::ItemIsEnabled | Qt::ItemIsSelectable);
      item->setToolTip(item->text());
      setItem(row, column, item);
    }
  }
  share();
}

void TableGrid::share() {
  const double sum = std::accumulate(widths_.begin(), widths_.end(), 0.0);
  for (std::size_t column = 0; column < widths_.size(); ++column)
    setColumnWidth(static_cast<int>(column), static_cast<int>(viewport()->width() * widths_[column] / sum));
  resizeRowsToContents();
}

void TableGrid::resizeEvent(QResizeEvent* event) {
  QTableWidget::resizeEvent(event);
  if (!widths_.empty()) share();
}

}  // namespace coldstroke::gui
