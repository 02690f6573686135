// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <string>

#include "analysis/result.hpp"

namespace coldstroke::daq {

/// The text of a table that people write; `what` names it in a complaint and `shown` says where a person reads of it. More than
/// 1 MB is refused: no table is that long.
[[nodiscard]] Result<std::string> read_table_file(const std::filesystem::path& file, const std::string& what,
                                                  const std::string& shown);

}  // namespace coldstroke::daq
