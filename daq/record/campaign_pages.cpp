// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/record/campaign_pages.hpp"

#include <sqlite3.h>

#include <algorithm>
#include <array>
#include <cstring>
#include <fstream>
#include <map>
#include <memory>

#include "daq/record/digest.hpp"

namespace coldstroke::daq {
namespace {

constexpr std::uint64_t kLockByte = 0x40000000;  // SQLite never uses the page that holds it (file format, 1.1)

/// A database file of the layer: this struct, and the real one right behind it.
struct SealedFile {
  sqlite3_file base;
  sqlite3_file* real;
};

sqlite3_vfs* g_system = nullptr;

sqlite3_file* real(sqlite3_file* file) { return reinterpret_cast<SealedFile*>(file)->real; }

bool is_whole_page(int size, sqlite3_int64 at) { return size >= 512 && (size & (size - 1)) == 0 && at % size == 0; }

int write_sealed(sqlite3_file* file, const void* from, int size, sqlite3_int64 at) {
  if (!is_whole_page(size, at)) return real(file)->pMethods->xWrite(real(file), from, size, at);
  try {
    std::string page{static_cast<const char*>(from), static_cast<std::size_t>(size)};
    const std::string digest = page_digest(static_cast<std::uint64_t>(at / size) + 1, page);
    std::copy(digest.begin(), digest.end(), page.end() - static_cast<std::ptrdiff_t>(kPageDigestBytes));
    return real(file)->pMethods->xWrite(real(file), page.data(), size, at);
  } catch (const std::bad_alloc&) {
    return SQLITE_IOERR_NOMEM;
  }
}

int close(sqlite3_file* f) { return real(f)->pMethods->xClose(real(f)); }
int read(sqlite3_file* f, void* to, int size, sqlite3_int64 at) { return real(f)->pMethods->xRead(real(f), to, size, at); }
int truncate(sqlite3_file* f, sqlite3_int64 size) { return real(f)->pMethods->xTruncate(real(f), size); }
int sync(sqlite3_file* f, int flags) { return real(f)->pMethods->xSync(real(f), flags); }
int file_size(sqlite3_file* f, sqlite3_int64* size) { return real(f)->pMethods->xFileSize(real(f), size); }
int lock(sqlite3_file* f, int level) { return real(f)->pMethods->xLock(real(f), level); }
int unlock(sqlite3_file* f, int level) { return real(f)->pMethods->xUnlock(real(f), level); }
int check_lock(sqlite3_file* f, int* held) { return real(f)->pMethods->xCheckReservedLock(real(f), held); }
int control(sqlite3_file* f, int op, void* arg) { return real(f)->pMethods->xFileControl(real(f), op, arg); }
int sector(sqlite3_file* f) { return real(f)->pMethods->xSectorSize(real(f)); }
int traits(sqlite3_file* f) { return real(f)->pMethods->xDeviceCharacteristics(real(f)); }
int shm_map(sqlite3_file* f, int page, int size, int extend, void volatile** to) {
  return real(f)->pMethods->xShmMap(real(f), page, size, extend, to);
}
int shm_lock(sqlite3_file* f, int offset, int n, int flags) { return real(f)->pMethods->xShmLock(real(f), offset, n, flags); }
void shm_barrier(sqlite3_file* f) { real(f)->pMethods->xShmBarrier(real(f)); }
int shm_unmap(sqlite3_file* f, int remove) { return real(f)->pMethods->xShmUnmap(real(f), remove); }

// Version 2: without memory mapping, which would go past the layer.
constexpr sqlite3_io_methods kMethods{2,        close,       read,       write_sealed, truncate, sync,   file_size,
                                      lock,     unlock,      check_lock, control,      sector,   traits, shm_map,
                                      shm_lock, shm_barrier, shm_unmap,  nullptr,      nullptr};

int open(sqlite3_vfs*, const char* name, sqlite3_file* file, int flags, int* out_flags) {
  // Logs and journals have checksums of their own and are gone after a clean end.
  if ((flags & SQLITE_OPEN_MAIN_DB) == 0) return g_system->xOpen(g_system, name, file, flags, out_flags);
  auto* sealed = reinterpret_cast<SealedFile*>(file);
  sealed->real = reinterpret_cast<sqlite3_file*>(sealed + 1);
  const int result = g_system->xOpen(g_system, name, sealed->real, flags, out_flags);
  file->pMethods = sealed->real->pMethods != nullptr ? &kMethods : nullptr;
  return result;
}

bool fits(std::uint64_t number, std::string_view page) {
  return page_digest(number, page) == page.substr(page.size() - kPageDigestBytes);
}

bool all_zero(std::string_view page) { return page.find_first_not_of('\0') == std::string_view::npos; }

/// For people: what a table holds.
std::string words_for(const std::string& table) {
  if (table == "raw") return "raw data";
  if (table == "hand_void") return "who voided it by hand and why";
  if (table == "trial") return "the row";
  return table + " rows";
}

/// Rows of one leaf, counted through the table in the order of its key.
struct Leaf {
  std::string path;
  std::int64_t first_row = 0, rows = 0;
};

/// "raw data of trial 2 to 3" for rows [first, first + count) of a table; the table alone where it knows of no trial.
std::string rows_in_words(SQLite::Database& database, const std::string& table, std::int64_t first, std::int64_t count) {
  constexpr std::array kOfTrials{"raw", "event", "calibration", "identity", "result", "note", "attachment", "hand_void"};
  const bool by_trial = std::ranges::find(kOfTrials, table) != kOfTrials.end();
  if (!by_trial && table != "trial" && table != "stimulus") return "table " + table;
  const std::string column = by_trial ? "trial" : "number", key = by_trial ? "id" : "number";
  SQLite::Statement query{database, "SELECT min(t), max(t) FROM (SELECT " + column + " AS t FROM " + table + " ORDER BY " + key +
                                        " LIMIT ? OFFSET ?)"};
  query.bind(1, count);
  query.bind(2, first);
  query.executeStep();
  if (query.getColumn(0).isNull()) return words_for(table) + " (no row)";
  const std::string low = query.getColumn(0).getString(), high = query.getColumn(1).getString();
  if (table == "stimulus") return low == high ? "stimulus " + low : "stimuli " + low + " to " + high;
  return words_for(table) + (low == high ? " of trial " + low : " of trials " + low + " to " + high);
}

struct TreePage {
  std::string table, path, kind;
  std::int64_t rows = 0;
};

}  // namespace

std::string page_digest(std::uint64_t number, std::string_view page) {
  return Digest{}.number(static_cast<std::int64_t>(number)).fixed(page.substr(0, page.size() - kPageDigestBytes)).value();
}

const char* sealing_layer() {
  static sqlite3_vfs layer;
  static const bool registered = [] {
    sqlite3_initialize();
    g_system = sqlite3_vfs_find(nullptr);
    layer = *g_system;
    layer.zName = "coldstroke-pages";
    layer.szOsFile = static_cast<int>(sizeof(SealedFile)) + g_system->szOsFile;
    layer.xOpen = open;
    return sqlite3_vfs_register(&layer, 0) == SQLITE_OK;
  }();
  return registered ? layer.zName : nullptr;
}

void reserve_page_digests(SQLite::Database& database) {
  int bytes = static_cast<int>(kPageDigestBytes);
  database.check(sqlite3_file_control(database.getHandle(), "main", SQLITE_FCNTL_RESERVE_BYTES, &bytes));
}

std::vector<std::uint64_t> altered_pages(const std::filesystem::path& file, std::size_t page_bytes) {
  std::vector<std::uint64_t> altered;
  std::ifstream stream{file, std::ios::binary};
  std::string page(page_bytes, '\0');
  const auto read_page = [&](std::uint64_t number) {
    stream.clear();
    stream.seekg(static_cast<std::streamoff>((number - 1) * page_bytes));
    return static_cast<bool>(stream.read(page.data(), static_cast<std::streamsize>(page_bytes)));
  };
  for (std::uint64_t number = 1; read_page(number); ++number) {
    const bool unused = number == kLockByte / page_bytes + 1;
    if (unused ? all_zero(page) : fits(number, page)) continue;
    // A program that records may be writing this very page: look once more before saying so.
    stream.close();
    stream.open(file, std::ios::binary);
    if (!read_page(number) || (unused ? all_zero(page) : fits(number, page))) continue;
    altered.push_back(number);
  }
  return altered;
}

std::vector<std::string> page_contents(SQLite::Database& database, const std::vector<std::uint64_t>& pages) {
  std::map<std::uint64_t, TreePage> tree;
  std::map<std::string, std::vector<Leaf>> leaves;
  try {
    SQLite::Statement query{database, "SELECT name, path, pagetype, ncell, pageno FROM dbstat ORDER BY name, path"};
    while (query.executeStep()) {
      TreePage page{query.getColumn(0).getString(), query.getColumn(1).getString(), query.getColumn(2).getString(),
                    query.getColumn(3).getInt64()};
      if (page.kind == "leaf") {
        auto& list = leaves[page.table];
        list.push_back({page.path, list.empty() ? 0 : list.back().first_row + list.back().rows, page.rows});
      }
      tree[static_cast<std::uint64_t>(query.getColumn(4).getInt64())] = std::move(page);
    }
  } catch (const SQLite::Exception&) {
    // The damage hides the rest of the tree; what was reached before it is still told.
  }
  std::vector<std::string> words;
  for (const std::uint64_t number : pages) {
    const auto found = tree.find(number);
    if (number == 1) {
      words.emplace_back("the head of the file and its table definitions");
    } else if (found == tree.end()) {
      words.emplace_back("unused space, or a place that the damage hides");
    } else {
      // An overflow page's path is that of its leaf, the cell, and its place in the chain: "/003/01c+000002".
      const TreePage& page = found->second;
      std::string leaf_path = page.path;
      std::optional<std::int64_t> cell;
      if (page.kind == "overflow") {
        const std::size_t plus = leaf_path.find('+'), slash = leaf_path.rfind('/', plus);
        cell = std::stoll(leaf_path.substr(slash + 1, plus - slash - 1), nullptr, 16);
        leaf_path.resize(slash + 1);
      }
      const auto& list = leaves[page.table];
      const auto leaf = std::ranges::find(list, leaf_path, &Leaf::path);
      try {
        words.push_back(leaf == list.end()
                            ? "the index or inner page of " + page.table
                            : rows_in_words(database, page.table, leaf->first_row + cell.value_or(0), cell ? 1 : leaf->rows));
      } catch (const SQLite::Exception&) {
        words.push_back("table " + page.table);
      }
    }
  }
  return words;
}

}  // namespace coldstroke::daq
