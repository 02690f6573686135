// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/house/invented_tree.hpp"

#include <stdlib.h>

#include <fstream>
#include <stdexcept>

namespace coldstroke::house {

InventedTree::InventedTree(const std::vector<std::pair<std::string, std::string>>& files) {
  std::string name = (std::filesystem::temp_directory_path() / "coldstroke-house-XXXXXX").string();
  if (mkdtemp(name.data()) == nullptr) throw std::runtime_error{"cannot make a temporary folder " + name};
  root_ = name;
  for (const auto& [path, content] : files) {
    std::filesystem::create_directories((root_ / path).parent_path());
    std::ofstream{root_ / path, std::ios::binary} << content;
  }
}

InventedTree::~InventedTree() {
  std::error_code ignored;
  std::filesystem::remove_all(root_, ignored);
}

}  // namespace coldstroke::house
