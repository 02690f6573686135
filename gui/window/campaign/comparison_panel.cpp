// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/campaign/comparison_panel.hpp"
#include "gui/report/whole_file.hpp"

#include <QComboBox>
#include <QDoubleSpinBox>
#include <QLabel>
#include <QPushButton>
#include <QVBoxLayout>

#include "gui/report/figures.hpp"
#include "gui/report/html_report.hpp"
#include "gui/window/campaign/metric_choice.hpp"
#include "gui/window/label.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {
namespace {
enum With { kItself, kOther, kChoose };
}

ComparisonPanel::ComparisonPanel(QWidget* parent) : JobPanel{"comparison_panel", tr("Compare"), parent} {
  with_ = new QComboBox;
  with_->setObjectName("comparison_with");
  with_->addItems({tr("itself before the last change"), tr("no other campaign yet"), tr("another campaign ...")});
  addToRow(with_, tr("Present configuration against"));
  metric_ = new MetricChoice{"comparison_metric"};
  addToRow(metric_, tr("by"));
  margin_ = addNumber("comparison_margin", tr("of no consequence up to"), 0.0, 1.0e6, 0.0, {});
  margin_->setSpecialValueText(tr("not tested"));
  margin_->setToolTip(tr("A shift of at most this is of no consequence. Fix it before the trials."));
  save_ = new QPushButton{tr("Save")};
  save_->setObjectName("comparison_save");
  save_->setToolTip(tr("One HTML file: the answer, and the worst trials of each side with their traces"));
  connect(save_, &QPushButton::clicked, this, [this] {
    Q_EMIT fileRequested({tr("Save the comparison"), tr("HTML (*.html)"), true, [this](const auto& file) { save(file); }});
  });
  endRow(save_);
  sentence_ = heading_label({});
  sentence_->setObjectName("comparison_sentence");
  sentence_->setTextFormat(Qt::PlainText);
  sentence_->setWordWrap(true);
  sentence_->setTextInteractionFlags(Qt::TextSelectableByMouse);
  qobject_cast<QVBoxLayout*>(layout())->addWidget(sentence_);
  numbers_ = addAnswer("comparison_numbers");
  connect(metric_, &QComboBox::currentIndexChanged, this, &ComparisonPanel::followMetric);
  connect(with_, &QComboBox::activated, this, [this](int row) {
    if (row == kItself) return setOther({});
    with_->setCurrentIndex(other_.empty() ? kItself : kOther);
    if (row == kChoose)
      Q_EMIT fileRequested({tr("Compare with a campaign"), tr("Campaign (*.coldstroke);;All files (*)"), false,
                            [this](const auto& file) { setOther(file); }});
  });
  followMetric();
  setCampaign({});
}

void ComparisonPanel::followMetric() {
  const MetricWords* words = metric_words(metric_->chosenMetric());
  margin_->setSuffix(words == nullptr ? QString{} : " " + text(words->unit));
}

void ComparisonPanel::setCampaign(const std::filesystem::path& campaign) {
  if (campaign == campaign_ && !campaign.empty()) return;
  cancel();
  campaign_ = campaign;
  sentence_->clear();
  shown_.reset();
  numbers_->setText(
      tr("Detection is compared by Fisher's exact test, the metric by Mann-Whitney and Welch, sameness by two one-sided tests. "
         "Trials of the present run of each side count."));
  say({});
  followJob();
}

void ComparisonPanel::setOther(const std::filesystem::path& campaign) {
  other_ = campaign;
  if (!campaign.empty()) with_->setItemText(kOther, text(campaign.filename().string()));
  with_->setCurrentIndex(campaign.empty() ? kItself : kOther);
  with_->setToolTip(text(campaign.string()));
}

QString ComparisonPanel::wanting() const { return campaign_.empty() ? tr("Open a campaign first") : QString{}; }

void ComparisonPanel::begin() {
  const ComparisonWish wish{campaign_, other_, metric_->chosenMetric(), margin_->value()};
  job_->start([this, wish](const BackgroundJob::Asked& asked) { return compare_campaigns(wish, job_->progress(asked)); },
              [this](Result<TrialComparison> answer, bool) { showAnswer(std::move(answer)); });
}

void ComparisonPanel::showAnswer(Result<TrialComparison> answer) {
  if (!answer) return complain(answer.error());
  say({});
  sentence_->setText(text(answer->answer.sentence));
  numbers_->setText(text_lines(lines_under(*answer)));
  shown_ = std::move(*answer);
  followJob();
}

void ComparisonPanel::followJob() {
  JobPanel::followJob();
  save_->setEnabled(shown_.has_value());
  save_->setVisible(!busy());
}

void ComparisonPanel::save(const std::filesystem::path& file) {
  if (!shown_ || busy()) return;
  job_->start(
      [shown = *shown_, file](const BackgroundJob::Asked&) -> Result<void> {
        const auto sheet = comparison_sheet(shown);
        if (!sheet) return tl::unexpected{sheet.error()};
        return write_whole(file, sheet_html(*sheet));
      },
      [this, file](const Result<void>& written, bool) {
        if (!written) return complain(written.error());
        say(tr("Written: %1").arg(text(file.string())));
      });
}

}  // namespace coldstroke::gui
