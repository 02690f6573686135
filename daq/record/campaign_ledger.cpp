// SPDX-License-Identifier: GPL-3.0-or-later
//
// The chain over everything ever added to a campaign, and trials voided by hand. docs/campaign-file.md, "Ledger".
#include "daq/record/campaign_file.hpp"
#include "daq/record/campaign_inside.hpp"

namespace coldstroke::daq {
namespace {

std::string last_chain(SQLite::Database& database) {
  SQLite::Statement query{database, "SELECT chain FROM ledger ORDER BY id DESC LIMIT 1"};
  return query.executeStep() ? blob(query.getColumn(0)) : std::string{};
}

}  // namespace

std::string ledger_next(const std::string& previous, const std::string& kind, std::int64_t trial, const std::string& digest) {
  std::string before = previous;
  before.resize(kDigestBytes, '\0');
  return Digest{}.text("coldstroke ledger").fixed(before).text(kind).number(trial).fixed(digest).value();
}

void enter_in_ledger(SQLite::Database& database, const std::string& kind, std::int64_t trial, const std::string& digest) {
  const std::string chain = ledger_next(last_chain(database), kind, trial, digest);
  SQLite::Statement insert{database, "INSERT INTO ledger (kind, trial, digest, chain) VALUES (?, ?, ?, ?)"};
  insert.bind(1, kind);
  insert.bind(2, trial);
  insert.bind(3, digest.data(), static_cast<int>(digest.size()));
  insert.bind(4, chain.data(), static_cast<int>(chain.size()));
  insert.exec();
}

Result<ChainHead> Campaign::head() const {
  return guarded(inside_->file, [&]() -> Result<ChainHead> {
    SQLite::Statement query{*inside_->database, "SELECT count(*) FROM ledger"};
    query.executeStep();
    return ChainHead{query.getColumn(0).getInt64(), hex(last_chain(*inside_->database))};
  });
}

Result<std::optional<std::int64_t>> Campaign::entries_since(const std::string& hex) const {
  return guarded(inside_->file, [&]() -> Result<std::optional<std::int64_t>> {
    SQLite::Statement query{*inside_->database,
                            "SELECT (SELECT count(*) FROM ledger AS later WHERE later.id > here.id) FROM ledger AS here "
                            "WHERE lower(hex(chain)) = lower(?)"};
    query.bind(1, hex);
    if (!query.executeStep()) return std::optional<std::int64_t>{};
    return std::optional{query.getColumn(0).getInt64()};
  });
}

std::string hand_void_digest(std::int64_t trial, const HandVoid& set_aside) {
  return Digest{}
      .text("coldstroke hand-void")
      .number(trial)
      .text(set_aside.created_utc)
      .text(set_aside.person)
      .text(set_aside.reason)
      .text(set_aside.judged_before)
      .value();
}

Result<std::optional<HandVoid>> Campaign::hand_void(std::int64_t trial) const {
  return guarded(inside_->file, [&]() -> Result<std::optional<HandVoid>> {
    SQLite::Statement query{*inside_->database,
                            "SELECT created_utc, person, reason, judged_before FROM hand_void WHERE trial = ?"};
    query.bind(1, trial);
    if (!query.executeStep()) return std::optional<HandVoid>{};
    return std::optional{HandVoid{query.getColumn(0).getString(), query.getColumn(1).getString(), query.getColumn(2).getString(),
                                  query.getColumn(3).getString()}};
  });
}

Result<void> Campaign::void_by_hand(std::int64_t trial, const std::string& person, const std::string& reason) {
  const std::string where = inside_->file.string() + ", trial " + std::to_string(trial);
  if (!inside_->lock) return read_only(inside_->file);
  if (blank(person) || blank(reason))
    return complain("A trial is voided by hand only with a reason and the name of who says so.", where, "Give both.");
  return guarded(inside_->file, [&]() -> Result<void> {
    SQLite::Database& database = *inside_->database;
    SQLite::Transaction transaction{database};
    SQLite::Statement ended{database, "SELECT seal IS NOT NULL FROM trial WHERE number = ?"};
    ended.bind(1, trial);
    if (!ended.executeStep()) return no_such_trial(inside_->file, trial);
    if (ended.getColumn(0).getInt() == 0) return complain("The trial has not ended.", where, "End it first.");
    if (const auto before = hand_void(trial); before && *before) {
      return complain("The trial was already voided by hand: " + (*before)->reason + ".", where,
                      "Add a note to say more; the first reason stays.");
    }
    SQLite::Statement judged{database, "SELECT verdict FROM result WHERE trial = ? ORDER BY id DESC LIMIT 1"};
    judged.bind(1, trial);
    const HandVoid made{utc_now(), person, reason, judged.executeStep() ? judged.getColumn(0).getString() : "not judged"};
    const std::string digest = hand_void_digest(trial, made);
    SQLite::Statement insert{
        database, "INSERT INTO hand_void (trial, created_utc, person, reason, judged_before, sha256) VALUES (?, ?, ?, ?, ?, ?)"};
    insert.bind(1, trial);
    insert.bind(2, made.created_utc);
    insert.bind(3, made.person);
    insert.bind(4, made.reason);
    insert.bind(5, made.judged_before);
    insert.bind(6, digest.data(), static_cast<int>(digest.size()));
    insert.exec();
    enter_in_ledger(database, "hand-void", trial, digest);
    transaction.commit();
    return {};
  });
}

}  // namespace coldstroke::daq
