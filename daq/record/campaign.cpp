// SPDX-License-Identifier: GPL-3.0-or-later
//
// Opening and reading a campaign.
#include "daq/record/campaign.hpp"

#include "daq/record/campaign_file.hpp"
#include "daq/record/campaign_inside.hpp"
#include "daq/record/campaign_pages.hpp"

namespace coldstroke::daq {
namespace {

std::optional<TrialStatus> status_of(const std::string& text) {
  for (const TrialStatus status :
       {TrialStatus::recording, TrialStatus::recorded, TrialStatus::aborted, TrialStatus::interrupted}) {
    if (text == word(status)) return status;
  }
  return std::nullopt;
}

constexpr const char* kTrialColumns =
    "SELECT number, status, started_utc, ended_utc, virtual_rig, origin, setup_sha256, "
    "(SELECT count(*) FROM raw WHERE raw.trial = number), "
    "(SELECT coalesce(sum(length(bytes)), 0) FROM raw WHERE raw.trial = number) FROM trial";

TrialRow trial_row(SQLite::Statement& query) {
  TrialRow row;
  row.number = query.getColumn(0).getInt64();
  row.status = status_of(query.getColumn(1).getString()).value_or(TrialStatus::interrupted);
  row.started_utc = query.getColumn(2).getString();
  row.ended_utc = query.getColumn(3).getString();
  row.virtual_rig = query.getColumn(4).getInt() != 0;
  row.origin = query.getColumn(5).getString();
  row.setup_sha256 = query.getColumn(6).getString();
  row.raw_rows = static_cast<std::size_t>(query.getColumn(7).getInt64());
  row.raw_bytes = static_cast<std::size_t>(query.getColumn(8).getInt64());
  return row;
}

std::vector<std::byte> bytes_of(const SQLite::Column& column) {
  const int size = column.getBytes();
  const auto* data = static_cast<const std::byte*>(column.getBlob());
  return data == nullptr ? std::vector<std::byte>{} : std::vector<std::byte>(data, data + size);
}

/// For a file that the database refuses: where its pages do not fit their digests. Empty if they all do.
std::string altered_places(const std::filesystem::path& file) {
  const std::size_t size = page_bytes(file).value_or(0);
  if (size < 512) return {};
  std::string places;
  for (const std::uint64_t page : altered_pages(file, size)) {
    places += " Page " + std::to_string(page) + " of the file (bytes " + std::to_string((page - 1) * size) + " to " +
              std::to_string(page * size - 1) + ") was altered.";
  }
  return places;
}

}  // namespace

const char* word(TrialStatus status) {
  switch (status) {
    case TrialStatus::recording:
      return "recording";
    case TrialStatus::recorded:
      return "recorded";
    case TrialStatus::aborted:
      return "aborted";
    case TrialStatus::interrupted:
      break;
  }
  return "interrupted";
}

tl::unexpected<Complaint> read_only(const std::filesystem::path& file) {
  return complain("The campaign is open for reading only.", file.string(), "Open it for appending.");
}

tl::unexpected<Complaint> no_such_trial(const std::filesystem::path& file, std::int64_t trial) {
  return complain("There is no trial " + std::to_string(trial) + " in the campaign.", file.string(),
                  "List the trials with coldstroke show.");
}

bool trial_exists(SQLite::Database& database, std::int64_t trial) {
  SQLite::Statement query{database, "SELECT 1 FROM trial WHERE number = ?"};
  query.bind(1, trial);
  return query.executeStep();
}

Campaign::Campaign(std::unique_ptr<Inside> inside) : inside_{std::move(inside)} {}
Campaign::Campaign(Campaign&&) noexcept = default;
Campaign& Campaign::operator=(Campaign&&) noexcept = default;
Campaign::~Campaign() = default;

Result<Campaign> Campaign::open_or_create(const std::filesystem::path& file, const std::string& name) {
  auto lock = lock_campaign(file);
  if (!lock) return tl::unexpected{lock.error()};
  std::error_code error;
  if (!std::filesystem::exists(file, error)) {
    if (const auto created = create_campaign(file, name); !created) return tl::unexpected{created.error()};
  }
  if (const auto sound = check_campaign_header(file); !sound) return tl::unexpected{sound.error()};
  auto database = open_writable(file);
  if (!database) return tl::unexpected{database.error()};
  auto inside = std::make_unique<Inside>();
  inside->file = file;
  inside->lock = std::move(*lock);
  inside->database = std::move(*database);
  return guarded(file, [&]() -> Result<Campaign> {
    close_interrupted(*inside->database);
    return Campaign{std::move(inside)};
  });
}

Result<Campaign> Campaign::open_read_only(const std::filesystem::path& file) {
  if (const auto sound = check_campaign_header(file); !sound) return tl::unexpected{sound.error()};
  auto database = open_readable(file);
  if (!database) {
    Complaint complaint = database.error();
    complaint.what += altered_places(file);
    return tl::unexpected{complaint};
  }
  auto inside = std::make_unique<Inside>();
  inside->file = file;
  inside->database = std::move(*database);
  return Campaign{std::move(inside)};
}

Result<std::string> Campaign::name() const {
  return guarded(inside_->file,
                 [&]() -> Result<std::string> { return inside_->database->execAndGet("SELECT name FROM campaign").getString(); });
}

Result<std::vector<TrialRow>> Campaign::trials() const {
  return guarded(inside_->file, [&]() -> Result<std::vector<TrialRow>> {
    std::vector<TrialRow> rows;
    SQLite::Statement query{*inside_->database, std::string{kTrialColumns} + " ORDER BY number"};
    while (query.executeStep()) rows.push_back(trial_row(query));
    return rows;
  });
}

Result<TrialRow> Campaign::trial(std::int64_t number) const {
  return guarded(inside_->file, [&]() -> Result<TrialRow> {
    SQLite::Statement query{*inside_->database, std::string{kTrialColumns} + " WHERE number = ?"};
    query.bind(1, number);
    if (!query.executeStep()) return no_such_trial(inside_->file, number);
    return trial_row(query);
  });
}

Result<std::string> Campaign::setup_text(std::int64_t trial) const {
  return guarded(inside_->file, [&]() -> Result<std::string> {
    SQLite::Statement query{*inside_->database, "SELECT text FROM setup JOIN trial ON setup_sha256 = sha256 WHERE number = ?"};
    query.bind(1, trial);
    if (!query.executeStep()) return no_such_trial(inside_->file, trial);
    return query.getColumn(0).getString();
  });
}

Result<std::vector<RawRow>> Campaign::raw(std::int64_t trial) const {
  return guarded(inside_->file, [&]() -> Result<std::vector<RawRow>> {
    if (!trial_exists(*inside_->database, trial)) return no_such_trial(inside_->file, trial);
    std::vector<RawRow> rows;
    SQLite::Statement query{*inside_->database,
                            "SELECT node, direction, host_us, bytes FROM raw WHERE trial = ? ORDER BY sequence"};
    query.bind(1, trial);
    while (query.executeStep()) {
      rows.push_back({query.getColumn(0).getInt() == 0 ? Node::rig : Node::flight,
                      query.getColumn(1).getInt() == 0 ? Direction::from_board : Direction::to_board,
                      query.getColumn(2).getInt64(), bytes_of(query.getColumn(3))});
    }
    return rows;
  });
}

Result<std::vector<HostEvent>> Campaign::events(std::int64_t trial) const {
  return guarded(inside_->file, [&]() -> Result<std::vector<HostEvent>> {
    if (!trial_exists(*inside_->database, trial)) return no_such_trial(inside_->file, trial);
    std::vector<HostEvent> events;
    SQLite::Statement query{*inside_->database, "SELECT host_us, kind, text FROM event WHERE trial = ? ORDER BY id"};
    query.bind(1, trial);
    while (query.executeStep()) {
      events.push_back({query.getColumn(0).getInt64(), query.getColumn(1).getString(), query.getColumn(2).getString()});
    }
    return events;
  });
}

Result<std::optional<std::string>> Campaign::identity(std::int64_t trial, Node node) const {
  return guarded(inside_->file, [&]() -> Result<std::optional<std::string>> {
    if (!trial_exists(*inside_->database, trial)) return no_such_trial(inside_->file, trial);
    SQLite::Statement query{*inside_->database,
                            "SELECT json FROM identity WHERE trial = ? AND node = ? ORDER BY id DESC LIMIT 1"};
    query.bind(1, trial);
    query.bind(2, static_cast<int>(node));
    if (!query.executeStep()) return std::optional<std::string>{};
    return std::optional<std::string>{query.getColumn(0).getString()};
  });
}

Result<std::vector<ResultRow>> Campaign::results(std::int64_t trial) const {
  return guarded(inside_->file, [&]() -> Result<std::vector<ResultRow>> {
    if (!trial_exists(*inside_->database, trial)) return no_such_trial(inside_->file, trial);
    std::vector<ResultRow> rows;
    SQLite::Statement query{*inside_->database,
                            "SELECT id, created_utc, program_version, verdict, json FROM result WHERE trial = ? ORDER BY id"};
    query.bind(1, trial);
    while (query.executeStep()) {
      rows.push_back({query.getColumn(0).getInt64(), query.getColumn(1).getString(), query.getColumn(2).getString(),
                      query.getColumn(3).getString(), query.getColumn(4).getString()});
    }
    return rows;
  });
}

Result<std::vector<Campaign::Note>> Campaign::notes(std::int64_t trial) const {
  return guarded(inside_->file, [&]() -> Result<std::vector<Note>> {
    if (!trial_exists(*inside_->database, trial)) return no_such_trial(inside_->file, trial);
    std::vector<Note> notes;
    SQLite::Statement query{*inside_->database, "SELECT created_utc, author, text FROM note WHERE trial = ? ORDER BY id"};
    query.bind(1, trial);
    while (query.executeStep()) {
      notes.push_back({query.getColumn(0).getString(), query.getColumn(1).getString(), query.getColumn(2).getString()});
    }
    return notes;
  });
}

Result<std::vector<Campaign::Attachment>> Campaign::attachments(std::int64_t trial) const {
  return guarded(inside_->file, [&]() -> Result<std::vector<Attachment>> {
    if (!trial_exists(*inside_->database, trial)) return no_such_trial(inside_->file, trial);
    std::vector<Attachment> attachments;
    SQLite::Statement query{*inside_->database, "SELECT created_utc, name, bytes FROM attachment WHERE trial = ? ORDER BY id"};
    query.bind(1, trial);
    while (query.executeStep()) {
      attachments.push_back({query.getColumn(0).getString(), query.getColumn(1).getString(), bytes_of(query.getColumn(2))});
    }
    return attachments;
  });
}

}  // namespace coldstroke::daq
