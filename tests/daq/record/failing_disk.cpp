// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/daq/record/failing_disk.hpp"

namespace coldstroke::daq::failing_disk {
namespace {

struct File {
  sqlite3_file base;
  sqlite3_file* real;  // placed right behind this struct
};

bool g_failing = false;
long g_left = 0, g_asked = 0;
int g_code = SQLITE_OK;
sqlite3_vfs* g_real_system = nullptr;

/// SQLITE_OK or the failure that is due.
int due(int otherwise) {
  if (!g_failing) return SQLITE_OK;
  ++g_asked;
  if (g_left > 0) {
    --g_left;
    return SQLITE_OK;
  }
  return g_code != SQLITE_OK ? g_code : otherwise;
}

sqlite3_file* real(sqlite3_file* file) { return reinterpret_cast<File*>(file)->real; }

int close(sqlite3_file* f) { return real(f)->pMethods->xClose(real(f)); }
int read(sqlite3_file* f, void* to, int size, sqlite3_int64 at) { return real(f)->pMethods->xRead(real(f), to, size, at); }
int write(sqlite3_file* f, const void* from, int size, sqlite3_int64 at) {
  const int failure = due(SQLITE_IOERR_WRITE);
  return failure != SQLITE_OK ? failure : real(f)->pMethods->xWrite(real(f), from, size, at);
}
int truncate(sqlite3_file* f, sqlite3_int64 size) { return real(f)->pMethods->xTruncate(real(f), size); }
int sync(sqlite3_file* f, int flags) {
  const int failure = due(SQLITE_IOERR_FSYNC);
  return failure != SQLITE_OK ? failure : real(f)->pMethods->xSync(real(f), flags);
}
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

constexpr sqlite3_io_methods kMethods{2,        close,       read,       write,   truncate, sync,   file_size,
                                      lock,     unlock,      check_lock, control, sector,   traits, shm_map,
                                      shm_lock, shm_barrier, shm_unmap,  nullptr, nullptr};

int open(sqlite3_vfs*, const char* name, sqlite3_file* file, int flags, int* out_flags) {
  auto* layered = reinterpret_cast<File*>(file);
  layered->real = reinterpret_cast<sqlite3_file*>(layered + 1);
  const int result = g_real_system->xOpen(g_real_system, name, layered->real, flags, out_flags);
  file->pMethods = layered->real->pMethods != nullptr ? &kMethods : nullptr;
  return result;
}

}  // namespace

void install() {
  static sqlite3_vfs layer;
  if (g_real_system != nullptr) return;
  g_real_system = sqlite3_vfs_find(nullptr);
  layer = *g_real_system;
  layer.zName = "failing-disk";
  layer.szOsFile = static_cast<int>(sizeof(File)) + g_real_system->szOsFile;
  layer.xOpen = open;
  sqlite3_vfs_register(&layer, 1);
}

void fail(long after, int code) {
  g_failing = true;
  g_left = after;
  g_code = code;
  g_asked = 0;
}

long heal() {
  g_failing = false;
  return g_asked;
}

}  // namespace coldstroke::daq::failing_disk
