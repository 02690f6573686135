// SPDX-License-Identifier: GPL-3.0-or-later
//
// The campaign page on a campaign that the program itself made on the virtual rig: every tab does its work.
#include <gmock/gmock.h>

#include <QComboBox>
#include <QDir>
#include <QDoubleSpinBox>
#include <QLabel>
#include <QLineEdit>
#include <QProcess>
#include <QPushButton>
#include <QSignalSpy>
#include <QSpinBox>
#include <QTabWidget>
#include <QTableView>
#include <QTableWidget>
#include <QTemporaryDir>
#include <QTest>
#include <filesystem>
#include <fstream>

#include "daq/record/campaign.hpp"
#include "daq/setup/flight_configuration.hpp"
#include "gui/report/campaign_file_source.hpp"
#include "gui/report/evidence_words.hpp"
#include "gui/window/campaign/campaign_page.hpp"
#include "gui/window/campaign/trial_list_model.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {
namespace {

constexpr int kPatienceMilliseconds = 60'000, kTrials = 3;

/// Made once, copied for each test.
const QString& made_campaign() {
  static const QTemporaryDir folder;
  static const QString file = [] {
    const QString name = folder.filePath("larch.coldstroke");
    QProcess program;
    program.start(COLDSTROKE_PROGRAM,
                  {"eject", "--virtual", "--seed", "5", "--trials", QString::number(kTrials), "--campaign", name});
    EXPECT_TRUE(program.waitForFinished(2 * kPatienceMilliseconds));
    EXPECT_LE(program.exitCode(), 2) << program.readAllStandardError().toStdString();
    return name;
  }();
  return file;
}

class CampaignEvidence : public testing::Test {
 protected:
  CampaignEvidence() : file{folder.filePath("larch.coldstroke").toStdString()} {
    std::filesystem::copy_file(made_campaign().toStdString(), file);
    page.setPalette(light_look().palette());
    page.resize(1200, 760);
    page.QWidget::show();
    QObject::connect(&page, &CampaignPage::fileRequested, [this](const FileRequest& wanted) { request = wanted; });
    load();
  }
  void load() {
    const auto rows = CampaignFileSource{file}.rows();
    ASSERT_TRUE(rows) << rows.error().what;
    page.show(*rows);
    ASSERT_TRUE(QTest::qWaitFor([&] { return !bar("campaign_progress")->isVisible(); }, kPatienceMilliseconds));
  }
  QWidget* bar(const char* name) { return page.findChild<QWidget*>(name); }
  QString words(const char* label) { return page.findChild<QLabel*>(label)->text(); }
  void click(const char* button) { QTest::mouseClick(page.findChild<QPushButton*>(button), Qt::LeftButton); }
  void tab(int index) { page.findChild<QTabWidget*>("campaign_tabs")->setCurrentIndex(index); }
  bool done(const char* panel) {
    auto* begin = page.findChild<QPushButton*>(panel + QString{"_begin"});
    return QTest::qWaitFor([&] { return begin->isEnabled(); }, kPatienceMilliseconds);
  }
  std::filesystem::path beside(const char* name) const { return file.parent_path() / name; }

