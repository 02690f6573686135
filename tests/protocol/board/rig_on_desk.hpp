// SPDX-License-Identifier: GPL-3.0-or-later
//
// A rig board with a host at its line and hands at its inputs, in simulated time.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <utility>
#include <vector>

#include "protocol/board/rig_board.h"
#include "protocol/wire/decoder.hpp"

namespace coldstroke::wire {

inline constexpr std::uint16_t kAllInputs = kStopLoopClosed | kReleaseKeyIn;
inline constexpr std::uint16_t kFastValves = kFastValve1 | kFastValve2;

inline cs_rig_config rig_config() {
  cs_rig_config config{};
  for (std::uint8_t i = 0; i < 12; ++i) config.identity.unique_id[i] = i;
  config.identity.firmware_name = "bench rig";
  config.identity.firmware_version = "1.0.0";
  config.identity.boot_count = 3;
  config.sample_period_ns = 100000;
  config.sample_bits = 24;
  for (float& scale : config.scale_hint) scale = 0.5F;
  config.over_pressure_counts = 1000000;
  config.supply_low_mv = 20000;
  config.entropy = 12345;
  return config;
}

template <class M>
std::vector<M> all_of(const std::vector<Message>& messages) {
  std::vector<M> found;
  for (const Message& message : messages) {
    if (const M* m = std::get_if<M>(&message)) found.push_back(*m);
  }
  return found;
}

inline bool has_event(const std::vector<Message>& messages, EventCode code) {
  for (const Event& event : all_of<Event>(messages)) {
    if (event.code == code) return true;
  }
  return false;
}

class RigOnDesk {
 public:
  std::unique_ptr<cs_rig> rig = std::make_unique<cs_rig>();
  std::uint64_t now_us = 5000;
  cs_rig_inputs inputs{.readback = CS_VALVE_VENT, .inputs = kAllInputs, .supply_mv = 24000};
  std::int32_t counts[CS_RIG_CHANNELS] = {10, 1000, -20, 0};
  bool heartbeats = true;   // the host sends one every 50 ms
  bool valves_obey = true;  // read-backs follow the outputs
  bool samples = true;
  std::uint16_t next_id = 100;

  explicit RigOnDesk(const cs_rig_config& config = rig_config(), bool hello = true) {
    cs_rig_init(rig.get(), &config, now_us);
    if (hello) send(Hello{.session = 1});
    run(100000);
  }

  /// The very bytes of a message, the next of the host's sequence.
  std::vector<std::byte> frame(const Message& message) {
    std::vector<std::byte> bytes;
    encoder_.append(message, bytes);
    return bytes;
  }
  void receive(const std::vector<std::byte>& bytes) {
    cs_rig_receive(rig.get(), now_us, reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size());
    collect();
  }
  void send(const Message& message) { receive(frame(message)); }

  void run(std::uint64_t us) {
    const std::uint64_t end = now_us + us;
    while (now_us < end) {
      now_us += 100;
      if (samples) cs_rig_sample(rig.get(), now_us, counts);
      if (now_us % 1000 == 0) {
        if (valves_obey) inputs.readback = rig->outputs;
        cs_rig_step(rig.get(), now_us, &inputs);
      }
      if (heartbeats && now_us % 50000 == 0) send(Heartbeat{++heartbeat_});
      collect();
    }
  }

  /// Everything the board has said since the last call.
  std::vector<Message> said() { return std::exchange(said_, {}); }

  Reason command(CommandCode code, std::uint32_t argument = 0, std::uint32_t token = 0) {
    const std::uint16_t id = next_id++;
    return answer_to(Command{id, code, token, argument});
  }
  Reason answer_to(const Command& command) {
    said();
    send(command);
    last_said = said();
    for (const auto& answer : all_of<Acknowledgement>(last_said)) {
      if (answer.id == command.id && answer.code == command.code) return answer.reason;
    }
    return static_cast<Reason>(255);  // no answer
  }
  std::uint32_t token_for(CommandCode purpose) {
    if (command(CommandCode::request_token, static_cast<std::uint32_t>(purpose)) != Reason::done) return 0;
    const auto grants = all_of<TokenGrant>(last_said);
    return grants.size() == 1 && grants[0].purpose == purpose ? grants[0].token : 0;
  }
  Reason charge() { return command(CommandCode::charge, 0, token_for(CommandCode::charge)); }
  Reason release(std::uint32_t open_us) { return command(CommandCode::release, open_us, token_for(CommandCode::release)); }
  /// Charged and holding.
  void hold() {
    charge();
    run(20000);
    command(CommandCode::stop_charge);
    run(20000);
  }
  bool vented() const { return rig->step == CS_RIG_VENTED && (rig->outputs & ~kLidOpen) == kVentValve; }

  const Decoder& decoder() const { return decoder_; }
  std::vector<Message> last_said;

 private:
  void collect() {
    std::uint8_t bytes[4096];
    while (const std::size_t count = cs_line_take(&rig->line, bytes, sizeof bytes))
      decoder_.feed(std::as_bytes(std::span{bytes, count}), said_);
  }
  Encoder encoder_;
  Decoder decoder_;
  std::vector<Message> said_;
  std::uint32_t heartbeat_ = 0;
};

}  // namespace coldstroke::wire
