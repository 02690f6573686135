// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/campaign/plan_panel.hpp"

#include <QDoubleSpinBox>
#include <QFormLayout>
#include <QLabel>
#include <QSpinBox>
#include <QVBoxLayout>

#include "gui/window/campaign/table_grid.hpp"
#include "gui/window/label.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {
namespace {

QDoubleSpinBox* part(const char* name, double value) {
  auto* number = new QDoubleSpinBox;
  number->setObjectName(name);
  number->setDecimals(3);
  number->setRange(0.5, 0.999);
  number->setSingleStep(0.01);
  number->setValue(value);
  return number;
}

}  // namespace

PlanPanel::PlanPanel(QWidget* parent) : QWidget{parent} {
  setObjectName("plan_panel");
  const PlanWish usual;
  reliability_ = part("plan_reliability", usual.reliability);
  confidence_ = part("plan_confidence", usual.confidence);
  truth_ = part("plan_truth", 0.99);
  failures_ = new QSpinBox;
  failures_->setObjectName("plan_failures");
  failures_->setRange(0, 20);
  failures_->setValue(static_cast<int>(usual.most_failures));
  auto* wish = new QHBoxLayout;
  for (const auto& [words, field] :
       std::initializer_list<std::pair<QString, QWidget*>>{{tr("passed in at least"), reliability_},
                                                           {tr("at confidence"), confidence_},
                                                           {tr("failures allowed up to"), failures_},
                                                           {tr("by a true reliability of"), truth_}}) {
    wish->addWidget(new QLabel{words});
    wish->addWidget(field);
    field->setAccessibleName(words);
  }
  wish->addStretch(1);
  message_ = wrapped_label("plan_message");
  plans_ = new TableGrid{"plan_table", tr("Plans that show this")};
  outlook_heading_ = wrapped_label("outlook_heading");
  outlook_ = new TableGrid{"outlook_table", tr("What more passes in a row would show")};
  auto* column = new QVBoxLayout{this};
  column->addLayout(wish);
  column->addWidget(message_);
  column->addWidget(plans_, 1);
  column->addWidget(outlook_heading_);
  column->addWidget(outlook_, 2);
  connect(reliability_, &QDoubleSpinBox::valueChanged, this, &PlanPanel::showPlans);
  connect(confidence_, &QDoubleSpinBox::valueChanged, this, &PlanPanel::showPlans);
  connect(truth_, &QDoubleSpinBox::valueChanged, this, &PlanPanel::showPlans);
  connect(failures_, &QSpinBox::valueChanged, this, &PlanPanel::showPlans);
  showPlans();
  setEvidence(nullptr);
}

void PlanPanel::showPlans() {
  const auto plans = plan_table({reliability_->value(), confidence_->value(), failures_->value(), truth_->value()});
  message_->setText(
      plans ? tr("How often a detector of a given true reliability passes each plan. Choose before the first trial, and "
                 "judge at the planned number.")
            : text(plans.error().what + " " + plans.error().remedy));
  plans_->show(plans.value_or(SheetTable{}));
}

void PlanPanel::setEvidence(const WeighedCampaign* weighed) {
  const auto table = weighed == nullptr ? Result<SheetTable>{SheetTable{}} : outlook_table(weighed->evidence);
  outlook_->show(table.value_or(SheetTable{}));
  outlook_->setVisible(table && !table->rows.empty());
  outlook_heading_->setText(!table                ? text(table.error().what)
                            : table->rows.empty() ? tr("With trials of a campaign, what more passes would show stands here.")
                                                  : tr("With so many more passes in a row this campaign would show at least"));
}

}  // namespace coldstroke::gui
