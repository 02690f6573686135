// SPDX-License-Identifier: GPL-3.0-or-later
//
// Trials out of a campaign and in again. What reads the files is not this program: h5py, h5dump, Python's csv.
#include "daq/record/trial_export.hpp"

#include <gmock/gmock.h>
#include <sys/resource.h>

#include <csignal>
#include <cstdlib>
#include <fstream>

#include "daq/record/trace_export.hpp"
#include "daq/record/trial_archive.hpp"
#include "daq/record/trial_import.hpp"
#include "tests/analysis/trial/synthetic_ejection.hpp"
#include "tests/daq/record/fresh_folder.hpp"
#include "tests/daq/record/trial_samples.hpp"

namespace coldstroke::daq {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;

std::string bytes_of(const std::filesystem::path& file) {
  std::ifstream stream{file, std::ios::binary};
  return {std::istreambuf_iterator<char>{stream}, {}};
}

std::vector<std::filesystem::path> tables_in(const std::filesystem::path& folder) {
  std::vector<std::filesystem::path> files;
  for (const auto& entry : std::filesystem::directory_iterator{folder})
    if (entry.path().extension() == ".csv") files.push_back(entry.path());
  std::ranges::sort(files);
  return files;
}

/// A campaign with one trial whose traces came from elsewhere, with everything that a table cannot say.
Campaign one_trial(const FreshFolder& folder) {
  auto made = analysis::synthetic_ejection({}, 5);
  made.traces.release_commanded_seconds = made.truth.release;
  std::filesystem::create_directory(folder / "in");
  EXPECT_TRUE(write_csv(folder / "in/traces.csv", made.traces));
  std::ofstream{folder / "in/timing.json"} << timing_json(made.traces);
  auto campaign = Campaign::open_or_create(folder / "campaign", "Juniper").value();
  const auto trial = import_trial(campaign, tables_in(folder / "in"), {}, virtual_setup());
  EXPECT_TRUE(trial) << (trial ? "" : trial.error().what + " " + trial.error().where);
  return campaign;
}

TEST(TrialExport, a_trial_written_as_csv_and_read_again_has_the_same_metrics) {
  const FreshFolder folder;
  const auto campaign = one_trial(folder);
  const auto first = judge_trial(campaign, 1);
  ASSERT_TRUE(first) << first.error().what;
  // These traces were made for another rig than this setup's, so some metrics are absent: those must stay absent, in the same
  // words. tests/daq/bench/exported_trial_test.cpp does the same with a trial of this rig.
  ASSERT_FALSE(first->result.metrics.empty());
  const auto exported = export_folder(campaign, folder / "out", {});
  ASSERT_TRUE(exported) << exported.error().what;
  const auto again = import_files(tables_in(folder / "out/trial_0001"), {}, virtual_setup());
  ASSERT_TRUE(again) << again.error().what << again.error().where;
  const auto result = analysis::analyse(again->traces, virtual_setup().trial);
  EXPECT_EQ(result.metrics, first->result.metrics);
  EXPECT_EQ(result.verdict, first->result.verdict);
  EXPECT_THAT(campaign.verify()->findings, IsEmpty());
}

TEST(TrialExport, the_folder_tells_of_itself) {
  const FreshFolder folder;
  ASSERT_TRUE(export_folder(one_trial(folder), folder / "out", {}));
  EXPECT_THAT(bytes_of(folder / "out/README.txt"), HasSubstr("Juniper"));
  const std::string dictionary = bytes_of(folder / "out/dictionary.csv");
  const std::string trials = bytes_of(folder / "out/trials.csv");
  // Every column of the table of trials stands in the dictionary.
  std::string column;
  for (const char c : trials.substr(0, trials.find('\r')) + ",") {
    if (c != ',') {
      column += c;
      continue;
    }
    EXPECT_THAT(dictionary, HasSubstr("trials.csv," + column + ","));
    column.clear();
  }
}

TEST(TrialExport, hdf5_is_read_by_h5py_and_by_h5dump_and_holds_the_same_samples) {
  const FreshFolder folder;
  const auto campaign = one_trial(folder);
  const auto done = export_hdf5(campaign, folder / "out.h5", {});
  ASSERT_TRUE(done) << done.error().what;
  ASSERT_TRUE(export_folder(campaign, folder / "out", {}));
  const std::string read = "/usr/bin/python3 " COLDSTROKE_SOURCE_DIR "/tests/daq/record/read_exports.py " +
                           folder.path().string() + " > " + (folder / "said").string() + " 2>&1";
  EXPECT_EQ(std::system(read.c_str()), 0) << bytes_of(folder / "said");
  const std::string dump = "h5dump -A " + (folder / "out.h5").string() + " > " + (folder / "dump").string() + " 2>&1";
  EXPECT_EQ(std::system(dump.c_str()), 0) << bytes_of(folder / "dump");
  const std::string said = bytes_of(folder / "dump");
  for (const char* part : {"GROUP \"trial_0001\"", "period_seconds", "\"unit\"", "detector_latency_seconds"})
    EXPECT_THAT(said, HasSubstr(part));
}

TEST(TrialExport, what_exists_is_not_written_over_and_a_stop_leaves_nothing) {
  const FreshFolder folder;
  const auto campaign = one_trial(folder);
  std::ofstream{folder / "out.h5"} << "mine";
  std::filesystem::create_directory(folder / "out");
  EXPECT_THAT(export_hdf5(campaign, folder / "out.h5", {}).error().what, HasSubstr("exists already"));
  EXPECT_THAT(export_folder(campaign, folder / "out", {}).error().what, HasSubstr("exists already"));
  EXPECT_EQ(bytes_of(folder / "out.h5"), "mine");
  const auto stop = [](std::size_t, std::size_t) { return false; };
  EXPECT_THAT(export_hdf5(campaign, folder / "b.h5", {}, stop).error().what, HasSubstr("Stopped"));
  EXPECT_THAT(export_folder(campaign, folder / "b", {}, stop).error().what, HasSubstr("Stopped"));
  EXPECT_FALSE(export_hdf5(campaign, folder / "c.h5", {7}));
  EXPECT_FALSE(export_hdf5(campaign, folder / "no/such/place.h5", {}));
  for (const auto& entry : std::filesystem::directory_iterator{folder.path()})
    EXPECT_EQ(entry.path().string().find("unfinished"), std::string::npos) << entry.path();
  EXPECT_FALSE(std::filesystem::exists(folder / "b.h5"));
  EXPECT_FALSE(std::filesystem::exists(folder / "b"));
}

/// No file of this process may grow beyond so many bytes, as on a disk with that much room; a write beyond fails.
class SmallDisk {
 public:
  explicit SmallDisk(rlim_t bytes) {
    getrlimit(RLIMIT_FSIZE, &before_);
    const rlimit small{bytes, before_.rlim_max};
    setrlimit(RLIMIT_FSIZE, &small);
  }
  SmallDisk(const SmallDisk&) = delete;
  SmallDisk& operator=(const SmallDisk&) = delete;
  ~SmallDisk() {
    setrlimit(RLIMIT_FSIZE, &before_);
    std::signal(SIGXFSZ, signal_);
  }