  QTemporaryDir folder;
  std::filesystem::path file;
  CampaignPage page;
  FileRequest request;
};

TEST_F(CampaignEvidence, SaysWhatTheTrialsShowAndWhatIsStillWanted) {
  const auto weighed = read_weighed(file);
  ASSERT_TRUE(weighed) << weighed.error().what;
  EXPECT_EQ(words("campaign_sentence"), text(weighed->evidence.statement.sentence));
  EXPECT_THAT(words("campaign_plan").toStdString(), testing::HasSubstr("more passes"));
  tab(2);
  const auto& outlook = *page.findChild<QTableWidget*>("outlook_table");
  ASSERT_GT(outlook.rowCount(), 3);
  EXPECT_EQ(outlook.item(1, 1)->text(), text(outlook_table(weighed->evidence)->rows[1][1]));
}

TEST_F(CampaignEvidence, APlanWithoutFailuresIsTheSuccessRun) {
  tab(2);
  page.findChild<QSpinBox*>("plan_failures")->setValue(0);
  const auto& plans = *page.findChild<QTableWidget*>("plan_table");
  ASSERT_EQ(plans.rowCount(), 1);
  EXPECT_EQ(plans.item(0, 0)->text(), "29") << "ln 0.05 / ln 0.90 rounded up, the success-run formula";
  page.findChild<QDoubleSpinBox*>("plan_truth")->setValue(0.975);
  ASSERT_EQ(plans.horizontalHeaderItem(4)->text(), "passes at 0.975");
  EXPECT_EQ(plans.item(0, 4)->text(), "48.0 %") << "0.975^29";
}

TEST_F(CampaignEvidence, VoidsATrialOnlyWithReasonAndNameAndShowsIt) {
  QSignalSpy wanted{&page, &CampaignPage::voidWanted};
  page.table()->setCurrentIndex(page.table()->model()->index(0, TrialListModel::kNumber));
  auto* button = page.findChild<QPushButton*>("void_trial");
  EXPECT_EQ(button->text(), QString{"Void trial %1"}.arg(kTrials)) << "newest first";
  QTest::keyClicks(page.findChild<QLineEdit*>("void_reason"), "the hose came off");
  EXPECT_FALSE(button->isEnabled()) << "nobody says so";
  QTest::keyClicks(page.findChild<QLineEdit*>("void_person"), "A. Moreau");
  QTest::mouseClick(button, Qt::LeftButton);
  ASSERT_EQ(wanted.size(), 1);
  {
    auto campaign = daq::Campaign::open_or_create(file, "");
    ASSERT_TRUE(campaign);
    ASSERT_TRUE(campaign->void_by_hand(wanted[0][0].toLongLong(), wanted[0][1].toString().toStdString(),
                                       wanted[0][2].toString().toStdString()));
  }
  load();
  const auto& model = *page.table()->model();
  EXPECT_THAT(model.index(0, TrialListModel::kVerdict).data().toString().toStdString(), testing::HasSubstr("void"));
  EXPECT_THAT(model.index(0, TrialListModel::kVerdict).data(Qt::ToolTipRole).toString().toStdString(),
              testing::HasSubstr("the hose came off"));
}

TEST_F(CampaignEvidence, ComparesWithAnotherCampaignAndSaysWhyNotWithItself) {
  tab(3);
  click("comparison_panel_begin");
  ASSERT_TRUE(done("comparison_panel"));
  EXPECT_THAT(words("comparison_panel_message").toStdString(), testing::HasSubstr("one configuration only"));
  auto* with = page.findChild<QComboBox*>("comparison_with");
  with->setCurrentIndex(2);
  Q_EMIT with->activated(2);
  ASSERT_TRUE(request.then);
  request.then(made_campaign().toStdString());
  EXPECT_EQ(with->currentText(), "larch.coldstroke");
  click("comparison_panel_begin");
  ASSERT_TRUE(done("comparison_panel"));
  EXPECT_FALSE(words("comparison_sentence").isEmpty());
  EXPECT_THAT(words("comparison_numbers").toStdString(), testing::HasSubstr("Mann-Whitney"));
  QDir{}.mkpath(COLDSTROKE_SCREENSHOTS);
  QApplication::processEvents();
  EXPECT_TRUE(page.grab().save(COLDSTROKE_SCREENSHOTS "/campaign_compared_light.png"));
  EXPECT_THAT(words("comparison_numbers").toStdString(), testing::HasSubstr("Worst of second: trials 1 to "));
  request = {};
  click("comparison_save");
  ASSERT_TRUE(request.then);
  const QTemporaryDir kept;
  const std::filesystem::path page_file = kept.filePath("compared.html").toStdString();
  request.then(page_file);
  ASSERT_TRUE(done("comparison_panel"));
  EXPECT_THAT(words("comparison_panel_message").toStdString(), testing::HasSubstr("Written: "));
  EXPECT_GT(std::filesystem::file_size(page_file), 1000U);
}

TEST_F(CampaignEvidence, WhatIsIntendedForFlightIsHeldAgainstTheTested) {
  tab(4);
  auto& table = *page.findChild<QTableWidget*>("handover_table");
  const auto row_of = [&](const QString& key) {
    for (int row = 0; row < table.rowCount(); ++row)
      if (table.item(row, 0)->text() == key) return row;
    return -1;
  };
  click("handover_as_tested");
  EXPECT_EQ(table.item(row_of("mass_kg"), 3)->text(), "alike");
  table.item(row_of("mass_kg"), 2)->setText("9.75");
  EXPECT_THAT(table.item(row_of("mass_kg"), 3)->text().toStdString(), testing::HasSubstr("hold for the tested mass only"));
  table.item(row_of("motor"), 2)->setText("inert ballast now, \"K\" later");
  click("handover_save");
  ASSERT_TRUE(request.to_write);
  request.then(beside("flight.toml"));
  const auto loaded = daq::load_flight_configuration(beside("flight.toml"));
  ASSERT_TRUE(loaded) << loaded.error().what;
  EXPECT_THAT(*loaded, testing::Contains(analysis::HandoverItem{"mass_kg", "9.75"}));
  EXPECT_THAT(*loaded, testing::Contains(analysis::HandoverItem{"motor", "inert ballast now, \"K\" later"}));
  const QString before = table.item(row_of("mass_kg"), 3)->text();
  click("handover_open");
  request.then(beside("flight.toml"));
  EXPECT_EQ(table.item(row_of("mass_kg"), 3)->text(), before) << "read again it says the same";
}

TEST_F(CampaignEvidence, WritesTheSheetWithWhatIsIntended) {
  tab(4);
  click("handover_as_tested");
  tab(5);
  click("archive_sheet");
  request.then(beside("sheet.html"));
  ASSERT_TRUE(done("archive_panel"));
  std::ifstream stream{beside("sheet.html")};
  const std::string html{std::istreambuf_iterator<char>{stream}, {}};
  EXPECT_THAT(html, testing::HasSubstr("Intended for flight beside what was tested"));
  EXPECT_THAT(words("archive_answer").toStdString(), testing::HasSubstr("sheet.html"));
}

TEST_F(CampaignEvidence, ExportsOnceAndNeverOverWhatIsThere) {
  tab(5);
  for (const auto& [button, name] : {std::pair{"archive_hdf5", "out.h5"}, {"archive_tables", "out"}}) {
    click(button);
    request.then(beside(name));
    ASSERT_TRUE(done("archive_panel"));
    EXPECT_TRUE(std::filesystem::exists(beside(name))) << words("archive_panel_message").toStdString();
    click(button);
    request.then(beside(name));
    ASSERT_TRUE(done("archive_panel"));
    EXPECT_THAT(words("archive_panel_message").toStdString(), testing::HasSubstr("exists")) << name;
  }
}

TEST_F(CampaignEvidence, TakesAnExportedTrialInAgain) {
  tab(5);
  click("archive_tables");
  request.then(beside("out"));
  ASSERT_TRUE(done("archive_panel"));
  QSignalSpy changed{&page, &CampaignPage::campaignChanged};
  tab(6);
  EXPECT_FALSE(page.findChild<QPushButton*>("import_panel_begin")->isEnabled()) << "no file yet";
  for (const auto& entry : std::filesystem::directory_iterator{beside("out/trial_0001")}) {
    if (entry.path().extension() != ".csv") continue;
    click("import_add");
    request.then(entry.path());
  }
  click("import_setup");
  request.then(beside("out/trial_0001/setup.toml"));
  click("import_panel_begin");
  ASSERT_TRUE(QTest::qWaitFor([&] { return !changed.isEmpty(); }, kPatienceMilliseconds))
      << words("import_panel_message").toStdString();
  EXPECT_THAT(words("import_answer").toStdString(), testing::HasSubstr(QString{"trial %1: "}.arg(kTrials + 1).toStdString()));
  load();
  EXPECT_EQ(page.table()->model()->rowCount(), kTrials + 1);
}

TEST_F(CampaignEvidence, ChecksEveryByteAndNamesAFlippedOne) {
  tab(5);
  click("archive_panel_begin");
  ASSERT_TRUE(done("archive_panel"));
  EXPECT_THAT(words("archive_answer").toStdString(), testing::HasSubstr("intact"));
  {
    std::fstream stream{file, std::ios::in | std::ios::out | std::ios::binary};
    stream.seekp(static_cast<std::streamoff>(std::filesystem::file_size(file) / 2));
    const int byte = stream.get();
    stream.seekp(-1, std::ios::cur);
    stream.put(static_cast<char>(byte ^ 4));
  }
  click("archive_panel_begin");
  ASSERT_TRUE(done("archive_panel"));
  EXPECT_THAT(words("archive_answer").toStdString(), testing::HasSubstr("was altered"));
}

}  // namespace
}  // namespace coldstroke::gui
