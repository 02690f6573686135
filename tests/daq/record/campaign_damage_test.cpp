// SPDX-License-Identifier: GPL-3.0-or-later
//
// Campaign files that are wrong, cut, changed or locked.
#include <SQLiteCpp/SQLiteCpp.h>
#include <gmock/gmock.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cctype>
#include <cstdlib>
#include <fstream>
#include <functional>
#include <iostream>
#include <random>

#include "daq/record/campaign.hpp"
#include "tests/daq/record/fresh_folder.hpp"
#include "tests/daq/record/trial_samples.hpp"

namespace coldstroke::daq {
namespace {

using testing::AllOf;
using testing::Contains;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

std::string bytes_of(const std::filesystem::path& file) {
  std::ifstream stream{file, std::ios::binary};
  return {std::istreambuf_iterator<char>{stream}, {}};
}

void write(const std::filesystem::path& file, std::string_view bytes) {
  std::ofstream{file, std::ios::binary | std::ios::trunc} << bytes;
}

void fill_campaign(const std::filesystem::path& file) {
  auto campaign = Campaign::open_or_create(file, "Juniper").value();
  for (unsigned trial = 1; trial <= 3; ++trial) {
    EXPECT_EQ(campaign.begin_trial(virtual_setup(), true, "seed " + std::to_string(trial)).value(), trial);
    const HostEvent event{5, "step", "released"};
    EXPECT_TRUE(campaign.append(trial, invented_rows(20, 2500, trial), {&event, 1}));
    EXPECT_TRUE(campaign.set_identity(trial, Node::rig, R"({"firmware":"r1"})"));
    EXPECT_TRUE(campaign.end_trial(trial, TrialStatus::recorded));
    EXPECT_TRUE(campaign.add_result(trial, "pass", R"({"verdict":"pass"})"));
    EXPECT_TRUE(campaign.add_result(trial, "fail", R"({"verdict":"fail"})"));
    EXPECT_TRUE(campaign.add_note(trial, "Ada", "hose moved"));
    EXPECT_TRUE(campaign.add_attachment(trial, "log.csv", std::vector<std::byte>(100, std::byte{7})));
    const bool voided = trial != 2 || campaign.void_by_hand(trial, "Ada", "the lid was still shut");
    EXPECT_TRUE(voided);
    EXPECT_TRUE(campaign.add_stimulus({0, "", "knock " + std::to_string(trial), "must_stay_silent", "synthesised: half sine",
                                       0.001, std::vector<double>(600, trial)}));
  }
}

/// Three trials with everything in them. Recorded once; every test gets its own copy.
void make_campaign(const std::filesystem::path& file) {
  static const FreshFolder folder;
  static const bool made = (fill_campaign(folder / "model"), true);
  ASSERT_TRUE(made);
  std::filesystem::copy_file(folder / "model", file);
}

/// All that a reader can get out of the file, as one text; empty if anything complains.
std::string everything(const Campaign& campaign) {
  std::string all = campaign.name().value_or("") + "\n";
  const auto trials = campaign.trials();
  if (!trials) return "";
  for (const TrialRow& trial : *trials) {
    all += std::to_string(trial.number) + word(trial.status) + trial.started_utc + trial.ended_utc + trial.origin +
           trial.setup_sha256 + std::to_string(trial.virtual_rig);
    const auto raw = campaign.raw(trial.number);
    const auto events = campaign.events(trial.number);
    const auto results = campaign.results(trial.number);
    const auto notes = campaign.notes(trial.number);
    const auto attachments = campaign.attachments(trial.number);
    const auto identity = campaign.identity(trial.number, Node::rig);
    const auto setup = campaign.setup_text(trial.number);
    if (!raw || !events || !results || !notes || !attachments || !identity || !setup) return "";
    for (const RawRow& row : *raw) {
      all += std::to_string(static_cast<int>(row.node)) + std::to_string(static_cast<int>(row.direction)) +
             std::to_string(row.host_us);
      for (const std::byte byte : row.bytes) all += static_cast<char>(byte);
    }
    for (const HostEvent& event : *events) all += std::to_string(event.host_us) + event.kind + event.text;
    for (const ResultRow& result : *results) all += result.created_utc + result.program_version + result.verdict + result.json;
    for (const auto& note : *notes) all += note.created_utc + note.author + note.text;
    for (const auto& attachment : *attachments) {
      all += attachment.created_utc + attachment.name;
      for (const std::byte byte : attachment.bytes) all += static_cast<char>(byte);
    }
    all += identity->value_or("none") + *setup;
  }
  return all;
}

TEST(CampaignFile, what_is_not_a_campaign_is_refused_and_left_as_it_is) {
  const FreshFolder folder;
  const auto file = folder / "f";
  const auto refused = [&](const std::string& bytes, const char* why) {
    write(file, bytes);
    for (const auto& opened :
         {Campaign::open_or_create(file, "x").map([](auto&&) {}), Campaign::open_read_only(file).map([](auto&&) {})}) {
      ASSERT_FALSE(opened);
      EXPECT_THAT(opened.error().what, HasSubstr(why));
      EXPECT_EQ(opened.error().where, file.string());
    }
    EXPECT_EQ(bytes_of(file), bytes);
  };
  refused("", "empty");
  refused("hello", "not a SQLite database");
  refused(std::string(100'000, 'x'), "not a SQLite database");
  refused(std::string("SQLite format 3\0", 16), "cut short");
  {
    std::filesystem::remove(file);
    SQLite::Database other{file.string(), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE};
    other.exec("CREATE TABLE t (a); INSERT INTO t VALUES (1)");
  }
  refused(bytes_of(file), "some other program");
}

TEST(CampaignFile, a_missing_file_or_a_folder_is_named) {
  const FreshFolder folder;
  EXPECT_THAT(Campaign::open_read_only(folder / "none").error().what, HasSubstr("No such file"));
  EXPECT_THAT(Campaign::open_read_only(folder.path()).error().what, HasSubstr("folder"));
  EXPECT_FALSE(Campaign::open_or_create(folder / "no/such/folder", "x"));
  EXPECT_FALSE(Campaign::open_or_create(folder.path(), "x"));
}

TEST(CampaignFile, another_schema_version_is_refused_and_says_what_to_do) {
  const FreshFolder folder;
  const auto file = folder / "campaign";
  make_campaign(file);
  SQLite::Database{file.string(), SQLite::OPEN_READWRITE}.exec("PRAGMA user_version = 3");
  for (const bool writing : {true, false}) {
    const auto newer = writing ? Campaign::open_or_create(file, "x") : Campaign::open_read_only(file);
    ASSERT_FALSE(newer);
    EXPECT_THAT(newer.error().what, AllOf(HasSubstr("schema version 3"), HasSubstr("reads version 2")));
    EXPECT_THAT(newer.error().remedy, HasSubstr("newer coldstroke"));
  }
  SQLite::Database{file.string(), SQLite::OPEN_READWRITE}.exec("PRAGMA user_version = 1");
  const auto older = Campaign::open_read_only(file);
  ASSERT_FALSE(older);
  EXPECT_THAT(older.error().remedy, HasSubstr("older coldstroke"));
}

TEST(CampaignFile, a_file_cut_anywhere_is_refused_and_left_as_it_is) {
  const FreshFolder folder;
  const auto file = folder / "campaign";
  make_campaign(file);
  const std::string whole = bytes_of(file);
  std::size_t cuts = 0;
  for (std::size_t length = 1; length < whole.size(); length += length % 4096 == 0 ? 1 : 4095) {
    const std::string part = whole.substr(0, length);
    write(file, part);
    for (const bool writing : {true, false}) {
      const auto opened = writing ? Campaign::open_or_create(file, "x") : Campaign::open_read_only(file);
      ASSERT_FALSE(opened) << length;
    }
    EXPECT_EQ(bytes_of(file), part);
    ++cuts;
  }
  EXPECT_GT(cuts, 50U);
  write(file, whole + "appended");
  EXPECT_THAT(Campaign::open_read_only(file)->verify()->findings, Contains(HasSubstr("bytes long")));
}

TEST(CampaignFile, two_writers_are_refused_and_the_first_is_named) {
  const FreshFolder folder;
  const auto file = folder / "campaign";
  auto first = Campaign::open_or_create(file, "Juniper");
  ASSERT_TRUE(first);
  const auto second = Campaign::open_or_create(file, "Juniper");
  ASSERT_FALSE(second);
  EXPECT_THAT(second.error().what, AllOf(HasSubstr("being written by"), HasSubstr(std::to_string(::getpid()))));
  std::filesystem::create_symlink(file, folder / "other-name");
  EXPECT_FALSE(Campaign::open_or_create(folder / "other-name", "Juniper"));
  EXPECT_TRUE(Campaign::open_read_only(file)) << "readers need no lock";
  first = tl::unexpected{Complaint{}};
  EXPECT_TRUE(Campaign::open_or_create(file, "Juniper"));
}

TEST(CampaignFile, another_program_inside_the_database_is_named_as_the_reason) {
  const FreshFolder folder;
  const auto file = folder / "campaign";
  auto campaign = Campaign::open_or_create(file, "Juniper");
  ASSERT_TRUE(campaign);
  SQLite::Database other{file.string(), SQLite::OPEN_READWRITE};
  other.exec("BEGIN IMMEDIATE");
  const auto begun = campaign->begin_trial(virtual_setup(), true, "test");
  ASSERT_FALSE(begun);
  EXPECT_THAT(begun.error().what, HasSubstr("locked by another program"));
  other.exec("ROLLBACK");
  EXPECT_EQ(campaign->begin_trial(virtual_setup(), true, "test").value(), 1);
}

TEST(CampaignFile, raw_setup_result_and_ended_trials_cannot_be_changed_through_the_database) {
  const FreshFolder folder;
  const auto file = folder / "campaign";
  make_campaign(file);
  SQLite::Database database{file.string(), SQLite::OPEN_READWRITE};
  for (const char* table : {"campaign", "setup", "trial", "calibration", "identity", "raw", "event", "result", "note",
                            "attachment", "hand_void", "stimulus", "ledger"}) {
    const std::string name{table};
    const std::string column = name == "campaign"      ? "name = 'x'"
                               : name == "setup"       ? "text = 'x'"
                               : name == "trial"       ? "origin = 'x'"
                               : name == "calibration" ? "scale = 2.0"
                               : name == "stimulus"    ? "label = 'must_fire'"
                                                       : "trial = 2";
    EXPECT_THROW(database.exec("UPDATE " + name + " SET " + column), SQLite::Exception) << name;
    EXPECT_THROW(database.exec("DELETE FROM " + name), SQLite::Exception) << name;
  }
  EXPECT_THROW(database.exec("INSERT INTO event (trial, host_us, kind, text) VALUES (1, 1, 'step', 'late')"), SQLite::Exception);
  EXPECT_THROW(database.exec("INSERT INTO raw (trial, sequence, node, direction, host_us, bytes, chain) VALUES "
                             "(1, 21, 0, 0, 0, x'00', zeroblob(32))"),
               SQLite::Exception);
}

struct Tampering {
  const char* sql;
  const char* finding;
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
void PrintTo(const Tampering& bad, std::ostream* out) { *out << name_of(bad.sql); }

class CampaignTampered : public testing::TestWithParam<Tampering> {};

/// Somebody takes the triggers away, changes one thing, and puts the triggers back.
TEST_P(CampaignTampered, is_found_and_the_trial_is_named) {
  const FreshFolder folder;
  const auto file = folder / "campaign";
  make_campaign(file);
  {
    SQLite::Database database{file.string(), SQLite::OPEN_READWRITE};
    std::vector<std::string> names, texts;
    {
      SQLite::Statement triggers{database, "SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'"};
      while (triggers.executeStep()) {
        names.push_back(triggers.getColumn(0).getString());
        texts.push_back(triggers.getColumn(1).getString());
      }
    }
    for (const std::string& name : names) database.exec("DROP TRIGGER " + name);
    database.exec("PRAGMA foreign_keys = OFF");
    EXPECT_GT(database.exec(GetParam().sql), 0) << GetParam().sql;
    for (const std::string& text : texts) database.exec(text);
  }
  const auto report = Campaign::open_read_only(file)->verify();
  ASSERT_TRUE(report);
  EXPECT_THAT(report->findings, Contains(HasSubstr(GetParam().finding))) << GetParam().sql;
  EXPECT_THAT(report->findings, Not(Contains(HasSubstr("Trial 1: raw")))) << "only what was touched";
}
INSTANTIATE_TEST_SUITE_P(
    all, CampaignTampered,
    testing::Values(
        Tampering{"UPDATE raw SET bytes = x'00' WHERE trial = 2 AND sequence = 7", "Trial 2: raw row 7"},
        Tampering{"UPDATE raw SET host_us = host_us + 1 WHERE trial = 2 AND sequence = 7", "Trial 2: raw row 7"},
        Tampering{"UPDATE raw SET node = 1 - node WHERE trial = 2 AND sequence = 1", "Trial 2: raw row 1"},
        Tampering{"UPDATE raw SET direction = 1 - direction WHERE trial = 2 AND sequence = 20", "Trial 2: raw row 20"},
        Tampering{"UPDATE raw SET chain = zeroblob(32) WHERE trial = 2 AND sequence = 7", "Trial 2: raw row 7"},
        Tampering{"DELETE FROM raw WHERE trial = 2 AND sequence = 7", "Trial 2: raw row 8"},
        Tampering{"DELETE FROM raw WHERE trial = 2 AND sequence = 20", "Trial 2: its seal"},
        Tampering{"DELETE FROM raw WHERE trial = 2", "Trial 2: its seal"},
        Tampering{"UPDATE raw SET trial = 3, sequence = 21 WHERE trial = 2 AND sequence = 20", "Trial 3: raw row 21"},
        Tampering{"UPDATE trial SET status = 'aborted' WHERE number = 2", "Trial 2: its seal"},
        Tampering{"UPDATE trial SET status = 'recording', seal = NULL WHERE number = 2", "Trial 3: its seal"},
        Tampering{"UPDATE trial SET origin = 'bench', virtual_rig = 0 WHERE number = 2", "Trial 2: its seal"},
        Tampering{"UPDATE trial SET ended_utc = '2020-01-01T00:00:00.000Z' WHERE number = 2", "Trial 2: its seal"},
        Tampering{"UPDATE trial SET seal = zeroblob(32) WHERE number = 2", "Trial 2: its seal"},
        Tampering{"DELETE FROM trial WHERE number = 2", "Trials 2 to 2 are missing"},
        Tampering{"UPDATE campaign SET name = 'other'", "Trial 1: its seal"},
        Tampering{"UPDATE setup SET text = text || ' '", "Trial 2: the setup text"},
        Tampering{"UPDATE calibration SET scale = scale * 2 WHERE trial = 2 AND channel = 'force'", "Trial 2: its seal"},
        Tampering{"UPDATE calibration SET curvature = 1e-9 WHERE trial = 2 AND channel = 'force'", "Trial 2: its seal"},
        Tampering{"UPDATE calibration SET calibrated_low = 0, calibrated_high = 1 WHERE trial = 2", "Trial 2: its seal"},
        Tampering{"UPDATE identity SET json = '{}' WHERE trial = 2", "Trial 2: its seal"},
        Tampering{"UPDATE event SET text = 'aborted' WHERE trial = 2", "Trial 2: its seal"},
        Tampering{"UPDATE result SET verdict = 'pass' WHERE trial = 2 AND verdict = 'fail'", "Trial 2: result 4"},
        Tampering{"UPDATE result SET json = '{}' WHERE trial = 2 AND verdict = 'pass'", "Trial 2: result 3"},
        Tampering{"DELETE FROM result WHERE trial = 2 AND verdict = 'pass'", "Trial 2: result 4"},
        Tampering{"UPDATE result SET trial = 3 WHERE id = 4", "Trial 3: result"},
        Tampering{"UPDATE hand_void SET reason = 'x' WHERE trial = 2", "Trial 2: who voided it"},
        Tampering{"UPDATE hand_void SET trial = 3 WHERE trial = 2", "Trial 3: who voided it"},
        Tampering{"DELETE FROM hand_void WHERE trial = 2", "Trial 2: what it holds (hand-void)"},
        Tampering{"UPDATE ledger SET trial = 1 WHERE trial = 2 AND kind = 'note'", "(note of trial 1) is not what was entered"},
        Tampering{"DELETE FROM ledger WHERE trial = 3 AND kind = 'attachment'", "Trial 3: what it holds (attachment)"},
        Tampering{"UPDATE stimulus SET label = 'must_fire' WHERE number = 2", "Stimulus 2 (\"knock 2\") is not what was stored"},
        Tampering{"UPDATE stimulus SET samples = zeroblob(8) WHERE number = 2", "Stimulus 2 (\"knock 2\")"},
        Tampering{"DELETE FROM stimulus WHERE number = 3", "The campaign: what it holds (stimulus)"},
        Tampering{"UPDATE note SET text = '' WHERE trial = 2", "Trial 2: the note"},
        Tampering{"UPDATE attachment SET bytes = x'00' WHERE trial = 2", "Trial 2: the attached file \"log.csv\""}));

/// docs/campaign-file.md is enough to check a file: a program that knows nothing else agrees, on a sound file and on a changed
/// one.
TEST(CampaignFile, a_checker_written_from_the_documentation_agrees) {
  const FreshFolder folder;
  const auto file = folder / "campaign";
  make_campaign(file);
  const std::string command =
      "python3 " COLDSTROKE_SOURCE_DIR "/docs/check_campaign.py " + file.string() + " > " + (folder / "said").string();
  EXPECT_EQ(std::system(command.c_str()), 0) << bytes_of(folder / "said");
  EXPECT_EQ(bytes_of(folder / "said"), "all digests fit\n");
  {
    SQLite::Database database{file.string(), SQLite::OPEN_READWRITE};
    database.exec("DROP TRIGGER note_fixed; DROP TRIGGER raw_fixed");
    database.exec("UPDATE note SET author = 'Eve' WHERE trial = 3; UPDATE raw SET host_us = 0 WHERE trial = 2 AND sequence = 4");
  }
  EXPECT_NE(std::system(command.c_str()), 0);
  EXPECT_THAT(bytes_of(folder / "said"),
              AllOf(HasSubstr("page 1\n"), HasSubstr("\ntrial 2: raw row 4\ntrial 2: seal\ntrial 3: note\n")));
}

TEST(CampaignFile, reading_and_verifying_changes_no_byte_of_it) {
  const FreshFolder folder;
  const auto file = folder / "campaign";
  make_campaign(file);
  const std::string before = bytes_of(file);
  EXPECT_FALSE(everything(Campaign::open_read_only(file).value()).empty());
  EXPECT_TRUE(Campaign::open_read_only(file)->verify());
  EXPECT_EQ(bytes_of(file), before);
  EXPECT_EQ(bytes_of(file.string() + "-wal"), "") << "a reader may leave the log beside the file, but nothing in it";
}

TEST(CampaignFile, a_missing_trigger_is_found) {
  const FreshFolder folder;
  const auto file = folder / "campaign";
  make_campaign(file);
  SQLite::Database{file.string(), SQLite::OPEN_READWRITE}.exec("DROP TRIGGER raw_fixed");
  EXPECT_THAT(Campaign::open_read_only(file)->verify()->findings, Contains(HasSubstr("not those of schema version 2")));
}

TEST(CampaignFile, a_flipped_byte_in_raw_data_names_its_trial) {
  const FreshFolder folder;
  const auto file = folder / "campaign";
  make_campaign(file);
  std::string bytes = bytes_of(file);
  const auto rows = invented_rows(20, 2500, 2);  // those of trial 2
  const auto row = std::ranges::find_if(
      rows, [](const RawRow& candidate) { return candidate.bytes.size() > 500 && candidate.bytes.size() < 1000; });
  ASSERT_NE(row, rows.end());
  const std::string_view needle{reinterpret_cast<const char*>(row->bytes.data()), row->bytes.size()};
  const auto at = bytes.find(needle);
  ASSERT_NE(at, std::string::npos);
  bytes[at + 100] = static_cast<char>(bytes[at + 100] ^ 0x10);
  write(file, bytes);
  const auto report = Campaign::open_read_only(file)->verify();
  ASSERT_TRUE(report);
  EXPECT_THAT(report->findings, Contains(HasSubstr("Trial 2: raw row " + std::to_string(row - rows.begin() + 1))));
}

TEST(CampaignFile, a_byte_flipped_at_any_of_1000_places_is_reported_with_its_page) {
  const FreshFolder folder;
  const auto file = folder / "campaign";
  make_campaign(file);
  const std::string whole = bytes_of(file);
  std::mt19937 draw{7};
  int at_opening = 0, by_page = 0, naming_trial = 0;
  for (int i = 0; i < 1000; ++i) {
    std::string flipped = whole;
    // Every sixth in the first page, which holds the header and the root of the table definitions.
    const std::size_t at = i % 6 == 0 ? draw() % 4096U : draw() % whole.size();
    flipped[at] = static_cast<char>(flipped[at] ^ (1 << (draw() % 8U)));
    write(file, flipped);
    const auto campaign = Campaign::open_read_only(file);
    const auto report = campaign ? campaign->verify() : Result<IntegrityReport>{tl::unexpected{campaign.error()}};
    if (!report) {
      ++at_opening;
      // Only the head and the table definitions keep a file shut; the head is named as such.
      const bool named =
          at < 100 || report.error().what.find("Page " + std::to_string(at / 4096 + 1) + " of") != std::string::npos;
      EXPECT_TRUE(named) << at << ": " << report.error().what;
    } else {
      ++by_page;
      const std::string place = "Page " + std::to_string(at / 4096 + 1) + " of the file";
      EXPECT_THAT(report->findings, Contains(HasSubstr(place))) << "byte " << at;
      for (const std::string& finding : report->findings)
        if (finding.find("of trial") != std::string::npos || finding.find("Trial ") == 0) {
          ++naming_trial;
          break;
        }
    }
    for (const char* rest : {"-wal", "-shm"}) std::filesystem::remove(file.string() + rest);
  }
  std::cout << "flipped bytes: " << at_opening << " refused at opening, " << by_page << " reported with their page, "
            << naming_trial << " of them with a trial\n";
  EXPECT_EQ(at_opening + by_page, 1000);
  EXPECT_GT(naming_trial, 400);  // the rest lies in the head, the definitions, the setup and the ledger
}

TEST(CampaignFile, a_byte_flipped_in_a_trial_names_that_trial_by_its_page) {
  const FreshFolder folder;
  const auto file = folder / "campaign";
  make_campaign(file);
  const std::string whole = bytes_of(file);
  const auto raw = Campaign::open_read_only(file)->raw(3).value();
  for (const RawRow& row : raw) {
    if (row.bytes.size() < 600) continue;
    const std::string_view wanted{reinterpret_cast<const char*>(row.bytes.data()) + 500, 20};
    const std::size_t at = whole.find(wanted);
    if (at == std::string::npos) continue;  // these twenty lie across two pages
    std::string flipped = whole;
    flipped[at + 3] = static_cast<char>(flipped[at + 3] ^ 1);
    write(file, flipped);
    const auto report = Campaign::open_read_only(file)->verify().value();
    EXPECT_THAT(report.findings, Contains(AllOf(HasSubstr("Page " + std::to_string(at / 4096 + 1) + " "), HasSubstr("trial"))));
    EXPECT_THAT(report.findings, Contains(HasSubstr("Trial 3: raw row")));
  }
}

TEST(CampaignFile, a_row_added_by_another_program_is_reported) {
  const FreshFolder folder;
  const auto file = folder / "campaign";
  make_campaign(file);
  SQLite::Database{file.string(), SQLite::OPEN_READWRITE}.exec(
      "INSERT INTO note (trial, created_utc, author, text, sha256) VALUES (1, '', '', '', zeroblob(32))");
  const auto report = Campaign::open_read_only(file)->verify().value();
  EXPECT_THAT(report.findings, Contains(HasSubstr("Trial 1: the note")));
  EXPECT_THAT(report.findings, Contains(HasSubstr("Trial 1: what it holds (note) is not what the ledger says")));
  EXPECT_THAT(report.findings, Contains(HasSubstr("was altered: note rows of trial")));
}

TEST(CampaignFile, a_result_taken_away_with_its_digest_is_missed_by_the_ledger) {
  const FreshFolder folder;
  const auto file = folder / "campaign";
  make_campaign(file);
  {
    SQLite::Database database{file.string(), SQLite::OPEN_READWRITE};
    const std::string trigger = database.execAndGet("SELECT sql FROM sqlite_schema WHERE name = 'result_kept'").getString();
    database.exec("DROP TRIGGER result_kept; DELETE FROM result WHERE id = (SELECT max(id) FROM result)");
    database.exec(trigger);
  }
  EXPECT_THAT(Campaign::open_read_only(file)->verify()->findings,
              Contains(HasSubstr("Trial 3: what it holds (result) is not what the ledger says was added.")));
}

/// Runs `work` in a process without the right to write anything; returns what it printed.
std::string unprivileged(const std::function<std::string()>& work) {
  int ends[2];
  EXPECT_EQ(::pipe(ends), 0);
  const pid_t child = ::fork();
  if (child == 0) {
    ::close(ends[0]);
    if (::getuid() == 0 && (::setgid(65534) != 0 || ::setuid(65534) != 0)) ::_exit(1);
    const std::string said = work();
    (void)!::write(ends[1], said.data(), said.size());
    ::_exit(0);
  }
  ::close(ends[1]);
  std::string said;
  char buffer[512];
  for (ssize_t got = 0; (got = ::read(ends[0], buffer, sizeof buffer)) > 0;) said.append(buffer, static_cast<std::size_t>(got));
  ::close(ends[0]);
  int status = 0;
  EXPECT_EQ(::waitpid(child, &status, 0), child);
  EXPECT_EQ(status, 0);
  return said;
}

TEST(CampaignFile, is_read_and_verified_where_nothing_can_be_written) {
  const FreshFolder folder;
  const auto file = folder / "a campaign?#%.db";
  make_campaign(file);
  ASSERT_FALSE(std::filesystem::exists(file.string() + "-wal")) << "a clean close leaves one file";
  std::filesystem::permissions(file, std::filesystem::perms{0444});
  std::filesystem::permissions(folder.path(), std::filesystem::perms{0555});
  const std::string read = unprivileged([&]() -> std::string {
    const auto campaign = Campaign::open_read_only(file);
    if (!campaign) return campaign.error().what;
    const auto report = campaign->verify();
    if (!report) return report.error().what;
    return std::to_string(report->trials) + " trials, " + std::to_string(report->findings.size()) + " findings";
  });
  EXPECT_EQ(read, "3 trials, 0 findings");
  const std::string refused = unprivileged([&] { return Campaign::open_or_create(file, "x").map([](auto&&) {}).error().what; });
  EXPECT_THAT(refused, HasSubstr("may not be written"));
  std::filesystem::permissions(folder.path(), std::filesystem::perms{0755});
}

TEST(CampaignFile, not_cleanly_closed_it_is_not_half_read_where_nothing_can_be_written) {
  const FreshFolder folder;
  const auto file = folder / "campaign";
  auto campaign = Campaign::open_or_create(file, "Juniper").value();
  ASSERT_TRUE(campaign.begin_trial(virtual_setup(), true, "test"));
  std::filesystem::create_directory(folder / "copy");
  const auto copy = folder / "copy/campaign";
  std::filesystem::copy_file(file, copy);
  std::filesystem::copy_file(file.string() + "-wal", copy.string() + "-wal");
  std::filesystem::permissions(folder.path(), std::filesystem::perms{0755});
  std::filesystem::permissions(folder / "copy", std::filesystem::perms{0555});
  const std::string said = unprivileged([&] {
    const auto opened = Campaign::open_read_only(copy);
    return opened ? "opened" : opened.error().what + " " + opened.error().remedy;
  });
  EXPECT_THAT(said, AllOf(HasSubstr("not closed cleanly"), HasSubstr("-wal")));
  std::filesystem::permissions(folder / "copy", std::filesystem::perms{0755});
  const auto recovered = Campaign::open_or_create(copy, "");
  ASSERT_TRUE(recovered) << recovered.error().what;
  EXPECT_EQ(recovered->trial(1)->status, TrialStatus::interrupted);
}

}  // namespace
}  // namespace coldstroke::daq
