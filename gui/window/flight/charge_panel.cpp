// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/flight/charge_panel.hpp"

#include <QCheckBox>
#include <QComboBox>
#include <QDoubleSpinBox>
#include <QEvent>
#include <QFormLayout>
#include <QHBoxLayout>
#include <QLabel>
#include <QPushButton>
#include <QScrollArea>
#include <QSpinBox>
#include <QVBoxLayout>
#include <algorithm>

#include "gui/report/figures.hpp"
#include "gui/window/look.hpp"
#include "gui/window/plot/charts.hpp"

namespace coldstroke::gui {
namespace {

QDoubleSpinBox* field(const char* name, double low, double high, int decimals, const QString& unit) {
  auto* made = new QDoubleSpinBox;
  made->setObjectName(name);
  made->setDecimals(decimals);
  made->setRange(low, high);
  made->setSuffix(' ' + unit);
  return made;
}

QLabel* words(const char* name) {
  auto* made = new QLabel;
  made->setObjectName(name);
  made->setWordWrap(true);
  made->setTextInteractionFlags(Qt::TextSelectableByMouse);
  return made;
}

QString interval(const analysis::Interval& x, double per_unit, const char* unit) {
  return text(with_uncertainty(x.value * per_unit, 1.96 * x.standard_uncertainty * per_unit)) + ' ' + unit;
}

QString known(const analysis::Known& x, double per_unit) {
  return text(with_uncertainty(x.value * per_unit, 1.96 * x.standard_uncertainty * per_unit));
}

QString lines_of(const analysis::Prediction& p) {
  if (!p.leaves) return QObject::tr("the vehicle stalls in the tube: a jam hazard");
  QString out = QObject::tr("exit speed %1, peak %2, droop %3, stroke %4")
                    .arg(interval(p.exit_speed_mps, 1.0, "m/s"), interval(p.peak_acceleration_g, 1.0, "g"),
                         interval(p.droop_pascals, 1.0e-5, "bar"), interval(p.stroke_time_seconds, 1.0e3, "ms"));
  for (const std::string& line : p.beyond) out += QObject::tr("\nBeyond the recorded trials: %1").arg(text(line));
  if (!p.beyond.empty()) out += QObject::tr("\nExtrapolated: %1").arg(text(analysis::kBeyondCaution));
  return out;
}

}  // namespace

ChargePanel::ChargePanel(QWidget* parent) : QWidget{parent} {
  setObjectName("charge_panel");
  predicted_ = new Chart{"predicted_chart"};
  residuals_ = new Chart{"residual_chart"};
  quantity_ = new QComboBox;
  quantity_->setObjectName("plan_quantity");
  quantity_->setAccessibleName(tr("Quantity shown, fitted against measured"));
  quantity_->addItems({tr("exit speed"), tr("stroke time"), tr("peak"), tr("droop")});
  auto* left = new QVBoxLayout;
  left->addWidget(quantity_);
  left->addWidget(predicted_, 1);
  left->addWidget(residuals_, 1);
  auto* row = new QHBoxLayout{this};
  row->addLayout(left, 3);
  auto* scroll = new QScrollArea;  // a long answer in a small window
  scroll->setFrameShape(QFrame::NoFrame);
  scroll->setWidgetResizable(true);
  scroll->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  scroll->setFocusPolicy(Qt::NoFocus);
  scroll->setWidget(makeFields());
  row->addWidget(scroll, 2);
  connect(quantity_, &QComboBox::currentIndexChanged, this, &ChargePanel::draw);
  draw();
}

QWidget* ChargePanel::makeFields() {
  auto* right = new QWidget;
  auto* column = new QVBoxLayout{right};
  fit_ = new QPushButton{tr("Fit the recorded trials")};
  fit_->setObjectName("fit_plan");
  fit_->setToolTip(tr("Fits valve conductance, opening time and friction to the campaign's trials (Levenberg-Marquardt)"));
  fitted_ = words("plan_fitted");
  fitted_->setText(tr("Nothing is fitted yet."));
  speed_ = field("wish_speed", 0.1, 200.0, 2, "m/s");
  speed_->setValue(13.0);
  peak_ = field("wish_peak", 0.0, 5000.0, 1, "g");
  peak_->setSpecialValueText(tr("no limit"));
  mass_ = field("wish_mass", 0.001, 1000.0, 3, "kg");
  reservoir_ = field("wish_reservoir", 0.001, 1000.0, 3, tr("litres"));
  valves_ = new QSpinBox;
  valves_->setObjectName("wish_valves");
  valves_->setRange(1, 64);
  beyond_ = new QCheckBox{tr("answer beyond the recorded trials too")};
  beyond_->setObjectName("wish_beyond");
  ask_ = new QPushButton{tr("Which charge?")};
  ask_->setObjectName("ask_plan");
  ask_->setEnabled(false);
  answer_ = words("plan_answer");
  auto* form = new QFormLayout;
  form->addRow(tr("exit speed"), speed_);
  form->addRow(tr("felt peak at most"), peak_);
  form->addRow(tr("vehicle mass"), mass_);
  form->addRow(tr("reservoir"), reservoir_);
  form->addRow(tr("fast valves"), valves_);
  column->addWidget(fit_);
  column->addWidget(fitted_);
  fields_ = new QWidget;
  fields_->setLayout(form);
  fields_->setEnabled(false);  // their first values come from the newest trial
  form->setContentsMargins(0, 0, 0, 0);
  column->addWidget(fields_);
  column->addWidget(beyond_);
  column->addWidget(ask_);
  column->addWidget(answer_);
  column->addStretch(1);
  connect(fit_, &QPushButton::clicked, this, [this] {
    fit_->setEnabled(false);
    fitted_->setText(tr("Fitting ..."));
    Q_EMIT planWanted();
  });
  connect(ask_, &QPushButton::clicked, this, &ChargePanel::ask);
  return right;
}

void ChargePanel::show(const PlanMade& made) {
  made_ = made;
  fit_->setEnabled(true);
  ask_->setEnabled(true);
  fields_->setEnabled(true);
  mass_->setValue(made.conditions.vehicle_mass_kg);
  reservoir_->setValue(made.conditions.reservoir_volume_m3 * 1.0e3);
  valves_->setValue(made.conditions.valve_count);
  if (made.peak_limit_g > 0.0) peak_->setValue(made.peak_limit_g);
  const analysis::ChargePlan& p = made.plan;
  QString said = tr("Fitted to %1 trials. Each valve %2 dm³/(s bar), opens in %3 ms; friction %4 N and %5 % of the gas force.")
                     .arg(made.trials.size())
                     .arg(known(p.valve_conductance, 1.0e8), known(p.valve_opening_seconds, 1.0e3),
                          known(p.running_friction_newtons, 1.0), known(p.seal_friction_fraction, 100.0));
  said +=
      tr(" Charges from %1 to %2 bar count as inside.")
          .arg(text(decimal(p.bounds.charge_low_pascals * 1.0e-5, 2)), text(decimal(p.bounds.charge_high_pascals * 1.0e-5, 2)));
  if (!made.left_out.empty()) said += tr(" Left out: %1.").arg(made.left_out.size());
  fitted_->setText(said);
  answer_->clear();
  draw();
}

void ChargePanel::showComplaint(const Complaint& complaint) {
  made_.reset();
  fit_->setEnabled(true);
  ask_->setEnabled(false);
  fitted_->setText(text("No plan: " + complaint.what + ". " + complaint.remedy + "."));
  answer_->clear();
  draw();
}

void ChargePanel::showOld() {
  if (!made_) return;
  fitted_->setText(tr("The campaign has changed since: fit again."));
  ask_->setEnabled(false);
}

void ChargePanel::ask() {
  if (!made_) return;
  const analysis::PlanConditions conditions{0.0, mass_->value(), reservoir_->value() * 1.0e-3, valves_->value()};
  const auto got = analysis::charge_for(made_->plan, conditions, {speed_->value(), peak_->value(), made_->charge_limit_pascals},
                                        beyond_->isChecked() ? analysis::Beyond::allow : analysis::Beyond::refuse);
  if (!got) return answer_->setText(text("No answer: " + got.error().what + ". To do: " + got.error().remedy + "."));
  using Kind = analysis::ChargeAnswer::Kind;
  const QString charge = interval(got->charge_gauge_pascals, 1.0e-5, "bar");
  switch (got->kind) {
    case Kind::found:
      return answer_->setText(tr("%1 gauge: %2").arg(charge, lines_of(got->prediction)));
    case Kind::not_reached:
      return answer_->setText(tr("Not reached, even at the limit of %1 bar: %2")
                                  .arg(text(decimal(made_->charge_limit_pascals * 1.0e-5, 2)), lines_of(got->prediction)));
    case Kind::too_hard:
      break;
  }
  QString said = tr("Too hard: %1 gauge gives the speed, but %2.").arg(charge, lines_of(got->prediction));
  if (!got->no_gentle.empty()) said += '\n' + text(got->no_gentle) + '.';
  if (got->gentle)
    said += tr("\nMost that keeps the peak: %1 bar, %2.")
                .arg(text(decimal(got->gentle_charge_gauge_pascals->value * 1.0e-5, 2)), lines_of(*got->gentle));
  answer_->setText(said);
}

QString ChargePanel::answer() const { return answer_->text(); }

void ChargePanel::draw() {
  if (!made_) {
    predicted_->showNothing(tr("No plan is fitted"));
    return residuals_->showNothing({});
  }
  struct Shown {
    const char* unit;
    double per_unit;
  };
  static constexpr Shown kShown[] = {{"m/s", 1.0}, {"ms", 1.0e3}, {"g", 1.0}, {"bar", 1.0e-5}};
  const auto chosen = static_cast<std::size_t>(std::max(0, quantity_->currentIndex()));
  predicted_->showPredicted(made_->plan, static_cast<analysis::PlanQuantity>(chosen), kShown[chosen].unit,
                            kShown[chosen].per_unit);
  residuals_->showResiduals(made_->plan);
}

void ChargePanel::changeEvent(QEvent* event) {
  QWidget::changeEvent(event);
  if (event->type() == QEvent::PaletteChange) draw();
}

}  // namespace coldstroke::gui
