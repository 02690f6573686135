// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/detector/before_after_panel.hpp"

#include <QComboBox>
#include <QDoubleSpinBox>
#include <QLabel>
#include <QPushButton>
#include <QVBoxLayout>

#include "gui/window/detector/figure_view.hpp"
#include "gui/window/label.hpp"

namespace coldstroke::gui {

BeforeAfterPanel::BeforeAfterPanel(QWidget* parent) : DetectorPanel{"before_after_panel", tr("Compare"), parent} {
  before_ = addDetectorChoice("before_choice", tr("Before"));
  after_ = addDetectorChoice("after_choice", tr("After"));
  for (QComboBox* choice : {before_, after_}) choice->setMinimumContentsLength(14);  // the row fits a window of 1280
  margin_ = addMilliseconds("latency_margin", tr("of no consequence up to"), 0.1, 1000.0, 2.0);
  auto* open = new QPushButton{tr("Open answers")};
  open->setObjectName("open_played_answers");
  open->setToolTip(
      tr("What a board answered to a playback, saved on the Playback panel: of the firmware before and of the one after"));
  connect(open, &QPushButton::clicked, this, [this] {
    Q_EMIT fileRequested({tr("Open the answers of a playback"), tr("Answers (*.json);;All files (*)"), false,
                          [this](const std::filesystem::path& file) { openAnswers(file); }});
  });
  addToRow(open, {});
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
  for (QComboBox* choice : {before_, after_})
    for (const auto& side : played_) choice->addItem(tr("played: %1").arg(side->name));
  after_->setCurrentIndex(after_->count() - 1);
}

QString BeforeAfterPanel::wanting() const {
  if (!data_.library->empty() && data_.detectors.empty() && played_.size() == 1) return tr("Open the other board's answers too");
  return !data_.library->empty() && played_.size() > 1 ? QString{} : DetectorPanel::wanting();
}

void BeforeAfterPanel::openAnswers(const std::filesystem::path& file) {
  auto side = read_played_side(file);
  if (!side) return complain(side.error());
  say({});
  played_.push_back(std::make_shared<const PlayedSide>(std::move(*side)));
  const int before = before_->currentIndex(), after = after_->currentIndex();
  fillDetectors();
  // The first file opened is the one before, the next the one after; later ones replace the one after.
  const int newest = after_->count() - 1;
  before_->setCurrentIndex(played_.size() == 1 ? newest : before);
  after_->setCurrentIndex(played_.size() == 1 ? after : newest);
  followJob();
}

std::shared_ptr<const PlayedSide> BeforeAfterPanel::chosenAnswers(const QComboBox* choice) const {
  const auto at = static_cast<std::size_t>(std::max(0, choice->currentIndex()));
  return at < data_.detectors.size() || played_.empty() ? nullptr
                                                        : played_[std::min(at - data_.detectors.size(), played_.size() - 1)];
}

void BeforeAfterPanel::begin() {
  const double margin = margin_->value() / 1000.0;
  const auto show = [this](Result<BeforeAfterFigure> answer, bool stopped) {
    if (!stopped) showAnswer(std::move(answer));
  };
  const auto before = chosenAnswers(before_), after = chosenAnswers(after_);
  if ((before == nullptr) != (after == nullptr))
    return complain({"A replay and a board's answers are two different things", "before and after",
                     "Choose two detectors, or the answers of two boards."});
  if (before != nullptr)
    return job_->start([library = data_.library, before, after,
                        margin](const BackgroundJob::Asked&) { return played_figure(*library, *before, *after, margin); },
                       show);
  job_->start([library = data_.library, before = chosen(before_), after = chosen(after_),
               margin](const BackgroundJob::Asked&) { return before_after_figure(*library, before, after, margin); },
              show);
}

void BeforeAfterPanel::showAnswer(Result<BeforeAfterFigure> answer) {
  if (!answer) return complain(answer.error());
  say({});
  figure_ = std::make_shared<BeforeAfterFigure>(std::move(*answer));
  sentence_->setText(text(figure_->answer.sentence));
  std::vector<std::string> lines;
  for (const auto& finding : figure_->findings) lines.push_back("Finding: " + finding.message);
  lines.insert(lines.end(), figure_->answer.numbers.begin(), figure_->answer.numbers.end());
  numbers_->setText(text_lines(lines));
  view_->show([figure = figure_](const QSizeF& size, const Look& look) { return before_after_shapes(*figure, size, look); });
  has_answer_ = true;
  followJob();
  Q_EMIT shown();
}

}  // namespace coldstroke::gui
