// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/campaign/campaign_page.hpp"

#include <gmock/gmock.h>

#include <QComboBox>
#include <QLabel>
#include <QSignalSpy>
#include <QTableView>
#include <QTest>
#include <cmath>

#include "gui/window/campaign/dot_strip.hpp"
#include "gui/window/campaign/trial_list_model.hpp"
#include "gui/window/look.hpp"
#include "tests/gui/invented_trial.hpp"

namespace coldstroke::gui {
namespace {

class CampaignPageTest : public testing::Test {
 protected:
  CampaignPageTest() {
    page.setPalette(light_look().palette());
    page.resize(1200, 700);
    page.QWidget::show();
    page.show(invented_campaign());
    page.grab();
  }
  CampaignPage page;
};

TEST_F(CampaignPageTest, CountsWhatWasShownInOneSentence) {
  EXPECT_EQ(page.findChild<QLabel*>("campaign_sentence")->text(),
            "20 of 22 judged trials passed, 2 failed; 1 void (neither passed nor failed); 1 aborted.");
}

TEST_F(CampaignPageTest, HasOneRowAndOneShapeATrial) {
  EXPECT_EQ(page.table()->model()->rowCount(), 24);
  EXPECT_EQ(page.strip()->dots().size(), 24U);
  EXPECT_FALSE(page.strip()->dots()[8].value) << "the aborted trial has no latency";
}

TEST_F(CampaignPageTest, KeepsOneFarOffTrialFromFlatteningTheOthers) {
  const DotStrip& strip = *page.strip();
  const double far = strip.place(strip.dots()[16]).y(), low = strip.place(strip.dots()[0]).y(),
               other = strip.place(strip.dots()[1]).y();
  EXPECT_EQ(*strip.dots()[16].value, 1840.0);
  EXPECT_GE(far, 0.0) << "on the edge, not outside the picture";
  EXPECT_GT(std::abs(low - other), 3.0) << "17 ms and 19 ms can be told apart beside 1840 ms";
}

TEST_F(CampaignPageTest, ShowsTheChosenMetric) {
  auto* metric = page.findChild<QComboBox*>("campaign_metric");
  metric->setCurrentIndex(metric->findData("peak_acceleration_g"));
  EXPECT_NEAR(*page.strip()->dots()[4].value, 43.1, 1e-9);
}

TEST_F(CampaignPageTest, OpensATrialByEnterAndByDoubleClick) {
  QSignalSpy wanted{&page, &CampaignPage::trialWanted};
  const QModelIndex third = page.table()->model()->index(2, TrialListModel::kNumber);
  page.table()->setCurrentIndex(third);
  QTest::keyClick(page.table(), Qt::Key_Return);
  ASSERT_EQ(wanted.size(), 1);
  EXPECT_EQ(wanted[0][0].toLongLong(), 22) << "newest first";
  const QPoint at = page.table()->visualRect(page.table()->model()->index(0, TrialListModel::kNumber)).center();
  QTest::mouseDClick(page.table()->viewport(), Qt::LeftButton, Qt::NoModifier, at);
  ASSERT_EQ(wanted.size(), 2);
  EXPECT_EQ(wanted[1][0].toLongLong(), 24);
}

TEST_F(CampaignPageTest, ChoosesTheTrialWhoseShapeIsClicked) {
  const DotStrip::Dot& dot = page.strip()->dots()[4];
  QTest::mouseClick(page.strip(), Qt::LeftButton, Qt::NoModifier, page.strip()->place(dot).toPoint());
  EXPECT_EQ(page.table()->model()->index(page.table()->currentIndex().row(), TrialListModel::kNumber).data().toString(), "5");
}

TEST_F(CampaignPageTest, SortsNumbersAsNumbers) {
  page.table()->sortByColumn(TrialListModel::kLatency, Qt::DescendingOrder);
  EXPECT_EQ(page.table()->model()->index(0, TrialListModel::kNumber).data().toString(), "17");
  page.table()->sortByColumn(TrialListModel::kNumber, Qt::AscendingOrder);
  EXPECT_EQ(page.table()->model()->index(9, TrialListModel::kNumber).data().toString(), "10");
}

TEST_F(CampaignPageTest, StaysUsefulWithNoneOneAndIdenticalTrials) {
  page.show({"/demo/empty.coldstroke", "Empty", {}});
  page.grab();
  EXPECT_EQ(page.findChild<QLabel*>("campaign_sentence")->text(), "No trial yet.");
  page.show({"/demo/one.coldstroke", "One", {invented_trial()}});
  page.grab();
  page.show({"/demo/same.coldstroke", "Same", {invented_trial({.number = 1}), invented_trial({.number = 2})}});
  page.grab();
  EXPECT_EQ(page.findChild<QLabel*>("campaign_sentence")->text(), "2 of 2 judged trials passed, 0 failed.");
}

TEST_F(CampaignPageTest, SaysWhatIsWrongWithAFile) {
  page.showComplaint({"The file is no campaign.", "/demo/x.coldstroke", "Choose a file that Coldstroke wrote."});
  EXPECT_THAT(page.findChild<QLabel*>("campaign_message")->text().toStdString(),
              testing::HasSubstr("Choose a file that Coldstroke wrote."));
}

}  // namespace
}  // namespace coldstroke::gui
