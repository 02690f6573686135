// SPDX-License-Identifier: GPL-3.0-or-later
//
// A small host for the tests of the virtual rig: speaks the wire format, keeps what it hears, works the rig step by step.
#pragma once

#include <array>
#include <cstdint>
#include <functional>
#include <optional>
#include <variant>
#include <vector>

#include "daq/virtual_rig/lockstep.hpp"
#include "daq/virtual_rig/virtual_rig.hpp"
#include "protocol/wire/decoder.hpp"

namespace coldstroke::daq {

/// Moves bench time: host bytes in, chunks out. In-process, over pipes or over pseudo-terminals, all alike.
using Exchange = std::function<LockstepReply(const LockstepRequest&)>;
Exchange exchange_with(VirtualRig& rig);

class BenchHost {
 public:
  struct Heard {
    std::int64_t arrival_us;
    wire::Message message;
  };
  explicit BenchHost(Exchange exchange) : exchange_{std::move(exchange)} {}

  void send(Node node, const wire::Message& message);
  /// Moves time on, with a heartbeat every 50 ms unless told not to.
  void run_for(double seconds);
  /// Until `done` or the time is over; true if done.
  bool run_until(const std::function<bool()>& done, double limit_seconds);
  void greet();
  wire::Reason command(Node node, wire::CommandCode code, std::uint32_t argument = 0, std::uint32_t token = 0);
  wire::Reason command_with_token(wire::CommandCode code, std::uint32_t argument = 0);
  /// Hello, clear faults, reset the detector, begin a record.
  void prepare(std::uint32_t record_id);
  /// Charges until the newest pressure reaches the target, then lets it settle.
  bool charge(double gauge_pascals, double settle_seconds = 3.0);
  wire::Reason release(double open_seconds = 0.150);
  wire::Reason vent() { return command(Node::rig, wire::CommandCode::vent); }
  /// All of it: prepare, charge, release, fall and landing, vent, vehicle back on its seat.
  bool eject(std::uint32_t record_id, double gauge_pascals = 8.0e5);

  template <class T>
  [[nodiscard]] std::vector<T> heard(Node node) const {
    std::vector<T> out;
    for (const Heard& h : heard_[static_cast<std::size_t>(node)])
      if (const T* m = std::get_if<T>(&h.message)) out.push_back(*m);
    return out;
  }
  template <class T>
  [[nodiscard]] std::optional<T> newest(Node node) const {
    const auto& list = heard_[static_cast<std::size_t>(node)];
    for (auto it = list.rbegin(); it != list.rend(); ++it)
      if (const T* m = std::get_if<T>(&it->message)) return *m;
    return std::nullopt;
  }
  [[nodiscard]] const std::vector<Heard>& all(Node node) const { return heard_[static_cast<std::size_t>(node)]; }
  /// One channel of stream 1 in SI by the scenario's scale, in order of arrival.
  [[nodiscard]] std::vector<double> channel(Node node, std::size_t index, double scale) const;
  [[nodiscard]] const wire::LineCounts& counts(Node node) const { return decoders_[static_cast<std::size_t>(node)].counts(); }
  [[nodiscard]] std::int64_t now_us() const { return now_us_; }
  void forget() { heard_ = {}; }

  bool beating = true;            ///< heartbeats to the rig board
  std::vector<std::byte> raw[2];  ///< every byte that came, by node
  std::array<bool, 2> port_up{true, true};

 private:
  void step(std::int64_t to_us);
  Exchange exchange_;
  std::int64_t now_us_ = 0, beat_us_ = 0;
  std::uint32_t beats_ = 0;
  std::uint16_t next_id_ = 1;
  std::array<wire::Encoder, 2> encoders_;
  std::array<wire::Decoder, 2> decoders_;
  std::array<std::vector<std::byte>, 2> out_;
  std::array<std::vector<Heard>, 2> heard_;
};

/// Scales of the default converters: SI a count.
inline constexpr double kForceScale = 2000.0 / 8388608.0, kPressureScale = 16.0e5 / 8388608.0, kCurrentScale = 10.0 / 8388608.0;
inline constexpr double kAccelerationScale = 980.665 / 32768.0;

/// The steady scenario without any scatter, noise or jitter.
Scenario exact_scenario();

}  // namespace coldstroke::daq
