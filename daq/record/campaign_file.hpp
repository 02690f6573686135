// SPDX-License-Identifier: GPL-3.0-or-later
//
// Opening a campaign file and turning what the database throws into complaints. Internal to daq/record.
#pragma once

#include <SQLiteCpp/SQLiteCpp.h>
#include <QLockFile>

#include <exception>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>

#include "analysis/result.hpp"

namespace coldstroke::daq {

/// What failed, in words for a person, from a database error on `file`.
[[nodiscard]] Complaint explain(const SQLite::Exception& error, const std::filesystem::path& file);

/// Runs `work`, which returns a Result; anything thrown comes back as a complaint.
template <class Work>
auto guarded(const std::filesystem::path& file, Work&& work) -> decltype(work()) {
  try {
    return work();
  } catch (const SQLite::Exception& error) {
    return tl::unexpected{explain(error, file)};
  } catch (const std::exception& error) {
    return complain("The step on the campaign file failed: " + std::string{error.what()} + ".", file.string(),
                    "Nothing of this step was kept; what was committed before is safe.");
  }
}

/// Now as ISO 8601 UTC with milliseconds.
[[nodiscard]] std::string utc_now();

/// Sound enough to hand to the database: there, SQLite, a campaign, of this schema version, and as long as it says it is.
[[nodiscard]] Result<void> check_campaign_header(const std::filesystem::path& file);

/// Page size that the file states; nothing if it cannot be read.
[[nodiscard]] std::optional<std::size_t> page_bytes(const std::filesystem::path& file);

/// How long the file says it is and how long it is; nothing while a write-ahead log waits beside it, for then they may differ.
struct FileLength {
  std::uintmax_t stated = 0, found = 0;
};
[[nodiscard]] std::optional<FileLength> file_length(const std::filesystem::path& file);

/// Lock beside the file: one writing program at a time. The complaint says who holds it.
[[nodiscard]] Result<std::unique_ptr<QLockFile>> lock_campaign(const std::filesystem::path& file);

/// Makes a complete, empty campaign under another name and moves it into place, so that no half-made file is ever found.
[[nodiscard]] Result<void> create_campaign(const std::filesystem::path& file, const std::string& name);

[[nodiscard]] Result<std::unique_ptr<SQLite::Database>> open_writable(const std::filesystem::path& file);
[[nodiscard]] Result<std::unique_ptr<SQLite::Database>> open_readable(const std::filesystem::path& file);

}  // namespace coldstroke::daq