 private:
  rlimit before_{};
  sighandler_t signal_ = std::signal(SIGXFSZ, SIG_IGN);
};

// HDF5 1.10 falls over at the end of the program when a file could not be finished: a child ends as a program does.
TEST(TrialExport, a_full_disk_leaves_nothing_and_lets_the_program_end) {
  const FreshFolder folder;
  const auto campaign = one_trial(folder);
  const auto on_a_full_disk = [&] {
    {
      const SmallDisk disk{40000};
      const auto hdf5 = export_hdf5(campaign, folder / "out.h5", {});
      if (hdf5 || hdf5.error().what.find("cannot be written") == std::string::npos) std::exit(1);
      if (export_folder(campaign, folder / "out", {})) std::exit(2);
    }
    std::exit(export_hdf5(campaign, folder / "later.h5", {}) ? 0 : 3);
  };
  EXPECT_EXIT(on_a_full_disk(), testing::ExitedWithCode(0), "");
  EXPECT_TRUE(std::filesystem::exists(folder / "later.h5"));
  for (const char* name : {"out.h5", "out", "out.h5.unfinished", "out.unfinished"})
    EXPECT_FALSE(std::filesystem::exists(folder / name)) << name;
}

TEST(TrialImport, an_imported_trial_is_judged_again_from_what_the_campaign_keeps) {
  const FreshFolder folder;
  auto campaign = one_trial(folder);
  std::filesystem::remove_all(folder / "in");
  const auto later = std::vector<std::byte>(10, std::byte{1});
  ASSERT_TRUE(campaign.add_attachment(1, "picture.png", later));  // no table: it must not be read as one
  const auto judged = judge_trial(campaign, 1);
  ASSERT_TRUE(judged) << judged.error().what;
  const auto stored = parse_result_json(campaign.results(1)->back().json);
  EXPECT_EQ(judged->result.verdict, stored->verdict);
  EXPECT_EQ(judged->result.metrics.size(), stored->metrics.size());
}

TEST(TrialImport, a_file_that_cannot_be_read_makes_no_trial) {
  const FreshFolder folder;
  auto campaign = Campaign::open_or_create(folder / "campaign", "Juniper").value();
  std::ofstream{folder / "bad.csv"} << "time_s,force_N\n0,1\n0,2\n";
  EXPECT_FALSE(import_trial(campaign, {folder / "bad.csv"}, {}, virtual_setup()));
  EXPECT_FALSE(import_trial(campaign, {}, {}, virtual_setup()));
  EXPECT_THAT(*campaign.trials(), IsEmpty());
}

TEST(TrialImport, timing_that_does_not_fit_is_refused) {
  const FreshFolder folder;
  auto made = analysis::synthetic_ejection({}, 5).traces;
  EXPECT_FALSE(apply_timing("not JSON", "timing.json", made));
  EXPECT_FALSE(apply_timing("{}", "timing.json", made));
  auto other = made;
  other.traces[0].period_seconds *= 2.0;
  EXPECT_FALSE(apply_timing(timing_json(other), "timing.json", made));
}

TEST(ColumnMemory, is_found_again_by_the_header_line) {
  const FreshFolder folder;
  const auto memory = folder / "deep/columns.json";
  EXPECT_TRUE(remembered_mapping(memory, "a,b")->empty());
  ASSERT_TRUE(remember_mapping(memory, "a,b", {{"a", {"time", "ms"}}, {"b", {"force", "kN"}}}));
  ASSERT_TRUE(remember_mapping(memory, "c", {{"c", {"time", "s"}}}));
  const auto known = remembered_mapping(memory, "a,b").value();
  EXPECT_EQ(known.at("b").role, "force");
  EXPECT_EQ(known.at("b").unit, "kN");
  EXPECT_TRUE(remembered_mapping(memory, "a, b")->empty());
  std::ofstream{memory} << "broken";
  EXPECT_FALSE(remembered_mapping(memory, "a,b"));
}

}  // namespace
}  // namespace coldstroke::daq
