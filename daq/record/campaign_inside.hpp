// SPDX-License-Identifier: GPL-3.0-or-later
//
// What an open campaign holds, and the digests that writing and verifying share. Internal to daq/record.
#pragma once

#include <SQLiteCpp/SQLiteCpp.h>
#include <QLockFile>

#include <filesystem>
#include <memory>
#include <optional>
#include <string>

#include "daq/record/campaign.hpp"
#include "daq/record/digest.hpp"

namespace coldstroke::daq {

/// A trial and where its chain of raw rows stands.
struct RecordingTrial {
  std::int64_t number = 0;
  std::int64_t last_sequence = 0;
  std::string chain;  ///< 32 bytes
};

struct Campaign::Inside {
  std::filesystem::path file;
  std::unique_ptr<QLockFile> lock;  ///< null: open for reading only
  // Below the lock, so that the database is closed before the lock is given up.
  std::unique_ptr<SQLite::Database> database;
  std::optional<RecordingTrial> recording;  ///< only moved on after a commit
};

/// Value of the chain before the first raw row.
[[nodiscard]] std::string chain_start(std::int64_t trial, const std::string& setup_sha256, const std::string& started_utc);
[[nodiscard]] std::string chain_next(const std::string& previous, std::uint8_t node, std::uint8_t direction, std::int64_t host_us,
                                     std::string_view bytes);
/// Digest over everything a trial holds when it ends, from the rows on disk; its raw rows are stood for by the end of their
/// chain. The seal of the trial before is part of it, so the trials of a file hang together.
[[nodiscard]] std::string trial_seal(SQLite::Database& database, const RecordingTrial& trial, const std::string& status,
                                     const std::string& ended_utc);
/// Digest of a later addition; `previous` is that of the addition of the same kind before it in the same trial, empty for the
/// first.
[[nodiscard]] std::string result_digest(const std::string& previous, const std::string& seal, const ResultRow& result);
[[nodiscard]] std::string note_digest(const std::string& previous, std::int64_t trial, const Campaign::Note& note);
[[nodiscard]] std::string attachment_digest(const std::string& previous, std::int64_t trial, const std::string& created_utc,
                                            const std::string& name, std::string_view bytes);

[[nodiscard]] std::string hand_void_digest(std::int64_t trial, const HandVoid& set_aside);
/// `samples`: as stored. `previous` is the digest of the stimulus before, empty for the first.
[[nodiscard]] std::string stimulus_digest(const std::string& previous, const Campaign::Stimulus& stimulus,
                                          std::string_view samples);
/// Digest of the campaign's own row. Throws.
[[nodiscard]] std::string campaign_digest(SQLite::Database& database);
/// The ledger's chain after an entry; `previous` is empty for the first.
[[nodiscard]] std::string ledger_next(const std::string& previous, const std::string& kind, std::int64_t trial,
                                      const std::string& digest);
/// Adds an entry within the transaction of what it stands for. `trial` is 0 for the campaign itself. Throws.
void enter_in_ledger(SQLite::Database& database, const std::string& kind, std::int64_t trial, const std::string& digest);

/// Closes trials left open by a program that died as interrupted, with what they hold. Throws.
void close_interrupted(SQLite::Database& database);

[[nodiscard]] bool trial_exists(SQLite::Database& database, std::int64_t trial);
[[nodiscard]] tl::unexpected<Complaint> read_only(const std::filesystem::path& file);
[[nodiscard]] tl::unexpected<Complaint> no_such_trial(const std::filesystem::path& file, std::int64_t trial);

/// Nothing but spaces.
[[nodiscard]] inline bool blank(std::string_view text) { return text.find_first_not_of(" \t\n") == std::string_view::npos; }

/// A blob column as bytes in a string.
[[nodiscard]] std::string blob(const SQLite::Column& column);

}  // namespace coldstroke::daq
