// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/whole_file.hpp"

#include <fstream>
#include <system_error>

namespace coldstroke::gui {

Result<void> check_ordinary(const std::filesystem::path& file) {
  std::error_code ignored;
  const auto there = std::filesystem::status(file, ignored).type();
  if (there == std::filesystem::file_type::not_found || there == std::filesystem::file_type::regular ||
      there == std::filesystem::file_type::none)
    return {};
  return complain("This is a folder, a device or the like, no file to write over.", file.string(), "Name another file.");
}

Result<void> write_whole(const std::filesystem::path& file, const std::string& bytes) {
  if (auto ordinary = check_ordinary(file); !ordinary) return ordinary;
  const std::filesystem::path unfinished = file.string() + ".unfinished";
  {
    std::ofstream out{unfinished, std::ios::binary | std::ios::trunc};
    out << bytes;
    out.flush();
    if (!out) {
      std::error_code ignored;
      std::filesystem::remove(unfinished, ignored);
      return complain("The file could not be written.", file.string(),
                      "Check that the folder can be written and has room, or name another file.");
    }
  }
  std::error_code failed;
  std::filesystem::rename(unfinished, file, failed);
  if (failed)
    return complain("The file could not take its name: " + failed.message() + ".", file.string(),
                    "It was left as " + unfinished.string() + ".");
  return {};
}

}  // namespace coldstroke::gui
