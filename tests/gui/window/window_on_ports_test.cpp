// SPDX-License-Identifier: GPL-3.0-or-later
//
// The real window on two named ports, as on a real rig: a virtual rig runs as a process that the window knows nothing of, two
// people sign by mouse and keyboard, and then things break.
#include <gmock/gmock.h>
#include <signal.h>

#include <QApplication>
#include <QDoubleSpinBox>
#include <QElapsedTimer>
#include <QLabel>
#include <QLineEdit>
#include <QPlainTextEdit>
#include <QProcess>
#include <QPushButton>
#include <QSignalSpy>
#include <QTemporaryDir>
#include <QTest>
#include <fstream>

#include "gui/window/bench/bench_page.hpp"
#include "gui/window/bench/headline_bar.hpp"
#include "gui/window/bench/tick_box.hpp"
#include "gui/window/calibration/point_table.hpp"
#include "gui/window/look.hpp"
#include "gui/window/main_window.hpp"
#include "tests/gui/window/bench_until.hpp"

namespace coldstroke::gui {
namespace {

using daq::Step;
using testing::HasSubstr;

constexpr int kPatienceMilliseconds = 150'000;

class WindowOnPorts : public testing::Test {
 protected:
  WindowOnPorts() {
    QApplication::setPalette(light_look().palette());
    WindowDoors doors = real_doors();
    doors.setup = [inner = doors.setup, this](const std::filesystem::path& file) {
      auto opened = inner(file);
      if (opened) bench = opened->bench.get();
      return opened;
    };
    doors.sound = [this](Tone tone) { tones.push_back(tone); };
    window = std::make_unique<MainWindow>(std::move(doors));
    window->resize(1280, 800);
    window->show();
  }
  ~WindowOnPorts() override {
    window.reset();
    end(rig);
  }
  static void end(QProcess& process) {
    if (process.state() == QProcess::NotRunning) return;
    process.kill();
    process.waitForFinished(kPatienceMilliseconds);
  }
  void startRig() {
    rig.setProcessChannelMode(QProcess::ForwardedErrorChannel);
    const QString ports = folder.filePath("ports");
    QFile::remove(ports);
    rig.start(COLDSTROKE_PROGRAM, {"virtual", "--rig-link", folder.filePath("rig"), "--flight-link", folder.filePath("flight"),
                                   "--ports-file", ports});
    ASSERT_TRUE(rig.waitForStarted(kPatienceMilliseconds));
    QElapsedTimer waited;
    waited.start();
    while (!QFile::exists(ports) && waited.elapsed() < kPatienceMilliseconds) rig.waitForReadyRead(50);
    ASSERT_TRUE(QFile::exists(ports));
  }
  std::filesystem::path writeSetup(const QString& rig_port, const QString& flight_port) {
    QString words = text(daq::virtual_setup_text());
    words.replace("\nrig = \"\"", "\nrig = \"" + rig_port + "\"");
    words.replace("\nflight = \"\"", "\nflight = \"" + flight_port + "\"");
    // A busy machine holds bytes back; clocks are judged elsewhere.
    words.replace("alignment_limit_milliseconds = 0.5", "alignment_limit_milliseconds = 20.0");
    const auto file = std::filesystem::path{folder.filePath("rig.toml").toStdString()};
    std::ofstream{file} << words.toStdString();
    return file;
  }
  std::filesystem::path linkedSetup() { return writeSetup(folder.filePath("rig"), folder.filePath("flight")); }
  bool until(const std::function<bool(const daq::BenchView&)>& done) { return bench_until(*bench, done, kPatienceMilliseconds); }
  template <class Widget>
  Widget* child(const QString& name) {
    auto* found = window->findChild<Widget*>(name);
    EXPECT_NE(found, nullptr) << name.toStdString();
    return found;
  }
  // Waits until the bench lets the next action be, and the window offers it.
  bool offered(daq::OperatorRequest request) {
    const bool may = until([&](const daq::BenchView& view) { return view.next.enabled && view.next.request == request; });
    QApplication::processEvents();
    return may;
  }
  void press() {
    HoldButton* next = window->findChild<BenchPage*>()->nextAction();
    ASSERT_TRUE(next->isEnabled()) << child<QLabel>("why_not")->text().toStdString();
    QSignalSpy confirmed{next, &HoldButton::confirmed};
    QTest::mousePress(next, Qt::LeftButton);
    ASSERT_TRUE(!confirmed.isEmpty() || confirmed.wait(kPatienceMilliseconds));
    QTest::mouseRelease(next, Qt::LeftButton);
  }
  void signAs(int role, const char* name) {
    for (TickBox* tick : window->findChildren<TickBox*>())
      if (tick->objectName().startsWith(QStringLiteral("tick_%1_").arg(role))) QTest::mouseClick(tick, Qt::LeftButton);
    auto* field = child<QLineEdit>(QStringLiteral("signer_%1").arg(role));
    QTest::keyClicks(field, name);
    QTest::keyClick(field, Qt::Key_Return);
    ASSERT_TRUE(until([&](const daq::BenchView& view) {
      return !view.checklist.roles[static_cast<std::size_t>(role)].name.empty();
    })) << child<QLabel>("checklist_complaint")->text().toStdString();
  }
  // Up to the charge, all by the window.
  void prepareAndCharge() {
    ASSERT_TRUE(offered(daq::OperatorRequest::begin)) << bench->view()->next.why_not;
    press();
    ASSERT_TRUE(until([](const daq::BenchView& view) { return view.checklist.open; }));
    QApplication::processEvents();
    signAs(0, "A. Moreau");
    signAs(1, "B. Okafor");
    // whoever asks, the window or not: without a pressure typed for this trial there is no charge
    EXPECT_TRUE(until([](const daq::BenchView& view) {
      return view.next.why_not.starts_with("target pressure: reads not typed");
    })) << bench->view()->next.why_not;
    bench->request(daq::OperatorRequest::charge);
    EXPECT_TRUE(until([](const daq::BenchView& view) {
      return !view.log.empty() && view.log.back().text.find("not charging: target pressure") != std::string::npos;
    }));
    EXPECT_EQ(bench->view()->step, Step::checks);
    QTest::keyClicks(child<QLineEdit>("target_pressure"), "8.0");
    QTest::keyClick(child<QLineEdit>("target_pressure"), Qt::Key_Return);
    ASSERT_TRUE(until([](const daq::BenchView& view) { return view.typed_target_pascals.has_value(); }));
    ASSERT_TRUE(offered(daq::OperatorRequest::charge)) << bench->view()->next.why_not;
    press();
    ASSERT_TRUE(until([](const daq::BenchView& view) { return view.step == Step::settling; }));
  }
  std::string log() { return child<QPlainTextEdit>("log")->toPlainText().toStdString(); }
  std::string linkWords() {
    std::string words;
    for (const QLabel* label : child<QWidget>("links")->findChildren<QLabel*>()) words += label->text().toStdString() + "\n";
    return words;
  }
  // Laying out anew takes a few turns of the event loop after the words have changed.
  bool everyWordShown() {
    const auto labels = window->findChildren<QLabel*>();
    return std::ranges::all_of(labels, [](const QLabel* label) {
      return !label->isVisible() || !label->wordWrap() || label->text().isEmpty() ||
             label->height() >= label->heightForWidth(label->width());
    });
  }
  void picture(const char* name) {
    EXPECT_TRUE(until([this](const daq::BenchView&) { return everyWordShown(); }));
    window->grab().save(QStringLiteral(COLDSTROKE_SCREENSHOTS "/%1.png").arg(name));
  }

