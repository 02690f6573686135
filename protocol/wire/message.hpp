// SPDX-License-Identifier: GPL-3.0-or-later
//
// The messages between host and boards, as values. Byte tables, units and timing rules: docs/wire.md.
// There is no message that arms, fires or tests an igniter, and none may be added.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <variant>
#include <vector>

namespace coldstroke::wire {

inline constexpr std::uint8_t kProtocolMajor = 1;
inline constexpr std::uint8_t kProtocolMinor = 1;
/// Stands in every instant field that holds no instant.
inline constexpr std::uint64_t kNoTime = UINT64_MAX;
/// Stands in a milliohm field: no continuity.
inline constexpr std::uint32_t kOpenCircuit = UINT32_MAX;

enum class Type : std::uint8_t {
  hello = 0x01,
  identity = 0x02,
  stream_description = 0x03,
  detector_setting = 0x04,
  sample_block = 0x10,
  rig_state = 0x11,
  flight_state = 0x12,
  event = 0x13,
  log_line = 0x14,
  clock_request = 0x20,
  clock_reply = 0x21,
  heartbeat = 0x22,
  command = 0x30,
  acknowledgement = 0x31,
  token_grant = 0x32,
  memory_request = 0x40,
  memory_summary = 0x41,
  memory_decision = 0x42,
  memory_samples = 0x43,
  memory_end = 0x44,
  playback_samples = 0x50,
  playback_state = 0x51,
};

enum class NodeKind : std::uint8_t { rig_board = 1, flight_board = 2 };

/// What a channel measures; samples times scale hint are in this quantity's SI unit.
enum class Quantity : std::uint8_t {
  other = 0,
  force = 1,
  gauge_pressure = 2,
  acceleration = 3,
  current = 4,
  voltage = 5,
  temperature = 6,
  angular_rate = 7,
};

/// Host to board: who are you? The board answers identity, then its streams, then its settings.
struct Hello {
  std::uint8_t protocol_major = kProtocolMajor, protocol_minor = kProtocolMinor;
  std::uint32_t session = 0;  ///< drawn afresh by the host at each opening; echoed, so stale answers are known
  bool operator==(const Hello&) const = default;
};

struct Identity {
  NodeKind kind = NodeKind::rig_board;
  std::uint8_t protocol_major = kProtocolMajor, protocol_minor = kProtocolMinor;
  std::uint32_t session = 0;
  std::array<std::uint8_t, 12> unique_id{};
  std::uint32_t boot_count = 0;
  std::uint8_t stream_count = 0, setting_count = 0;
  std::string firmware_name{}, firmware_version{};  ///< at most 32 bytes each
  bool operator==(const Identity&) const = default;
};

struct ChannelDescription {
  Quantity quantity = Quantity::other;
  float scale_hint = 1.0F;  ///< SI unit a count; a hint, the calibration in force rules
  std::string name{};       ///< at most 16 bytes
  bool operator==(const ChannelDescription&) const = default;
};

struct StreamDescription {
  std::uint8_t stream = 0, bits = 16;  ///< bits: 16, 24 or 32, signed, two's complement
  std::uint32_t period_ns = 0;
  std::vector<ChannelDescription> channels{};  ///< 1 to 8
  bool operator==(const StreamDescription&) const = default;
};

struct DetectorSetting {
  std::uint8_t index = 0;
  std::string key{}, value{};  ///< at most 32 bytes each
  bool operator==(const DetectorSetting&) const = default;
};

struct SampleBlock {
  std::uint8_t stream = 0, bits = 16, channels = 1;
  std::uint64_t first_index = 0;       ///< index of the first sample since power-up
  std::uint64_t node_time_us = 0;      ///< node time at which the first sample was taken
  std::vector<std::int32_t> counts{};  ///< channel by channel within a sample: s0c0 s0c1 .. s1c0 ..
  bool operator==(const SampleBlock&) const = default;
};

/// Bits of outputs and read-backs; set: open, or lid open.
enum : std::uint16_t { kChargeValve = 1, kVentValve = 2, kFastValve1 = 4, kFastValve2 = 8, kLidOpen = 16 };
/// Bits of inputs.
enum : std::uint16_t { kStopLoopClosed = 1, kReleaseKeyIn = 2, kLidOpenSwitch = 4, kLidShutSwitch = 8 };
/// Bits of rig faults.
enum : std::uint16_t { kFaultWatchdog = 1, kFaultOverPressure = 2, kFaultStopLoop = 4, kFaultReadback = 8, kFaultSupply = 16 };
enum class RigStep : std::uint8_t { vented = 0, charging = 1, holding = 2, released = 3 };

struct RigState {
  std::uint64_t node_time_us = 0;
  RigStep step = RigStep::vented;
  std::uint16_t outputs = 0, readback = 0, inputs = 0, faults = 0;
  std::uint16_t supply_mv = 0;         ///< electrical supply of the board, millivolts
  std::uint32_t heartbeat_age_us = 0;  ///< since the last valid heartbeat, UINT32_MAX: none yet
  std::uint32_t boot_count = 0;
  std::uint32_t frames_dropped = 0;  ///< frames the board could not put on its line
  bool operator==(const RigState&) const = default;
};

enum class DetectorState : std::uint8_t { idle = 0, building = 1, decided = 2, inhibited = 3 };

struct FlightState {
  std::uint64_t node_time_us = 0;
  DetectorState detector = DetectorState::idle;
  std::uint64_t decision_us = kNoTime;  ///< node time of the first decision since the detector was reset
  std::uint32_t decision_count = 0;     ///< since the detector was reset
  bool armed_switch = false;
  std::uint8_t continuity_mask = 0;        ///< bit k set: firing channel k is not open-circuit
  std::vector<std::uint32_t> milliohms{};  ///< one a firing channel, kOpenCircuit if open
  std::uint16_t battery_mv = 0;
  std::uint32_t reset_count = 0;
  std::uint32_t record_id = 0;  ///< trial memory: 0 none
  bool recording = false;
  std::uint32_t frames_dropped = 0;
  std::uint32_t playback = 0;  ///< not 0: the detector is fed by this playback, not by the accelerometer; no real trial
  bool operator==(const FlightState&) const = default;
};

enum class EventCode : std::uint16_t {
  power_up = 1,
  vented_by_watchdog = 2,
  vented_by_over_pressure = 3,
  vented_by_stop_loop = 4,
  vented_by_supply = 5,
  vented_by_readback = 6,
  charge_opened = 10,
  charge_shut = 11,
  vent_opened = 12,
  vent_shut = 13,
  fast_valves_opened = 14,
  fast_valves_shut = 15,
  lid_commanded = 16,
  token_expired = 17,
  detector_building = 30,
  detector_decided = 31,
  detector_inhibited = 32,
  detector_reset = 33,
  record_begun = 34,
  record_frozen = 35,
  playback_begun = 36,
  playback_ended = 37,
};

/// What `argument` holds by code: power_up boot count; vented_by_* the fault bit; fast_valves_opened open time in us;
/// lid_commanded 1 open, 0 shut; token_expired purpose; detector_building/decided/inhibited low 32 bits of the sample index;
/// record_* record id; playback_* its number; else 0. A code this version does not know is kept as its number.
struct Event {
  std::uint64_t node_time_us = 0;
  EventCode code = EventCode::power_up;
  std::uint32_t argument = 0;
  bool operator==(const Event&) const = default;
};

enum class LogLevel : std::uint8_t { info = 1, warning = 2, error = 3 };
struct LogLine {
  std::uint64_t node_time_us = 0;
  LogLevel level = LogLevel::info;
  std::string text{};  ///< UTF-8, at most 200 bytes; never trusted: shown escaped
  bool operator==(const LogLine&) const = default;
};

/// Four timestamps of RFC 5905: t1 host sends, t2 board receives, t3 board replies, t4 host receives (not on the wire).
struct ClockRequest {
  std::uint32_t id = 0;
  std::int64_t t1_us = 0;
  bool operator==(const ClockRequest&) const = default;
};
struct ClockReply {
  std::uint32_t id = 0;
  std::int64_t t1_us = 0;
  std::uint64_t t2_us = 0, t3_us = 0;
  bool operator==(const ClockReply&) const = default;
};

/// Host to rig board, every 50 ms. Counts only under a compatible Hello and with a count newer than the last one's.
struct Heartbeat {
  std::uint32_t count = 0;
  bool operator==(const Heartbeat&) const = default;
};

enum class CommandCode : std::uint8_t {
  request_token = 1,  ///< argument: the command code the token is for (charge or release)
  charge = 2,         ///< needs a token; shuts the vent, opens the charge valve
  stop_charge = 3,    ///< shuts the charge valve
  vent = 4,           ///< shuts charge and fast valves, opens the vent; never refused
  release = 5,        ///< needs a token; argument: open time, microseconds, 1 .. 500000
  open_lid = 6,
  shut_lid = 7,
  clear_faults = 8,
  reset_detector = 20,
  begin_record = 21,
  end_record = 22,      // flight board; begin_record argument: record id, not 0
  begin_playback = 23,  ///< flight board; argument: samples of the stimulus, 1 .. 2^31 - 1
  end_playback = 24,
};

struct Command {
  /// Host's own number, new for each command of a session; echoed in the acknowledgement. An id among the last 16 is
  /// acknowledged as duplicate and not done again, save vent, which is always done.
  std::uint16_t id = 0;
  CommandCode code = CommandCode::vent;
  std::uint32_t token = 0;
  std::uint32_t argument = 0;
  bool operator==(const Command&) const = default;
};

enum class Reason : std::uint8_t {
  done = 0,
  unknown_command = 1,
  no_token = 2,
  wrong_token = 3,
  token_expired = 4,
  stop_loop_open = 5,
  key_out = 6,
  fault_latched = 7,
  wrong_step = 8,
  argument_out_of_range = 9,
  no_heartbeat = 10,
  over_pressure = 11,
  vent_stuck = 12,
  duplicate = 13,
  fault_still_present = 14,
  no_compatible_hello = 15,  ///< since power-up no Hello of this major version came, or the last one was of another
  firing_channel = 16,       ///< a firing channel is neither open nor on its registered dummy load, or the arm switch is closed
};

struct Acknowledgement {
  std::uint16_t id = 0;
  CommandCode code = CommandCode::vent;
  Reason reason = Reason::done;  ///< done: accepted; anything else: refused, and nothing was changed
  std::uint64_t node_time_us = 0;
  bool operator==(const Acknowledgement&) const = default;
};

struct TokenGrant {
  std::uint16_t id = 0;  ///< of the command that asked
  CommandCode purpose = CommandCode::release;
  std::uint32_t token = 0;  ///< never 0
  std::uint16_t life_ms = 0;
  bool operator==(const TokenGrant&) const = default;
};

enum class MemoryPart : std::uint8_t { summary = 0, decisions = 1, samples = 2 };

/// Asks the flight board for what it kept. summary -> MemorySummary; decisions -> MemoryDecision ..., MemoryEnd;
/// samples [first, first + count) by absolute index -> MemorySamples ..., MemoryEnd. A host asks again for what is missing.
struct MemoryRequest {
  MemoryPart part = MemoryPart::summary;
  std::uint64_t first = 0;
  std::uint32_t count = 0;
  bool operator==(const MemoryRequest&) const = default;
};
struct MemorySummary {
  std::uint32_t record_id = 0;  ///< 0: no record
  std::uint32_t decision_count = 0;
  std::uint64_t first_index = 0, sample_count = 0;
  std::uint64_t first_time_us = 0;  ///< node time of sample first_index, kNoTime if no sample is kept
  std::uint32_t period_ns = 0;
  std::uint8_t stream = 1;
  bool frozen = false;
  bool operator==(const MemorySummary&) const = default;
};
struct MemoryDecision {
  std::uint32_t record_id = 0, index = 0;
  std::uint64_t node_time_us = 0, sample_index = 0;
  bool operator==(const MemoryDecision&) const = default;
};
struct MemorySamples {
  std::uint32_t record_id = 0;
  SampleBlock block{};
  bool operator==(const MemorySamples&) const = default;
};
struct MemoryEnd {
  std::uint32_t record_id = 0;
  MemoryPart part = MemoryPart::summary;
  std::uint32_t items = 0;  ///< decisions or samples sent
  bool operator==(const MemoryEnd&) const = default;
};

/// Host to flight board: samples of a stimulus, x y z of each, as the board's converter would have delivered them.
struct PlaybackSamples {
  static constexpr std::size_t kMost = 128;  ///< samples a frame
  std::uint32_t number = 0;                  ///< of the playback, from its state
  std::uint32_t first = 0;                   ///< index within the stimulus
  std::vector<std::array<std::int16_t, 3>> counts{};
  bool operator==(const PlaybackSamples&) const = default;
};

enum class PlaybackPhase : std::uint8_t { none = 0, filling = 1, running = 2, over = 3, stopped = 4 };
enum class PlaybackStop : std::uint8_t { none = 0, by_host = 1, firing_channel = 2, host_silent = 3 };

/// The detector entered `state` at `sample` of the stimulus.
struct PlaybackChange {
  std::uint32_t sample = 0;
  std::uint64_t node_time_us = 0;
  DetectorState state = DetectorState::idle;
  bool operator==(const PlaybackChange&) const = default;
};

/// Flight board, while a playback is active every 20 ms, after every frame of samples, and when it ends.
struct PlaybackState {
  std::uint64_t node_time_us = 0;
  std::uint32_t number = 0;
  PlaybackPhase phase = PlaybackPhase::none;
  PlaybackStop stop = PlaybackStop::none;
  std::uint32_t total = 0, received = 0, played = 0;
  std::uint32_t accepted_to = 0;  ///< samples with a smaller index have room
  std::uint32_t refused = 0, starved = 0;
  std::vector<PlaybackChange> changes{};  ///< of the detector's state, from idle; at most 8
  bool operator==(const PlaybackState&) const = default;
};

using Message = std::variant<Hello, Identity, StreamDescription, DetectorSetting, SampleBlock, RigState, FlightState, Event,
                             LogLine, ClockRequest, ClockReply, Heartbeat, Command, Acknowledgement, TokenGrant, MemoryRequest,
                             MemorySummary, MemoryDecision, MemorySamples, MemoryEnd, PlaybackSamples, PlaybackState>;

}  // namespace coldstroke::wire
