// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QThreadPool>
#include <QWidget>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "analysis/result.hpp"
#include "daq/record/recalibration.hpp"
#include "daq/virtual_rig/process.hpp"
#include "gui/report/trial_source.hpp"
#include "gui/window/bench_source.hpp"
#include "gui/window/sound.hpp"

class QStackedWidget;
class QVBoxLayout;

namespace coldstroke::gui {

class BenchPage;
class CalibrationPage;
class CampaignPage;
class ClosePanel;
class DetectorPage;
class FlightPage;
class HeadlineBar;
class KeepClearPage;
class Rail;
class SetupPage;
class StartPage;
class TrialPage;
class HatchedBanner;

/// A running bench and the campaign file it writes to.
struct OpenedBench {
  std::unique_ptr<BenchSource> bench;
  std::filesystem::path campaign;
};

/// How the window gets at the world. `real_doors()` leads to it; tests bring their own.
struct WindowDoors {
  std::function<Result<OpenedBench>()> virtual_rig;
  std::function<Result<OpenedBench>(const std::filesystem::path& setup)> setup;
  /// Reads a setup and connects to nothing: what is in force is left only for one that loads.
  std::function<Result<daq::Setup>(const std::filesystem::path& setup)> check_setup;
  std::function<Result<std::shared_ptr<const TrialSource>>(const std::filesystem::path& campaign)> campaign;
  /// For a trial of a campaign that no bench is writing to.
  std::function<Result<void>(const std::filesystem::path& campaign, std::int64_t trial, const std::string& author,
                             const std::string& words)>
      add_note;
  std::function<Result<void>(const std::filesystem::path& campaign, std::int64_t trial, const std::string& person,
                             const std::string& reason)>
      void_trial;
  std::function<void(Tone)> sound;
  daq::VirtualRigProgram virtual_board{};  ///< to play recordings to
};
/// The virtual rig writes to virtual-rig.coldstroke in the person's documents; a setup's campaign lies beside the setup file.
[[nodiscard]] WindowDoors real_doors();

/// The window: state headline on top, pages by a rail on the left.
///
/// F12 and Pause abort from everywhere; B, T, C, D, F, K, S choose the page. No dialogue of its own ever covers the headline:
/// questions and file choosers fill the page instead. While nobody may go to the rig, that takes the page. Files are read on one
/// worker thread.
class MainWindow : public QWidget {
  Q_OBJECT
 public:
  enum Page { kBench, kTrial, kCampaign, kDetector, kFlight, kCalibration, kSetup, kStart, kClosing, kChoosing, kKeepClear };
  explicit MainWindow(WindowDoors doors, QWidget* parent = nullptr);
  ~MainWindow() override;

  void useBench(OpenedBench opened);
  void openVirtualRig();
  /// Refused while the rig is not proven vented.
  void openSetup(const std::filesystem::path& file);
  void leaveRig();
  void openCampaign(const std::filesystem::path& file);
  void openTrial(qlonglong number);
  void fitChargePlan();  ///< of the open campaign, in the background; the flight page shows it
  void goTo(Page page);
  void abort();
  [[nodiscard]] Page page() const;
  /// Whether the worker is still reading.
  [[nodiscard]] bool busy() const { return jobs_ > 0; }
  [[nodiscard]] HeadlineBar* headline() const { return headline_; }
  [[nodiscard]] QSize sizeHint() const override { return {1280, 800}; }

 Q_SIGNALS:
  void idle();  ///< the worker has delivered everything asked for

 protected:
  bool eventFilter(QObject* watched, QEvent* event) override;
  void closeEvent(QCloseEvent* event) override;

 private:
  void build();
  void connectPages();
  void followDesktop();
  void connectBenchPages();
  void connectFiles();
  void showView();
  void followKeepClear(const daq::BenchView& view);
  [[nodiscard]] QString changeBlocked() const;
  void dropBench();
  void showBenchCampaign();
  void reload();
  void showTrial(const ReportTrial& trial);
  void placeTrial(qlonglong number);
  void keepCalibration(const daq::CalibrationRecord& record);
  void rejudgeTrials(const daq::Recalibration& correction);
  void voidTrial(qlonglong number, const QString& person, const QString& reason);
  void keepNote(qlonglong number, const QString& words);
  [[nodiscard]] QString notesBlocked(qlonglong number) const;
  void choose(const QString& title, const QString& filter, std::function<void(const std::filesystem::path&)> then,
              bool to_write = false);
  void writeReport(std::optional<qlonglong> number);
  /// Runs `work` on the worker; `then` in this thread unless the window has gone on to another campaign meanwhile.
  template <class T>
  void inBackground(std::function<Result<T>()> work, std::function<void(Result<T>)> then);

  WindowDoors doors_;
  std::unique_ptr<BenchSource> bench_;
  std::filesystem::path bench_campaign_, campaign_;
  std::shared_ptr<const TrialSource> source_;
  std::optional<qlonglong> wanted_trial_;
  QThreadPool worker_;
  int jobs_ = 0;
  bool closing_ = false;
  bool following_ = false;
  bool keep_clear_ = false;
  daq::Step heard_step_ = daq::Step::idle;
  Page before_panel_ = kStart, before_keep_clear_ = kBench;

  HeadlineBar* headline_;
  HatchedBanner* banner_;
  Rail* rail_;
  QStackedWidget* pages_;
  BenchPage* bench_page_;
  TrialPage* trial_page_;
  CampaignPage* campaign_page_;
  DetectorPage* detector_page_;
  StartPage* start_page_;
  ClosePanel* close_panel_;
  QWidget* chooser_;
  FlightPage* flight_page_;
  CalibrationPage* calibration_page_;
  SetupPage* setup_page_;
  KeepClearPage* keep_clear_page_;
};

template <class T>
void MainWindow::inBackground(std::function<Result<T>()> work, std::function<void(Result<T>)> then) {
  ++jobs_;
  worker_.start([this, work = std::move(work), then = std::move(then), asked_of = source_] {
    auto done = std::make_shared<Result<T>>(work());
    QMetaObject::invokeMethod(this, [this, done, then, asked_of] {
      --jobs_;
      if (asked_of == source_) then(std::move(*done));
      if (jobs_ == 0) Q_EMIT idle();
    });
  });
}

/// The person at the keyboard, for notes: the login name, or "operator".
[[nodiscard]] QString note_author();

}  // namespace coldstroke::gui