  QTemporaryDir folder;
  QProcess rig;
  std::vector<Tone> tones;
  std::unique_ptr<MainWindow> window;
  BenchSource* bench = nullptr;
};

TEST_F(WindowOnPorts, TwoPeopleRunATrialToItsVerdict) {
  startRig();
  window->openSetup(linkedSetup());
  ASSERT_NE(bench, nullptr);
  EXPECT_FALSE(child<QWidget>("virtual_banner")->isVisible()) << "nothing tells the window that this rig is no real one";
  prepareAndCharge();
  ASSERT_TRUE(offered(daq::OperatorRequest::count)) << bench->view()->next.why_not;
  QSignalSpy finished{bench, &BenchSource::trialFinished};
  press();
  ASSERT_TRUE(until([&](const daq::BenchView& view) { return !finished.isEmpty() && view.last.has_value(); }));
  EXPECT_NE(bench->view()->last->verdict, "aborted") << log();
  EXPECT_THAT(log(), HasSubstr("operator: A. Moreau signed all 9 items"));
  EXPECT_THAT(log(), HasSubstr("range officer: B. Okafor signed all 9 items"));
  EXPECT_THAT(log(), HasSubstr("target pressure typed: 8.00 bar gauge"));
  EXPECT_THAT(tones, testing::Contains(Tone::second));
  EXPECT_THAT(tones, testing::Contains(Tone::release));
  picture("ports_bench");
}

TEST_F(WindowOnPorts, AChannelIsCalibratedFromWhatItSends) {
  startRig();
  const auto file = linkedSetup();
  QString words;
  {
    QFile in{QString::fromStdString(file.string())};
    ASSERT_TRUE(in.open(QIODevice::ReadOnly));
    words = QString::fromUtf8(in.readAll());
  }
  words.replace("[rig]\n", "[rig]\ncalibration_file = \"records.toml\"\n");
  std::ofstream{file} << words.toStdString();
  std::ofstream{folder.filePath("records.toml").toStdString()};
  window->openSetup(file);
  ASSERT_NE(bench, nullptr);
  window->goTo(MainWindow::kCalibration);
  child<QDoubleSpinBox>("capture_seconds")->setValue(0.3);
  auto* points = window->findChild<PointTable*>();
  ASSERT_TRUE(until([&](const daq::BenchView&) { return child<QLabel>("calibration_live")->text().contains("counts"); }));
  QTest::mouseClick(child<QPushButton>("capture_point"), Qt::LeftButton);
  ASSERT_TRUE(until([&](const daq::BenchView&) { return points->points().size() == 1; }))
      << child<QLabel>("calibration_said")->text().toStdString();
  EXPECT_EQ(points->points()[0].samples, 3000) << "10 kHz over 0.3 s";
  EXPECT_GT(points->points()[0].reading_standard_deviation, 0.0) << "a live channel scatters";
  const double rest = points->points()[0].reading;
  for (const double load : {500.0, 1000.0}) {
    child<QDoubleSpinBox>("applied_load")->setValue(load);
    child<QDoubleSpinBox>("hand_counts")->setValue(rest + 4200.0 * load);
    QTest::mouseClick(child<QPushButton>("add_point"), Qt::LeftButton);
  }
  child<QLineEdit>("calibration_who")->setText("A. Moreau");
  child<QLineEdit>("calibration_reference")->setText("weights");
  child<QLineEdit>("calibration_valid_until")->setText("2098-06-30");
  child<QLineEdit>("calibration_reason")->setText("yearly");
  child<QPushButton>("save_calibration")->click();
  EXPECT_THAT(child<QLabel>("calibration_said")->text().toStdString(), HasSubstr("Kept"));
  const auto loaded = daq::load_setup(file);
  ASSERT_TRUE(loaded) << loaded.error().what;
  EXPECT_NEAR(loaded->channels[0].calibration.scale, 1.0 / 4200.0, 1.0e-7);
  EXPECT_EQ(loaded->channels[0].calibration.valid_until, "2098-06-30");
}

TEST_F(WindowOnPorts, ARigThatDiesInATrialIsSaidAndAReturnGoesOn) {
  startRig();
  window->openSetup(linkedSetup());
  prepareAndCharge();
  ::kill(static_cast<pid_t>(rig.processId()), SIGKILL);
  rig.waitForFinished(kPatienceMilliseconds);
  ASSERT_TRUE(until([](const daq::BenchView& view) {
    return view.headline != daq::Headline::pressurised && view.headline != daq::Headline::release_enabled &&
           !view.links[0].talking;
  })) << daq::word(bench->view()->headline);
  QApplication::processEvents();
  EXPECT_NE(window->headline()->stateWords(), "SAFE");
  EXPECT_THAT(linkWords(), HasSubstr("✗"));
  picture("rig_died");
  const std::string said = linkWords() + log();
  EXPECT_TRUE(said.find("lost") != std::string::npos || said.find("gone") != std::string::npos) << said;
  EXPECT_FALSE(window->close()) << "not proven vented: the window asks first";
  QTest::mouseClick(child<QAbstractButton>("close_stay"), Qt::LeftButton);
  startRig();
  EXPECT_TRUE(until([](const daq::BenchView& view) { return view.links[0].talking && view.links[1].talking; })) << linkWords();
}

TEST_F(WindowOnPorts, AWrongPortIsNamedWithWhatToDoAndNothingCanBeCharged) {
  window->openSetup(writeSetup("/dev/no-such-rig", "/dev/null"));
  ASSERT_NE(bench, nullptr);
  ASSERT_TRUE(until([](const daq::BenchView& view) { return !view.links[0].trouble.empty() && !view.links[1].trouble.empty(); }));
  QApplication::processEvents();
  EXPECT_THAT(linkWords(), HasSubstr("/dev/no-such-rig"));
  EXPECT_EQ(window->headline()->stateWords(), "NOT KNOWN");
  EXPECT_FALSE(window->findChild<BenchPage*>()->nextAction()->isEnabled());
  EXPECT_THAT(child<QLabel>("why_not")->text().toStdString(), HasSubstr("Not yet: "));
  picture("wrong_port");
  EXPECT_TRUE(window->close()) << "no rig was ever seen";
}

TEST_F(WindowOnPorts, ASetupNamedWithoutAFolderIsOpenedAndItsCampaignLiesBesideIt) {
  const std::filesystem::path file = writeSetup("/dev/no-such-rig", "/dev/no-such-flight"),
                              before = std::filesystem::current_path();
  std::filesystem::current_path(file.parent_path());
  window->openSetup(file.filename());
  std::filesystem::current_path(before);
  ASSERT_NE(bench, nullptr) << child<QLabel>("setup_complaint")->text().toStdString();
  EXPECT_EQ(window->page(), MainWindow::kBench);
  EXPECT_TRUE(std::filesystem::exists(std::filesystem::path{file}.replace_extension(".coldstroke")));
}

}  // namespace
}  // namespace coldstroke::gui
