// SPDX-License-Identifier: GPL-3.0-or-later
//
// The Calibration page by keyboard and mouse: points by hand and captured, the record that is asked for, what it says of bad
// ones.
#include <gmock/gmock.h>

#include <QApplication>
#include <QDoubleSpinBox>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>
#include <QSignalSpy>
#include <QTest>

#include "gui/window/calibration/calibration_page.hpp"
#include "gui/window/calibration/point_table.hpp"
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

TEST_F(Calibrating, EveryControlIsReachedByTheKeyboard) {
  for (const char* name : {"calibration_channel", "capture_point", "add_point", "remove_point", "take_tare", "save_calibration",
                           "rejudge_trials", "calibration_who"}) {
    ASSERT_NE(child<QWidget>(name), nullptr) << name;
    EXPECT_TRUE(child<QWidget>(name)->focusPolicy() & Qt::TabFocus) << name;
  }
}

}  // namespace
}  // namespace coldstroke::gui
