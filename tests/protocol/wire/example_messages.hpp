// SPDX-License-Identifier: GPL-3.0-or-later
//
// One message of every type, all fields set by hand. docs/wire.md shows each as a frame, by the same name.
#pragma once

#include <string>
#include <vector>

#include "protocol/wire/message.hpp"

namespace coldstroke::wire {

struct Example {
  std::string name;
  Message message;
};

/// In the order of docs/wire.md; the sequence number of the k-th frame there is k.
inline std::vector<Example> example_messages() {
  Identity identity{.kind = NodeKind::rig_board, .session = 0x5EED0001, .unique_id = {1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12}};
  identity.boot_count = 3;
  identity.stream_count = 1;
  identity.firmware_name = "bench rig";
  identity.firmware_version = "1.0.0";
  StreamDescription stream{.stream = 1, .bits = 24, .period_ns = 100000};
  stream.channels = {{Quantity::force, 0.001F, "force"},
                     {Quantity::gauge_pressure, 0.25F, "supply"},
                     {Quantity::gauge_pressure, 0.25F, "chamber"},
                     {Quantity::current, 1e-6F, "dummy_current"}};
  SampleBlock block16{.stream = 1, .bits = 16, .channels = 3, .first_index = 20000, .node_time_us = 10000000};
  block16.counts = {0, -1, 2048, 1, -32768, 32767};
  SampleBlock block24{.stream = 1, .bits = 24, .channels = 4, .first_index = 100000, .node_time_us = 10000000};
  block24.counts = {0, 1, -1, 8388607, -8388608, 256, 65536, -65536};
  SampleBlock block32{.stream = 2, .bits = 32, .channels = 1, .first_index = 0x0123456789ABCDEF, .node_time_us = 1};
  block32.counts = {INT32_MIN, INT32_MAX};
  FlightState flight{.node_time_us = 12345678, .detector = DetectorState::building};
  flight.continuity_mask = 1;
  flight.milliohms = {2200, kOpenCircuit};
  flight.battery_mv = 7400;
  flight.reset_count = 3;
  flight.record_id = 7;
  flight.recording = true;
  MemorySamples memory{.record_id = 7, .block = block16};
  PlaybackState playing{.node_time_us = 12345678, .number = 3, .phase = PlaybackPhase::running};
  playing.total = 2000;
  playing.received = 258;
  playing.played = 130;
  playing.accepted_to = 642;
  playing.refused = 128;
  playing.starved = 4;
  playing.changes = {{121, 12341178, DetectorState::building}};
  return {
      {"hello", Hello{.session = 0x5EED0001}},
      {"identity", identity},
      {"stream_description", stream},
      {"detector_setting", DetectorSetting{1, "window_ms", "20"}},
      {"sample_block_16", block16},
      {"sample_block_24", block24},
      {"sample_block_32", block32},
      {"rig_state", RigState{12345678, RigStep::charging, kChargeValve, kChargeValve, kStopLoopClosed | kLidShutSwitch, 0, 24100,
                             51000, 3, 0}},
      {"flight_state", flight},
      {"event", Event{12345678, EventCode::fast_valves_opened, 80000}},
      {"log_line", LogLine{12345678, LogLevel::warning, "supply regulator slow"}},
      {"clock_request", ClockRequest{42, -1}},
      {"clock_reply", ClockReply{42, -1, 1000000, 1000007}},
      {"heartbeat", Heartbeat{258}},
      {"command_request_token", Command{1, CommandCode::request_token, 0, 5}},
      {"acknowledgement", Acknowledgement{1, CommandCode::request_token, Reason::done, 12000000}},
      {"token_grant", TokenGrant{1, CommandCode::release, 0xC0FFEE01, 3000}},
      {"command_release", Command{2, CommandCode::release, 0xC0FFEE01, 80000}},
      {"memory_request", MemoryRequest{MemoryPart::samples, 18000, 24576}},
      {"memory_summary", MemorySummary{7, 1, 18000, 24576, 9000000, 500000, 1, true}},
      {"memory_decision", MemoryDecision{7, 0, 10020000, 20040}},
      {"memory_samples", memory},
      {"memory_end", MemoryEnd{7, MemoryPart::samples, 24576}},
      {"playback_samples", PlaybackSamples{3, 256, {{{0, -1, 33}}, {{1, -32768, 32767}}}}},
      {"playback_state", playing},
  };
}

}  // namespace coldstroke::wire
