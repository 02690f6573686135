// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/record/campaign_file.hpp"

#include <fcntl.h>
#include <sqlite3.h>
#include <unistd.h>

#include <QDateTime>
#include <QString>
#include <QUrl>
#include <array>
#include <cerrno>
#include <cstring>
#include <fstream>
#include <string_view>

#include "daq/record/campaign.hpp"
#include "daq/record/campaign_inside.hpp"
#include "daq/record/campaign_pages.hpp"
#include "daq/record/campaign_schema.hpp"

namespace coldstroke::daq {
namespace {

constexpr int kBusyTimeoutMs = 2000;
constexpr std::size_t kHeaderBytes = 100;  // SQLite database file format, section 1.3
using Header = std::array<unsigned char, kHeaderBytes>;

std::uint32_t big_endian(const Header& header, std::size_t at) {
  return static_cast<std::uint32_t>(header[at]) << 24U | static_cast<std::uint32_t>(header[at + 1]) << 16U |
         static_cast<std::uint32_t>(header[at + 2]) << 8U | static_cast<std::uint32_t>(header[at + 3]);
}

Result<Header> read_header(const std::filesystem::path& file) {
  std::error_code ignored;
  if (std::filesystem::is_directory(file, ignored)) {
    return complain("This is a folder, not a campaign file.", file.string(), "Name the campaign file itself.");
  }
  std::ifstream stream{file, std::ios::binary};
  if (!stream) {
    return complain("The campaign file cannot be opened: " + std::string{std::strerror(errno)} + ".", file.string(),
                    "Check the name and that you may read it.");
  }
  Header header{};
  stream.read(reinterpret_cast<char*>(header.data()), static_cast<std::streamsize>(header.size()));
  const auto got = static_cast<std::size_t>(stream.gcount());
  if (got == 0) {
    return complain("The file is empty, so it is no campaign file (or one that lost everything).", file.string(),
                    "Name another file; restore a copy if this was a campaign.");
  }
  constexpr std::string_view kMagic{"SQLite format 3\0", 16};
  if (got < kMagic.size() || std::memcmp(header.data(), kMagic.data(), kMagic.size()) != 0) {
    return complain("The file is not a campaign file: it is not a SQLite database.", file.string(),
                    "Name a campaign file; the file was left as it is.");
  }
  if (got < header.size()) {
    return complain("The campaign file is cut short: " + std::to_string(got) + " bytes are left.", file.string(),
                    "Restore it from a copy; the file was left as it is.");
  }
  return header;
}

std::size_t page_size(const Header& header) {
  const std::size_t size = static_cast<std::size_t>(header[16]) << 8U | header[17];
  return size == 1 ? 65536 : size;  // 1 stands for 65536
}

bool log_waits_beside(const std::filesystem::path& file) {
  std::error_code error;
  const auto size = std::filesystem::file_size(file.string() + "-wal", error);
  return !error && size > 0;
}

Result<void> check_version(const Header& header, const std::filesystem::path& file) {
  if (big_endian(header, 68) != static_cast<std::uint32_t>(kCampaignApplicationId)) {
    return complain("The file is a SQLite database of some other program, not a campaign file.", file.string(),
                    "Name a campaign file; the file was left as it is.");
  }
  const auto version = big_endian(header, 60);
  const std::string has = "The campaign file has schema version " + std::to_string(version) + "; this program reads version " +
                          std::to_string(kCampaignSchemaVersion) + ".";
  if (version > static_cast<std::uint32_t>(kCampaignSchemaVersion)) {
    return complain(has, file.string(), "Use a newer coldstroke; the file was left as it is.");
  }
  if (version < static_cast<std::uint32_t>(kCampaignSchemaVersion)) {
    return complain(has, file.string(), "Open it with the older coldstroke that wrote it; the file was left as it is.");
  }
  if (header[20] != kPageDigestBytes) {
    return complain("The campaign file's pages have no room for their digests: its head was altered.", file.string(),
                    "Restore it from a copy; the file was left as it is.");
  }
  return {};
}

/// A directory entry is only safe on disk after the directory itself is synced.
void sync_folder_of(const std::filesystem::path& file) {
  const auto folder = std::filesystem::absolute(file).parent_path();
  const int descriptor = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (descriptor < 0) return;
  ::fsync(descriptor);
  ::close(descriptor);
}

void fill_new(const std::filesystem::path& file, const std::string& name) {
  SQLite::Database database{file.string(), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE, kBusyTimeoutMs, sealing_layer()};
  reserve_page_digests(database);
  database.exec("PRAGMA synchronous = FULL");
  SQLite::Transaction transaction{database};
  database.exec("PRAGMA application_id = " + std::to_string(kCampaignApplicationId));
  database.exec("PRAGMA user_version = " + std::to_string(kCampaignSchemaVersion));
  database.exec(std::string{campaign_schema()});
  SQLite::Statement insert{database, "INSERT INTO campaign VALUES (1, ?, ?, ?)"};
  insert.bind(1, name);
  insert.bind(2, utc_now());
  insert.bind(3, COLDSTROKE_VERSION);
  insert.exec();
  enter_in_ledger(database, "campaign", 0, campaign_digest(database));
  transaction.commit();
}

std::unique_ptr<SQLite::Database> read_through(const std::string& name, int flags) {
  auto database = std::make_unique<SQLite::Database>(name, SQLite::OPEN_READONLY | flags, kBusyTimeoutMs, sealing_layer());
  database->exec("PRAGMA trusted_schema = OFF");
  database->exec("PRAGMA cell_size_check = ON");
  SQLite::Statement{*database, "SELECT count(*) FROM campaign"}.executeStep();  // the first read is what really opens the file
  return database;
}

}  // namespace

std::string utc_now() { return QDateTime::currentDateTimeUtc().toString(Qt::ISODateWithMs).toStdString(); }

Complaint explain(const SQLite::Exception& error, const std::filesystem::path& file) {
  const std::string where = file.string();
  const std::string kept = " What was committed before is safe.";
  switch (error.getErrorCode()) {
    case SQLITE_FULL:
      return {"The disk is full: nothing of this step was written.", where, "Free space on that disk and try again." + kept};
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      return {"The campaign file is locked by another program.", where,
              "Close the other program that uses it and try again." + kept};
    case SQLITE_READONLY:
    case SQLITE_PERM:
      return {"The campaign file may not be written.", where, "Check the permissions of the file and its folder." + kept};
    case SQLITE_CANTOPEN:
      return {"The campaign file cannot be opened: " + std::string{error.what()} + ".", where,
              "Check the name and the permissions of the file and its folder."};
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
      return {"The campaign file is damaged: " + std::string{error.what()} + ".", where,
              "Copy the file, with its -wal file if there is one, before anything else; then run coldstroke verify on the copy."};
    case SQLITE_IOERR:
      return {"The disk reported an error: " + std::string{error.what()} + ": nothing of this step was written.", where,
              "Check the disk and its cable." + kept};
    default:
      return {"The campaign file refused this step: " + std::string{error.what()} + ".", where,
              "Nothing of this step was kept." + kept};
  }
}

std::optional<std::size_t> page_bytes(const std::filesystem::path& file) {
  const auto header = read_header(file);
  return header ? std::optional{page_size(*header)} : std::nullopt;
}

std::optional<FileLength> file_length(const std::filesystem::path& file) {
  const auto header = read_header(file);
  std::error_code error;
  const auto found = std::filesystem::file_size(file, error);
  if (!header || error || log_waits_beside(file)) return std::nullopt;
  const std::uintmax_t page = page_size(*header);
  // The page count is only valid if the two change counters agree (file format, 1.3.8).
  if (big_endian(*header, 24) != big_endian(*header, 92)) return std::nullopt;
  return FileLength{page * big_endian(*header, 28), found};
}

Result<void> check_campaign_header(const std::filesystem::path& file) {
  const auto header = read_header(file);
  if (!header) return tl::unexpected{header.error()};
  if (const auto version = check_version(*header, file); !version) return version;
  const auto length = file_length(file);
  if (length && length->found < length->stated) {
    return complain("The campaign file is cut short: " + std::to_string(length->found) + " of " + std::to_string(length->stated) +
                        " bytes are left.",
                    file.string(), "Restore it from a copy; the file was left as it is.");
  }
  return {};
}

Result<std::unique_ptr<QLockFile>> lock_campaign(const std::filesystem::path& file) {
  // The same file by another name must meet the same lock.
  std::error_code error;
  const auto real = std::filesystem::weakly_canonical(file, error);
  const std::string name = (error ? file : real).string() + ".lock";
  auto lock = std::make_unique<QLockFile>(QString::fromStdString(name));
  lock->setStaleLockTime(0);  // never stale by age; a lock of a process that died is still recognised
  if (lock->tryLock(0)) return lock;
  if (lock->error() != QLockFile::LockFailedError) {
    return complain("The lock of the campaign file cannot be made: the folder may not be written.", name,
                    "Choose a folder that you may write to.");
  }
  qint64 process = 0;
  QString host, program;
  std::string who = "another program";
  if (lock->getLockInfo(&process, &host, &program)) {
    who = program.toStdString() + " (process " + std::to_string(process) + " on " + host.toStdString() + ")";
  }
  return complain("The campaign file is being written by " + who + ".", file.string(),
                  "End that program or choose another campaign file; reading needs no lock.");
}

Result<void> create_campaign(const std::filesystem::path& file, const std::string& name) {
  const std::filesystem::path fresh = file.string() + ".new";
  std::error_code ignored;
  std::filesystem::remove(fresh, ignored);  // left by a program that died here; the lock says nobody is at work on it
  std::filesystem::remove(fresh.string() + "-journal", ignored);
  auto filled = guarded(file, [&]() -> Result<void> {
    fill_new(fresh, name);
    std::filesystem::rename(fresh, file);
    sync_folder_of(file);
    return {};
  });
  if (!filled) {
    std::filesystem::remove(fresh, ignored);
    std::filesystem::remove(fresh.string() + "-journal", ignored);
  }
  return filled;
}

Result<std::unique_ptr<SQLite::Database>> open_writable(const std::filesystem::path& file) {
  return guarded(file, [&]() -> Result<std::unique_ptr<SQLite::Database>> {
    auto database = std::make_unique<SQLite::Database>(file.string(), SQLite::OPEN_READWRITE, kBusyTimeoutMs, sealing_layer());
    if (sqlite3_db_readonly(database->getHandle(), "main") == 1) {
      return complain("The campaign file may not be written.", file.string(),
                      "Check the permissions of the file, or open it for reading.");
    }
    database->exec("PRAGMA trusted_schema = OFF");
    database->exec("PRAGMA cell_size_check = ON");
    database->exec("PRAGMA foreign_keys = ON");
    database->exec("PRAGMA journal_mode = WAL");
    database->exec("PRAGMA synchronous = FULL");  // not kept in the file: asked for at every opening
    return database;
  });
}

Result<std::unique_ptr<SQLite::Database>> open_readable(const std::filesystem::path& file) {
  return guarded(file, [&]() -> Result<std::unique_ptr<SQLite::Database>> {
    try {
      return read_through(file.string(), 0);
    } catch (const SQLite::Exception& error) {
      const bool no_room_beside = error.getErrorCode() == SQLITE_CANTOPEN || error.getErrorCode() == SQLITE_READONLY;
      if (!no_room_beside) throw;
    }
    // A write-ahead database wants two files beside it. On read-only media they cannot be made; then nobody can be writing
    // either.
    if (log_waits_beside(file)) {
      return complain("The campaign file was not closed cleanly and lies where nothing can be written.", file.string(),
                      "Copy it together with its -wal file to a folder that you may write to, and open the copy.");
    }
    const QUrl url = QUrl::fromLocalFile(QString::fromStdString(std::filesystem::absolute(file).string()));
    return read_through(url.toEncoded().toStdString() + "?mode=ro&immutable=1", SQLite::OPEN_URI);
  });
}

}  // namespace coldstroke::daq
