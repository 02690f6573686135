// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/virtual_rig/lockstep.hpp"

#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

namespace coldstroke::daq {
namespace {

constexpr std::uint32_t kChunksMax = 1U << 20U;

void put(std::vector<std::byte>& out, std::uint64_t value, unsigned bytes) {
  for (unsigned i = 0; i < bytes; ++i) out.push_back(static_cast<std::byte>((value >> (8U * i)) & 0xFFU));
}

std::uint64_t get(std::span<const std::byte> bytes) {
  std::uint64_t out = 0;
  for (std::size_t i = bytes.size(); i-- > 0;) out = (out << 8U) | std::to_integer<std::uint64_t>(bytes[i]);
  return out;
}

void put_bytes(std::vector<std::byte>& out, std::span<const std::byte> bytes) {
  out.insert(out.end(), bytes.begin(), bytes.end());
}

tl::unexpected<Complaint> broken(const std::string& what) {
  return complain(what, "lock-step stream of the virtual rig", "Use the same version of the program on both sides.");
}

/// Inside a message the stream must not end.
Result<bool> more(const ReadExactly& source, std::span<std::byte> into) {
  Result<bool> got = source(into);
  if (got && !*got) return broken("The lock-step stream ended inside a message.");
  return got;
}

}  // namespace

std::vector<std::byte> encode(const LockstepRequest& request) {
  std::vector<std::byte> out;
  out.reserve(16 + request.bytes[0].size() + request.bytes[1].size());
  put(out, static_cast<std::uint64_t>(request.advance_to_us), 8);
  put(out, request.bytes[0].size(), 4);
  put(out, request.bytes[1].size(), 4);
  put_bytes(out, request.bytes[0]);
  put_bytes(out, request.bytes[1]);
  return out;
}

std::vector<std::byte> encode(const LockstepReply& reply) {
  std::vector<std::byte> out;
  put(out, static_cast<std::uint64_t>(reply.now_us), 8);
  put(out, reply.chunks.size(), 4);
  for (const LockstepReply::Chunk& chunk : reply.chunks) {
    put(out, static_cast<std::uint64_t>(chunk.node), 1);
    put(out, static_cast<std::uint64_t>(chunk.stamped.arrival_us), 8);
    put(out, chunk.stamped.bytes.size(), 4);
    put_bytes(out, chunk.stamped.bytes);
  }
  put(out, (reply.port_up[0] ? 1U : 0U) | (reply.port_up[1] ? 2U : 0U), 1);
  return out;
}

Result<bool> read(const ReadExactly& source, LockstepRequest& request) {
  std::array<std::byte, 16> head;
  if (Result<bool> got = source(head); !got || !*got) return got;
  const std::span<const std::byte> view{head};
  request.advance_to_us = static_cast<std::int64_t>(get(view.subspan(0, 8)));
  for (std::size_t node = 0; node < 2; ++node) {
    const std::uint64_t count = get(view.subspan(8 + 4 * node, 4));
    if (count > kLockstepBytesMax) return broken("A lock-step request carries more bytes than allowed.");
    request.bytes[node].resize(count);
  }
  for (std::vector<std::byte>& bytes : request.bytes)
    if (!bytes.empty())
      if (Result<bool> got = more(source, bytes); !got) return got;
  return true;
}

Result<bool> read(const ReadExactly& source, LockstepReply& reply) {
  std::array<std::byte, 12> head;
  if (Result<bool> got = source(head); !got || !*got) return got;
  const std::span<const std::byte> view{head};
  reply.now_us = static_cast<std::int64_t>(get(view.subspan(0, 8)));
  const std::uint64_t chunks = get(view.subspan(8, 4));
  if (chunks > kChunksMax) return broken("A lock-step reply has more chunks than allowed.");
  reply.chunks.clear();
  for (std::uint64_t i = 0; i < chunks; ++i) {
    std::array<std::byte, 13> row;
    if (Result<bool> got = more(source, row); !got) return got;
    const std::span<const std::byte> fields{row};
    const std::uint64_t node = get(fields.subspan(0, 1)), count = get(fields.subspan(9, 4));
    if (node > 1 || count > kLockstepBytesMax) return broken("A lock-step reply breaks its table.");
    LockstepReply::Chunk chunk{static_cast<Node>(node), {static_cast<std::int64_t>(get(fields.subspan(1, 8))), {}}};
    chunk.stamped.bytes.resize(count);
    if (count > 0)
      if (Result<bool> got = more(source, chunk.stamped.bytes); !got) return got;
    reply.chunks.push_back(std::move(chunk));
  }
  std::array<std::byte, 1> flags;
  if (Result<bool> got = more(source, flags); !got) return got;
  reply.port_up = {(flags[0] & std::byte{1}) != std::byte{0}, (flags[0] & std::byte{2}) != std::byte{0}};
  return true;
}

Result<bool> read_exactly(int fd, std::span<std::byte> into, double limit_seconds) {
  std::size_t done = 0;
  while (done < into.size()) {
    pollfd ready{fd, POLLIN, 0};
    const int polled = ::poll(&ready, 1, limit_seconds < 0.0 ? -1 : static_cast<int>(limit_seconds * 1000.0));
    if (polled == 0) return broken("The other side of the lock-step stream did not answer in time.");
    const ssize_t got = polled < 0 ? -1 : ::read(fd, into.data() + done, into.size() - done);
    if (got > 0) {
      done += static_cast<std::size_t>(got);
    } else if (got == 0) {
      if (done == 0) return false;
      return broken("The lock-step stream ended inside a message.");
    } else if (errno != EINTR) {
      return broken(std::string{"The lock-step stream cannot be read: "} + std::strerror(errno) + ".");
    }
  }
  return true;
}

Result<bool> write_all(int fd, std::span<const std::byte> bytes) {
  while (!bytes.empty()) {
    ssize_t put = ::send(fd, bytes.data(), bytes.size(), MSG_NOSIGNAL);
    if (put < 0 && errno == ENOTSOCK) put = ::write(fd, bytes.data(), bytes.size());
    if (put > 0)
      bytes = bytes.subspan(static_cast<std::size_t>(put));
    else if (put < 0 && errno != EINTR)
      return broken(std::string{"The lock-step stream cannot be written: "} + std::strerror(errno) + ".");
  }
  return true;
}

}  // namespace coldstroke::daq
