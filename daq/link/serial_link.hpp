// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QObject>
#include <QString>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <vector>

#include "daq/setup/setup.hpp"
#include "daq/stream/clock.hpp"

namespace coldstroke::daq {

/// The host's steady clock as a HostTime.
[[nodiscard]] HostTime host_now();

/// One serial port in a thread of its own: bytes in with their arrival time, bytes out, opened again when it vanishes.
///
/// Lives in the thread that made it. The handlers are called on the port's thread and must return at once: they hand over to a
/// queue.
class SerialLink : public QObject {
  Q_OBJECT
 public:
  struct Handlers {
    std::function<void(HostTime arrival, std::vector<std::byte>)> received;
    std::function<void(HostTime)> opened;
    /// `why` is one sentence for people: what happened to which port, and what to do.
    std::function<void(HostTime, QString why)> lost;
  };
  SerialLink(const PortSetup& port, Node node, Handlers handlers);
  ~SerialLink() override;  ///< closes the port and ends the thread
  SerialLink(const SerialLink&) = delete;
  SerialLink& operator=(const SerialLink&) = delete;

  /// From any thread; written in order, at once. Dropped if the port is shut (the bench sees `lost`).
  void write(std::vector<std::byte> bytes);

 private:
  struct Port;
  std::unique_ptr<Port> port_;
};

}  // namespace coldstroke::daq
