// SPDX-License-Identifier: GPL-3.0-or-later
//
// The campaign file: one SQLite database that holds every trial from raw bytes to verdict. Layout: docs/campaign-file.md.
//
// Raw rows are written while the trial runs, so a killed program leaves a recoverable trial. Raw data is never altered;
// a later analysis adds a result beside the old one. Each raw row carries a SHA-256 chained over the trial.
#pragma once

#include <chrono>
#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "analysis/result.hpp"
#include "daq/setup/setup.hpp"

namespace coldstroke::daq {

inline constexpr int kCampaignSchemaVersion = 2;

enum class TrialStatus { recording, recorded, aborted, interrupted };
[[nodiscard]] const char* word(TrialStatus status);

enum class Direction : std::uint8_t { from_board = 0, to_board = 1 };

/// Bytes exactly as they crossed a port, with the host's steady-clock time of arrival (or of writing), microseconds.
struct RawRow {
  Node node = Node::rig;
  Direction direction = Direction::from_board;
  std::int64_t host_us = 0;
  std::vector<std::byte> bytes;
  bool operator==(const RawRow&) const = default;
};

/// Something the host noted, e.g. step changes, operator acts, link lost. `kind` is a fixed word (docs/campaign-file.md).
struct HostEvent {
  std::int64_t host_us = 0;
  std::string kind, text;
  bool operator==(const HostEvent&) const = default;
};

struct TrialRow {
  std::int64_t number = 0;  ///< 1, 2, 3 ... within the campaign
  TrialStatus status = TrialStatus::recording;
  std::string started_utc, ended_utc;  ///< ISO 8601
  bool virtual_rig = false;            ///< made on the virtual rig: marked everywhere
  std::string origin;                  ///< "bench", or "imported FILE"; for the virtual rig scenario and seed
  std::string setup_sha256;
  std::size_t raw_rows = 0, raw_bytes = 0;
};

struct ResultRow {
  std::int64_t id = 0;
  std::string created_utc, program_version;
  std::string verdict;  ///< "pass", "fail", "void"
  std::string json;     ///< machine-readable result, as printed by --json
};

/// A person set a trial's verdict aside. Never taken back: what it had been judged stays beside it.
struct HandVoid {
  std::string created_utc, person, reason;
  std::string judged_before;  ///< "pass", "fail", "void", or "not judged"
  bool operator==(const HandVoid&) const = default;
};

/// End of the chain over everything ever added to a file. Printed on every page of a report: a file that still holds it holds
/// everything the report was made from, unchanged.
struct ChainHead {
  std::int64_t entries = 0;
  std::string hex;  ///< 64 hexadecimal digits
  bool operator==(const ChainHead&) const = default;
};

/// What an integrity check found. Empty findings: everything holds.
/// Called after each trial with how many are done of how many; false ends the work with a complaint that says so.
using Progress = std::function<bool(std::size_t done, std::size_t of)>;

struct IntegrityReport {
  std::size_t trials = 0, raw_rows = 0;
  std::vector<std::string> findings;  ///< one sentence each, naming the trial
};

/// Open campaign. One thread at a time; one trial is recorded at a time. All functions may complain (disk full, file damaged):
/// nothing already committed is lost.
class Campaign {
 public:
  /// Creates `file` (complains if it exists and is not a campaign) or opens it for appending; `name` is for a new file only.
  /// Complains, and says who, if another program is writing the file. Trials still marked recording
  /// by a program that died are marked interrupted, with an event saying so.
  static Result<Campaign> open_or_create(const std::filesystem::path& file, const std::string& name);
  /// Opens for reading only.
  static Result<Campaign> open_read_only(const std::filesystem::path& file);
  Campaign(Campaign&&) noexcept;
  Campaign& operator=(Campaign&&) noexcept;
  ~Campaign();

