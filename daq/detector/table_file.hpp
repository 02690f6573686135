// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <string>

#include "analysis/result.hpp"

namespace coldstroke::daq {

/// The text of a detector table or library table; `what` names it in a complaint. More than 1 MB is refused: no table is that
/// long.
[[nodiscard]] Result<std::string> read_table_file(const std::filesystem::path& file, const std::string& what);

}  // namespace coldstroke::daq
