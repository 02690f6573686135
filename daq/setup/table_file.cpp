// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/setup/table_file.hpp"

#include <fstream>
#include <iterator>

namespace coldstroke::daq {

Result<std::string> read_table_file(const std::filesystem::path& file, const std::string& what, const std::string& shown) {
  constexpr std::uintmax_t kLimitBytes = 1U << 20U;
  std::error_code error;
  const auto size = std::filesystem::file_size(file, error);
  std::ifstream stream{file, std::ios::binary};
  if (error || !stream)
    return complain("The " + what + " cannot be opened.", file.string(), "Name a file that you may read (" + shown + ").");
  if (size > kLimitBytes)
    return complain("The file is larger than 1 MB, so it is no " + what + ".", file.string(), "Name the table (TOML).");
  return std::string{std::istreambuf_iterator<char>{stream}, {}};
}

}  // namespace coldstroke::daq
