// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "analysis/result.hpp"

namespace coldstroke::daq {

/// The board's end of a pseudo-terminal. Raw from the start, never blocks: like a real board it drops what nobody takes, and
/// counts. It holds the other end open as well, so that reading goes on being possible while no host is there.
class PseudoTerminal {
 public:
  /// `link`: symbolic link to make and keep pointing here, empty for none. An old link is replaced, any other file is refused.
  static Result<PseudoTerminal> open(const std::string& link);
  PseudoTerminal(PseudoTerminal&& other) noexcept;
  PseudoTerminal& operator=(PseudoTerminal&& other) noexcept;
  ~PseudoTerminal();

  [[nodiscard]] const std::string& name() const { return name_; }
  [[nodiscard]] int descriptor() const { return master_; }
  /// What the host has written, possibly nothing.
  [[nodiscard]] std::vector<std::byte> read();
  void write(std::span<const std::byte> bytes);
  [[nodiscard]] std::uint64_t dropped_bytes() const { return dropped_; }
  /// Throws away what waits for a host that was not there.
  void forget_waiting();
  /// Pulls the plug: the host sees a hang-up. Then a new one, with a new name, behind the same link.
  void hang_up();
  [[nodiscard]] bool is_open() const { return master_ >= 0; }
  Result<bool> reopen();

 private:
  PseudoTerminal() = default;
  void close_all();
  int master_ = -1, slave_ = -1;
  std::string name_, link_;
  std::uint64_t dropped_ = 0;
};

}  // namespace coldstroke::daq
