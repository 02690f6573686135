// SPDX-License-Identifier: GPL-3.0-or-later
//
// A flight board with a host at its line, in simulated time; the line takes 92 bytes a millisecond (921 600 baud, 8N1).
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <utility>
#include <vector>

#include "protocol/board/flight_board.h"
#include "protocol/wire/decoder.hpp"

namespace coldstroke::wire {

inline constexpr cs_setting kSettings[] = {{"detector", "moving_mean"}, {"window_ms", "20"}};

/// Moving mean over 40 samples (20 ms) above 400 counts net; 100 counts are 1 g.
inline cs_flight_config flight_config() {
  cs_flight_config config{};
  config.identity.firmware_name = "bench flight";
  config.identity.firmware_version = "1.0.0";
  config.identity.boot_count = 5;
  config.sample_period_ns = 500000;
  config.scale_hint = 0.0980665F;
  config.axis = 2;
  config.detector.kind = CS_DETECTOR_MOVING_MEAN;
  config.detector.rest_counts = 100;
  config.detector.threshold_counts = 400;
  config.detector.window_samples = 40;
  config.detector.building_counts = 150;
  config.settings = kSettings;
  config.setting_count = 2;
  config.memory_before_samples = 4000;
  return config;
}

class FlightOnDesk {
 public:
  std::unique_ptr<cs_flight> flight = std::make_unique<cs_flight>();
  std::uint64_t now_us = 1000;
  cs_flight_inputs inputs{.armed_switch = false, .milliohms = {CS_OHMS_OPEN, CS_OHMS_OPEN}, .battery_mv = 7400};
  /// Counts of the watched axis for the sample of absolute index k.
  std::function<std::int16_t(std::uint64_t)> acceleration = [](std::uint64_t) { return std::int16_t{100}; };
  bool cable = true;  // unplugged: what the board says is lost
  std::uint16_t next_id = 100;

  explicit FlightOnDesk(const cs_flight_config& config = flight_config(), bool hello = true) {
    cs_flight_init(flight.get(), &config, now_us);
    if (hello) send(Hello{.session = 1});
    run(20000);
  }

  void send(const Message& message) {
    std::vector<std::byte> bytes;
    encoder_.append(message, bytes);
    cs_flight_receive(flight.get(), now_us, reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size());
  }
  void run(std::uint64_t us) {
    const std::uint64_t end = now_us + us;
    while (now_us < end) {
      now_us += 500;
      const std::uint64_t k = flight->sample_index;
      const std::int16_t counts[CS_FLIGHT_AXES] = {static_cast<std::int16_t>(k % 30000), -7, acceleration(k)};
      cs_flight_sample(flight.get(), now_us, counts);
      if (now_us % 1000 == 0) {
        cs_flight_step(flight.get(), now_us, &inputs);
        drain(92);
      }
    }
  }
  std::vector<Message> said() {
    drain(CS_LINE_BYTES);
    return std::exchange(said_, {});
  }
  Reason command(CommandCode code, std::uint32_t argument = 0) { return answer_to({next_id++, code, 0, argument}); }
  Reason answer_to(const Command& command) {
    said();
    send(command);
    last_said = said();
    for (const Message& message : last_said) {
      const auto* answer = std::get_if<Acknowledgement>(&message);
      if (answer != nullptr && answer->id == command.id && answer->code == command.code) return answer->reason;
    }
    return static_cast<Reason>(255);
  }
  const Decoder& decoder() const { return decoder_; }
  std::vector<Message> last_said;

 private:
  void drain(std::size_t bytes) {
    std::vector<std::uint8_t> taken(bytes);
    taken.resize(cs_line_take(&flight->line, taken.data(), bytes));
    if (cable) decoder_.feed(std::as_bytes(std::span{taken}), said_);
  }
  Encoder encoder_;
  Decoder decoder_;
  std::vector<Message> said_;
};

}  // namespace coldstroke::wire
