// SPDX-License-Identifier: GPL-3.0-or-later
//
// Checks that a campaign file is what was written: the database's own structure first, then every digest from the raw rows up.
#include <algorithm>
#include <map>
#include <optional>
#include <set>

#include "daq/record/campaign_file.hpp"
#include "daq/record/campaign_inside.hpp"
#include "daq/record/campaign_pages.hpp"
#include "daq/record/campaign_schema.hpp"

namespace coldstroke::daq {
namespace {

struct TrialHead {
  std::string status, started_utc, ended_utc, setup_sha256, seal;
};

class Verification {
 public:
  Verification(SQLite::Database& database, const std::filesystem::path& file, const Progress& progress)
      : database_{database}, file_{file}, progress_{progress} {}

  /// Nothing if it was asked to stop.
  std::optional<IntegrityReport> run() {
    step("The pages", [&] { check_pages(); });
    step("The structure of the file", [&] { check_structure(); });
    step("The table definitions", [&] { check_definitions(); });
    step("The list of trials", [&] { read_trials(); });
    step("The setups", [&] { check_setups(); });
    step("The raw data", [&] { check_chains(); });
    if (stopped_) return std::nullopt;
    for (const auto& [number, head] : trials_) {
      step("Trial " + std::to_string(number), [&, n = number] { check_trial(n); });
    }
    step("The trials voided by hand", [&] { check_hand_voids(); });
    step("The stimuli", [&] { check_stimuli(); });
    step("The ledger", [&] { check_ledger(); });
    return std::move(report_);
  }

 private:
  void find(const std::string& sentence) { report_.findings.push_back(sentence); }
  static std::string trial(std::int64_t number) { return "Trial " + std::to_string(number); }

  /// A damaged page makes the database throw; that is a finding like any other and must not hide the rest.
  template <class Check>
  void step(const std::string& what, Check&& check) {
    try {
      check();
    } catch (const SQLite::Exception& error) {
      find(what + " cannot be read: " + error.what() + ".");
    }
  }

  void check_pages();
  void check_structure();
  void check_definitions();
  void read_trials();
  void check_setups();
  void check_chains();
  void check_raw_row(SQLite::Statement& row);
  void check_trial(std::int64_t number);
  void check_results(std::int64_t number, const std::string& seal);
  void check_notes(std::int64_t number);
  void check_attachments(std::int64_t number);
  void check_hand_voids();
  void check_stimuli();
  void check_ledger();

