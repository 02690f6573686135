// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/bench/surroundings.hpp"

#include <array>
#include <ctime>

namespace coldstroke::daq {

Surroundings look_around(const Setup& setup, const std::filesystem::path& campaign) {
  Surroundings out;
  const std::time_t now = std::time(nullptr);
  std::tm local{};
  std::array<char, 16> date{};
  if (localtime_r(&now, &local) != nullptr && std::strftime(date.data(), date.size(), "%Y-%m-%d", &local) > 0)
    out.today = date.data();
  std::error_code error;
  const auto folder = campaign.has_parent_path() ? campaign.parent_path() : std::filesystem::path{"."};
  const auto space = std::filesystem::space(folder, error);
  if (!error) out.archive_room_bytes = space.available;
  if (!setup.file.empty()) {
    const auto now_there = setup_text_on_disk(setup.file);
    out.setup_file_same = now_there && *now_there == setup.text;
  }
  return out;
}

}  // namespace coldstroke::daq
