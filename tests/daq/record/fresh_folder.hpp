// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <string>

namespace coldstroke::daq {

/// An empty folder of its own for one test, gone with it.
class FreshFolder {
 public:
  FreshFolder() {
    std::string name = (std::filesystem::temp_directory_path() / "coldstroke-test-XXXXXX").string();
    path_ = ::mkdtemp(name.data()) == nullptr ? std::filesystem::path{} : std::filesystem::path{name};
  }
  ~FreshFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  FreshFolder(const FreshFolder&) = delete;
  FreshFolder& operator=(const FreshFolder&) = delete;
  [[nodiscard]] std::filesystem::path operator/(const char* name) const { return path_ / name; }
  [[nodiscard]] const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

}  // namespace coldstroke::daq
