// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/record/trace_import.hpp"

#include <gmock/gmock.h>

#include <cctype>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <sstream>

#include "daq/record/evidence_trials.hpp"
#include "daq/record/trace_export.hpp"
#include "tests/daq/record/fresh_folder.hpp"
#include "tests/daq/record/trial_samples.hpp"

namespace coldstroke::daq {
namespace {

using analysis::DecisionSource;
using analysis::IndexRun;
using analysis::Role;
using testing::AllOf;
using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

ImportedTraces import(const std::string& text, const ColumnMap& map = {}) {
  const auto imported = import_csv_text(text, "log.csv", map, virtual_setup());
  EXPECT_TRUE(imported) << imported.error().what << "\n" << imported.error().where;
  return imported ? *imported : ImportedTraces{};
}

std::string complaint_about(const std::string& text, const ColumnMap& map = {}) {
  const auto imported = import_csv_text(text, "log.csv", map, virtual_setup());
  EXPECT_FALSE(imported) << text.substr(0, 200);
  return imported ? "" : imported.error().what + "\n" + imported.error().where + "\n" + imported.error().remedy;
}

/// Gas cools as it leaves: what the trial began with is what is set against its metrics.
TEST(ImportCsv, a_temperature_is_taken_over_the_time_before_release) {
  std::string text = "time_s,temperature_K,supply_bar\n";
  for (int k = 0; k < 50; ++k)
    text += std::to_string(0.1 * k) + (k < 30 ? ",291.5," : k < 40 ? ",240," : ",200,") + (k < 30 ? "8\n" : "4\n");
  const auto traces = import(text).traces;
  const auto* measured = analysis::find(traces, Role::temperature);
  ASSERT_NE(measured, nullptr);
  EXPECT_EQ(measured->quantity, analysis::Quantity::temperature);
  analysis::Marks marks;
  EXPECT_FALSE(mean_before_release(traces, marks, Role::temperature, 2.5)) << "nothing moved and nothing was released";
  marks.first_motion_seconds = 3.05;
  EXPECT_NEAR(mean_before_release(traces, marks, Role::temperature, 2.5).value_or(0.0), (24 * 291.5 + 240.0) / 25.0, 1e-9);
  marks.first_motion_seconds = 2.95;
  EXPECT_NEAR(mean_before_release(traces, marks, Role::temperature, 2.5).value_or(0.0), 291.5, 1e-9);
  EXPECT_NEAR(mean_before_release(traces, marks, Role::supply_pressure, 0.2).value_or(0.0), 8.0e5, 1e-3);
  EXPECT_FALSE(mean_before_release(traces, marks, Role::chamber_pressure, 0.2)) << "no such channel";
}

TEST(ImportCsv, reads_columns_by_their_headers) {
  const auto imported = import(
      "time_ms,force_kgf,supply [bar],chamber (psi),acceleration_g,current_mA,detector,room\r\n"
      "0,1,8,0,1,0,0,20\r\n"
      "0.5,2,7,1,2,100,0,20\r\n"
      "1.0,-3,6,2,3,200,1,21\r\n");
  ASSERT_EQ(imported.traces.traces.size(), 5U);
  const auto& force = imported.traces.traces[0];
  EXPECT_EQ(force.role, Role::force);
  EXPECT_EQ(force.quantity, analysis::Quantity::force);
  EXPECT_EQ(force.name, "force_kgf");
  EXPECT_THAT(force.samples, ElementsAre(9.80665, 2 * 9.80665, -3 * 9.80665));
  EXPECT_DOUBLE_EQ(force.period_seconds, 0.0005);
  EXPECT_EQ(force.start_seconds, 0.0);
  EXPECT_EQ(force.gain_standard_uncertainty, 0.003);
  EXPECT_EQ(force.zero_standard_uncertainty, 0.3);
  EXPECT_DOUBLE_EQ(force.resolution, 2000.0 / 8388608.0);
  EXPECT_THAT(imported.traces.traces[1].samples, ElementsAre(8e5, 7e5, 6e5));
  EXPECT_THAT(imported.traces.traces[2].samples, ElementsAre(0.0, 6894.757293168, 2 * 6894.757293168));
  EXPECT_THAT(imported.traces.traces[3].samples, ElementsAre(9.80665, 2 * 9.80665, 3 * 9.80665));
  EXPECT_EQ(imported.traces.traces[3].role, Role::vehicle_acceleration);
  EXPECT_THAT(imported.traces.traces[4].samples, ElementsAre(0.0, 100 * 1e-3, 200 * 1e-3));
  EXPECT_EQ(imported.traces.detector.source, DecisionSource::imported);
  ASSERT_EQ(imported.traces.detector.decisions_seconds.size(), 1U);
  EXPECT_DOUBLE_EQ(imported.traces.detector.decisions_seconds[0], 0.001);
  EXPECT_DOUBLE_EQ(imported.traces.detector.record_end_seconds, 0.001);
  EXPECT_DOUBLE_EQ(imported.traces.detector.polling_period_seconds, 0.0005);
  EXPECT_EQ(imported.traces.alignment_method, "one record");
  EXPECT_FALSE(imported.traces.release_commanded_seconds);
  EXPECT_THAT(imported.notes, Contains(HasSubstr("\"room\" was not used")));
}

TEST(ImportCsv, the_headers_that_the_help_names_are_understood) {
  const auto imported = import("time_ms,force_N,accel [g]\n0,1,1\n1,2,-2\n");
  ASSERT_EQ(imported.traces.traces.size(), 2U);
  EXPECT_EQ(imported.traces.traces[1].role, Role::vehicle_acceleration);
  EXPECT_THAT(imported.traces.traces[1].samples, ElementsAre(9.80665, -2 * 9.80665));
  EXPECT_THAT(import("time_s,Accel_m/s2\n0,1\n1,2\n").traces.traces.at(0).samples, ElementsAre(1.0, 2.0));
}

TEST(ImportCsv, reads_columns_as_the_caller_says) {
  const auto imported =
      import("t,\"load, cell\",force_raw\n0,1,9\n1,2,9\n", {{"t", {"time", "us"}}, {"load, cell", {"force", "lbf"}}});
  ASSERT_EQ(imported.traces.traces.size(), 1U);
  EXPECT_THAT(imported.traces.traces[0].samples, ElementsAre(4.4482216152605, 2 * 4.4482216152605));
  EXPECT_DOUBLE_EQ(imported.traces.traces[0].period_seconds, 1e-6);
  EXPECT_THAT(imported.notes, Contains(HasSubstr("\"force_raw\" was not used")));
  EXPECT_THAT(import("time_s,force_N,force_kN\n0,1,2\n1,2,3\n", {{"force_kN", {"ignore", ""}}}).notes,
              Contains(HasSubstr("as asked")));
}

TEST(ImportCsv, a_byte_order_mark_spaces_plus_signs_and_exponents_are_read) {
  const auto imported = import("\xEF\xBB\xBFtime_s, force_N\n 0 , +1.5\n 1e-3 ,-2.5E2\n\n");
  ASSERT_EQ(imported.traces.traces.size(), 1U);
  EXPECT_THAT(imported.traces.traces[0].samples, ElementsAre(1.5, -250.0));
}

TEST(ImportCsv, whole_missing_steps_and_empty_cells_become_missing_samples) {
  const auto imported = import("time_s,force_N,supply_Pa\n0,,1\n1,10,2\n2,20,3\n5,50,4\n6,,\n");
  ASSERT_EQ(imported.traces.traces.size(), 2U);
  const auto& force = imported.traces.traces[0];
  EXPECT_THAT(force.samples, ElementsAre(10, 10, 20, 20, 20, 50, 50));
  EXPECT_THAT(force.missing, ElementsAre(IndexRun{0, 1}, IndexRun{3, 5}, IndexRun{6, 7}));
  EXPECT_THAT(imported.traces.traces[1].missing, ElementsAre(IndexRun{3, 5}, IndexRun{6, 7}));
  EXPECT_THAT(imported.notes, Contains(HasSubstr("4 samples are missing")));
}

TEST(ImportCsv, three_samples_in_a_row_at_the_end_of_the_range_are_saturated) {
  const auto imported = import("time_s,acceleration_g\n0,100\n1,100\n2,1\n3,100\n4,100\n5,100\n6,1\n7,-100\n8,-120\n9,-100\n");
  ASSERT_EQ(imported.traces.traces.size(), 1U);
  EXPECT_THAT(imported.traces.traces[0].saturated, ElementsAre(IndexRun{3, 6}, IndexRun{7, 10}));
}

/// An amplifier that clips below the range that the setup states; the noise stops on the top, which it does not do by itself.
TEST(ImportCsv, a_top_that_was_cut_off_below_the_range_is_saturated) {
  std::string text = "time_s,acceleration_g\n";
  for (int k = 0; k < 200; ++k) {
    const bool pulse = k >= 100 && k < 130;
    text += std::to_string(k) + "," + (pulse ? "20" : std::to_string(1.0 + 0.1 * (k % 3))) + "\n";
  }
  const auto imported = import(text);
  ASSERT_EQ(imported.traces.traces.size(), 1U);
  EXPECT_THAT(imported.traces.traces[0].saturated, ElementsAre(IndexRun{100, 130}));
}

TEST(ImportCsv, detector_edges_are_decisions) {
  const auto twice = import("time_s,force_N,detector\n0,0,0\n1,0,1\n2,0,1\n3,0,0\n4,0,1\n");
  EXPECT_THAT(twice.traces.detector.decisions_seconds, ElementsAre(1.0, 4.0));
  const auto never = import("time_s,force_N,detector\n0,0,0\n1,0,0\n");
  EXPECT_EQ(never.traces.detector.source, DecisionSource::imported);
  EXPECT_THAT(never.traces.detector.decisions_seconds, IsEmpty());
  EXPECT_EQ(import("time_s,force_N,detector\n0,0,\n1,0,\n").traces.detector.source, DecisionSource::none);
  EXPECT_EQ(import("time_s,force_N\n0,0\n1,0\n").traces.detector.source, DecisionSource::none);
  const auto from_start = import("time_s,force_N,detector\n0,0,1\n1,0,1\n");
  EXPECT_THAT(from_start.traces.detector.decisions_seconds, ElementsAre(0.0));
  EXPECT_THAT(from_start.notes, Contains(HasSubstr("then or before")));
}

TEST(ImportCsv, printed_times_that_are_rounded_are_still_even) {
  std::string text = "time_ms,force_N\n";
  for (int i = 0; i < 3000; ++i) {
    char line[64];
    std::snprintf(line, sizeof line, "%.4f,%d\n", i / 3.0, i);
    text += line;
  }
  const auto imported = import(text);
  ASSERT_EQ(imported.traces.traces.size(), 1U);
  EXPECT_EQ(imported.traces.traces[0].samples.size(), 3000U);
  EXPECT_NEAR(imported.traces.traces[0].period_seconds, 1e-3 / 3.0, 1e-10);
}

struct BadText {
  const char* text;
  const char* what;
  const char* where;
};
/// Shown as the test's name: letters, digits and codes of all else, so that every tool can print it and no two are alike.
std::string name_of(const std::string& text) {
  std::string name;
  for (const char c : text) {
    const auto code = static_cast<unsigned char>(c);
    name += std::isalnum(code) != 0 ? std::string{c} : c == ' ' ? "_" : "." + std::to_string(code) + ".";
  }
  return name;
}
void PrintTo(const BadText& bad, std::ostream* out) { *out << name_of(bad.text); }

class ImportCsvBad : public testing::TestWithParam<BadText> {};
TEST_P(ImportCsvBad, is_refused_with_its_place) {
  EXPECT_THAT(complaint_about(GetParam().text), AllOf(HasSubstr(GetParam().what), HasSubstr(GetParam().where)));
}
INSTANTIATE_TEST_SUITE_P(
    all, ImportCsvBad,
    testing::Values(
        BadText{"", "empty", "log.csv"}, BadText{"time_s,force_N\n", "no rows", "log.csv, line 2"},
        BadText{"time_s,force_N\n0,1\n", "only one row", "log.csv, line 2"},
        BadText{"force_N\n1\n2\n", "no time column", "log.csv, line 1"},
        BadText{"time_s,room\n0,1\n1,2\n", "No column but the time", "log.csv, line 1"},
        BadText{"time_s,force_N\n0,1\n1,nan\n", "not a finite number", "log.csv, line 3, column 2 \"force_N\""},
        BadText{"time_s,force_N\n0,1\n1,-inf\n", "not a finite number", "log.csv, line 3, column 2 \"force_N\""},
        BadText{"time_s,force_N\n0,1\n1,1e999\n", "not a number", "log.csv, line 3, column 2 \"force_N\""},
        BadText{"time_s,force_N\n0,1\n1,abc\n", "\"abc\" is not a number", "log.csv, line 3, column 2 \"force_N\""},
        BadText{"time_s,force_N\n0,1\n1,0x10\n", "is not a number", "log.csv, line 3, column 2 \"force_N\""},
        BadText{"time_s,force_N\n0,1\n1,\"1,234.5\"\n", "thousands separator", "log.csv, line 3, column 2 \"force_N\""},
        BadText{"time_s,force_N\n0,1\n1,1'234.5\n", "thousands separator", "log.csv, line 3, column 2 \"force_N\""},
        BadText{"time_s,force_N\n0,1\n1,1,234.5\n", "3 cells and the header has 2", "log.csv, line 3"},
        BadText{"time_s,force_N\n0,1\n1\n2,1\n", "1 cells and the header has 2", "log.csv, line 3"},
        BadText{"time_s,force_N\n0,1\n2,1\n1,1\n", "runs backwards", "log.csv, line 4, column 1 \"time_s\""},
        BadText{"time_s,force_N\n0,1\n1,1\n1,1\n", "same as in the row before", "log.csv, line 4, column 1 \"time_s\""},
        BadText{"time_s,force_N\n0,1\n1,1\n2.02,1\n3.02,1\n", "time step", "log.csv, line 4"},
        BadText{"time_s,force_N\n0,1\n1,1\n2,1\n3.5,1\n", "time step", "log.csv, line 5"},
        BadText{"time_s,force_N\n0,1\n1,1\n2,1\n90000000,1\n", "gap", "log.csv, line 5"},
        BadText{"time_s,force_N\n0,1\n,1\n2,1\n", "time is empty", "log.csv, line 3"},
        BadText{"time_s,force_lb\n0,1\n1,1\n", "\"lb\" is not a unit of force", "log.csv, line 1, column 2 \"force_lb\""},
        BadText{"time_s,force [mN]\n0,1\n1,1\n", "\"mN\" is not a unit of force", "column 2"},
        BadText{"time_s,force\n0,1\n1,1\n", "has no unit", "column 2 \"force\""},
        BadText{"time_s,force_N,force_kN\n0,1,1\n1,1,1\n", "Two columns are force", "column 3"},
        BadText{"time_s,detector\n0,0\n1,2\n", "holds 2", "log.csv, line 3, column 2"},
        BadText{"time_s,detector\n0,0\n1,\n", "empty here", "log.csv, line 3, column 2"},
        BadText{"time_s;force_N\n0;1\n", "not separated by commas", "log.csv, line 1"},
        BadText{"time_s,force_N\n0,1\n1,\"2\n3,4\n", "quotation marks", "log.csv, line 4"},
        BadText{"time_s,force_N\n0,1\n1,2\"\n3,4\n", "quotation marks", "log.csv, line 3"}));

TEST(ImportCsvBad, a_rate_that_creeps_is_refused) {
  std::string text = "time_s,force_N\n";
  double time = 0.0;
  for (int i = 0; i < 400; ++i) {
    text += std::to_string(time) + ",1\n";
    time += i < 200 ? 1.0 : 1.005;
  }
  EXPECT_THAT(complaint_about(text), HasSubstr("rate changes"));
}

TEST(ImportCsvBad, maps_that_do_not_fit_are_refused) {
  EXPECT_THAT(complaint_about("time_s,F\n0,1\n", {{"G", {"force", "N"}}}),
              AllOf(HasSubstr("no column \"G\""), HasSubstr("\"F\"")));
  EXPECT_THAT(complaint_about("time_s,F\n0,1\n", {{"F", {"thrust", "N"}}}), HasSubstr("\"thrust\" is nothing a column can be"));
  EXPECT_THAT(complaint_about("time_s,F\n0,1\n", {{"F", {"force", "bar"}}}), HasSubstr("N, kN, kgf, lbf"));
  EXPECT_THAT(complaint_about(std::string("PK\x03\x04\0\0\0", 7)), HasSubstr("not plain text"));
}

TEST(ImportCsvBad, a_file_that_is_not_there_is_named) {
  const auto imported = import_csv("/nonexistent/log.csv", {}, virtual_setup());
  ASSERT_FALSE(imported);
  EXPECT_EQ(imported.error().where, "/nonexistent/log.csv");
}

TEST(ImportCsvBad, no_cut_or_changed_byte_crashes_the_reader) {
  const std::string text = "time_ms,\"force_N\",detector\n0,1,0\n1,2,0\n2,3,1\n3,4,1\n";
  const auto setup = virtual_setup();
  for (std::size_t at = 0; at < text.size(); ++at) {
    (void)import_csv_text(text.substr(0, at), "cut", {}, setup);
    for (const char other : {'\0', '"', ',', '\n', '-', 'e', '9', '\xFF'}) {
      std::string changed = text;
      changed[at] = other;
      const auto imported = import_csv_text(changed, "changed", {}, setup);
      if (!imported) {
        EXPECT_THAT(imported.error().where, HasSubstr("changed"));
      }
    }
  }
}

TEST(ColumnMapping, is_read_from_a_command_line) {
  const auto mapping = parse_column_mapping("F=1=force:lbf");
  ASSERT_TRUE(mapping);
  EXPECT_EQ(mapping->first, "F=1");
  EXPECT_EQ(mapping->second.role, "force");
  EXPECT_EQ(mapping->second.unit, "lbf");
  EXPECT_TRUE(parse_column_mapping("D=detector"));
  EXPECT_TRUE(parse_column_mapping("X=ignore"));
  for (const char* bad : {"", "force", "=force:N", "F=force", "F=force:bar", "F=thrust:N", "F="})
    EXPECT_FALSE(parse_column_mapping(bad)) << bad;
}

analysis::Trace invented(const std::string& name, Role role, analysis::Quantity quantity, double period, std::size_t size) {
  analysis::Trace trace;
  trace.name = name;
  trace.role = role;
  trace.quantity = quantity;
  trace.start_seconds = -0.5;
  trace.period_seconds = period;
  for (std::size_t i = 0; i < size; ++i) trace.samples.push_back(std::sin(0.1 * static_cast<double>(i)) * 1e5 / 3.0);
  return trace;
}

TEST(WriteCsv, what_is_written_reads_back_to_the_same_bits) {
  const FreshFolder folder;
  analysis::TraceSet set;
  set.traces.push_back(invented("force", Role::force, analysis::Quantity::force, 1e-4, 400));
  set.traces.push_back(invented("supply", Role::supply_pressure, analysis::Quantity::gauge_pressure, 1e-4, 400));
  set.traces.push_back(invented("acceleration_x", Role::other, analysis::Quantity::acceleration, 5e-4, 80));
  set.traces.push_back(invented("up", Role::vehicle_acceleration, analysis::Quantity::acceleration, 5e-4, 80));
  set.traces[0].missing = {{10, 14}, {399, 400}};
  for (std::size_t i = 10; i < 14; ++i) set.traces[0].samples[i] = set.traces[0].samples[9];
  set.traces[0].samples[399] = set.traces[0].samples[398];
  set.detector = {DecisionSource::memory, {-0.49, -0.4702}, 1e-5, 5e-4, -0.46};
  const auto written = write_csv(folder / "trial.csv", set);
  ASSERT_TRUE(written) << written.error().what;
  ASSERT_THAT(*written, ElementsAre(folder / "trial-10000Hz.csv", folder / "trial-2000Hz.csv"));
  const auto rig = import_csv(written->at(0), {}, virtual_setup());
  ASSERT_TRUE(rig) << rig.error().what << rig.error().where;
  EXPECT_EQ(rig->traces.traces[0].samples, set.traces[0].samples);
  EXPECT_EQ(rig->traces.traces[0].missing, set.traces[0].missing);
  EXPECT_EQ(rig->traces.traces[1].samples, set.traces[1].samples);
  EXPECT_EQ(rig->traces.detector.source, DecisionSource::none);
  const auto flight = import_csv(written->at(1), {}, virtual_setup());
  ASSERT_TRUE(flight) << flight.error().what << flight.error().where;
  ASSERT_EQ(flight->traces.traces.size(), 1U);
  EXPECT_EQ(flight->traces.traces[0].samples, set.traces[3].samples);
  EXPECT_EQ(flight->traces.traces[0].start_seconds, -0.5);
  EXPECT_NEAR(flight->traces.traces[0].period_seconds, 5e-4, 1e-15);
  ASSERT_EQ(flight->traces.detector.decisions_seconds.size(), 2U);
  EXPECT_NEAR(flight->traces.detector.decisions_seconds[0], -0.49, 1e-12);
  EXPECT_NEAR(flight->traces.detector.decisions_seconds[1], -0.47, 1e-12);
}

TEST(WriteCsv, never_writes_over_a_file_and_leaves_nothing_half_done) {
  const FreshFolder folder;
  analysis::TraceSet set;
  set.traces.push_back(invented("force", Role::force, analysis::Quantity::force, 1e-4, 4));
  set.traces.push_back(invented("up", Role::vehicle_acceleration, analysis::Quantity::acceleration, 5e-4, 4));
  std::ofstream{folder / "trial-2000Hz.csv"} << "mine";
  const auto written = write_csv(folder / "trial.csv", set);
  ASSERT_FALSE(written);
  EXPECT_THAT(written.error().where, HasSubstr("trial-2000Hz.csv"));
  EXPECT_FALSE(std::filesystem::exists(folder / "trial-10000Hz.csv"));
  std::stringstream kept;
  kept << std::ifstream{folder / "trial-2000Hz.csv"}.rdbuf();
  EXPECT_EQ(kept.str(), "mine");
  EXPECT_FALSE(write_csv(folder / "no-folder/trial.csv", set));
  EXPECT_FALSE(write_csv(folder / "none.csv", analysis::TraceSet{}));
}

TEST(WriteCsv, two_time_lines_of_one_rate_get_two_files_and_names_are_quoted) {
  const FreshFolder folder;
  analysis::TraceSet set;
  set.traces.push_back(invented("a,\"b\"", Role::other, analysis::Quantity::force, 1e-3, 4));
  set.traces.push_back(invented("c", Role::force, analysis::Quantity::force, 1e-3, 5));
  const auto written = write_csv(folder / "t.csv", set);
  ASSERT_TRUE(written);
  EXPECT_THAT(*written, ElementsAre(folder / "t-1000Hz.csv", folder / "t-1000Hz-2.csv"));
  std::ifstream file{written->at(0)};
  std::string first;
  std::getline(file, first);
  EXPECT_EQ(first, "time_s,\"a,\"\"b\"\" [N]\"\r");
}

}  // namespace
}  // namespace coldstroke::daq
