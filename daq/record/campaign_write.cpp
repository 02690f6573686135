// SPDX-License-Identifier: GPL-3.0-or-later
//
// Writing a campaign.
#include <nlohmann/json.hpp>
#include <string_view>

#include "daq/record/campaign_file.hpp"
#include "daq/record/campaign_inside.hpp"

namespace coldstroke::daq {
namespace {

const char* word(analysis::Quantity quantity) {
  switch (quantity) {
    case analysis::Quantity::force:
      return "force";
    case analysis::Quantity::gauge_pressure:
      return "gauge_pressure";
    case analysis::Quantity::acceleration:
      return "acceleration";
    case analysis::Quantity::current:
      return "current";
    case analysis::Quantity::angular_rate:
      return "angular_rate";
    case analysis::Quantity::temperature:
      return "temperature";
    case analysis::Quantity::other:
      break;
  }
  return "other";
}

const char* word(analysis::Role role) {
  switch (role) {
    case analysis::Role::force:
      return "force";
    case analysis::Role::supply_pressure:
      return "supply_pressure";
    case analysis::Role::chamber_pressure:
      return "chamber_pressure";
    case analysis::Role::vehicle_acceleration:
      return "vehicle_acceleration";
    case analysis::Role::dummy_load_current:
      return "dummy_load_current";
    case analysis::Role::lateral_acceleration:
      return "lateral_acceleration";
    case analysis::Role::second_lateral_acceleration:
      return "second_lateral_acceleration";
    case analysis::Role::tilt_rate:
      return "tilt_rate";
    case analysis::Role::second_tilt_rate:
      return "second_tilt_rate";
    case analysis::Role::temperature:
      return "temperature";
    case analysis::Role::other:
      break;
  }
  return "other";
}

void insert_setup(SQLite::Database& database, const std::string& sha256, const std::string& text) {
  SQLite::Statement insert{database, "INSERT INTO setup VALUES (?, ?) ON CONFLICT (sha256) DO NOTHING"};
  insert.bind(1, sha256);
  insert.bind(2, text);
  insert.exec();
}

void insert_trial(SQLite::Database& database, const TrialRow& trial) {
  SQLite::Statement insert{
      database, "INSERT INTO trial (number, status, started_utc, virtual_rig, origin, setup_sha256) VALUES (?, ?, ?, ?, ?, ?)"};
  insert.bind(1, trial.number);
  insert.bind(2, word(trial.status));
  insert.bind(3, trial.started_utc);
  insert.bind(4, trial.virtual_rig ? 1 : 0);
  insert.bind(5, trial.origin);
  insert.bind(6, trial.setup_sha256);
  insert.exec();
}

void insert_calibrations(SQLite::Database& database, std::int64_t trial, const std::vector<ChannelSetup>& channels) {
  SQLite::Statement insert{
      database,
      "INSERT INTO calibration (trial, channel, node, stream, channel_index, quantity, role, range_low, range_high, "
      "scale, zero_counts, curvature, gain_standard_uncertainty, zero_standard_uncertainty, reference, valid_until, "
      "calibrated_low, calibrated_high) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"};
  for (const ChannelSetup& channel : channels) {
    const Calibration& calibration = channel.calibration;
    insert.reset();
    insert.bind(1, trial);
    insert.bind(2, channel.name);
    insert.bind(3, static_cast<int>(channel.node));
    insert.bind(4, static_cast<int>(channel.stream));
    insert.bind(5, static_cast<int>(channel.index));
    insert.bind(6, word(channel.quantity));
    insert.bind(7, word(channel.role));
    insert.bind(8, channel.range_low);
    insert.bind(9, channel.range_high);
    insert.bind(10, calibration.scale);
    insert.bind(11, calibration.zero_counts);
    insert.bind(12, calibration.curvature);
    insert.bind(13, calibration.gain_standard_uncertainty);
    insert.bind(14, calibration.zero_standard_uncertainty);
    insert.bind(15, calibration.reference);
    insert.bind(16, calibration.valid_until);
    insert.bind(17);  // NULL: no span is stated
    insert.bind(18);
    if (calibration.span) {
      insert.bind(17, calibration.span->low);
      insert.bind(18, calibration.span->high);
    }
    insert.exec();
  }
}

/// Inserts the rows and returns where the chain then stands.
RecordingTrial insert_raw(SQLite::Database& database, RecordingTrial at, std::span<const RawRow> rows) {
  SQLite::Statement insert{
      database, "INSERT INTO raw (trial, sequence, node, direction, host_us, bytes, chain) VALUES (?, ?, ?, ?, ?, ?, ?)"};
  for (const RawRow& row : rows) {
    const std::string_view bytes{reinterpret_cast<const char*>(row.bytes.data()), row.bytes.size()};
    at.chain =
        chain_next(at.chain, static_cast<std::uint8_t>(row.node), static_cast<std::uint8_t>(row.direction), row.host_us, bytes);
    ++at.last_sequence;
    insert.reset();
    insert.bind(1, at.number);
    insert.bind(2, at.last_sequence);
    insert.bind(3, static_cast<int>(row.node));
    insert.bind(4, static_cast<int>(row.direction));
    insert.bind(5, row.host_us);
    // A null pointer would be stored as NULL; an empty row is kept as an empty blob.
    insert.bind(6, bytes.empty() ? "" : static_cast<const void*>(bytes.data()), static_cast<int>(bytes.size()));
    insert.bind(7, at.chain.data(), static_cast<int>(at.chain.size()));
    insert.exec();
  }
  return at;
}

void insert_events(SQLite::Database& database, std::int64_t trial, std::span<const HostEvent> events) {
  SQLite::Statement insert{database, "INSERT INTO event (trial, host_us, kind, text) VALUES (?, ?, ?, ?)"};
  for (const HostEvent& event : events) {
    insert.reset();
    insert.bind(1, trial);
    insert.bind(2, event.host_us);
    insert.bind(3, event.kind);
    insert.bind(4, event.text);
    insert.exec();
  }
}

void seal_trial(SQLite::Database& database, const RecordingTrial& trial, TrialStatus status, const std::string& ended_utc) {
  const std::string seal = trial_seal(database, trial, word(status), ended_utc);
  SQLite::Statement finish{database, "UPDATE trial SET status = ?, ended_utc = ?, seal = ? WHERE number = ?"};
  finish.bind(1, word(status));
  finish.bind(2, ended_utc);
  finish.bind(3, seal.data(), static_cast<int>(seal.size()));
  finish.bind(4, trial.number);
  finish.exec();
  enter_in_ledger(database, "seal", trial.number, seal);
}

/// Digest of the last addition of this kind to the trial, empty if there is none.
std::string last_digest(SQLite::Database& database, const std::string& table, std::int64_t trial) {
  SQLite::Statement query{database, "SELECT sha256 FROM " + table + " WHERE trial = ? ORDER BY id DESC LIMIT 1"};
  query.bind(1, trial);
  return query.executeStep() ? blob(query.getColumn(0)) : std::string{};
}

tl::unexpected<Complaint> not_recording(const std::filesystem::path& file, std::int64_t trial) {
  return complain("Trial " + std::to_string(trial) + " is not being recorded.", file.string(),
                  "Begin a trial first; an ended trial takes results and notes only.");
}

}  // namespace

void close_interrupted(SQLite::Database& database) {
  SQLite::Transaction transaction{database};
  std::vector<RecordingTrial> open;
  {
    SQLite::Statement query{database,
                            "SELECT number, setup_sha256, started_utc FROM trial WHERE status = 'recording' ORDER BY number"};
    while (query.executeStep()) {
      const std::int64_t number = query.getColumn(0).getInt64();
      open.push_back({number, 0, chain_start(number, query.getColumn(1).getString(), query.getColumn(2).getString())});
    }
  }
  for (RecordingTrial& trial : open) {
    SQLite::Statement last{database, "SELECT sequence, chain, host_us FROM raw WHERE trial = ? ORDER BY sequence DESC LIMIT 1"};
    last.bind(1, trial.number);
    std::int64_t host_us = 0;
    if (last.executeStep()) {
      trial.last_sequence = last.getColumn(0).getInt64();
      trial.chain = blob(last.getColumn(1));
      host_us = last.getColumn(2).getInt64();
    }
    const HostEvent event{
        host_us, "interrupted",
        "The program that recorded this trial ended before the trial did; found at the next opening, " + utc_now() + "."};
    insert_events(database, trial.number, {&event, 1});
    seal_trial(database, trial, TrialStatus::interrupted, "");  // when it died is not known
  }
  transaction.commit();
}

Result<std::int64_t> Campaign::begin_trial(const Setup& setup, bool virtual_rig, const std::string& origin) {
  if (!inside_->lock) return read_only(inside_->file);
  if (inside_->recording) {
    return complain("Trial " + std::to_string(inside_->recording->number) + " is still being recorded.", inside_->file.string(),
                    "End it first.");
  }
  return guarded(inside_->file, [&]() -> Result<std::int64_t> {
    SQLite::Database& database = *inside_->database;
    SQLite::Transaction transaction{database};
    TrialRow trial;
    trial.number = database.execAndGet("SELECT coalesce(max(number), 0) + 1 FROM trial").getInt64();
    trial.started_utc = utc_now();
    trial.virtual_rig = virtual_rig;
    trial.origin = origin;
    trial.setup_sha256 = sha256_hex(setup.text);
    insert_setup(database, trial.setup_sha256, setup.text);
    insert_trial(database, trial);
    insert_calibrations(database, trial.number, setup.channels);
    transaction.commit();
    inside_->recording = RecordingTrial{trial.number, 0, chain_start(trial.number, trial.setup_sha256, trial.started_utc)};
    return trial.number;
  });
}

Result<void> Campaign::append(std::int64_t trial, std::span<const RawRow> rows, std::span<const HostEvent> events) {
  if (!inside_->recording || inside_->recording->number != trial) return not_recording(inside_->file, trial);
  return guarded(inside_->file, [&]() -> Result<void> {
    SQLite::Transaction transaction{*inside_->database};
    RecordingTrial after = insert_raw(*inside_->database, *inside_->recording, rows);
    insert_events(*inside_->database, trial, events);
    transaction.commit();
    inside_->recording = std::move(after);
    return {};
  });
}

Result<void> Campaign::set_identity(std::int64_t trial, Node node, const std::string& json) {
  if (!inside_->recording || inside_->recording->number != trial) return not_recording(inside_->file, trial);
  if (!nlohmann::json::accept(json)) {
    return complain("The identity of the " + std::string{word(node)} + " is not JSON.", inside_->file.string(), "Report this.");
  }
  return guarded(inside_->file, [&]() -> Result<void> {
    SQLite::Statement insert{*inside_->database, "INSERT INTO identity (trial, node, recorded_utc, json) VALUES (?, ?, ?, ?)"};
    insert.bind(1, trial);
    insert.bind(2, static_cast<int>(node));
    insert.bind(3, utc_now());
    insert.bind(4, json);
    insert.exec();
    return {};
  });
}

Result<void> Campaign::end_trial(std::int64_t trial, TrialStatus status) {
  if (!inside_->recording || inside_->recording->number != trial) return not_recording(inside_->file, trial);
  if (status == TrialStatus::recording) {
    return complain("A trial cannot end as recording.", inside_->file.string(), "End it as recorded, aborted or interrupted.");
  }
  return guarded(inside_->file, [&]() -> Result<void> {
    SQLite::Transaction transaction{*inside_->database};
    seal_trial(*inside_->database, *inside_->recording, status, utc_now());
    transaction.commit();
    inside_->recording.reset();
    return {};
  });
}

Result<std::int64_t> Campaign::add_result(std::int64_t trial, const std::string& verdict, const std::string& json) {
  if (!inside_->lock) return read_only(inside_->file);
  if (verdict != "pass" && verdict != "fail" && verdict != "void") {
    return complain("\"" + verdict + "\" is no verdict.", inside_->file.string(), "A verdict is pass, fail or void.");
  }
  if (!nlohmann::json::accept(json)) return complain("The result is not JSON.", inside_->file.string(), "Report this.");
  return guarded(inside_->file, [&]() -> Result<std::int64_t> {
    SQLite::Database& database = *inside_->database;
    SQLite::Transaction transaction{database};
    SQLite::Statement query{database, "SELECT seal FROM trial WHERE number = ?"};
    query.bind(1, trial);
    if (!query.executeStep()) return no_such_trial(inside_->file, trial);
    if (query.getColumn(0).isNull()) {
      return complain("Trial " + std::to_string(trial) + " has not ended.", inside_->file.string(), "End it before judging it.");
    }
    const ResultRow row{0, utc_now(), COLDSTROKE_VERSION, verdict, json};
    const std::string digest = result_digest(last_digest(database, "result", trial), blob(query.getColumn(0)), row);
    query.reset();
    SQLite::Statement insert{
        database, "INSERT INTO result (trial, created_utc, program_version, verdict, json, sha256) VALUES (?, ?, ?, ?, ?, ?)"};
    insert.bind(1, trial);
    insert.bind(2, row.created_utc);
    insert.bind(3, row.program_version);
    insert.bind(4, row.verdict);
    insert.bind(5, row.json);
    insert.bind(6, digest.data(), static_cast<int>(digest.size()));
    insert.exec();
    const std::int64_t id = database.getLastInsertRowid();
    enter_in_ledger(database, "result", trial, digest);
    transaction.commit();
    return id;
  });
}

Result<void> Campaign::add_note(std::int64_t trial, const std::string& author, const std::string& text) {
  if (!inside_->lock) return read_only(inside_->file);
  return guarded(inside_->file, [&]() -> Result<void> {
    SQLite::Database& database = *inside_->database;
    SQLite::Transaction transaction{database};
    if (!trial_exists(database, trial)) return no_such_trial(inside_->file, trial);
    const Note note{utc_now(), author, text};
    const std::string digest = note_digest(last_digest(database, "note", trial), trial, note);
    SQLite::Statement insert{database, "INSERT INTO note (trial, created_utc, author, text, sha256) VALUES (?, ?, ?, ?, ?)"};
    insert.bind(1, trial);
    insert.bind(2, note.created_utc);
    insert.bind(3, note.author);
    insert.bind(4, note.text);
    insert.bind(5, digest.data(), static_cast<int>(digest.size()));
    insert.exec();
    enter_in_ledger(database, "note", trial, digest);
    transaction.commit();
    return {};
  });
}

Result<void> Campaign::add_attachment(std::int64_t trial, const std::string& name, std::span<const std::byte> bytes) {
  if (!inside_->lock) return read_only(inside_->file);
  return guarded(inside_->file, [&]() -> Result<void> {
    SQLite::Database& database = *inside_->database;
    SQLite::Transaction transaction{database};
    if (!trial_exists(database, trial)) return no_such_trial(inside_->file, trial);
    const std::string created = utc_now();
    const std::string_view view{reinterpret_cast<const char*>(bytes.data()), bytes.size()};
    const std::string digest = attachment_digest(last_digest(database, "attachment", trial), trial, created, name, view);
    SQLite::Statement insert{database, "INSERT INTO attachment (trial, created_utc, name, bytes, sha256) VALUES (?, ?, ?, ?, ?)"};
    insert.bind(1, trial);
    insert.bind(2, created);
    insert.bind(3, name);
    insert.bind(4, view.empty() ? "" : static_cast<const void*>(view.data()), static_cast<int>(view.size()));
    insert.bind(5, digest.data(), static_cast<int>(digest.size()));
    insert.exec();
    enter_in_ledger(database, "attachment", trial, digest);
    transaction.commit();
    return {};
  });
}

}  // namespace coldstroke::daq
