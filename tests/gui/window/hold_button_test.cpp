// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/bench/hold_button.hpp"

#include <gtest/gtest.h>

#include <QSignalSpy>
#include <QTest>

namespace coldstroke::gui {
namespace {

// Long enough that a slow machine cannot finish it by itself between two lines of a test.
constexpr int kNeverMilliseconds = 600'000, kSoonMilliseconds = 40, kPatienceMilliseconds = 20'000;

class HoldButtonTest : public testing::Test {
 protected:
  HoldButtonTest() {
    button.setAction("Hold to charge to 7.0 bar", true);
    button.resize(200, 72);
    button.show();
    button.activateWindow();
    button.setFocus();
    EXPECT_TRUE(QTest::qWaitForWindowActive(&button));
  }
  HoldButton button;
  QSignalSpy confirmed{&button, &HoldButton::confirmed}, cancelled{&button, &HoldButton::cancelled};
};

TEST_F(HoldButtonTest, ConfirmsOnceWhenHeldToTheEnd) {
  button.setHoldMilliseconds(kSoonMilliseconds);
  QTest::mousePress(&button, Qt::LeftButton);
  ASSERT_TRUE(confirmed.wait(kPatienceMilliseconds));
  QTest::mouseRelease(&button, Qt::LeftButton);
  EXPECT_EQ(confirmed.size(), 1);
  EXPECT_EQ(cancelled.size(), 0);
}

TEST_F(HoldButtonTest, CancelsWhenLetGoEarly) {
  button.setHoldMilliseconds(kNeverMilliseconds);
  QTest::mousePress(&button, Qt::LeftButton);
  EXPECT_TRUE(button.holding());
  QTest::mouseRelease(&button, Qt::LeftButton);
  EXPECT_FALSE(button.holding());
  EXPECT_EQ(button.progress(), 0.0);
  EXPECT_EQ(confirmed.size(), 0);
  EXPECT_EQ(cancelled.size(), 1);
}

TEST_F(HoldButtonTest, CancelsWhenThePointerLeaves) {
  button.setHoldMilliseconds(kNeverMilliseconds);
  QTest::mousePress(&button, Qt::LeftButton);
  QMouseEvent move{QEvent::MouseMove, QPointF{-30.0, 5.0}, QPointF{}, Qt::NoButton, Qt::LeftButton, Qt::NoModifier};
  QApplication::sendEvent(&button, &move);
  EXPECT_EQ(cancelled.size(), 1);
}

TEST_F(HoldButtonTest, WorksWithTheKeyboard) {
  for (const Qt::Key key : {Qt::Key_Space, Qt::Key_Return, Qt::Key_Enter}) {
    confirmed.clear();
    cancelled.clear();
    button.setHoldMilliseconds(kNeverMilliseconds);
    QTest::keyPress(&button, key);
    EXPECT_TRUE(button.holding());
    QTest::keyRelease(&button, key);
    EXPECT_EQ(cancelled.size(), 1);
    button.setHoldMilliseconds(kSoonMilliseconds);
    QTest::keyPress(&button, key);
    EXPECT_TRUE(confirmed.wait(kPatienceMilliseconds));
    QTest::keyRelease(&button, key);
    EXPECT_EQ(confirmed.size(), 1);
  }
}

TEST_F(HoldButtonTest, TakesAutoRepeatForWhatItIs) {
  button.setHoldMilliseconds(kNeverMilliseconds);
  QTest::keyPress(&button, Qt::Key_Space);
  QKeyEvent repeated_release{QEvent::KeyRelease, Qt::Key_Space, Qt::NoModifier, " ", true};
  QApplication::sendEvent(&button, &repeated_release);
  EXPECT_TRUE(button.holding()) << "a repeated release is not a finger going up";
  QTest::keyRelease(&button, Qt::Key_Space);
  EXPECT_FALSE(button.holding());
  QKeyEvent repeated_press{QEvent::KeyPress, Qt::Key_Space, Qt::NoModifier, " ", true};
  QApplication::sendEvent(&button, &repeated_press);
  EXPECT_FALSE(button.holding()) << "a repeated press is not a new one";
}

TEST_F(HoldButtonTest, CancelsWhenTheActionChangesUnderTheFinger) {
  button.setHoldMilliseconds(kNeverMilliseconds);
  QTest::mousePress(&button, Qt::LeftButton);
  button.setAction("Hold to charge to 7.0 bar", true);
  EXPECT_TRUE(button.holding()) << "the same action again changes nothing";
  button.setAction("Hold to start the count", true);
  EXPECT_FALSE(button.holding());
}

TEST_F(HoldButtonTest, CancelsWhenItBecomesDisabledLosesFocusOrIsHidden) {
  button.setHoldMilliseconds(kNeverMilliseconds);
  QTest::mousePress(&button, Qt::LeftButton);
  button.setEnabled(false);
  EXPECT_EQ(cancelled.size(), 1);
  button.setEnabled(true);
  QTest::mousePress(&button, Qt::LeftButton);
  button.hide();
  EXPECT_EQ(cancelled.size(), 2);
  button.show();
  QTest::mousePress(&button, Qt::LeftButton);
  QFocusEvent out{QEvent::FocusOut};
  QApplication::sendEvent(&button, &out);
  EXPECT_EQ(cancelled.size(), 3);
  EXPECT_EQ(confirmed.size(), 0);
}

TEST_F(HoldButtonTest, DoesNothingWhileDisabled) {
  button.setEnabled(false);
  QTest::mousePress(&button, Qt::LeftButton);
  EXPECT_FALSE(button.holding());
}

TEST_F(HoldButtonTest, NeedsNoHoldForWhatMovesNoGas) {
  button.setAction("Begin trial 14", false);
  QTest::mousePress(&button, Qt::LeftButton);
  EXPECT_EQ(confirmed.size(), 1);
  EXPECT_FALSE(button.holding());
}

}  // namespace
}  // namespace coldstroke::gui
