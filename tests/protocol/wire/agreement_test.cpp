// SPDX-License-Identifier: GPL-3.0-or-later
//
// The boards' C encoder and the host's C++ encoder, byte for byte; the two lists of numbers, value for value.
#include <gtest/gtest.h>

#include <set>

#include "tests/protocol/board/flight_on_desk.hpp"
#include "tests/protocol/board/rig_on_desk.hpp"

namespace coldstroke::wire {
namespace {

#define SAME(c_name, cpp_name) static_assert(static_cast<unsigned>(c_name) == static_cast<unsigned>(cpp_name))
SAME(CS_PROTOCOL_MAJOR, kProtocolMajor);
SAME(CS_PROTOCOL_MINOR, kProtocolMinor);
SAME(CS_TYPE_HELLO, Type::hello);
SAME(CS_TYPE_IDENTITY, Type::identity);
SAME(CS_TYPE_STREAM_DESCRIPTION, Type::stream_description);
SAME(CS_TYPE_DETECTOR_SETTING, Type::detector_setting);
SAME(CS_TYPE_SAMPLE_BLOCK, Type::sample_block);
SAME(CS_TYPE_RIG_STATE, Type::rig_state);
SAME(CS_TYPE_FLIGHT_STATE, Type::flight_state);
SAME(CS_TYPE_EVENT, Type::event);
SAME(CS_TYPE_LOG_LINE, Type::log_line);
SAME(CS_TYPE_CLOCK_REQUEST, Type::clock_request);
SAME(CS_TYPE_CLOCK_REPLY, Type::clock_reply);
SAME(CS_TYPE_HEARTBEAT, Type::heartbeat);
SAME(CS_TYPE_COMMAND, Type::command);
SAME(CS_TYPE_ACKNOWLEDGEMENT, Type::acknowledgement);
SAME(CS_TYPE_TOKEN_GRANT, Type::token_grant);
SAME(CS_TYPE_MEMORY_REQUEST, Type::memory_request);
SAME(CS_TYPE_MEMORY_SUMMARY, Type::memory_summary);
SAME(CS_TYPE_MEMORY_DECISION, Type::memory_decision);
SAME(CS_TYPE_MEMORY_SAMPLES, Type::memory_samples);
SAME(CS_TYPE_MEMORY_END, Type::memory_end);
SAME(CS_NODE_RIG, NodeKind::rig_board);
SAME(CS_NODE_FLIGHT, NodeKind::flight_board);
SAME(CS_QUANTITY_FORCE, Quantity::force);
SAME(CS_QUANTITY_GAUGE_PRESSURE, Quantity::gauge_pressure);
SAME(CS_QUANTITY_ACCELERATION, Quantity::acceleration);
SAME(CS_QUANTITY_CURRENT, Quantity::current);
SAME(CS_COMMAND_REQUEST_TOKEN, CommandCode::request_token);
SAME(CS_COMMAND_CHARGE, CommandCode::charge);
SAME(CS_COMMAND_STOP_CHARGE, CommandCode::stop_charge);
SAME(CS_COMMAND_VENT, CommandCode::vent);
SAME(CS_COMMAND_RELEASE, CommandCode::release);
SAME(CS_COMMAND_OPEN_LID, CommandCode::open_lid);
SAME(CS_COMMAND_SHUT_LID, CommandCode::shut_lid);
SAME(CS_COMMAND_CLEAR_FAULTS, CommandCode::clear_faults);
SAME(CS_COMMAND_RESET_DETECTOR, CommandCode::reset_detector);
SAME(CS_COMMAND_BEGIN_RECORD, CommandCode::begin_record);
SAME(CS_COMMAND_END_RECORD, CommandCode::end_record);
SAME(CS_REASON_DONE, Reason::done);
SAME(CS_REASON_UNKNOWN_COMMAND, Reason::unknown_command);
SAME(CS_REASON_NO_TOKEN, Reason::no_token);
SAME(CS_REASON_WRONG_TOKEN, Reason::wrong_token);
SAME(CS_REASON_TOKEN_EXPIRED, Reason::token_expired);
SAME(CS_REASON_STOP_LOOP_OPEN, Reason::stop_loop_open);
SAME(CS_REASON_KEY_OUT, Reason::key_out);
SAME(CS_REASON_FAULT_LATCHED, Reason::fault_latched);
SAME(CS_REASON_WRONG_STEP, Reason::wrong_step);
SAME(CS_REASON_ARGUMENT_OUT_OF_RANGE, Reason::argument_out_of_range);
SAME(CS_REASON_NO_HEARTBEAT, Reason::no_heartbeat);
SAME(CS_REASON_OVER_PRESSURE, Reason::over_pressure);
SAME(CS_REASON_VENT_STUCK, Reason::vent_stuck);
SAME(CS_REASON_DUPLICATE, Reason::duplicate);
SAME(CS_REASON_FAULT_STILL_PRESENT, Reason::fault_still_present);
SAME(CS_REASON_NO_COMPATIBLE_HELLO, Reason::no_compatible_hello);
SAME(CS_EVENT_POWER_UP, EventCode::power_up);
SAME(CS_EVENT_VENTED_BY_WATCHDOG, EventCode::vented_by_watchdog);
SAME(CS_EVENT_VENTED_BY_OVER_PRESSURE, EventCode::vented_by_over_pressure);
SAME(CS_EVENT_VENTED_BY_STOP_LOOP, EventCode::vented_by_stop_loop);
SAME(CS_EVENT_VENTED_BY_SUPPLY, EventCode::vented_by_supply);
SAME(CS_EVENT_VENTED_BY_READBACK, EventCode::vented_by_readback);
SAME(CS_EVENT_CHARGE_OPENED, EventCode::charge_opened);
SAME(CS_EVENT_CHARGE_SHUT, EventCode::charge_shut);
SAME(CS_EVENT_VENT_OPENED, EventCode::vent_opened);
SAME(CS_EVENT_VENT_SHUT, EventCode::vent_shut);
SAME(CS_EVENT_FAST_VALVES_OPENED, EventCode::fast_valves_opened);
SAME(CS_EVENT_FAST_VALVES_SHUT, EventCode::fast_valves_shut);
SAME(CS_EVENT_LID_COMMANDED, EventCode::lid_commanded);
SAME(CS_EVENT_TOKEN_EXPIRED, EventCode::token_expired);
SAME(CS_EVENT_DETECTOR_BUILDING, EventCode::detector_building);
SAME(CS_EVENT_DETECTOR_DECIDED, EventCode::detector_decided);
SAME(CS_EVENT_DETECTOR_INHIBITED, EventCode::detector_inhibited);
SAME(CS_EVENT_DETECTOR_RESET, EventCode::detector_reset);
SAME(CS_EVENT_RECORD_BEGUN, EventCode::record_begun);
SAME(CS_EVENT_RECORD_FROZEN, EventCode::record_frozen);
SAME(CS_LOG_INFO, LogLevel::info);
SAME(CS_LOG_WARNING, LogLevel::warning);
SAME(CS_LOG_ERROR, LogLevel::error);
SAME(CS_DETECTOR_IDLE, DetectorState::idle);
SAME(CS_DETECTOR_BUILDING, DetectorState::building);
SAME(CS_DETECTOR_DECIDED, DetectorState::decided);
SAME(CS_DETECTOR_INHIBITED, DetectorState::inhibited);
SAME(CS_RIG_VENTED, RigStep::vented);
SAME(CS_RIG_CHARGING, RigStep::charging);
SAME(CS_RIG_HOLDING, RigStep::holding);
SAME(CS_RIG_RELEASED, RigStep::released);
SAME(CS_VALVE_CHARGE, kChargeValve);
SAME(CS_VALVE_VENT, kVentValve);
SAME(CS_VALVE_FAST_1, kFastValve1);
SAME(CS_VALVE_FAST_2, kFastValve2);
SAME(CS_LID_OPEN, kLidOpen);
SAME(CS_INPUT_STOP_LOOP_CLOSED, kStopLoopClosed);
SAME(CS_INPUT_RELEASE_KEY_IN, kReleaseKeyIn);
SAME(CS_INPUT_LID_OPEN_SWITCH, kLidOpenSwitch);
SAME(CS_INPUT_LID_SHUT_SWITCH, kLidShutSwitch);
SAME(CS_FAULT_WATCHDOG, kFaultWatchdog);
SAME(CS_FAULT_OVER_PRESSURE, kFaultOverPressure);
SAME(CS_FAULT_STOP_LOOP, kFaultStopLoop);
SAME(CS_FAULT_READBACK, kFaultReadback);
SAME(CS_FAULT_SUPPLY, kFaultSupply);
SAME(CS_OHMS_OPEN, kOpenCircuit);
static_assert(CS_NO_TIME == kNoTime);
#undef SAME

/// Reads the board's line frame by frame; writes each message anew with the host's encoder; both must be the same bytes.
std::set<Type> compare_frames(cs_line& line) {
  std::vector<std::byte> sent(CS_LINE_BYTES);
  sent.resize(cs_line_take(&line, reinterpret_cast<std::uint8_t*>(sent.data()), sent.size()));
  Decoder decoder;
  Encoder encoder;  // both begin at sequence 0, as the board does
  std::vector<Message> messages;
  decoder.feed(sent, messages);
  std::vector<std::byte> again;
  if (sent.at(0) == std::byte{0}) again.push_back(sent[0]);  // the delimiter every power-up begins with
  std::set<Type> types;
  for (const Message& message : messages) {
    encoder.append(message, again);
    types.insert(type_of(message));
  }
  EXPECT_TRUE(sent == again);
  EXPECT_EQ(line.frames_dropped, 0U);
  return types;
}

void give(cs_rig& rig, std::uint64_t now_us, std::initializer_list<Message> messages) {
  static Encoder encoder;
  for (const Message& message : messages) {
    std::vector<std::byte> bytes;
    encoder.append(message, bytes);
    cs_rig_receive(&rig, now_us, reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size());
  }
}

TEST(Agreement, EveryMessageOfTheRigBoardIsWhatTheHostsEncoderWrites) {
  for (const std::uint8_t bits : {std::uint8_t{16}, std::uint8_t{24}, std::uint8_t{32}}) {
    auto rig = std::make_unique<cs_rig>();
    cs_rig_config config = rig_config();
    config.sample_bits = bits;
    cs_rig_init(rig.get(), &config, 0xFFFFFFFF00ULL);
    const cs_rig_inputs inputs{.readback = CS_VALVE_VENT, .inputs = kAllInputs, .supply_mv = 24000};
    cs_rig_step(rig.get(), 0xFFFFFFFF10ULL, &inputs);
    give(*rig, 0xFFFFFFFF20ULL,
         {Hello{.session = 0xFEDCBA98}, ClockRequest{1, INT64_MIN}, Heartbeat{1}, Command{1, CommandCode::request_token, 0, 2},
          Command{2, CommandCode::open_lid, 0, 0}, Command{3, CommandCode::charge, 1, 0}, Hello{.protocol_major = 9}});
    for (std::int32_t k = 0; k < 40; ++k) {
      const std::int32_t counts[CS_RIG_CHANNELS] = {k - 20, -k, k * 1000, -k * 1000};
      cs_rig_sample(rig.get(), 0xFFFFFFFF30ULL, counts);
    }
    const std::set<Type> expected{Type::identity, Type::stream_description, Type::sample_block,    Type::rig_state,  Type::event,
                                  Type::log_line, Type::clock_reply,        Type::acknowledgement, Type::token_grant};
    EXPECT_EQ(compare_frames(rig->line), expected);
  }
}

TEST(Agreement, EveryMessageOfTheFlightBoardIsWhatTheHostsEncoderWrites) {
  auto flight = std::make_unique<cs_flight>();
  const cs_flight_config config = flight_config();
  cs_flight_init(flight.get(), &config, 1);
  Encoder encoder;
  const auto give_flight = [&](const Message& message) {
    std::vector<std::byte> bytes;
    encoder.append(message, bytes);
    cs_flight_receive(flight.get(), 20, reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size());
  };
  give_flight(Hello{.session = 3});
  give_flight(ClockRequest{1, 2});
  give_flight(Command{1, CommandCode::begin_record, 0, 7});
  for (std::uint64_t k = 0; k < 100; ++k) {
    const std::int16_t counts[CS_FLIGHT_AXES] = {-32768, 32767, 1100};
    cs_flight_sample(flight.get(), 50000 + 500 * k, counts);
  }
  std::set<Type> types = compare_frames(flight->line);
  flight->sequence = 0;  // the comparison begins at 0
  const cs_flight_inputs inputs{.armed_switch = true, .milliohms = {1, CS_OHMS_OPEN}, .battery_mv = 1};
  give_flight(MemoryRequest{MemoryPart::summary, 0, 0});
  give_flight(MemoryRequest{MemoryPart::decisions, 0, 0});
  give_flight(Hello{.protocol_major = 9});
  cs_flight_step(flight.get(), 200000, &inputs);
  types.merge(compare_frames(flight->line));
  flight->sequence = 0;
  give_flight(MemoryRequest{MemoryPart::samples, 0, 1000});
  types.merge(compare_frames(flight->line));
  const std::set<Type> expected{
      Type::identity,        Type::stream_description, Type::detector_setting, Type::sample_block,    Type::flight_state,
      Type::event,           Type::log_line,           Type::clock_reply,      Type::acknowledgement, Type::memory_summary,
      Type::memory_decision, Type::memory_samples,     Type::memory_end};
  EXPECT_EQ(types, expected);
}

}  // namespace
}  // namespace coldstroke::wire
