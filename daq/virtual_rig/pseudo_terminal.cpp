// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/virtual_rig/pseudo_terminal.hpp"

#include <fcntl.h>
#include <stdlib.h>
#include <termios.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <utility>

namespace coldstroke::daq {
namespace {

tl::unexpected<Complaint> failed(const std::string& what) {
  return complain(what + ": " + std::strerror(errno) + ".", "pseudo-terminal of the virtual rig",
                  "Check that /dev/pts is mounted and that not too many terminals are open.");
}

Result<bool> point_link(const std::string& link, const std::string& name) {
  namespace fs = std::filesystem;
  std::error_code error;
  const fs::file_status there = fs::symlink_status(link, error);
  if (fs::exists(there) && !fs::is_symlink(there))
    return complain("The name for the port's link is taken by something that is not a link.", link, "Name another place.");
  // A new link beside the old one, then renamed over it: whoever opens it meanwhile finds one or the other.
  const std::string fresh = link + ".new";
  fs::remove(fresh, error);
  fs::create_symlink(name, fresh, error);
  if (!error) fs::rename(fresh, link, error);
  if (error)
    return complain("The port's link cannot be made: " + error.message() + ".", link, "Name a place that can be written.");
  return true;
}

}  // namespace

Result<PseudoTerminal> PseudoTerminal::open(const std::string& link) {
  PseudoTerminal port;
  port.link_ = link;
  if (Result<bool> opened = port.reopen(); !opened) return tl::unexpected(opened.error());
  return port;
}

Result<bool> PseudoTerminal::reopen() {
  close_all();
  master_ = ::posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
  if (master_ < 0) return failed("No pseudo-terminal could be opened");
  std::array<char, 128> name{};
  if (::grantpt(master_) != 0 || ::unlockpt(master_) != 0 || ::ptsname_r(master_, name.data(), name.size()) != 0)
    return failed("The pseudo-terminal could not be set up");
  name_ = name.data();
  slave_ = ::open(name_.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
  termios mode{};
  if (slave_ < 0 || ::tcgetattr(slave_, &mode) != 0) return failed("The pseudo-terminal's other end could not be opened");
  ::cfmakeraw(&mode);  // a cooked one would echo the boards' bytes back at them
  if (::tcsetattr(slave_, TCSANOW, &mode) != 0) return failed("The pseudo-terminal could not be made raw");
  return link_.empty() ? Result<bool>{true} : point_link(link_, name_);
}

PseudoTerminal::PseudoTerminal(PseudoTerminal&& other) noexcept { *this = std::move(other); }

PseudoTerminal& PseudoTerminal::operator=(PseudoTerminal&& other) noexcept {
  std::swap(master_, other.master_);
  std::swap(slave_, other.slave_);
  std::swap(name_, other.name_);
  std::swap(link_, other.link_);
  std::swap(dropped_, other.dropped_);
  return *this;
}

PseudoTerminal::~PseudoTerminal() {
  close_all();
  std::error_code ignored;
  if (!link_.empty() && std::filesystem::is_symlink(link_, ignored)) std::filesystem::remove(link_, ignored);
}

void PseudoTerminal::close_all() {
  if (slave_ >= 0) ::close(slave_);
  if (master_ >= 0) ::close(master_);
  master_ = slave_ = -1;
}

std::vector<std::byte> PseudoTerminal::read() {
  std::vector<std::byte> out;
  if (master_ < 0) return out;
  std::array<std::byte, 4096> buffer;
  while (true) {
    const ssize_t got = ::read(master_, buffer.data(), buffer.size());
    if (got > 0)
      out.insert(out.end(), buffer.begin(), buffer.begin() + got);
    else if (got == 0 || errno != EINTR)
      return out;  // nothing more now (or nobody there): come again
  }
}

void PseudoTerminal::write(std::span<const std::byte> bytes) {
  while (!bytes.empty() && master_ >= 0) {
    const ssize_t put = ::write(master_, bytes.data(), bytes.size());
    if (put > 0)
      bytes = bytes.subspan(static_cast<std::size_t>(put));
    else if (put == 0 || errno != EINTR)
      break;
  }
  dropped_ += bytes.size();
}

void PseudoTerminal::forget_waiting() {
  if (slave_ >= 0) ::tcflush(slave_, TCIFLUSH);
}

void PseudoTerminal::hang_up() { close_all(); }

}  // namespace coldstroke::daq
