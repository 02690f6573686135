// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/detector/detector_page.hpp"

#include <QComboBox>
#include <QHBoxLayout>
#include <QLabel>
#include <QProgressBar>
#include <QPushButton>
#include <QVBoxLayout>

#include "analysis/detector/agreement.hpp"
#include "analysis/detector/tolerance.hpp"
#include "daq/detector/detector_table.hpp"
#include "daq/detector/library_table.hpp"
#include "daq/detector/map_job.hpp"
#include "gui/window/detector/map_view.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {
namespace {

constexpr std::size_t kSteps = 40;
/// The map reaches from a fraction of the present setting to a multiple of it.
constexpr double kFrom = 0.1, kTo = 3.0;

double window_seconds(const analysis::DetectorSpec& spec) {
  return spec.window_seconds.value_or(spec.window_samples.value_or(0) / spec.board.sample_rate_hz);
}

double threshold(const analysis::DetectorSpec& spec) {
  return spec.kind == analysis::DetectorKind::velocity_gain ? spec.velocity_gain_mps : spec.threshold_g;
}

std::vector<double> around(double value, double least, double most) {
  const double low = std::max(least, value * kFrom), high = std::max(low + least, std::min(most, value * kTo));
  std::vector<double> out;
  for (std::size_t i = 0; i < kSteps; ++i) out.push_back(low + (high - low) * static_cast<double>(i) / (kSteps - 1));
  return out;
}

QLabel* wrapped(const char* name) {
  auto* label = new QLabel;
  label->setObjectName(name);
  label->setTextFormat(Qt::PlainText);
  label->setWordWrap(true);
  label->setTextInteractionFlags(Qt::TextSelectableByMouse);
  return label;
}

QString milliseconds(const std::optional<double>& seconds) {
  return seconds ? QString::number(*seconds * 1000.0, 'f', 1) + " ms" : QString{"-"};
}

}  // namespace

/// What the worker hands back.
struct DetectorPage::Answer {
  MapFigure figure;
  analysis::DetectorLine line;
  QString tolerance;
};

DetectorPage::DetectorPage(QWidget* parent) : QWidget{parent} {
  setObjectName("detector_page");
  worker_.setMaxThreadCount(1);
  map_ = new MapView;
  answer_ = wrapped("detector_answer");
  cell_ = wrapped("detector_cell");
  cell_->setText(tr("Click a cell, or move with the arrow keys, to read it."));
  message_ = wrapped("detector_message");
  auto* column = new QVBoxLayout{this};
  column->setContentsMargins(8, 8, 8, 8);
  column->setSpacing(8);
  column->addWidget(makeTop());
  column->addWidget(answer_);
  column->addWidget(map_, 1);
  column->addWidget(cell_);
  column->addWidget(message_);
  message_->hide();
  connect(map_, &MapView::cellChosen, this, &DetectorPage::showCell);
  follow();
}

DetectorPage::~DetectorPage() {
  cancel();
  worker_.waitForDone();
}

QWidget* DetectorPage::makeTop() {
  auto* top = new QWidget;
  auto* row = new QHBoxLayout{top};
  row->setContentsMargins(0, 0, 0, 0);
  files_ = new QLabel;
  files_->setObjectName("detector_files");
  auto* library = new QPushButton{tr("Open a library")};
  library->setObjectName("detector_open_library");
  library->setToolTip(tr("Labelled recordings: a library table, or a campaign whose trials must fire"));
  auto* table = new QPushButton{tr("Open detectors")};
  table->setObjectName("detector_open_table");
  detector_ = new QComboBox;
  detector_->setObjectName("detector_choice");
  detector_->setMinimumContentsLength(18);
  compute_ = new QPushButton{tr("Compute the map")};
  compute_->setObjectName("detector_compute");
  cancel_ = new QPushButton{tr("Stop")};
  cancel_->setObjectName("detector_cancel");
  progress_ = new QProgressBar;
  progress_->setObjectName("detector_progress");
  progress_->setRange(0, static_cast<int>(kSteps));
  progress_->setMaximumWidth(160);
  for (QWidget* widget : std::initializer_list<QWidget*>{library, table, detector_, compute_, progress_, cancel_})
    row->addWidget(widget);
  row->addWidget(files_, 1);
  connect(library, &QPushButton::clicked, this, &DetectorPage::libraryWanted);
  connect(table, &QPushButton::clicked, this, &DetectorPage::tableWanted);
  connect(compute_, &QPushButton::clicked, this, &DetectorPage::computeMap);
  connect(cancel_, &QPushButton::clicked, this, &DetectorPage::cancel);
  connect(detector_, &QComboBox::activated, this, [this] { computeMap(); });
  return top;
}

void DetectorPage::follow() {
  compute_->setEnabled(!busy() && !library_.empty() && !detectors_.empty());
  compute_->setToolTip(library_.empty()     ? tr("Open a library first")
                       : detectors_.empty() ? tr("Open detectors first")
                                            : QString{});
  cancel_->setVisible(busy());
  progress_->setVisible(busy());
  files_->setText(library_.empty() ? tr("no library") : tr("%1 recordings").arg(library_.size()));
}

void DetectorPage::complain(const Complaint& complaint) {
  message_->setText(tr("%1 %2 %3").arg(text(complaint.what), text(complaint.where), text(complaint.remedy)));
  message_->show();
}

void DetectorPage::openLibrary(const std::filesystem::path& file) {
  worker_.start([this, file] {
    std::vector<std::string> left_out;
    auto read = std::make_shared<Result<std::vector<analysis::Recording>>>(daq::load_library(file, left_out));
    QMetaObject::invokeMethod(this, [this, read, file] {
      if (!*read) return complain(read->error());
      show(std::move(**read), QString::fromStdString(file.filename().string()));
    });
  });
}

