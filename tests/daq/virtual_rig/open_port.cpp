// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/daq/virtual_rig/open_port.hpp"

#include <algorithm>
#include <cerrno>
#include <memory>
#include <utility>

namespace coldstroke::daq {

Exchange exchange_over_ports(const std::string& rig_link, const std::string& flight_link) {
  struct Ports {
    std::array<std::string, 2> links;
    std::array<std::unique_ptr<OpenPort>, 2> open;
    std::chrono::steady_clock::time_point start = std::chrono::steady_clock::now();
  };
  auto ports = std::make_shared<Ports>();
  ports->links = {rig_link, flight_link};
  return [ports](const LockstepRequest& request) {
    LockstepReply reply;
    const auto until = ports->start + std::chrono::microseconds{request.advance_to_us};
    for (std::size_t n = 0; n < 2; ++n) {
      if (!ports->open[n]) ports->open[n] = std::make_unique<OpenPort>(ports->links[n]);
      if (ports->open[n]->is_open()) ports->open[n]->write_raw(request.bytes[n]);
    }
    do {
      pollfd ready[2]{{ports->open[0]->descriptor(), POLLIN, 0}, {ports->open[1]->descriptor(), POLLIN, 0}};
      const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(until - std::chrono::steady_clock::now()).count();
      ::poll(ready, 2, static_cast<int>(std::max<std::int64_t>(left, 1)));
      const auto now = std::chrono::steady_clock::now() - ports->start;
      reply.now_us = std::chrono::duration_cast<std::chrono::microseconds>(now).count();
      for (std::size_t n = 0; n < 2; ++n) {
        if (!ports->open[n]->is_open() || ready[n].revents == 0) continue;
        std::vector<std::byte> bytes = ports->open[n]->read_raw();
        if (!bytes.empty()) reply.chunks.push_back({static_cast<Node>(n), {reply.now_us, std::move(bytes)}});
        if (ports->open[n]->hung_up()) ports->open[n] = std::make_unique<OpenPort>("/no/such/port");
      }
    } while (std::chrono::steady_clock::now() < until);
    for (std::size_t n = 0; n < 2; ++n) {
      if (!ports->open[n]->is_open()) ports->open[n].reset();
      reply.port_up[n] = ports->open[n] != nullptr;
    }
    return reply;
  };
}

}  // namespace coldstroke::daq
