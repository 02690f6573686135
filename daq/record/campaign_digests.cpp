// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/record/campaign_inside.hpp"

namespace coldstroke::daq {
namespace {

std::string previous_seal(SQLite::Database& database, std::int64_t trial) {
  if (trial == 1) return campaign_digest(database);
  SQLite::Statement query{database, "SELECT seal FROM trial WHERE number = ?"};
  query.bind(1, trial - 1);
  std::string seal = query.executeStep() ? blob(query.getColumn(0)) : std::string{};
  seal.resize(kDigestBytes, '\0');
  return seal;
}

void add_trial_row(Digest& digest, SQLite::Database& database, std::int64_t trial) {
  SQLite::Statement query{database, "SELECT started_utc, virtual_rig, origin, setup_sha256 FROM trial WHERE number = ?"};
  query.bind(1, trial);
  if (!query.executeStep()) return;
  digest.text(query.getColumn(0).getString()).number(query.getColumn(1).getInt64());
  digest.text(query.getColumn(2).getString()).text(query.getColumn(3).getString());
}

void add_calibrations(Digest& digest, SQLite::Database& database, std::int64_t trial) {
  SQLite::Statement query{
      database,
      "SELECT channel, node, stream, channel_index, quantity, role, range_low, range_high, scale, zero_counts, "
      "curvature, gain_standard_uncertainty, zero_standard_uncertainty, reference, valid_until, calibrated_low, calibrated_high "
      "FROM calibration WHERE trial = ? ORDER BY id"};
  query.bind(1, trial);
  while (query.executeStep()) {
    digest.text(query.getColumn(0).getString());
    for (int column = 1; column <= 3; ++column) digest.number(query.getColumn(column).getInt64());
    for (int column = 4; column <= 5; ++column) digest.text(query.getColumn(column).getString());
    for (int column = 6; column <= 12; ++column) digest.real(query.getColumn(column).getDouble());
    for (int column = 13; column <= 14; ++column) digest.text(query.getColumn(column).getString());
    const bool stated = !query.getColumn(15).isNull();
    digest.number(stated ? 1 : 0);
    if (stated) digest.real(query.getColumn(15).getDouble()).real(query.getColumn(16).getDouble());
  }
}

void add_identities(Digest& digest, SQLite::Database& database, std::int64_t trial) {
  SQLite::Statement query{database, "SELECT node, recorded_utc, json FROM identity WHERE trial = ? ORDER BY id"};
  query.bind(1, trial);
  while (query.executeStep()) {
    digest.number(query.getColumn(0).getInt64()).text(query.getColumn(1).getString()).text(query.getColumn(2).getString());
  }
}

void add_events(Digest& digest, SQLite::Database& database, std::int64_t trial) {
  SQLite::Statement query{database, "SELECT host_us, kind, text FROM event WHERE trial = ? ORDER BY id"};
  query.bind(1, trial);
  while (query.executeStep()) {
    digest.number(query.getColumn(0).getInt64()).text(query.getColumn(1).getString()).text(query.getColumn(2).getString());
  }
}

std::string or_zeros(std::string digest) {
  digest.resize(kDigestBytes, '\0');
  return digest;
}

}  // namespace

std::string blob(const SQLite::Column& column) {
  const int size = column.getBytes();
  const void* data = column.getBlob();
  return data == nullptr ? std::string{} : std::string{static_cast<const char*>(data), static_cast<std::size_t>(size)};
}

/// Before the first trial stands the campaign itself.
std::string campaign_digest(SQLite::Database& database) {
  SQLite::Statement query{database, "SELECT name, created_utc, program_version FROM campaign"};
  Digest digest;
  digest.text("coldstroke campaign");
  if (query.executeStep()) {
    digest.text(query.getColumn(0).getString()).text(query.getColumn(1).getString()).text(query.getColumn(2).getString());
  }
  return digest.value();
}

std::string chain_start(std::int64_t trial, const std::string& setup_sha256, const std::string& started_utc) {
  return Digest{}.text("coldstroke chain").number(trial).text(setup_sha256).text(started_utc).value();
}

std::string chain_next(const std::string& previous, std::uint8_t node, std::uint8_t direction, std::int64_t host_us,
                       std::string_view bytes) {
  return Digest{}.fixed(previous).byte(node).byte(direction).number(host_us).fixed(bytes).value();
}

std::string trial_seal(SQLite::Database& database, const RecordingTrial& trial, const std::string& status,
                       const std::string& ended_utc) {
  Digest digest;
  digest.text("coldstroke seal").fixed(previous_seal(database, trial.number)).number(trial.number);
  digest.text(status).text(ended_utc);
  add_trial_row(digest, database, trial.number);
  digest.fixed(trial.chain).number(trial.last_sequence);
  // A word between the lists, so that a row cannot pass from one to the next.
  digest.text("calibrations");
  add_calibrations(digest, database, trial.number);
  digest.text("identities");
  add_identities(digest, database, trial.number);
  digest.text("events");
  add_events(digest, database, trial.number);
  return digest.value();
}

std::string result_digest(const std::string& previous, const std::string& seal, const ResultRow& result) {
  return Digest{}
      .text("coldstroke result")
      .fixed(or_zeros(previous))
      .fixed(or_zeros(seal))
      .text(result.created_utc)
      .text(result.program_version)
      .text(result.verdict)
      .text(result.json)
      .value();
}

std::string note_digest(const std::string& previous, std::int64_t trial, const Campaign::Note& note) {
  return Digest{}
      .text("coldstroke note")
      .fixed(or_zeros(previous))
      .number(trial)
      .text(note.created_utc)
      .text(note.author)
      .text(note.text)
      .value();
}

std::string attachment_digest(const std::string& previous, std::int64_t trial, const std::string& created_utc,
                              const std::string& name, std::string_view bytes) {
  return Digest{}
      .text("coldstroke attachment")
      .fixed(or_zeros(previous))
      .number(trial)
      .text(created_utc)
      .text(name)
      .text(bytes)
      .value();
}

}  // namespace coldstroke::daq
