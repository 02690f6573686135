// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/html_report.hpp"
#include "gui/report/whole_file.hpp"

#include <gmock/gmock.h>

#include <filesystem>
#include <fstream>
#include <iterator>

#include "gui/report/trace_figure.hpp"
#include "tests/gui/invented_trial.hpp"

namespace coldstroke::gui {
namespace {

using testing::HasSubstr;
using testing::Not;

std::size_t count(const std::string& text, const std::string& part) {
  std::size_t found = 0;
  for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++found;
  return found;
}

ReportHead head() {
  return {
      "Larch ejections", "show that the detector decides in time", "/demo/larch.coldstroke", "0.1.0", "2031-05-04T10:00:00Z", {}};
}

TEST(HtmlReport, NeedsNothingBesideItself) {
  const std::string html = html_report(head(), {invented_trial()});
  for (const char* outside : {"<script", "<link", "<img", "src=", "@import", "url("}) EXPECT_THAT(html, Not(HasSubstr(outside)));
  // The only address is the name of the SVG vocabulary, which nobody fetches.
  EXPECT_EQ(count(html, "http"), count(html, "http://www.w3.org/2000/svg"));
}

TEST(HtmlReport, DrawsOneLinePerTraceAndStaysSmall) {
  const std::string html = html_report(head(), {invented_trial()});
  EXPECT_EQ(count(html, "class=\"trace\""), 4U);
  EXPECT_LT(html.size(), 300'000U);
}

TEST(HtmlReport, ListsEveryTrialAndDrawsTheFailsFirst) {
  const CampaignRows rows = invented_campaign();
  const std::string html = html_report(head(), rows.trials);
  EXPECT_THAT(html, HasSubstr("20 of 22 judged trials passed, 2 failed; 1 void"));
  EXPECT_THAT(html, HasSubstr("1 aborted"));
  for (const ReportTrial& trial : rows.trials) EXPECT_THAT(html, HasSubstr("<td>" + std::to_string(trial.row.number) + "</td>"));
  const auto drawn = drawn_trials(rows.trials);
  ASSERT_EQ(drawn.size(), kDrawnTrials);
  EXPECT_EQ(rows.trials[drawn[0]].row.number, 17);
  EXPECT_EQ(rows.trials[drawn[1]].row.number, 5);
  EXPECT_EQ(rows.trials[drawn[2]].row.number, 12);
}

TEST(HtmlReport, SaysWhatWasBypassedAndWhyInEveryReport) {
  CampaignRows rows = invented_campaign();
  rows.trials[21].bypasses = {"calibration bypassed: certificate <lost>, checked against the gauge"};
  const std::string many = html_report(head(), rows.trials);
  EXPECT_THAT(many, HasSubstr("calibration bypassed: certificate &lt;lost&gt;, checked against the gauge"));
  EXPECT_THAT(html_report(head(), {rows.trials[21]}), HasSubstr("<h3>Interlocks bypassed</h3>"));
  EXPECT_THAT(html_report(head(), {rows.trials[20]}), Not(HasSubstr("bypassed")));
}

TEST(HtmlReport, SaysThatAVirtualRigIsNoRig) {
  ReportTrial real = invented_trial();
  EXPECT_THAT(html_report(head(), {real}), HasSubstr("VIRTUAL RIG"));
  real.row.virtual_rig = false;
  EXPECT_THAT(html_report(head(), {real}), Not(HasSubstr("VIRTUAL RIG")));
}

TEST(HtmlReport, CarriesSetupHashCriteriaFindingsAndNotes) {
  const ReportTrial trial = invented_trial({.lost_samples = true});
  const std::string html = html_report(head(), {trial});
  EXPECT_THAT(html, HasSubstr(trial.row.setup_sha256));
  EXPECT_THAT(html, HasSubstr("40 samples lost from 1.010 s"));
  EXPECT_THAT(html, HasSubstr("wind rose after the count"));
  EXPECT_THAT(html, HasSubstr("12 to 16"));
}

TEST(HtmlReport, NamesTheCalibrationsUsedAndThoseThatHadExpired) {
  ReportTrial trial = invented_trial();
  ASSERT_EQ(trial.row.started_utc.substr(0, 10), "2031-05-06");
  daq::Setup setup;
  setup.channels.resize(3);
  const char* const days[] = {"2031-05-05", "2031-05-06", ""};
  for (std::size_t k = 0; k < 3; ++k) {
    setup.channels[k].name = "channel_" + std::to_string(k);
    setup.channels[k].calibration.reference = "weights; Mira";
    setup.channels[k].calibration.valid_until = days[k];
  }
  trial.setup = std::make_shared<const daq::Setup>(setup);
  const std::string html = html_report(head(), {trial});
  EXPECT_THAT(html, HasSubstr("channel_0: weights; Mira; valid until 2031-05-05, EXPIRED by 2031-05-06"));
  EXPECT_THAT(html, HasSubstr("channel_1: weights; Mira; valid until 2031-05-06<"));
  EXPECT_THAT(html, HasSubstr("channel_2: weights; Mira; valid until not stated"));
}

TEST(HtmlReport, EscapesWhatBoardsAndPeopleWrote) {
  ReportTrial trial = invented_trial();
  trial.notes[0].text = "<script>alert('x')</script> & \x01";
  trial.traces.traces[0].name = "\"><svg onload=1>";
  trial.traces.traces[0].role = analysis::Role::other;
  const std::string html = html_report(head(), {trial});
  EXPECT_THAT(html, Not(HasSubstr("<script")));
  EXPECT_THAT(html, Not(HasSubstr("<svg onload")));
  EXPECT_THAT(html, Not(HasSubstr("\x01")));
}

TEST(HtmlReport, IsHarmlessForEmptyAndUnjudgedTrials) {
  EXPECT_THAT(html_report(head(), {}), HasSubstr("No trial yet."));
  EXPECT_THAT(html_report(head(), {invented_aborted(3)}), HasSubstr("Stopped before motion"));
}

TEST(TracesFigure, KeepsTheTopOfAOneSampleSpike) {
  ReportTrial trial = invented_trial();
  analysis::Trace& force = trial.traces.traces[0];
  for (double& sample : force.samples) sample = 0.0;
  force.samples[20123] = 1000.0;
  const std::string svg = figure_svg(traces_figure(trial.traces, {}, whole_record(trial.traces), "x"));
  // The axis goes to 1000, so the spike's top lies on the top edge of the first plot, y = 64.0.
  const std::size_t trace = svg.find("class=\"trace\"");
  EXPECT_THAT(svg.substr(trace, svg.find("/>", trace) - trace), HasSubstr(" 64.0"));
}

TEST(WriteWhole, ReplacesTheFileWholeOrNotAtAllAndNeverADevice) {
  const auto folder = std::filesystem::temp_directory_path() / "coldstroke_report_test";
  std::filesystem::create_directories(folder);
  const auto file = folder / "larch-report.html";
  ASSERT_TRUE(write_whole(file, "one"));
  ASSERT_TRUE(write_whole(file, "two"));
  std::ifstream in{file};
  EXPECT_EQ(std::string(std::istreambuf_iterator<char>{in}, {}), "two");
  EXPECT_EQ(std::distance(std::filesystem::directory_iterator{folder}, {}), 1);
  const auto refused = write_whole(folder / "no such folder" / "x.html", "three");
  ASSERT_FALSE(refused);
  EXPECT_THAT(refused.error().where, HasSubstr("no such folder"));
  std::filesystem::create_symlink("/dev/null", folder / "device.html");
  EXPECT_FALSE(write_whole(folder / "device.html", "four"));
  EXPECT_FALSE(write_whole(folder, "five"));
  EXPECT_TRUE(std::filesystem::is_symlink(folder / "device.html"));
  std::filesystem::remove_all(folder);
}

TEST(ReportOfCampaign, ReadsTracesOfTheDrawnTrialsOnly) {
  class Counting : public InventedSource {
   public:
    Result<ReportTrial> trial(std::int64_t number) const override {
      ++read;
      return InventedSource::trial(number);
    }
    mutable std::size_t read = 0;
  };
  const Counting source;
  const auto html = report_of_campaign(source, head());
  ASSERT_TRUE(html);
  EXPECT_EQ(source.read, kDrawnTrials);
  EXPECT_EQ(report_of_trial(source, head(), 99).error().what, "There is no trial 99.");
}

TEST(ReportPath, LiesBesideTheCampaign) {
  EXPECT_EQ(report_path("/demo/larch.coldstroke", 14), "/demo/larch-trial-14.html");
  EXPECT_EQ(report_path("/demo/larch.coldstroke", std::nullopt), "/demo/larch-report.html");
}

}  // namespace
}  // namespace coldstroke::gui
