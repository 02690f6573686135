// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/main_window.hpp"

#include <QApplication>
#include <QCloseEvent>
#include <QHBoxLayout>
#include <QKeyEvent>
#include <QStackedWidget>
#include <QVBoxLayout>
#include <algorithm>

#include "gui/window/bench/bench_page.hpp"
#include "gui/window/bench/headline_bar.hpp"
#include "gui/window/bench/keep_clear_page.hpp"
#include "gui/window/calibration/calibration_page.hpp"
#include "gui/window/campaign/campaign_page.hpp"
#include "gui/window/close_panel.hpp"
#include "gui/window/detector/detector_page.hpp"
#include "gui/window/flight/flight_page.hpp"
#include "gui/window/look.hpp"
#include "gui/window/rail.hpp"
#include "gui/window/setup/setup_page.hpp"
#include "gui/window/start_page.hpp"
#include "gui/window/trial/trial_page.hpp"

namespace coldstroke::gui {

QString note_author() {
  const QString name = qEnvironmentVariable("USER");
  return name.isEmpty() ? QObject::tr("operator") : name;
}

MainWindow::MainWindow(WindowDoors doors, QWidget* parent) : QWidget{parent}, doors_{std::move(doors)} {
  setObjectName("main_window");
  setWindowTitle("Coldstroke");
  worker_.setMaxThreadCount(1);
  build();
  connectPages();
  followDesktop();
  goTo(kBench);
  // On the application, so that the key works whatever has the focus, a chooser or a list that is open included.
  qApp->installEventFilter(this);
}

MainWindow::~MainWindow() {
  qApp->removeEventFilter(this);
  worker_.waitForDone();
}

void MainWindow::build() {
  headline_ = new HeadlineBar;
  banner_ = new HatchedBanner{"virtual_banner", tr("VIRTUAL RIG: no gas, no vehicle. Every number is simulated.")};
  banner_->hide();
  rail_ = new Rail;
  rail_->add("B", tr("Bench"), kBench);
  rail_->add("T", tr("Trial"), kTrial);
  rail_->add("C", tr("Campaign"), kCampaign);
  rail_->add("D", tr("Detector"), kDetector);
  rail_->add("F", tr("Flight"), kFlight);
  rail_->add("K", tr("Calibration"), kCalibration);
  rail_->add("S", tr("Setup"), kSetup);
  pages_ = new QStackedWidget;
  bench_page_ = new BenchPage;
  trial_page_ = new TrialPage;
  campaign_page_ = new CampaignPage;
  detector_page_ = new DetectorPage{doors_.virtual_board};
  flight_page_ = new FlightPage;
  calibration_page_ = new CalibrationPage;
  setup_page_ = new SetupPage;
  start_page_ = new StartPage;
  keep_clear_page_ = new KeepClearPage;
  close_panel_ = new ClosePanel;
  chooser_ = new QWidget;
  chooser_->setObjectName("chooser");
  (new QVBoxLayout{chooser_})->setContentsMargins(24, 16, 24, 16);
  // In the order of Page.
  for (QWidget* page :
       std::initializer_list<QWidget*>{bench_page_, trial_page_, campaign_page_, detector_page_, flight_page_, calibration_page_,
                                       setup_page_, start_page_, close_panel_, chooser_, keep_clear_page_})
    pages_->addWidget(page);
  auto* row = new QHBoxLayout;
  row->setSpacing(0);
  row->addWidget(rail_);
  row->addWidget(pages_, 1);
  auto* column = new QVBoxLayout{this};
  column->setContentsMargins(0, 0, 0, 0);
  column->setSpacing(0);
  column->addWidget(headline_);
  column->addWidget(banner_);
  column->addLayout(row, 1);
}

void MainWindow::connectPages() {
  connect(rail_, &Rail::chosen, this, [this](int page) { goTo(static_cast<Page>(page)); });
  // On the press, not on the release: nothing is faster than the finger going down.
  connect(headline_->abortButton(), &QAbstractButton::pressed, this, &MainWindow::abort);
  connectBenchPages();
  connectFiles();
  connect(campaign_page_, &CampaignPage::trialWanted, this, &MainWindow::openTrial);
  connect(campaign_page_, &CampaignPage::reportWanted, this, [this] { writeReport(std::nullopt); });
  connect(campaign_page_, &CampaignPage::voidWanted, this, &MainWindow::voidTrial);
  connect(campaign_page_, &CampaignPage::campaignChanged, this, &MainWindow::reload);
  connect(trial_page_, &TrialPage::trialWanted, this, &MainWindow::openTrial);
  connect(trial_page_, &TrialPage::reportWanted, this, [this](qlonglong number) { writeReport(number); });
  connect(trial_page_, &TrialPage::noteWritten, this, &MainWindow::keepNote);
  connect(flight_page_, &FlightPage::planWanted, this, &MainWindow::fitChargePlan);
  connect(calibration_page_, &CalibrationPage::saveWanted, this, &MainWindow::keepCalibration);
  connect(calibration_page_, &CalibrationPage::rejudgeWanted, this, &MainWindow::rejudgeTrials);
  connect(close_panel_, &ClosePanel::ventWanted, this, &MainWindow::abort);
  connect(close_panel_, &ClosePanel::stayWanted, this, [this] { goTo(before_panel_); });
  connect(close_panel_, &ClosePanel::readyToClose, this, [this] {
    closing_ = true;
    close();
  });
}

void MainWindow::connectBenchPages() {
  const auto request = [this](daq::OperatorRequest wanted) {
    if (bench_) bench_->request(wanted);
  };
  connect(bench_page_, &BenchPage::requested, this, request);
  connect(keep_clear_page_, &KeepClearPage::requested, this, request);
  connect(keep_clear_page_, &KeepClearPage::alarm, this, [this] { doors_.sound(Tone::alarm); });
  connect(bench_page_, &BenchPage::secondCounted, this, [this] { doors_.sound(Tone::second); });
  connect(bench_page_, &BenchPage::noteWritten, this, [this](const QString& words) {
    if (bench_) bench_->addNote(note_author(), words);
  });
  connect(bench_page_, &BenchPage::signatureGiven, this,
          [this](const QString& role, const QString& name, const QStringList& confirmed) {
            if (bench_) bench_->sign(role, name, confirmed);
          });
  connect(bench_page_, &BenchPage::bypassWanted, this, [this](const QString& interlock, const QString& reason) {
    if (bench_) bench_->bypass(interlock, reason);
  });
  connect(bench_page_, &BenchPage::targetTyped, this, [this](double pascals) {
    if (bench_) bench_->setTarget(pascals);
  });
  connect(bench_page_, &BenchPage::trialWanted, this, [this](qlonglong number) {
    showBenchCampaign();
    openTrial(number);
  });
}

void MainWindow::connectFiles() {
  const auto choose_setup = [this] {
    choose(tr("Open a setup"), tr("Setup (*.toml)"), [this](const auto& file) { openSetup(file); });
  };
  connect(start_page_, &StartPage::virtualRigWanted, this, &MainWindow::openVirtualRig);
  connect(start_page_, &StartPage::setupWanted, this, choose_setup);
  connect(setup_page_, &SetupPage::setupWanted, this, choose_setup);
  connect(setup_page_, &SetupPage::leaveWanted, this, &MainWindow::leaveRig);
  const auto choose_campaign = [this] {
    choose(tr("Open a campaign"), tr("Campaign (*.coldstroke);;All files (*)"), [this](const auto& file) { openCampaign(file); });
  };
  connect(start_page_, &StartPage::campaignWanted, this, choose_campaign);
  connect(campaign_page_, &CampaignPage::fileWanted, this, choose_campaign);
  const auto choose_requested = [this](const FileRequest& wanted) {
    choose(wanted.title, wanted.filter, wanted.then, wanted.to_write);
  };
  connect(campaign_page_, &CampaignPage::fileRequested, this, choose_requested);
  connect(detector_page_, &DetectorPage::fileRequested, this, choose_requested);
  connect(detector_page_, &DetectorPage::saveWanted, this, [this](const QString& filter, const FileWriter& write) {
    choose(
        tr("Save"), filter, [this, write](const auto& file) { detector_page_->save(file, write); }, true);
  });
}

void MainWindow::goTo(Page page) {
  if (page == kBench && bench_ == nullptr) page = kStart;
  if (keep_clear_ && page != kClosing) page = kKeepClear;
  pages_->setCurrentIndex(page);
  if (page <= kStart) rail_->choose(page == kStart ? kBench : page);
  QWidget* shown = pages_->currentWidget();
  if (page == kTrial)
    trial_page_->setFocus();
  else if (page == kCampaign)
    reinterpret_cast<QWidget*>(campaign_page_->table())->setFocus();
  else
    shown->setFocus();
}

MainWindow::Page MainWindow::page() const { return static_cast<Page>(pages_->currentIndex()); }

void MainWindow::abort() {
  if (bench_ != nullptr) bench_->request(daq::OperatorRequest::abort);
}

bool MainWindow::eventFilter(QObject* watched, QEvent* event) {
  if (event->type() == QEvent::KeyPress) {
    const auto* key = static_cast<QKeyEvent*>(event);
    if (key->key() == Qt::Key_F12 || key->key() == Qt::Key_Pause) {
      if (!key->isAutoRepeat()) abort();
      return true;
    }
  }
  if (watched == qApp && event->type() == QEvent::ApplicationPaletteChange) followDesktop();
  return QWidget::eventFilter(watched, event);
}

void MainWindow::followDesktop() {
  if (following_) return;
  following_ = true;  // setting the palette comes back here
  setPalette(look_for(QApplication::palette()).palette());
  following_ = false;
}

void MainWindow::useBench(OpenedBench opened) {
  dropBench();
  bench_ = std::move(opened.bench);
  bench_campaign_ = std::move(opened.campaign);
  bench_page_->traces()->setHistories(
      [this](std::size_t channel) { return bench_ == nullptr ? nullptr : bench_->history(channel); });
  bench_page_->setSetup(bench_->setup());
  setup_page_->show(bench_->setup(), bench_campaign_);
  calibration_page_->setSetup(bench_->setup(),
                              [this](std::size_t channel) { return bench_ == nullptr ? nullptr : bench_->history(channel); });
  connect(bench_.get(), &BenchSource::viewChanged, this, &MainWindow::showView);
  connect(bench_.get(), &BenchSource::trialFinished, this, [this](qlonglong) {
    if (campaign_ == bench_campaign_) reload();
  });
  start_page_->clearComplaint();
  showView();
  showBenchCampaign();
  goTo(kBench);
}

void MainWindow::dropBench() {
  bench_page_->traces()->setHistories({});
  bench_.reset();
  keep_clear_ = false;
  rail_->setEnabled(true);
}

void MainWindow::openVirtualRig() {
  auto opened = doors_.virtual_rig();
  if (opened)
    useBench(std::move(*opened));
  else
    start_page_->showComplaint(opened.error());
}

QString MainWindow::changeBlocked() const {
  if (bench_ == nullptr || may_close(*bench_->view())) return {};
  return tr("Not now: the rig is not proven vented and idle. Abort, wait until the headline says SAFE, then choose again.");
}

void MainWindow::openSetup(const std::filesystem::path& file) {
  if (!changeBlocked().isEmpty()) return goTo(kSetup);  // the page says why
  const auto refuse = [&](const Complaint& complaint) {
    setup_page_->showComplaint(file, complaint);
    start_page_->showComplaint(complaint);
    goTo(kSetup);
  };
  if (const auto checked = doors_.check_setup(file); !checked) return refuse(checked.error());
  leaveRig();  // it may hold the ports and the campaign file that the new one wants
  auto opened = doors_.setup(file);
  if (opened) return useBench(std::move(*opened));
  refuse(opened.error());
}

void MainWindow::leaveRig() {
  if (!changeBlocked().isEmpty()) return;
  bench_page_->keepDraft();
  dropBench();
  headline_->show(nullptr);
  banner_->hide();
  setup_page_->showNothing();
  calibration_page_->leaveRig();
  goTo(kBench);
}

void MainWindow::showView() {
  const auto view = bench_->view();
  headline_->show(view);
  banner_->setVisible(view->virtual_rig);
  bench_page_->show(*view);
  setup_page_->follow(*view);
  calibration_page_->follow();
  setup_page_->setChangeBlocked(changeBlocked());
  followKeepClear(*view);
  // Releasing may be over between two views.
  if (heard_step_ == daq::Step::counting && (view->step == daq::Step::releasing || view->step == daq::Step::recording))
    doors_.sound(Tone::release);
  heard_step_ = view->step;
  if (page() == kClosing) close_panel_->follow(*view);
}

void MainWindow::followKeepClear(const daq::BenchView& view) {
  const bool now = view.headline == daq::Headline::keep_clear;
  if (now) keep_clear_page_->show(view);
  if (now == keep_clear_) return;
  if (now) before_keep_clear_ = page() == kClosing ? before_panel_ : page();
  keep_clear_ = now;
  rail_->setEnabled(!now);
  if (page() != kClosing) goTo(now ? kKeepClear : before_keep_clear_);
}

void MainWindow::showBenchCampaign() {
  if (bench_ == nullptr || campaign_ == bench_campaign_) return;
  if (auto source = doors_.campaign(bench_campaign_)) {
    campaign_ = bench_campaign_;
    source_ = std::move(*source);
    reload();
  }
}

void MainWindow::openCampaign(const std::filesystem::path& file) {
  auto source = doors_.campaign(file);
  goTo(kCampaign);
  if (!source) return campaign_page_->showComplaint(source.error());
  campaign_ = file;
  source_ = std::move(*source);
  trial_page_->keepDraft();
  trial_page_->showNothing();
  wanted_trial_.reset();
  reload();
}

void MainWindow::reload() {
  const auto source = source_;
  inBackground<CampaignRows>([source] { return source->rows(); },
                             [this](Result<CampaignRows> rows) {
                               if (!rows) return campaign_page_->showComplaint(rows.error());
                               campaign_page_->show(*rows);
                               flight_page_->showCampaignChanged();
                               if (trial_page_->number()) placeTrial(*trial_page_->number());
                             });
}

void MainWindow::fitChargePlan() {
  if (source_ == nullptr) return flight_page_->showPlanComplaint({"no campaign is open", "", "Open one on the Campaign page"});
  const auto source = source_;
  inBackground<PlanMade>(
      [source]() -> Result<PlanMade> {
        const auto rows = source->rows();
        if (!rows) return tl::unexpected{rows.error()};
        return charge_plan_of(*rows);
      },
      [this](Result<PlanMade> made) { made ? flight_page_->show(*made) : flight_page_->showPlanComplaint(made.error()); });
}

void MainWindow::openTrial(qlonglong number) {
  if (source_ == nullptr) return;
  goTo(kTrial);
  wanted_trial_ = number;
  trial_page_->showReading(number);
  placeTrial(number);
  const auto source = source_;
  inBackground<ReportTrial>([source, number] { return source->trial(number); },
                            [this, number](Result<ReportTrial> trial) {
                              if (wanted_trial_ != number) return;  // another was asked for meanwhile
                              if (!trial) return trial_page_->showComplaint(number, trial.error());
                              showTrial(*trial);
                            });
}

void MainWindow::showTrial(const ReportTrial& trial) {
  const qlonglong number = trial.row.number;
  trial_page_->show(trial);
  flight_page_->show(trial);
  trial_page_->setNotesBlocked(notesBlocked(number));
  placeTrial(number);
}

void MainWindow::placeTrial(qlonglong number) {
  const std::vector<qlonglong> all = campaign_page_->numbers();
  const auto here = std::find(all.begin(), all.end(), number);
  if (here == all.end()) return trial_page_->setNeighbours({}, {}, tr("trial %1").arg(number));
  trial_page_->setNeighbours(here == all.begin() ? std::nullopt : std::optional{*(here - 1)},
                             here + 1 == all.end() ? std::nullopt : std::optional{*(here + 1)},
                             tr("trial %1, %2 of %3").arg(number).arg(here - all.begin() + 1).arg(all.size()));
}

void MainWindow::closeEvent(QCloseEvent* event) {
  if (bench_ != nullptr && !closing_) {
    const auto view = bench_->view();
    if (!may_close(*view)) {
      event->ignore();
      if (page() != kClosing) {
        before_panel_ = page() == kChoosing ? kBench : page();
        close_panel_->ask(*view);
        goTo(kClosing);
      }
      return;
    }
  }
  trial_page_->keepDraft();
  bench_page_->keepDraft();
  event->accept();
}

}  // namespace coldstroke::gui
