// SPDX-License-Identifier: GPL-3.0-or-later
//
// A test's end of the boards' pseudo-terminals, in real time, as a serial program has it.
#pragma once

#include <fcntl.h>
#include <gtest/gtest.h>
#include <poll.h>
#include <termios.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <chrono>
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "daq/virtual_rig/lockstep.hpp"
#include "protocol/wire/decoder.hpp"
#include "tests/daq/virtual_rig/bench_host.hpp"

namespace coldstroke::daq {

/// A host's end of one pseudo-terminal, as a serial program opens it.
class OpenPort {
 public:
  explicit OpenPort(const std::string& name) : fd_{::open(name.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK)} {
    termios mode{};
    if (fd_ < 0 || ::tcgetattr(fd_, &mode) != 0) return;
    ::cfmakeraw(&mode);
    ::tcsetattr(fd_, TCSANOW, &mode);
  }
  ~OpenPort() { ::close(fd_); }
  OpenPort(const OpenPort&) = delete;
  OpenPort& operator=(const OpenPort&) = delete;
  [[nodiscard]] bool is_open() const { return fd_ >= 0; }
  void send(const wire::Message& message) {
    std::vector<std::byte> bytes;
    encoder_.append(message, bytes);
    ASSERT_EQ(::write(fd_, bytes.data(), bytes.size()), static_cast<ssize_t>(bytes.size()));
  }
  /// Waits for a message of this kind.
  template <class T>
  std::optional<T> wait_for(double seconds) {
    const auto until = std::chrono::steady_clock::now() + std::chrono::duration<double>{seconds};
    while (std::chrono::steady_clock::now() < until) {
      for (const wire::Message& message : read(50))
        if (const T* found = std::get_if<T>(&message)) return *found;
      if (hung_up_) return std::nullopt;
    }
    return std::nullopt;
  }
  std::vector<wire::Message> read(int limit_ms) {
    std::vector<wire::Message> out;
    pollfd ready{fd_, POLLIN, 0};
    if (::poll(&ready, 1, limit_ms) <= 0) return out;
    std::array<std::byte, 4096> buffer;
    const ssize_t got = ::read(fd_, buffer.data(), buffer.size());
    if (got > 0) decoder_.feed({buffer.data(), static_cast<std::size_t>(got)}, out);
    if (got <= 0 && (ready.revents & POLLHUP) != 0) hung_up_ = true;
    return out;
  }
  void write_raw(const std::vector<std::byte>& bytes) {
    if (!bytes.empty()) [[maybe_unused]]
      const ssize_t put = ::write(fd_, bytes.data(), bytes.size());
  }
  std::vector<std::byte> read_raw() {
    std::array<std::byte, 4096> buffer;
    const ssize_t got = ::read(fd_, buffer.data(), buffer.size());
    if (got == 0 || (got < 0 && errno == EIO)) hung_up_ = true;
    return {buffer.begin(), buffer.begin() + std::max<ssize_t>(got, 0)};
  }
  [[nodiscard]] int descriptor() const { return fd_; }
  [[nodiscard]] bool hung_up() const { return hung_up_; }
  [[nodiscard]] const wire::LineCounts& counts() const { return decoder_.counts(); }

 private:
  int fd_;
  bool hung_up_ = false;
  wire::Encoder encoder_;
  wire::Decoder decoder_;
};

/// Two ports in real time in the place of a lock-step. A port that hangs up is opened again through its link when it is back.
Exchange exchange_over_ports(const std::string& rig_link, const std::string& flight_link);

}  // namespace coldstroke::daq
