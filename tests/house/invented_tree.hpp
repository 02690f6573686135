// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <string>
#include <utility>
#include <vector>

#include "tests/house/source_tree.hpp"

namespace coldstroke::house {

/// A small tree on disk in a temporary folder, removed at the end: what a rule is tried on.
class InventedTree {
 public:
  /// Path from the root and content, one pair a file.
  explicit InventedTree(const std::vector<std::pair<std::string, std::string>>& files);
  ~InventedTree();
  InventedTree(const InventedTree&) = delete;
  InventedTree& operator=(const InventedTree&) = delete;

  [[nodiscard]] SourceTree read() const { return read_source_tree(root_); }
  [[nodiscard]] const std::filesystem::path& root() const { return root_; }

 private:
  std::filesystem::path root_;
};

}  // namespace coldstroke::house
