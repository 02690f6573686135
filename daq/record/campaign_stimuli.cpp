// SPDX-License-Identifier: GPL-3.0-or-later
//
// Labelled recordings kept with a campaign. docs/campaign-file.md, "stimulus".
#include <algorithm>
#include <bit>
#include <cmath>
#include <cstring>

#include "daq/record/campaign_file.hpp"
#include "daq/record/campaign_inside.hpp"

namespace coldstroke::daq {
namespace {

static_assert(std::endian::native == std::endian::little, "samples are stored little-endian as they lie in memory");

std::string stored_samples(const std::vector<double>& samples_mps2) {
  std::string bytes(samples_mps2.size() * sizeof(double), '\0');
  std::memcpy(bytes.data(), samples_mps2.data(), bytes.size());
  return bytes;
}

std::vector<double> read_samples(const std::string& bytes) {
  std::vector<double> samples_mps2(bytes.size() / sizeof(double));
  std::memcpy(samples_mps2.data(), bytes.data(), samples_mps2.size() * sizeof(double));
  return samples_mps2;
}

Result<void> check(const Campaign::Stimulus& stimulus, const std::filesystem::path& file) {
  const std::string where = file.string() + ", stimulus \"" + stimulus.name + "\"";
  if (blank(stimulus.name) || blank(stimulus.source))
    return complain("A stimulus is kept only with a name and with how it came to be.", where, "Give both.");
  if (stimulus.label != "must_fire" && stimulus.label != "must_stay_silent")
    return complain("\"" + stimulus.label + "\" is no label.", where, "A label is must_fire or must_stay_silent.");
  if (!std::isfinite(stimulus.sample_period_seconds) || stimulus.sample_period_seconds <= 0.0)
    return complain("The time from sample to sample is not a positive number.", where, "State it in seconds.");
  if (stimulus.samples_mps2.empty()) return complain("The stimulus has no samples.", where, "Give at least one.");
  const auto wrong = std::ranges::find_if(stimulus.samples_mps2, [](double sample) { return !std::isfinite(sample); });
  if (wrong != stimulus.samples_mps2.end()) {
    return complain("Sample " + std::to_string(wrong - stimulus.samples_mps2.begin()) + " is no finite number.", where,
                    "Mend it where it was made; nothing is filled in here.");
  }
  return {};
}

}  // namespace

std::string stimulus_digest(const std::string& previous, const Campaign::Stimulus& stimulus, std::string_view samples) {
  std::string before = previous;
  before.resize(kDigestBytes, '\0');
  return Digest{}
      .text("coldstroke stimulus")
      .fixed(before)
      .number(stimulus.number)
      .text(stimulus.created_utc)
      .text(stimulus.name)
      .text(stimulus.label)
      .text(stimulus.source)
      .real(stimulus.sample_period_seconds)
      .text("m/s2")
      .text(samples)
      .value();
}

Result<std::int64_t> Campaign::add_stimulus(const Stimulus& stimulus) {
  if (!inside_->lock) return read_only(inside_->file);
  if (const auto sound = check(stimulus, inside_->file); !sound) return tl::unexpected{sound.error()};
  return guarded(inside_->file, [&]() -> Result<std::int64_t> {
    SQLite::Database& database = *inside_->database;
    SQLite::Transaction transaction{database};
    SQLite::Statement taken{database, "SELECT number FROM stimulus WHERE name = ?"};
    taken.bind(1, stimulus.name);
    if (taken.executeStep()) {
      return complain("Stimulus " + taken.getColumn(0).getString() + " is already called \"" + stimulus.name + "\".",
                      inside_->file.string(), "Choose another name; what is kept is never replaced.");
    }
    SQLite::Statement last{database, "SELECT number, sha256 FROM stimulus ORDER BY number DESC LIMIT 1"};
    const bool first = !last.executeStep();
    Stimulus made = stimulus;
    made.number = first ? 1 : last.getColumn(0).getInt64() + 1;
    made.created_utc = utc_now();
    const std::string samples = stored_samples(made.samples_mps2);
    const std::string digest = stimulus_digest(first ? std::string{} : blob(last.getColumn(1)), made, samples);
    SQLite::Statement insert{
        database,
        "INSERT INTO stimulus (number, created_utc, name, label, source, sample_period_s, unit, samples, sha256) "
        "VALUES (?, ?, ?, ?, ?, ?, 'm/s2', ?, ?)"};
    insert.bind(1, made.number);
    insert.bind(2, made.created_utc);
    insert.bind(3, made.name);
    insert.bind(4, made.label);
    insert.bind(5, made.source);
    insert.bind(6, made.sample_period_seconds);
    insert.bind(7, samples.data(), static_cast<int>(samples.size()));
    insert.bind(8, digest.data(), static_cast<int>(digest.size()));
    insert.exec();
    enter_in_ledger(database, "stimulus", 0, digest);
    transaction.commit();
    return made.number;
  });
}

Result<std::vector<Campaign::Stimulus>> Campaign::stimuli() const {
  return guarded(inside_->file, [&]() -> Result<std::vector<Stimulus>> {
    std::vector<Stimulus> list;
    SQLite::Statement query{
        *inside_->database,
        "SELECT number, created_utc, name, label, source, sample_period_s, samples FROM stimulus ORDER BY number"};
    while (query.executeStep()) {
      list.push_back({query.getColumn(0).getInt64(), query.getColumn(1).getString(), query.getColumn(2).getString(),
                      query.getColumn(3).getString(), query.getColumn(4).getString(), query.getColumn(5).getDouble(),
                      read_samples(blob(query.getColumn(6)))});
    }
    return list;
  });
}

}  // namespace coldstroke::daq