void DetectorPage::openTable(const std::filesystem::path& file) {
  auto table = daq::load_detector_table(file);
  if (!table) return complain(table.error());
  show(std::move(table->detectors));
}

void DetectorPage::show(std::vector<analysis::Recording> library, const QString& name) {
  library_ = std::move(library);
  library_name_ = name;
  message_->hide();
  follow();
  computeMap();
}

void DetectorPage::show(std::vector<analysis::DetectorSpec> detectors) {
  detectors_ = std::move(detectors);
  detector_->clear();
  for (const auto& spec : detectors_) detector_->addItem(QString::fromStdString(spec.name));
  message_->hide();
  follow();
  computeMap();
}

void DetectorPage::cancel() {
  if (cancelled_) *cancelled_ = true;
}

void DetectorPage::computeMap() {
  if (busy() || library_.empty() || detectors_.empty()) return;
  const auto spec = detectors_[static_cast<std::size_t>(std::max(0, detector_->currentIndex()))];
  cancelled_ = std::make_shared<std::atomic<bool>>(false);
  progress_->setValue(0);
  follow();
  worker_.start([this, spec, library = library_, name = library_name_, stop = cancelled_] {
    const auto asked = [stop] { return stop->load(); };
    const auto work = [&]() -> Result<Answer> {
      const auto plan = plan_operating_map(
          library, spec,
          {analysis::MapParameter::window_seconds,
           around(window_seconds(spec), 1.0 / spec.board.sample_rate_hz, 500.0 / spec.board.sample_rate_hz)},
          {analysis::MapParameter::threshold,
           around(threshold(spec), 0.05,
                  spec.kind == analysis::DetectorKind::velocity_gain ? 1000.0 : spec.board.range_g - spec.rest_g)});
      if (!plan) return tl::unexpected{plan.error()};
      auto map = daq::compute_map(
          *plan, 0,
          [this](std::size_t done) { QMetaObject::invokeMethod(progress_, "setValue", Q_ARG(int, static_cast<int>(done))); },
          asked);
      if (!map) return Answer{};
      Answer out;
      out.figure.map = std::move(*map);
      out.figure.title = QString::fromStdString(spec.name) + tr(" over %1 (%2 recordings)").arg(name).arg(library.size());
      out.figure.region = find_robust_region(out.figure.map);
      out.figure.present = nearest_place(out.figure.map, window_seconds(spec), threshold(spec));
      if (out.figure.region) out.figure.proposed = out.figure.region->core;
      auto lines = side_by_side(library, std::span{&spec, 1});
      if (!lines) return tl::unexpected{lines.error()};
      out.line = std::move(lines->front());
      const auto found = tolerances(library, spec, {.fraction_step = 0.02, .level_step_g = 0.1}, asked);
      if (found && *found) out.tolerance = QString::fromStdString(sentence(**found));
      return out;
    };
    auto answer = std::make_shared<Result<Answer>>(work());
    QMetaObject::invokeMethod(this, [this, answer] { showAnswer(std::move(*answer)); });
  });
}

void DetectorPage::showAnswer(Result<Answer> answer) {
  const bool stopped = cancelled_->load();
  cancelled_.reset();
  follow();
  if (!answer) return complain(answer.error());
  if (stopped || answer->figure.map.cells.empty()) {
    message_->setText(tr("Stopped: the map shown is the one before."));
    message_->show();
    return;
  }
  message_->hide();
  const auto& c = answer->line.summary;
  answer_->setText(
      tr("Present setting: %1. In time %2, late %3, missed %4, early %5, false %6, silent %7; slowest %8, time margin %9.")
          .arg(words_of(c.outcome))
          .arg(c.in_time)
          .arg(c.late)
          .arg(c.missed)
          .arg(c.early)
          .arg(c.false_decisions)
          .arg(c.silent)
          .arg(milliseconds(c.latency_max_seconds), milliseconds(c.time_margin_seconds)) +
      "\n" + (answer->tolerance.isEmpty() ? QString{} : tr("Present setting: %1\n").arg(answer->tolerance)) +
      region_sentence(answer->figure) + tr(" It proposes; a person decides."));
  QStringList findings;
  for (const auto& finding : answer->line.findings) findings << QString::fromStdString(finding.message);
  if (!findings.isEmpty()) {
    message_->setText(tr("The library: %1").arg(findings.mid(0, 3).join(' ')));
    message_->show();
  }
  map_->show(std::move(answer->figure));
  Q_EMIT mapShown();
}

void DetectorPage::showCell(qulonglong row, qulonglong column) {
  const MapFigure& figure = map_->figure();
  const analysis::MapCell& c = figure.map.at(row, column);
  const QString binding =
      c.binding_recording < library_.size() ? QString::fromStdString(library_[c.binding_recording].name) : QString{};
  cell_->setText(tr("Window %1 ms, threshold %2: %3. In time %4, late %5, missed %6, early %7, false %8, silent %9.")
                     .arg(QString::number(figure.map.rows.values[row] * 1000.0, 'g', 4),
                          QString::number(figure.map.columns.values[column], 'g', 4), words_of(c.outcome))
                     .arg(c.in_time)
                     .arg(c.late)
                     .arg(c.missed)
                     .arg(c.early)
                     .arg(c.false_decisions)
                     .arg(c.silent) +
                 tr(" Slowest %1, time margin %2, level margin %3, set by \"%4\".")
                     .arg(milliseconds(c.latency_max_seconds), milliseconds(c.time_margin_seconds),
                          QString::number(c.level_margin, 'g', 3), binding));
}

}  // namespace coldstroke::gui
