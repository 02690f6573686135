// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/detector/before_after_panel.hpp"

#include <QComboBox>
#include <QDoubleSpinBox>
#include <QLabel>
#include <QVBoxLayout>

#include "gui/window/detector/figure_view.hpp"
#include "gui/window/label.hpp"

namespace coldstroke::gui {

BeforeAfterPanel::BeforeAfterPanel(QWidget* parent) : DetectorPanel{"before_after_panel", tr("Compare"), parent} {
  before_ = addDetectorChoice("before_choice", tr("Before"));
  after_ = addDetectorChoice("after_choice", tr("After"));
  margin_ = addMilliseconds("latency_margin", tr("of no consequence up to"), 0.1, 1000.0, 2.0);
  addSave(tr("Picture, drawing or table (*.png *.svg *.csv *.json)"),
          [this](const auto& file) { return write_before_after(file, *figure_); });
  endRow();
  sentence_ = heading_label({});
  sentence_->setObjectName("before_after_sentence");
  sentence_->setTextFormat(Qt::PlainText);
  sentence_->setWordWrap(true);
  sentence_->setTextInteractionFlags(Qt::TextSelectableByMouse);
  view_ = new FigureView{"before_after_view", tr("Worst cases")};
  auto* column = qobject_cast<QVBoxLayout*>(layout());
  column->addWidget(sentence_);
  numbers_ = addAnswer("before_after_numbers");
  column->addWidget(view_, 3);
}

void BeforeAfterPanel::fillDetectors() {
  DetectorPanel::fillDetectors();
  after_->setCurrentIndex(after_->count() - 1);
}

void BeforeAfterPanel::begin() {
  job_->start([library = data_.library, before = chosen(before_), after = chosen(after_), margin = margin_->value() / 1000.0](
                  const BackgroundJob::Asked&) { return before_after_figure(*library, before, after, margin); },
              [this](Result<BeforeAfterFigure> answer, bool stopped) {
                if (!stopped) showAnswer(std::move(answer));
              });
}

void BeforeAfterPanel::showAnswer(Result<BeforeAfterFigure> answer) {
  if (!answer) return complain(answer.error());
  say({});
  figure_ = std::make_shared<BeforeAfterFigure>(std::move(*answer));
  sentence_->setText(text(figure_->answer.sentence));
  numbers_->setText(text_lines(figure_->answer.numbers));
  view_->show([figure = figure_](const QSizeF& size, const Look& look) { return before_after_shapes(*figure, size, look); });
  has_answer_ = true;
  followJob();
  Q_EMIT shown();
}

}  // namespace coldstroke::gui
