// SPDX-License-Identifier: GPL-3.0-or-later
//
// The worked frames as docs/wire.md holds them.
#pragma once

#include <cstddef>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

namespace coldstroke::wire {

struct GoldenFrame {
  std::string name;
  std::vector<std::byte> bytes;
};

/// Empty if the page or its golden block is not there. A name stands alone; its bytes follow on indented lines.
inline std::vector<GoldenFrame> golden_frames() {
  std::ifstream page{COLDSTROKE_SOURCE_DIR "/docs/wire.md"};
  std::vector<GoldenFrame> frames;
  std::string line;
  while (std::getline(page, line) && line != "```golden") {
  }
  while (std::getline(page, line) && line != "```") {
    if (!line.starts_with(' ')) {
      frames.push_back({line, {}});
      continue;
    }
    std::istringstream words{line};
    for (std::string word; words >> word;) frames.back().bytes.push_back(static_cast<std::byte>(std::stoi(word, nullptr, 16)));
  }
  return frames;
}

}  // namespace coldstroke::wire
