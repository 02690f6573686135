// SPDX-License-Identifier: GPL-3.0-or-later
//
// The Calibration page by keyboard and mouse: points by hand and captured, the record that is asked for, what it says of bad
// ones.
#include <gmock/gmock.h>

#include <QApplication>
#include <QComboBox>
#include <QDoubleSpinBox>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>
#include <QSignalSpy>
#include <QTest>

#include "daq/record/trial_archive.hpp"
#include "gui/window/calibration/calibration_page.hpp"
#include "gui/window/calibration/point_table.hpp"
#include "tests/daq/record/fresh_folder.hpp"
#include "tests/gui/commands/run_program.hpp"
#include "tests/gui/invented_bench.hpp"

namespace coldstroke::gui {
namespace {

using testing::HasSubstr;

class Calibrating : public testing::Test {
 protected:
  Calibrating() {
    page.setSetup(invented_setup(), [this](std::size_t) { return history; });
    page.show();
  }
  void append(double newtons) {
    const std::vector<double> samples(1000, newtons);  // a tenth of a second at 10 kHz
    history->append(next, static_cast<double>(next) * 1.0e-4, samples);
    next += samples.size();
    page.follow();
  }
  void point(double load, double counts) {
    child<QDoubleSpinBox>("applied_load")->setValue(load);
    child<QDoubleSpinBox>("hand_counts")->setValue(counts);
    QTest::keyClick(child<QPushButton>("add_point"), Qt::Key_Space);
  }
  std::string said(const char* label) { return child<QLabel>(label)->text().toStdString(); }
  template <class Widget>
  Widget* child(const char* name) {
    return page.findChild<Widget*>(name);
  }
  std::shared_ptr<daq::History> history = std::make_shared<daq::History>(100'000, 1.0e-4);
  std::uint64_t next = 0;
  CalibrationPage page;
};

TEST_F(Calibrating, PointsByHandGiveACurveAndARecord) {
  QSignalSpy saved{&page, &CalibrationPage::saveWanted};
  point(0.0, 5.0);
  EXPECT_THAT(said("calibration_said"), HasSubstr("too few"));
  point(500.0, 2'000'010.0);
  point(1000.0, 4'000'001.0);
  EXPECT_EQ(said("calibration_said"), "");
  EXPECT_THAT(said("calibration_numbers"), HasSubstr("static force only"));
  child<QLineEdit>("calibration_who")->setText("Mira");
  child<QLineEdit>("calibration_reference")->setText("weights");
  child<QLineEdit>("calibration_valid_until")->setText("2027-06-30");
  child<QLineEdit>("calibration_reason")->setText("yearly");
  child<QPushButton>("save_calibration")->click();
  ASSERT_EQ(saved.size(), 1);
  const auto record = saved.front().front().value<daq::CalibrationRecord>();
  EXPECT_EQ(record.channel, "force");
  EXPECT_EQ(record.who, "Mira");
  EXPECT_NEAR(record.curve.coefficients()[1], 4000.0, 0.01);
}

TEST_F(Calibrating, LoadsThatDoNotDifferAreRefusedWithTheReason) {
  for (int k = 0; k < 3; ++k) point(5.0, 100.0 + k);
  EXPECT_THAT(said("calibration_said"), HasSubstr("different loads"));
  auto* points = child<PointTable>("calibration_points");
  QTest::keyClick(points, Qt::Key_Delete);
  EXPECT_EQ(points->points().size(), 2U);
}

TEST_F(Calibrating, AnAverageCountsOnlyWhatComesAfterTheButton) {
  for (int k = 0; k < 10; ++k) append(100.0);
  child<QDoubleSpinBox>("capture_seconds")->setValue(0.5);
  child<QDoubleSpinBox>("applied_load")->setValue(200.0);
  child<QPushButton>("capture_point")->click();
  const auto& points = child<PointTable>("calibration_points")->points();
  for (int k = 0; k < 4; ++k) append(200.0);
  EXPECT_TRUE(points.empty());
  append(200.0);
  ASSERT_EQ(points.size(), 1U);
  EXPECT_EQ(points[0].samples, 5000);
  EXPECT_NEAR(points[0].reading, invented_setup().channels[0].calibration.counts(200.0), 1.0e-3);
  EXPECT_DOUBLE_EQ(points[0].applied, 200.0);
}

TEST_F(Calibrating, AReadingAtTheEndOfTheRangeIsNoPoint) {
  for (int k = 0; k < 10; ++k) append(-2000.0);
  child<QPushButton>("capture_point")->click();
  for (int k = 0; k < 10; ++k) append(-2000.0);
  EXPECT_TRUE(child<PointTable>("calibration_points")->points().empty());
  EXPECT_THAT(said("calibration_said"), HasSubstr("broken wire"));
}

TEST_F(Calibrating, AShuntStepThatIsOffIsNotKept) {
  QSignalSpy saved{&page, &CalibrationPage::saveWanted};
  for (const double load : {0.0, 500.0, 1000.0}) point(load, 4000.0 * load + 3.0);
  child<QDoubleSpinBox>("shunt_expected")->setValue(1.0e6);
  child<QDoubleSpinBox>("shunt_seen")->setValue(1.3e6);
  child<QPushButton>("save_calibration")->click();
  EXPECT_TRUE(saved.empty());
  EXPECT_THAT(said("calibration_said"), HasSubstr("shunt"));
}

TEST_F(Calibrating, AReadingComesBackAsALoadWithItsUncertaintyAndSaysWhereItIsExtrapolated) {
  for (const auto& [load, counts] : {std::pair{0.0, 10.0}, {500.0, 2'000'900.0}, {1000.0, 3'999'500.0}, {500.0, 1'999'200.0}})
    point(load, counts);
  // By hand: slope 3999.49, scatter 875.2 counts on 2 degrees of freedom (t 4.303), 1/4 + 250^2/500000 of its variance for the
  // line.
  child<QDoubleSpinBox>("hand_counts")->setValue(1'000'000.0);
  EXPECT_THAT(said("calibration_inverse"), testing::AllOf(HasSubstr("1000000.0 counts are 250.0 ± 1.1 N (95 %"),
                                                          HasSubstr("scatter"), testing::Not(HasSubstr("extrapolated"))));
  child<QDoubleSpinBox>("hand_counts")->setValue(8'000'000.0);
  EXPECT_THAT(said("calibration_inverse"), HasSubstr("beyond the points: extrapolated"));
}

TEST_F(Calibrating, PointsOnTheLineStandOnTheCountAndTheReference) {
  for (const double load : {0.0, 500.0, 1000.0}) point(load, 4000.0 * load + 3.0);
  EXPECT_THAT(said("calibration_numbers"),
              testing::AllOf(HasSubstr("noise and resolution"), HasSubstr("not stated"), testing::Not(HasSubstr("0.000000000"))));
  child<QDoubleSpinBox>("reference_uncertainty")->setValue(0.5);
  EXPECT_THAT(said("calibration_numbers"),
              testing::AllOf(HasSubstr("Gain uncertainty 0.50 %"), HasSubstr("the reference's 0.50 %")));
  child<QDoubleSpinBox>("hand_counts")->setValue(2'000'003.0);
  EXPECT_THAT(said("calibration_inverse"), HasSubstr("500.0 ± 4.9 N (95 %, mostly from the reference)"));
}

TEST_F(Calibrating, ATareIsTakenOffTheLiveReadingAndNothingElse) {
  for (int k = 0; k < 10; ++k) append(100.0);
  child<QPushButton>("take_tare")->click();
  EXPECT_THAT(said("calibration_said"), HasSubstr("Tared at"));
  for (int k = 0; k < 10; ++k) append(150.0);
  EXPECT_THAT(said("calibration_live"), testing::AllOf(HasSubstr("; 50.0"), HasSubstr("N from tare")));
  EXPECT_TRUE(child<PointTable>("calibration_points")->points().empty());
}

TEST_F(Calibrating, ACalibrationThatHasExpiredSaysSo) {
  daq::Setup old = invented_setup();
  EXPECT_THAT(said("calibration_history"), testing::Not(HasSubstr("EXPIRED")));
  old.channels[0].calibration.valid_until = "2020-01-31";
  page.setSetup(old, [this](std::size_t) { return history; });
  EXPECT_THAT(said("calibration_history"), HasSubstr("valid until 2020-01-31, EXPIRED by"));
}

TEST(CalibratingInTheWindow, TheOpenCampaignIsJudgedAgainInOneActionAndTheOldResultsStay) {
  const daq::FreshFolder folder;
  const auto file = folder / "trials.coldstroke";
  ASSERT_EQ(run_program(folder.path(), "eject --virtual --seed 8 --json --campaign " + file.string()).code, 0);
  MainWindow window{real_doors()};
  window.show();
  window.openCampaign(file);
  window.goTo(MainWindow::kCalibration);
  auto* page = window.findChild<CalibrationPage*>();
  page->setSetup(invented_setup(), {});
  for (const double load : {0.0, 500.0, 1000.0, 1500.0})  // bent, and twice as many counts a newton as the trial's own
    window.findChild<PointTable*>()->add({load, 8388.608 * load + 0.2 * load * load, 2.0, 100, false});
  window.findChild<QComboBox*>("calibration_model")->setCurrentIndex(1);
  window.findChild<QLineEdit*>("calibration_who")->setText("Mira");
  const auto* answer = window.findChild<QLabel*>("calibration_said");
  const auto says = [&](const char* words) { return QTest::qWaitFor([&] { return answer->text().contains(words); }, 60'000); };
  auto* judge = window.findChild<QPushButton*>("rejudge_trials");
  judge->click();
  EXPECT_TRUE(says("no reason")) << answer->text().toStdString();
  EXPECT_EQ(daq::Campaign::open_read_only(file)->results(1)->size(), 1U) << "nothing is written without a reason";
  window.findChild<QLineEdit*>("calibration_reason")->setText("the cell is bent");
  judge->click();
  ASSERT_TRUE(says("Trials judged again: 1. The old results stay")) << answer->text().toStdString();
  const auto campaign = daq::Campaign::open_read_only(file);
  ASSERT_EQ(campaign->results(1)->size(), 2U);
  EXPECT_EQ(campaign->results(1)->front().verdict, "pass");
  const auto corrections = daq::recalibrations(*campaign, 1);
  ASSERT_TRUE(corrections);
  ASSERT_EQ(corrections->size(), 1U);
  EXPECT_GT(corrections->front().calibration.curvature, 1.0e-5);
  EXPECT_EQ(daq::result_json(daq::judge_trial(*campaign, 1)->result), campaign->results(1)->back().json);
}

TEST_F(Calibrating, EveryControlIsReachedByTheKeyboard) {
  for (const char* name : {"calibration_channel", "capture_point", "add_point", "remove_point", "take_tare", "save_calibration",
                           "rejudge_trials", "calibration_who"}) {
    ASSERT_NE(child<QWidget>(name), nullptr) << name;
    EXPECT_TRUE(child<QWidget>(name)->focusPolicy() & Qt::TabFocus) << name;
  }
}

}  // namespace
}  // namespace coldstroke::gui