  SQLite::Database& database_;
  const std::filesystem::path& file_;
  const Progress& progress_;
  bool stopped_ = false;
  IntegrityReport report_;
  std::map<std::int64_t, TrialHead> trials_;
  std::map<std::int64_t, RecordingTrial> chains_;
  std::set<std::int64_t> broken_;  ///< trials whose chain is already reported
  std::int64_t at_trial_ = 0;      ///< the last trial a raw row was read of
};

/// Every byte of the file stands in a page, and every page carries its digest: also what no table reads.
void Verification::check_pages() {
  const std::size_t bytes = page_bytes(file_).value_or(0);
  if (bytes < 512) return find("The page size that the file states is impossible.");
  const auto altered = altered_pages(file_, bytes);
  const auto contents = page_contents(database_, altered);
  for (std::size_t k = 0; k < altered.size(); ++k) {
    find("Page " + std::to_string(altered[k]) + " of the file (bytes " + std::to_string((altered[k] - 1) * bytes) + " to " +
         std::to_string(altered[k] * bytes - 1) + ") was altered: " + contents[k] + ".");
  }
}

void Verification::check_structure() {
  if (const auto length = file_length(file_); length && length->found != length->stated) {
    find("The file is " + std::to_string(length->found) + " bytes long and says it is " + std::to_string(length->stated) + ".");
  }
  SQLite::Statement integrity{database_, "PRAGMA integrity_check(20)"};
  while (integrity.executeStep()) {
    const std::string line = integrity.getColumn(0).getString();
    if (line != "ok") find("The structure of the file is damaged: " + line + ".");
  }
  SQLite::Statement keys{database_, "PRAGMA foreign_key_check"};
  while (keys.executeStep()) {
    find("A row of table " + keys.getColumn(0).getString() + " belongs to a " + keys.getColumn(2).getString() +
         " that is not there.");
  }
}

std::vector<std::string> definitions(SQLite::Database& database) {
  std::vector<std::string> lines;
  SQLite::Statement query{database, "SELECT type, name, tbl_name, coalesce(sql, '') FROM sqlite_schema ORDER BY type, name"};
  while (query.executeStep()) {
    lines.push_back(query.getColumn(0).getString() + " " + query.getColumn(1).getString() + " " + query.getColumn(2).getString() +
                    " " + query.getColumn(3).getString());
  }
  return lines;
}

/// The triggers that keep raw data from being changed are part of what is verified.
void Verification::check_definitions() {
  SQLite::Database fresh{":memory:", SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE};
  fresh.exec(std::string{campaign_schema()});
  if (definitions(fresh) != definitions(database_)) {
    find("The tables, triggers or indexes are not those of schema version " + std::to_string(kCampaignSchemaVersion) + ".");
  }
}

void Verification::read_trials() {
  SQLite::Statement query{database_,
                          "SELECT number, status, started_utc, ended_utc, setup_sha256, seal FROM trial ORDER BY number"};
  while (query.executeStep()) {
    const std::int64_t number = query.getColumn(0).getInt64();
    TrialHead head{query.getColumn(1).getString(), query.getColumn(2).getString(), query.getColumn(3).getString(),
                   query.getColumn(4).getString(), blob(query.getColumn(5))};
    chains_[number] = {number, 0, chain_start(number, head.setup_sha256, head.started_utc)};
    trials_[number] = std::move(head);
  }
  std::int64_t expected = 1;
  for (const auto& [number, head] : trials_) {
    if (expected < number) find("Trials " + std::to_string(expected) + " to " + std::to_string(number - 1) + " are missing.");
    expected = number + 1;
  }
  report_.trials = trials_.size();
}

void Verification::check_setups() {
  std::set<std::string> altered;
  SQLite::Statement query{database_, "SELECT sha256, text FROM setup"};
  while (query.executeStep()) {
    const std::string sha256 = query.getColumn(0).getString();
    if (sha256_hex(query.getColumn(1).getString()) != sha256) altered.insert(sha256);
  }
  for (const auto& [number, head] : trials_) {
    if (altered.contains(head.setup_sha256)) find(trial(number) + ": the setup text is not the one the trial was made with.");
  }
}

void Verification::check_raw_row(SQLite::Statement& row) {
  const std::int64_t number = row.getColumn(0).getInt64();
  const std::int64_t sequence = row.getColumn(1).getInt64();
  if (number != at_trial_ && progress_)
    stopped_ = !progress_(static_cast<std::size_t>(std::max<std::int64_t>(0, number - 1)), trials_.size());
  at_trial_ = number;
  ++report_.raw_rows;
  const auto chain = chains_.find(number);
  if (chain == chains_.end()) {
    find("A raw row belongs to trial " + std::to_string(number) + ", which is not there.");
    return;
  }
  RecordingTrial& at = chain->second;
  const std::string stored = blob(row.getColumn(6));
  const std::string next =
      chain_next(at.chain, static_cast<std::uint8_t>(row.getColumn(2).getInt()),
                 static_cast<std::uint8_t>(row.getColumn(3).getInt()), row.getColumn(4).getInt64(), blob(row.getColumn(5)));
  if ((sequence != at.last_sequence + 1 || next != stored) && broken_.insert(number).second) {
    find(trial(number) + ": raw row " + std::to_string(sequence) + " is not what was recorded (first of this trial).");
  }
  at.last_sequence = sequence;
  at.chain = stored;
}

void Verification::check_chains() {
  // In the order of the table itself, so that also the trial a row says it belongs to is read from the row.
  SQLite::Statement query{database_,
                          "SELECT trial, sequence, node, direction, host_us, bytes, chain FROM raw NOT INDEXED ORDER BY id"};
  try {
    while (!stopped_ && query.executeStep()) check_raw_row(query);
  } catch (const SQLite::Exception& error) {
    for (const auto& [number, head] : trials_) {
      if (number >= at_trial_) broken_.insert(number);
    }
    find("Trial " + std::to_string(std::max<std::int64_t>(at_trial_, 1)) +
         ": its raw data, or that of a trial after it, cannot be read: " + error.what() + ".");
  }
}

void Verification::check_trial(std::int64_t number) {
  const TrialHead& head = trials_.at(number);
  if (head.seal.empty()) {
    if (head.status != word(TrialStatus::recording)) find(trial(number) + " has ended but carries no seal.");
  } else if (!broken_.contains(number) && trial_seal(database_, chains_.at(number), head.status, head.ended_utc) != head.seal) {
    find(trial(number) +
         ": its seal does not fit: the trial's row, calibrations, identities, events or last raw rows, or the trial "
         "before it, were changed.");
  }
  check_results(number, head.seal);
  check_notes(number);
  check_attachments(number);
}

void Verification::check_results(std::int64_t number, const std::string& seal) {
  SQLite::Statement query{
      database_, "SELECT id, created_utc, program_version, verdict, json, sha256 FROM result WHERE trial = ? ORDER BY id"};
  query.bind(1, number);
  std::string previous;
  while (query.executeStep()) {
    const ResultRow row{query.getColumn(0).getInt64(), query.getColumn(1).getString(), query.getColumn(2).getString(),
                        query.getColumn(3).getString(), query.getColumn(4).getString()};
    const std::string stored = blob(query.getColumn(5));
    if (result_digest(previous, seal, row) != stored) {
      find(trial(number) + ": result " + std::to_string(row.id) + " is not what was stored, or one before it is missing.");
    }
    previous = stored;
  }
}

void Verification::check_notes(std::int64_t number) {
  SQLite::Statement query{database_, "SELECT created_utc, author, text, sha256 FROM note WHERE trial = ? ORDER BY id"};
  query.bind(1, number);
  std::string previous;
  while (query.executeStep()) {
    const Campaign::Note note{query.getColumn(0).getString(), query.getColumn(1).getString(), query.getColumn(2).getString()};
    const std::string stored = blob(query.getColumn(3));
    if (note_digest(previous, number, note) != stored) {
      find(trial(number) + ": the note of " + note.created_utc + " is not what was written, or one before it is missing.");
    }
    previous = stored;
  }
}

void Verification::check_attachments(std::int64_t number) {
  SQLite::Statement query{database_, "SELECT created_utc, name, bytes, sha256 FROM attachment WHERE trial = ? ORDER BY id"};
  query.bind(1, number);
  std::string previous;
  while (query.executeStep()) {
    const std::string name = query.getColumn(1).getString();
    const std::string stored = blob(query.getColumn(3));
    if (attachment_digest(previous, number, query.getColumn(0).getString(), name, blob(query.getColumn(2))) != stored) {
      find(trial(number) + ": the attached file \"" + name + "\" is not what was stored, or one before it is missing.");
    }
    previous = stored;
  }
}

void Verification::check_hand_voids() {
  SQLite::Statement query{database_,
                          "SELECT trial, created_utc, person, reason, judged_before, sha256 FROM hand_void ORDER BY id"};
  while (query.executeStep()) {
    const std::int64_t number = query.getColumn(0).getInt64();
    const HandVoid made{query.getColumn(1).getString(), query.getColumn(2).getString(), query.getColumn(3).getString(),
                        query.getColumn(4).getString()};
    if (hand_void_digest(number, made) != blob(query.getColumn(5)))
      find(trial(number) + ": who voided it by hand, when or why is not what was written.");
  }
}

void Verification::check_stimuli() {
  SQLite::Statement query{database_,
                          "SELECT number, created_utc, name, label, source, sample_period_s, samples, sha256 FROM stimulus "
                          "ORDER BY number"};
  std::string previous;
  while (query.executeStep()) {
    const Campaign::Stimulus made{query.getColumn(0).getInt64(),
                                  query.getColumn(1).getString(),
                                  query.getColumn(2).getString(),
                                  query.getColumn(3).getString(),
                                  query.getColumn(4).getString(),
                                  query.getColumn(5).getDouble(),
                                  {}};
    const std::string stored = blob(query.getColumn(7));
    if (stimulus_digest(previous, made, blob(query.getColumn(6))) != stored)
      find("Stimulus " + std::to_string(made.number) + " (\"" + made.name +
           "\") is not what was stored, or one before it is missing.");
    previous = stored;
  }
}

/// Every addition stands in the ledger once, in the order it was made, so that one that was taken away is missed.
void Verification::check_ledger() {
  std::map<std::pair<std::string, std::int64_t>, std::vector<std::string>> entered;
  std::string previous;
  std::int64_t expected = 1;
  SQLite::Statement query{database_, "SELECT id, kind, trial, digest, chain FROM ledger ORDER BY id"};
  while (query.executeStep()) {
    const std::string kind = query.getColumn(1).getString(), digest = blob(query.getColumn(3)), chain = blob(query.getColumn(4));
    const std::int64_t id = query.getColumn(0).getInt64(), number = query.getColumn(2).getInt64();
    if (id != expected || ledger_next(previous, kind, number, digest) != chain)
      find("Ledger entry " + std::to_string(id) + " (" + kind + (number > 0 ? " of trial " + std::to_string(number) : "") +
           ") is not what was entered, or one before it is missing.");
    expected = id + 1;
    previous = chain;
    entered[{kind, number}].push_back(digest);
  }
  const auto held = [&](const char* kind, const std::string& select) {
    std::map<std::int64_t, std::vector<std::string>> found;
    SQLite::Statement rows{database_, select};
    while (rows.executeStep()) found[rows.getColumn(0).getInt64()].push_back(blob(rows.getColumn(1)));
    for (const auto& [number, head] : trials_) found.try_emplace(number);
    found.try_emplace(0);
    for (const auto& [number, digests] : found) {
      if (entered[{kind, number}] != digests)
        find((number == 0 ? "The campaign" : trial(number)) + ": what it holds (" + kind +
             ") is not what the ledger says was added.");
    }
  };
  held("seal", "SELECT number, seal FROM trial WHERE seal IS NOT NULL");
  held("result", "SELECT trial, sha256 FROM result ORDER BY id");
  held("note", "SELECT trial, sha256 FROM note ORDER BY id");
  held("attachment", "SELECT trial, sha256 FROM attachment ORDER BY id");
  held("hand-void", "SELECT trial, sha256 FROM hand_void ORDER BY id");
  held("stimulus", "SELECT 0, sha256 FROM stimulus ORDER BY number");
  if (entered[{"campaign", 0}] != std::vector{campaign_digest(database_)})
    find("The campaign's name, date or program version is not what was entered.");
}

}  // namespace

Result<IntegrityReport> Campaign::verify(const Progress& progress) const {
  return guarded(inside_->file, [&]() -> Result<IntegrityReport> {
    // One read transaction: a trial that is being recorded by another program is seen at one instant.
    SQLite::Transaction transaction{*inside_->database};
    auto report = Verification{*inside_->database, inside_->file, progress}.run();
    if (!report)
      return complain("The check was stopped on request: nothing is known of the rest.", inside_->file.string(),
                      "Start it again.");
    return std::move(*report);
  });
}

}  // namespace coldstroke::daq
