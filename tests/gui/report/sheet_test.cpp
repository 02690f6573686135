// SPDX-License-Identifier: GPL-3.0-or-later
//
// The verdict sheet; its PDF is read by poppler's tools.
#include "gui/report/sheet.hpp"
#include "gui/report/sheet_source.hpp"

#include <gmock/gmock.h>

#include <QGuiApplication>
#include <cstdio>
#include <filesystem>
#include <functional>

#include "tests/gui/invented_trial.hpp"

namespace coldstroke::gui {
namespace {

using analysis::statistics::CountedVerdict;
using testing::HasSubstr;
using testing::Not;

SheetInput invented_input() {
  SheetInput input;
  input.campaign_name = "Larch ejections";
  input.campaign_file = "larch.coldstroke";
  input.head = {99, std::string(60, 'a') + "beef"};
  input.setup = daq::parse_setup(daq::virtual_setup_text(), "virtual").value();
  input.trials = invented_campaign().trials;
  input.trials[1].hand_void = daq::HandVoid{"2031-05-05T09:00:00.000Z", "A. Moreau", "the hose burst", "fail"};
  input.evidence = invented_evidence();
  input.evidence[1].record.verdict = CountedVerdict::void_;
  input.evidence[1].record.hand_void = analysis::statistics::HandVoid{CountedVerdict::fail, "the hose burst"};
  input.weighed = analysis::weigh_campaign(input.evidence).value();
  input.bypasses = {"Trial 3: zero drift bypassed by Ada: cold morning"};
  if (const auto place = worst_trial(input, input.worst_why))
    input.worst = invented_trial({.number = input.trials[*place].row.number});
  input.handover = analysis::compare_for_flight({{"mass_kg", "1.5"}}, {{"mass_kg", "1.8"}});
  return input;
}

struct Degenerate {
  const char* what;
  SheetInput input;
};

/// The first `count` trials, changed alike, weighed anew.
SheetInput with_trials(std::size_t count, const std::function<void(analysis::EvidenceTrial&)>& change) {
  SheetInput input = invented_input();
  input.trials.resize(count);
  input.evidence.resize(count);
  for (analysis::EvidenceTrial& one : input.evidence) {
    one.record.hand_void.reset();
    change(one);
  }
  input.weighed = analysis::weigh_campaign(input.evidence).value();
  input.worst.reset();
  input.bypasses.clear();
  return input;
}

std::vector<Degenerate> degenerate_campaigns() {
  const auto all = invented_input().trials.size();
  const auto verdict = [](CountedVerdict to) { return [to](analysis::EvidenceTrial& one) { one.record.verdict = to; }; };
  const auto same = [](analysis::EvidenceTrial& one) {
    one.record.verdict = CountedVerdict::pass;
    one.result = invented_trial({.number = 1}).result;
  };
  return {{"no trial", with_trials(0, [](analysis::EvidenceTrial&) {})},
          {"one trial", with_trials(1, verdict(CountedVerdict::pass))},
          {"all void", with_trials(all, verdict(CountedVerdict::void_))},
          {"all failed", with_trials(all, verdict(CountedVerdict::fail))},
          {"no scatter", with_trials(all, same)}};
}

std::string output_of(const std::string& command) {
  std::string text;
  FILE* pipe = ::popen(command.c_str(), "r");
  char part[4096];
  while (const std::size_t got = std::fread(part, 1, sizeof part, pipe)) text.append(part, got);
  EXPECT_EQ(::pclose(pipe), 0) << command;
  return text;
}

TEST(Sheet, HoldsEverythingThatIsToBeSigned) {
  const std::string html = sheet_html(verdict_sheet(invented_input()));
  for (const char* part :
       {"What was shown", "What was tested", "calibration in force", "Criteria", "Every trial", "Distributions",
        "The worst trial", "zero drift bypassed", "VOIDED BY HAND by A. Moreau: the hose burst", "Intended for flight",
        "Cautions", "signature", "VIRTUAL RIG", "beef"})
    EXPECT_THAT(html, HasSubstr(part));
  for (const ReportTrial& trial : invented_campaign().trials)
    EXPECT_THAT(html, HasSubstr("<td>" + std::to_string(trial.row.number) + "</td>"));
  for (const char* outside : {"<script", "<link", "<img", "src=", "url("}) EXPECT_THAT(html, Not(HasSubstr(outside)));
}

TEST(Sheet, SaysWhatLittleThereIsToSay) {
  for (const Degenerate& campaign : degenerate_campaigns()) {
    const std::string html = sheet_html(verdict_sheet(campaign.input));
    for (const char* part : {"What was shown", "Every trial", "Cautions", "signature"})
      EXPECT_THAT(html, HasSubstr(part)) << campaign.what;
    for (const char* wrong : {">nan", " nan", "-nan", ">inf", " inf "}) EXPECT_THAT(html, Not(HasSubstr(wrong))) << campaign.what;
  }
}

TEST(Sheet, EscapesWhatPeopleWrote) {
  SheetInput input = invented_input();
  input.campaign_name = "<script>x";
  EXPECT_THAT(sheet_html(verdict_sheet(input)), Not(HasSubstr("<script")));
}

TEST(Sheet, DrawsAFailBeforeALatePass) {
  std::string why;
  const SheetInput input = invented_input();
  const auto place = worst_trial(input, why);
  ASSERT_TRUE(place);
  EXPECT_EQ(input.evidence[*place].record.verdict, CountedVerdict::fail);
}

TEST(SheetName, IsAPdfOrAnHtmlFileAndNoDevice) {
  EXPECT_TRUE(check_sheet_name("juniper.pdf"));
  EXPECT_TRUE(check_sheet_name("juniper.html"));
  for (const char* wrong : {"juniper.txt", "juniper", "/dev/null"}) EXPECT_FALSE(check_sheet_name(wrong)) << wrong;
}

TEST(SheetPdf, CarriesTheHeadAndANumberOnEachPageOfEitherPaper) {
  qputenv("QT_QPA_PLATFORM", "offscreen");
  int argc = 1;
  char name[] = "sheet";
  char* argv[] = {name, nullptr};
  const QGuiApplication application{argc, argv};
  const auto file = std::filesystem::temp_directory_path() / "coldstroke_sheet_test.pdf";
  for (const auto& [paper, size] : {std::pair{PaperSize::a4, "595"}, std::pair{PaperSize::letter, "612 x 792"}}) {
    const auto pages = write_sheet_pdf(file, verdict_sheet(invented_input()), paper);
    ASSERT_TRUE(pages) << pages.error().what;
    EXPECT_GT(*pages, 2);
    const std::string info = output_of("pdfinfo " + file.string());
    EXPECT_THAT(info, HasSubstr(size));
    for (int page = 1; page <= *pages; ++page) {
      const std::string number = std::to_string(page);
      const std::string words = output_of("pdftotext -f " + number + " -l " + number + " " + file.string() + " -");
      EXPECT_THAT(words, HasSubstr("page " + number + " of " + std::to_string(*pages)));
      EXPECT_THAT(words, HasSubstr("aabeef"));
    }
    // Lines and letters, no picture.
    EXPECT_EQ(std::string::npos, output_of("pdfimages -list " + file.string()).find("image"));
  }
  for (const Degenerate& campaign : degenerate_campaigns()) {
    const auto pages = write_sheet_pdf(file, verdict_sheet(campaign.input), PaperSize::a4);
    ASSERT_TRUE(pages) << campaign.what << ": " << pages.error().what;
    EXPECT_THAT(output_of("pdftotext " + file.string() + " -"), HasSubstr("page 1 of " + std::to_string(*pages)));
  }
  // Wherever the page ends: who signs has all fields and what they mean before them.
  for (std::size_t lines = 34; lines < 64; lines += 2) {
    const Sheet sheet{"T",
                      "S",
                      "F",
                      {SheetList{std::vector<std::string>(lines, "line")}, SheetHeading{"Signed"}, SheetText{"read with care"},
                       SheetSignatures{{"one", "two", "three"}}}};
    const auto pages = write_sheet_pdf(file, sheet, PaperSize::letter);
    ASSERT_TRUE(pages);
    const std::string last = output_of("pdftotext -f " + std::to_string(*pages) + " " + file.string() + " -");
    for (const char* part : {"Signed", "read with care", "one: name", "two: name", "three: name"})
      EXPECT_THAT(last, HasSubstr(part)) << lines;
  }
  std::filesystem::remove(file);
  EXPECT_FALSE(write_sheet_pdf("/dev/null", verdict_sheet(invented_input()), PaperSize::a4));
  EXPECT_FALSE(write_sheet_pdf("/no such folder/x.pdf", verdict_sheet(invented_input()), PaperSize::a4));
}

}  // namespace
}  // namespace coldstroke::gui
