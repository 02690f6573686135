// SPDX-License-Identifier: GPL-3.0-or-later
//
// A digest in every page of a campaign file, written with the page itself: no byte of the file, used or not, can change unseen.
// Layout: docs/campaign-file.md, "Pages". Internal to daq/record.
#pragma once

#include <SQLiteCpp/SQLiteCpp.h>

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

namespace coldstroke::daq {

/// Bytes at the end of each page that SQLite leaves alone (file format, 1.3.4) and that hold the page's digest.
inline constexpr std::size_t kPageDigestBytes = 32;

/// Name of the layer over the operating system through which campaigns are opened: it seals each page of the database file as it
/// is written. Registered at the first call, over whatever is the default then.
[[nodiscard]] const char* sealing_layer();

/// Asks for the room in the pages of a database that has none yet. Throws.
void reserve_page_digests(SQLite::Database& database);

/// SHA-256 over the page's number (from 1, 8 bytes little-endian) and its bytes without the last 32.
[[nodiscard]] std::string page_digest(std::uint64_t number, std::string_view page);

/// Pages of the file whose digest does not fit, ascending. The page size is the file's own; a rest that is no whole page is not
/// looked at. Memory: one page.
[[nodiscard]] std::vector<std::uint64_t> altered_pages(const std::filesystem::path& file, std::size_t page_bytes);

/// What each of `pages` holds, in words ("raw data of trial 2"), as far as the database can still tell. Same order.
[[nodiscard]] std::vector<std::string> page_contents(SQLite::Database& database, const std::vector<std::uint64_t>& pages);

}  // namespace coldstroke::daq