  // writing; rows, events and identities are taken until the trial ends, results and notes also after
  Result<std::int64_t> begin_trial(const Setup& setup, bool virtual_rig, const std::string& origin);  ///< returns its number
  /// One transaction: all rows and events, or none.
  Result<void> append(std::int64_t trial, std::span<const RawRow> rows, std::span<const HostEvent> events);
  /// Identity of a board as it introduced itself, with its detector settings, as JSON text.
  Result<void> set_identity(std::int64_t trial, Node node, const std::string& json);
  Result<void> end_trial(std::int64_t trial, TrialStatus status);
  Result<std::int64_t> add_result(std::int64_t trial, const std::string& verdict, const std::string& json);
  Result<void> add_note(std::int64_t trial, const std::string& author, const std::string& text);
  /// Keeps a file that belongs to a trial but never crossed a port, e.g. the flight board's own log that was imported later.
  Result<void> add_attachment(std::int64_t trial, const std::string& name, std::span<const std::byte> bytes);

  /// Sets the verdict of an ended trial aside, for good; once a trial. Needs a person and a reason.
  Result<void> void_by_hand(std::int64_t trial, const std::string& person, const std::string& reason);

  /// A labelled recording of specific force that a detector is weighed against. Belongs to the campaign, not to a trial.
  struct Stimulus {
    std::int64_t number = 0;  ///< 1, 2, 3 ... within the campaign, given when it is added
    std::string created_utc;  ///< given when it is added
    std::string name;         ///< unique in the campaign
    std::string label;        ///< "must_fire" or "must_stay_silent"
    std::string source;       ///< how it was recorded, imported or synthesised
    double sample_period_seconds = 0.0;
    std::vector<double> samples_mps2;  ///< sample k was taken k periods after the first
    bool operator==(const Stimulus&) const = default;
  };
  /// Keeps a labelled recording for good and returns its number; `number` and `created_utc` of what is given are not read.
  /// Complains about a name already taken, another label, an empty name or source, a period that is not positive, no samples,
  /// or a sample that is no finite number.
  Result<std::int64_t> add_stimulus(const Stimulus& stimulus);

  // reading
  [[nodiscard]] Result<std::string> name() const;
  [[nodiscard]] Result<std::vector<TrialRow>> trials() const;
  [[nodiscard]] Result<TrialRow> trial(std::int64_t number) const;
  [[nodiscard]] Result<std::string> setup_text(std::int64_t trial) const;
  [[nodiscard]] Result<std::vector<RawRow>> raw(std::int64_t trial) const;
  [[nodiscard]] Result<std::vector<HostEvent>> events(std::int64_t trial) const;
  [[nodiscard]] Result<std::optional<std::string>> identity(std::int64_t trial, Node node) const;
  [[nodiscard]] Result<std::vector<ResultRow>> results(std::int64_t trial) const;  ///< oldest first
  struct Note {
    std::string created_utc, author, text;
  };
  [[nodiscard]] Result<std::vector<Note>> notes(std::int64_t trial) const;
  struct Attachment {
    std::string created_utc, name;
    std::vector<std::byte> bytes;
  };
  [[nodiscard]] Result<std::vector<Attachment>> attachments(std::int64_t trial) const;  ///< oldest first
  [[nodiscard]] Result<std::optional<HandVoid>> hand_void(std::int64_t trial) const;
  [[nodiscard]] Result<std::vector<Stimulus>> stimuli() const;  ///< oldest first
  [[nodiscard]] Result<ChainHead> head() const;
  /// How many entries have been added since the chain ended in `hex`; nothing if it never did.
  [[nodiscard]] Result<std::optional<std::int64_t>> entries_since(const std::string& hex) const;
  /// Every byte against its digests, from the pages to the ledger. Progress counts the trials whose raw bytes are checked.
  [[nodiscard]] Result<IntegrityReport> verify(const Progress& progress = {}) const;

 private:
  struct Inside;
  explicit Campaign(std::unique_ptr<Inside> inside);
  std::unique_ptr<Inside> inside_;
};

}  // namespace coldstroke::daq
