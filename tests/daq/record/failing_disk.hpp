// SPDX-License-Identifier: GPL-3.0-or-later
//
// A disk that fails from a chosen write or sync on: a layer between SQLite and the real files of this process.
#pragma once

#include <sqlite3.h>

namespace coldstroke::daq::failing_disk {

/// Puts the layer in place for every database opened from now on. Once is enough.
void install();
/// The `after`-th write or sync from now (0: the next one) and all further ones fail with this SQLite code.
void fail(long after, int code);
/// The disk works again. Returns how many writes and syncs were asked for since `fail`.
long heal();

}  // namespace coldstroke::daq::failing_disk
