// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/calibration/calibration_page.hpp"

#include <QCheckBox>
#include <QComboBox>
#include <QDate>
#include <QDoubleSpinBox>
#include <QEvent>
#include <QFormLayout>
#include <QHBoxLayout>
#include <QLineEdit>
#include <QPushButton>
#include <QScrollArea>
#include <QTabWidget>
#include <QVBoxLayout>
#include <algorithm>
#include <cmath>

#include "daq/record/campaign_file.hpp"
#include "gui/report/calibration_words.hpp"
#include "gui/report/figures.hpp"
#include "gui/report/report_trial.hpp"
#include "gui/window/calibration/point_table.hpp"
#include "gui/window/label.hpp"
#include "gui/window/look.hpp"
#include "gui/window/plot/charts.hpp"

namespace coldstroke::gui {
namespace {

constexpr double kShuntTolerance = 0.01;

QDoubleSpinBox* field(const char* name, double low, double high, int decimals) {
  auto* made = new QDoubleSpinBox;
  made->setObjectName(name);
  made->setRange(low, high);
  made->setDecimals(decimals);
  made->setMinimumWidth(100);  // not that of the largest number it could hold
  return made;
}

QPushButton* button(const char* name, const QString& words, const QString& tip) {
  auto* made = new QPushButton{words};
  made->setObjectName(name);
  made->setToolTip(tip);
  return made;
}

QLineEdit* entry(const char* name) {
  auto* made = new QLineEdit;
  made->setObjectName(name);
  made->setMaxLength(500);
  return made;
}

/// The page's right side may be higher than the smallest window.
QScrollArea* scrolled(QWidget* inside) {
  auto* area = new QScrollArea;
  area->setWidget(inside);
  area->setWidgetResizable(true);
  area->setFrameShape(QFrame::NoFrame);
  area->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  return area;
}

}  // namespace

CalibrationPage::CalibrationPage(QWidget* parent) : QWidget{parent} {
  setObjectName("calibration_page");
  curve_chart_ = new Chart{"calibration_chart"};
  residual_chart_ = new Chart{"calibration_residuals"};
  auto* left = new QVBoxLayout;
  left->addWidget(curve_chart_, 3);
  left->addWidget(residual_chart_, 2);
  history_ = wrapped_label("calibration_history");
  auto* past = new QWidget;
  auto* past_column = new QVBoxLayout{past};
  past_column->addWidget(history_);
  past_column->addStretch(1);
  auto* tabs = new QTabWidget;
  tabs->setObjectName("calibration_tabs");
  tabs->setDocumentMode(true);
  tabs->addTab(scrolled(makeCapture()), tr("Points"));
  tabs->addTab(scrolled(makePapers()), tr("Record"));
  tabs->addTab(scrolled(past), tr("Former"));
  said_ = wrapped_label("calibration_said");
  auto* right = new QVBoxLayout;
  right->addWidget(tabs, 1);
  right->addWidget(said_);
  auto* row = new QHBoxLayout{this};
  row->setContentsMargins(8, 8, 8, 8);
  row->addLayout(left, 3);
  row->addLayout(right, 2);
  connectAll();
  chooseChannel();
}

QWidget* CalibrationPage::makeCapture() {
  auto* page = new QWidget;
  channel_ = new QComboBox;
  channel_->setObjectName("calibration_channel");
  model_ = new QComboBox;
  model_->setObjectName("calibration_model");
  model_->addItems({tr("straight line"), tr("quadratic")});
  live_ = wrapped_label("calibration_live");
  seconds_ = field("capture_seconds", 0.1, 5.0, 1);
  seconds_->setValue(1.0);
  seconds_->setSuffix(tr(" s"));
  applied_ = field("applied_load", -1.0e9, 1.0e9, 4);
  counts_ = field("hand_counts", -4.0e9, 4.0e9, 1);
  unloading_ = new QCheckBox{tr("on the way down")};
  unloading_->setObjectName("unloading");
  capture_ = button("capture_point", tr("Capture the live average"), tr("Mean and standard deviation over the set time"));
  by_hand_ = button("add_point", tr("Add the reading typed"), tr("A point read elsewhere, in counts"));
  remove_ = button("remove_point", tr("Take the chosen point out"), tr("Also the Delete key"));
  tare_button_ = button("take_tare", tr("Tare: zero from here"),
                        tr("Live readings are shown less the present mean; points are not changed"));
  points_ = new PointTable;
  numbers_ = wrapped_label("calibration_numbers");
  inverse_ = wrapped_label("calibration_inverse");
  auto* column = new QVBoxLayout{page};
  column->setContentsMargins(0, 0, 0, 0);
  auto* form = new QFormLayout;
  form->addRow(tr("channel"), channel_);
  form->addRow(tr("reads now"), live_);
  form->addRow(tr("load"), applied_);
  form->addRow(tr("unloading"), unloading_);
  form->addRow(tr("average over"), seconds_);
  form->addRow(capture_);
  form->addRow(tr("counts"), counts_);
  form->addRow(by_hand_);
  form->addRow(points_);
  form->addRow(remove_);
  form->addRow(tare_button_);
  form->addRow(tr("curve"), model_);
  // Out of the form: a form gives a label that wraps beside its scroll bar too little height.
  column->addLayout(form);
  column->addWidget(numbers_);
  column->addWidget(inverse_);
  column->addStretch(1);
  return page;
}

QWidget* CalibrationPage::makePapers() {
  auto* page = new QWidget;
  who_ = entry("calibration_who");
  reference_ = entry("calibration_reference");
  valid_until_ = entry("calibration_valid_until");
  valid_until_->setPlaceholderText(tr("YYYY-MM-DD"));
  reason_ = entry("calibration_reason");
  uncertainty_ = field("reference_uncertainty", 0.0, 50.0, 3);
  uncertainty_->setSuffix(" %");
  shunt_expected_ = field("shunt_expected", -4.0e9, 4.0e9, 1);
  shunt_seen_ = field("shunt_seen", -4.0e9, 4.0e9, 1);
  save_ = button("save_calibration", tr("Append this calibration"), tr("It supersedes the older ones; nothing is edited"));
  rejudge_ = button("rejudge_trials", tr("Judge the open campaign again with it"), tr("Old results stay beside the new ones"));
  auto* form = new QFormLayout{page};
  form->addRow(tr("who"), who_);
  form->addRow(tr("reference used"), reference_);
  form->addRow(tr("its std. uncertainty"), uncertainty_);
  form->addRow(tr("valid until"), valid_until_);
  form->addRow(tr("reason"), reason_);
  form->addRow(tr("shunt step due"), shunt_expected_);
  form->addRow(tr("shunt step seen"), shunt_seen_);
  form->addRow(save_);
  form->addRow(rejudge_);
  return page;
}

void CalibrationPage::connectAll() {
  connect(channel_, &QComboBox::currentIndexChanged, this, &CalibrationPage::chooseChannel);
  connect(model_, &QComboBox::currentIndexChanged, this, &CalibrationPage::fit);
  connect(capture_, &QPushButton::clicked, this, &CalibrationPage::startCapture);
  connect(by_hand_, &QPushButton::clicked, this, &CalibrationPage::addByHand);
  connect(remove_, &QPushButton::clicked, points_, &PointTable::removeChosen);
  connect(tare_button_, &QPushButton::clicked, this, &CalibrationPage::takeTare);
  connect(counts_, &QDoubleSpinBox::valueChanged, this, [this](double counts) { showInverse(counts, 0.0); });
  connect(uncertainty_, &QDoubleSpinBox::valueChanged, this, &CalibrationPage::fit);
  connect(points_, &PointTable::pointsChanged, this, &CalibrationPage::fit);
  connect(save_, &QPushButton::clicked, this, &CalibrationPage::save);
  connect(rejudge_, &QPushButton::clicked, this, &CalibrationPage::rejudge);
}

void CalibrationPage::setSetup(const daq::Setup& setup, Histories histories) {
  setup_ = setup;
  histories_ = std::move(histories);
  const QString before = channel_->currentText();
  const QSignalBlocker quiet{channel_};
  channel_->clear();
  for (const daq::ChannelSetup& one : setup.channels) channel_->addItem(text(one.name));
  channel_->setCurrentIndex(std::max(0, channel_->findText(before)));
  chooseChannel();
}

void CalibrationPage::leaveRig() {
  histories_ = {};
  capture_from_seconds_.reset();
  enableWhatWorks();
  put(live_, tr("no rig is open"));
}

void CalibrationPage::enableWhatWorks() {
  const bool chosen = channel() != nullptr;
  for (QWidget* widget : std::initializer_list<QWidget*>{by_hand_, save_, rejudge_}) widget->setEnabled(chosen);
  for (QWidget* widget : std::initializer_list<QWidget*>{capture_, tare_button_}) widget->setEnabled(chosen && histories_);
}

void CalibrationPage::chooseChannel() {
  capture_from_seconds_.reset();
  tare_.reset();
  const daq::ChannelSetup* chosen = channel();
  const ScreenUnit unit = chosen == nullptr ? ScreenUnit{"", 1.0} : screen_unit(chosen->quantity);
  applied_->setSuffix(' ' + text(unit.symbol));
  points_->setUnit(text(unit.symbol), unit.per_si);
  enableWhatWorks();
  live_->setText(chosen == nullptr ? tr("no rig is open") : tr("no reading yet"));
  QString past;
  if (setup_ && chosen != nullptr) {
    past = tr("In force: %1, valid until %2.\n")
               .arg(text(chosen->calibration.reference),
                    text(validity(chosen->calibration, QDate::currentDate().toString(Qt::ISODate).toStdString())));
    std::for_each(setup_->calibrations.rbegin(), setup_->calibrations.rend(), [&](const daq::CalibrationRecord& one) {
      if (one.channel != chosen->name) return;
      past += tr("\n%1, %2: %3; %4 points, valid until %5. %6")
                  .arg(text(one.when), text(one.who), text(one.reference))
                  .arg(one.points.size())
                  .arg(text(one.valid_until), text(one.reason));
    });
  }
  history_->setText(past.isEmpty() ? tr("Open a rig: its calibrations are listed here.") : past);
  points_->removeAll();  // points of another channel mean nothing here; this also fits anew
}

const daq::ChannelSetup* CalibrationPage::channel() const {
  const int k = channel_->currentIndex();
  return setup_ && k >= 0 && k < static_cast<int>(setup_->channels.size()) ? &setup_->channels[static_cast<std::size_t>(k)]
                                                                           : nullptr;
}

std::shared_ptr<const daq::History> CalibrationPage::history() const {
  return histories_ && channel() != nullptr ? histories_(static_cast<std::size_t>(channel_->currentIndex())) : nullptr;
}

void CalibrationPage::follow() {
  const auto samples = history();
  if (!isVisible() || samples == nullptr) return;
  if (capture_from_seconds_) finishCapture();
  const auto now = capture(*samples, *channel(), std::min(0.5, seconds_->value()));
  if (!now) return put(live_, text(now.error().what));
  const daq::Calibration& in_force = channel()->calibration;
  const ScreenUnit unit = screen_unit(channel()->quantity);
  const double zero = tare_ ? in_force.si(tare_->reading) : 0.0;
  const double scatter = now->reading_standard_deviation / std::sqrt(now->samples);
  const double wide = std::abs(in_force.si(now->reading + scatter) - in_force.si(now->reading));
  put(live_, tr("%1 counts, sd %2; %3 %4%5")
                 .arg(text(decimal(now->reading, 1)), text(significant(now->reading_standard_deviation, 2)),
                      text(with_uncertainty((in_force.si(now->reading) - zero) * unit.per_si, wide * unit.per_si)),
                      text(unit.symbol), tare_ ? tr(" from tare") : QString{}));
  showInverse(now->reading, scatter);
}

// The way back through the curve that is being made, with the doubt of curve, scatter and reading.
void CalibrationPage::showInverse(double counts, double standard_uncertainty) {
  if (!fitted_) return put(inverse_, {});
  const auto back = tare_ ? analysis::tared(fitted_->curve, counts, standard_uncertainty, *tare_)
                          : fitted_->curve.applied_for(counts, standard_uncertainty);
  if (!back) return put(inverse_, text(back.error().what));
  const ScreenUnit unit = screen_unit(channel()->quantity);
  put(inverse_, tr("Back again: %1 counts are %2%3.")
                    .arg(text(decimal(counts, 1)), text(applied_words(*back, unit.per_si, std::string{unit.symbol})),
                         tare_ ? tr(", from tare") : QString{}));
}

void CalibrationPage::startCapture() {
  const auto samples = history();
  if (samples == nullptr) return say(tr("This channel sends nothing: no average can be taken."));
  daq::History::Copy copy;
  std::uint64_t generation = 0;
  samples->copy_since(0, generation, copy);
  capture_from_seconds_ = copy.newest_seconds;
  capture_->setEnabled(false);
  say(tr("Taking the average ..."));
}

void CalibrationPage::finishCapture() {
  daq::History::Copy copy;
  std::uint64_t generation = 0;
  history()->copy_since(0, generation, copy);
  // Only what came after the button was pressed counts: the load may have changed just before.
  const double passed = copy.newest_seconds - *capture_from_seconds_;
  if (passed >= 0.0 && passed < seconds_->value()) return;
  capture_from_seconds_.reset();
  capture_->setEnabled(true);
  if (passed < 0.0) return say(tr("The board started anew while the average was taken: capture again."));
  auto point = capture(*history(), *channel(), seconds_->value());
  if (!point) return complain(point.error());
  point->applied = applied_->value() / screen_unit(channel()->quantity).per_si;
  point->unloading = unloading_->isChecked();
  points_->add(*point);
}

void CalibrationPage::addByHand() {
  analysis::CalibrationPoint point;
  point.applied = applied_->value() / screen_unit(channel()->quantity).per_si;
  point.reading = counts_->value();
  point.unloading = unloading_->isChecked();
  points_->add(point);
}

void CalibrationPage::takeTare() {
  const auto samples = history();
  if (samples == nullptr) return say(tr("This channel sends nothing: there is nothing to tare."));
  const auto now = capture(*samples, *channel(), seconds_->value());
  if (!now) return complain(now.error());
  tare_ = analysis::Tare{now->reading, now->reading_standard_deviation / std::sqrt(now->samples)};
  say(tr("Tared at %1 counts.").arg(text(decimal(now->reading, 1))));
}

void CalibrationPage::fit() {
  fitted_.reset();
  numbers_->clear();
  put(inverse_, {});
  const daq::ChannelSetup* chosen = channel();
  const auto nothing = [this](const QString& why) {
    curve_chart_->showNothing(why);
    residual_chart_->showNothing({});
  };
  if (chosen == nullptr || points_->points().empty()) {
    say({});
    return nothing(tr("No calibration points yet"));
  }
  daq::CalibrationRecord record;
  record.channel = chosen->name;
  record.points = points_->points();
  record.reference_standard_uncertainty = uncertainty_->value() / 100.0;
  auto made = daq::fit_record(
      std::move(record), model_->currentIndex() == 0 ? analysis::CalibrationForm::line : analysis::CalibrationForm::quadratic);
  if (!made) {
    complain(made.error());
    return nothing(tr("No curve yet"));
  }
  say({});
  fitted_ = std::move(*made);
  const ScreenUnit unit = screen_unit(chosen->quantity);
  const daq::Calibration gives = daq::calibration_of(*fitted_);
  const auto shown = [&](double si) { return text(significant(si * unit.per_si, 3)) + ' ' + text(unit.symbol); };
  QString words = tr("Gain uncertainty %1 %, zero %2 (standard, as trials take them). %3 Lower limit factor %4 (ASTM E74 "
                     "practice: static force only).")
                      .arg(text(significant(100.0 * gives.gain_standard_uncertainty, 2)), shown(gives.zero_standard_uncertainty),
                           text(doubt_words(fitted_->curve)), shown(fitted_->curve.lower_limit_factor()));
  if (fitted_->loading.hysteresis) words += tr(" Hysteresis %1.").arg(shown(*fitted_->loading.hysteresis));
  if (fitted_->loading.zero_return) words += tr(" Zero return %1.").arg(shown(*fitted_->loading.zero_return));
  numbers_->setText(words);
  curve_chart_->showCalibration(*fitted_, text(unit.symbol), unit.per_si);
  residual_chart_->showCalibrationResiduals(*fitted_, text(unit.symbol), unit.per_si);
  showInverse(counts_->value(), 0.0);
}

daq::CalibrationRecord CalibrationPage::withPapers() const {
  daq::CalibrationRecord record = *fitted_;
  const auto typed = [](const QLineEdit* line) { return line->text().trimmed().toStdString(); };
  record.who = typed(who_);
  record.reference = typed(reference_);
  record.valid_until = typed(valid_until_);
  record.reason = typed(reason_);
  record.when = daq::utc_now();
  if (shunt_expected_->value() != 0.0)
    record.shunt = analysis::check_shunt(0.0, shunt_seen_->value(), shunt_expected_->value(), kShuntTolerance);
  return record;
}

void CalibrationPage::save() {
  if (!fitted_) return say(tr("There is no curve to keep: give points first."));
  const daq::CalibrationRecord record = withPapers();
  if (record.shunt && !record.shunt->within)
    return say(tr("The shunt's step is off by %1 %: find out why before this is kept.")
                   .arg(text(decimal(100.0 * record.shunt->relative_error, 2))));
  Q_EMIT saveWanted(record);
}

void CalibrationPage::rejudge() {
  if (!fitted_) return say(tr("There is no curve to judge with: give points first."));
  const daq::CalibrationRecord record = withPapers();
  Q_EMIT rejudgeWanted({record.channel, daq::calibration_of(record), record.who, record.reason});
}

void CalibrationPage::say(const QString& words) { put(said_, words); }

void CalibrationPage::complain(const Complaint& complaint) {
  say(tr("%1 %2: %3").arg(text(complaint.what), text(complaint.where), text(complaint.remedy)));
}

void CalibrationPage::changeEvent(QEvent* event) {
  QWidget::changeEvent(event);
  if (event->type() == QEvent::PaletteChange) fit();
}

}  // namespace coldstroke::gui
