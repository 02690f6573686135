// SPDX-License-Identifier: GPL-3.0-or-later
//
// Every report, sheet, table and figure is written whole or not at all.
#pragma once

#include <filesystem>
#include <string>

#include "analysis/result.hpp"

namespace coldstroke::gui {

/// Complains of a folder or a device, over which nothing may be written.
[[nodiscard]] Result<void> check_ordinary(const std::filesystem::path& file);
/// Writes `bytes` to `file` by way of a temporary name beside it, so that a failure leaves the old file as it was.
[[nodiscard]] Result<void> write_whole(const std::filesystem::path& file, const std::string& bytes);

}  // namespace coldstroke::gui
