// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/setup/setup_text.hpp"

#include <QPainter>
#include <QRegularExpression>
#include <QTextBlock>
#include <algorithm>

#include "gui/window/look.hpp"

namespace coldstroke::gui {

std::vector<int> complained_lines(const Complaint& complaint) {
  static const QRegularExpression pattern{QStringLiteral(", line (\\d+)")};
  std::vector<int> lines;
  for (const QString& words : {text(complaint.where), text(complaint.what)})
    for (auto found = pattern.globalMatch(words); found.hasNext();) lines.push_back(found.next().captured(1).toInt());
  std::ranges::sort(lines);
  lines.erase(std::unique(lines.begin(), lines.end()), lines.end());
  return lines;
}

/// The strip left of the text that carries the numbers.
class LineNumbers : public QWidget {
 public:
  explicit LineNumbers(SetupText* owner) : QWidget{owner}, owner_{owner} {}

 protected:
  void paintEvent(QPaintEvent* event) override { owner_->paintNumbers(*event); }

 private:
  SetupText* owner_;
};

SetupText::SetupText(QWidget* parent) : QPlainTextEdit{parent}, numbers_{new LineNumbers{this}} {
  setObjectName("setup_text");
  setReadOnly(true);
  setTabChangesFocus(true);
  setLineWrapMode(QPlainTextEdit::NoWrap);
  setFrameShape(QFrame::NoFrame);
  QFont fixed{"DejaVu Sans Mono"};
  fixed.setPointSizeF(kBodyPt);
  setFont(fixed);
  setAccessibleName(tr("Text of the setup"));
  connect(this, &QPlainTextEdit::updateRequest, numbers_, [this](const QRect& area, int dy) {
    if (dy != 0)
      numbers_->scroll(0, dy);
    else
      numbers_->update(0, area.y(), numbers_->width(), area.height());
  });
}

int SetupText::numbersWidth() const { return fontMetrics().horizontalAdvance(QString::number(std::max(100, blockCount()))) + 34; }

void SetupText::show(const QString& words, std::vector<int> lines_at_fault) {
  faults_ = std::move(lines_at_fault);
  setPlainText(words);
  setViewportMargins(numbersWidth(), 0, 0, 0);
  markFaults();
  if (faults_.empty()) return;
  setTextCursor(QTextCursor{document()->findBlockByNumber(faults_.front() - 1)});
  centerCursor();
}

void SetupText::markFaults() {
  const Look& look = look_of(this);
  QList<QTextEdit::ExtraSelection> marks;
  for (const int line : faults_) {
    QTextEdit::ExtraSelection mark;
    mark.cursor = QTextCursor{document()->findBlockByNumber(line - 1)};
    mark.format.setBackground(look.abnormal);
    mark.format.setForeground(look.text_on(Meaning::abnormal));
    mark.format.setProperty(QTextFormat::FullWidthSelection, true);
    marks += mark;
  }
  setExtraSelections(marks);
}

void SetupText::resizeEvent(QResizeEvent* event) {
  QPlainTextEdit::resizeEvent(event);
  const QRect area = contentsRect();
  numbers_->setGeometry(area.left(), area.top(), numbersWidth(), area.height());
}

void SetupText::changeEvent(QEvent* event) {
  QPlainTextEdit::changeEvent(event);
  if (event->type() == QEvent::PaletteChange && numbers_ != nullptr) markFaults();
}

void SetupText::paintNumbers(QPaintEvent& event) {
  const Look& look = look_of(this);
  QPainter painter{numbers_};
  painter.fillRect(event.rect(), look.paper);
  painter.setFont(font());
  for (QTextBlock block = firstVisibleBlock(); block.isValid(); block = block.next()) {
    const QRectF place = blockBoundingGeometry(block).translated(contentOffset());
    if (place.top() > event.rect().bottom()) break;
    const int line = block.blockNumber() + 1;
    const bool fault = std::ranges::binary_search(faults_, line);
    painter.setPen(fault ? look.ink : look.muted);
    painter.drawText(QRectF{0.0, place.top(), numbers_->width() - 8.0, place.height()}, Qt::AlignRight | Qt::AlignVCenter,
                     fault ? QStringLiteral("✗ %1").arg(line) : QString::number(line));
  }
}

}  // namespace coldstroke::gui
