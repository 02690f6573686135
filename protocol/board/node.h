/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What both boards share: the line out, the frame reader, identity, clock replies.
 *
 * Board code is C11, freestanding: no heap, no operating system, no libc call. A board's main loop calls
 * the functions below from one context; nothing here is interrupt safe. Time is always passed in, in
 * microseconds of the node's own 64-bit clock. The byte layout of every frame is in docs/wire.md.
 */
#ifndef COLDSTROKE_BOARD_NODE_H
#define COLDSTROKE_BOARD_NODE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "protocol/board/frame.h"

#ifdef __cplusplus
extern "C" {
#endif

#define CS_PROTOCOL_MAJOR 1u
#define CS_PROTOCOL_MINOR 1u
#define CS_NO_TIME UINT64_MAX /* "there was none" in every field that holds an instant */

/* Message types this code writes or reads; the whole list is in docs/wire.md. */
enum {
  CS_TYPE_HELLO = 0x01,
  CS_TYPE_IDENTITY = 0x02,
  CS_TYPE_STREAM_DESCRIPTION = 0x03,
  CS_TYPE_DETECTOR_SETTING = 0x04,
  CS_TYPE_SAMPLE_BLOCK = 0x10,
  CS_TYPE_RIG_STATE = 0x11,
  CS_TYPE_FLIGHT_STATE = 0x12,
  CS_TYPE_EVENT = 0x13,
  CS_TYPE_LOG_LINE = 0x14,
  CS_TYPE_CLOCK_REQUEST = 0x20,
  CS_TYPE_CLOCK_REPLY = 0x21,
  CS_TYPE_HEARTBEAT = 0x22,
  CS_TYPE_COMMAND = 0x30,
  CS_TYPE_ACKNOWLEDGEMENT = 0x31,
  CS_TYPE_TOKEN_GRANT = 0x32,
  CS_TYPE_MEMORY_REQUEST = 0x40,
  CS_TYPE_MEMORY_SUMMARY = 0x41,
  CS_TYPE_MEMORY_DECISION = 0x42,
  CS_TYPE_MEMORY_SAMPLES = 0x43,
  CS_TYPE_MEMORY_END = 0x44,
  CS_TYPE_PLAYBACK_SAMPLES = 0x50,
  CS_TYPE_PLAYBACK_STATE = 0x51
};
enum { CS_NODE_RIG = 1, CS_NODE_FLIGHT = 2 };
enum { CS_QUANTITY_FORCE = 1, CS_QUANTITY_GAUGE_PRESSURE = 2, CS_QUANTITY_ACCELERATION = 3, CS_QUANTITY_CURRENT = 4 };
enum {
  CS_COMMAND_REQUEST_TOKEN = 1,
  CS_COMMAND_CHARGE = 2,
  CS_COMMAND_STOP_CHARGE = 3,
  CS_COMMAND_VENT = 4,
  CS_COMMAND_RELEASE = 5,
  CS_COMMAND_OPEN_LID = 6,
  CS_COMMAND_SHUT_LID = 7,
  CS_COMMAND_CLEAR_FAULTS = 8,
  CS_COMMAND_RESET_DETECTOR = 20,
  CS_COMMAND_BEGIN_RECORD = 21,
  CS_COMMAND_END_RECORD = 22,
  CS_COMMAND_BEGIN_PLAYBACK = 23,
  CS_COMMAND_END_PLAYBACK = 24
};
enum {
  CS_REASON_DONE = 0,
  CS_REASON_UNKNOWN_COMMAND = 1,
  CS_REASON_NO_TOKEN = 2,
  CS_REASON_WRONG_TOKEN = 3,
  CS_REASON_TOKEN_EXPIRED = 4,
  CS_REASON_STOP_LOOP_OPEN = 5,
  CS_REASON_KEY_OUT = 6,
  CS_REASON_FAULT_LATCHED = 7,
  CS_REASON_WRONG_STEP = 8,
  CS_REASON_ARGUMENT_OUT_OF_RANGE = 9,
  CS_REASON_NO_HEARTBEAT = 10,
  CS_REASON_OVER_PRESSURE = 11,
  CS_REASON_VENT_STUCK = 12,
  CS_REASON_DUPLICATE = 13,
  CS_REASON_FAULT_STILL_PRESENT = 14,
  CS_REASON_NO_COMPATIBLE_HELLO = 15,
  CS_REASON_FIRING_CHANNEL = 16
};
enum {
  CS_EVENT_POWER_UP = 1,
  CS_EVENT_VENTED_BY_WATCHDOG = 2,
  CS_EVENT_VENTED_BY_OVER_PRESSURE = 3,
  CS_EVENT_VENTED_BY_STOP_LOOP = 4,
  CS_EVENT_VENTED_BY_SUPPLY = 5,
  CS_EVENT_VENTED_BY_READBACK = 6,
  CS_EVENT_CHARGE_OPENED = 10,
  CS_EVENT_CHARGE_SHUT = 11,
  CS_EVENT_VENT_OPENED = 12,
  CS_EVENT_VENT_SHUT = 13,
  CS_EVENT_FAST_VALVES_OPENED = 14,
  CS_EVENT_FAST_VALVES_SHUT = 15,
  CS_EVENT_LID_COMMANDED = 16,
  CS_EVENT_TOKEN_EXPIRED = 17,
  CS_EVENT_DETECTOR_BUILDING = 30,
  CS_EVENT_DETECTOR_DECIDED = 31,
  CS_EVENT_DETECTOR_INHIBITED = 32,
  CS_EVENT_DETECTOR_RESET = 33,
  CS_EVENT_RECORD_BEGUN = 34,
  CS_EVENT_RECORD_FROZEN = 35,
  CS_EVENT_PLAYBACK_BEGUN = 36,
  CS_EVENT_PLAYBACK_ENDED = 37
};
enum { CS_LOG_INFO = 1, CS_LOG_WARNING = 2, CS_LOG_ERROR = 3 };

/* Bytes waiting for the line, a ring. A frame that does not fit whole is not begun: it is dropped and counted. */
#define CS_LINE_BYTES 16384u
/* Room that sample blocks, periodic states and read-back leave free for answers and events on a stalled line. */
#define CS_LINE_SPARE 1024u
typedef struct {
  uint8_t bytes[CS_LINE_BYTES];
  uint32_t head, tail;     /* tail == head: empty */
  uint32_t frames_dropped; /* frames that found no room since power-up */
} cs_line;

/* Moves up to `room` waiting bytes to `out`, returns how many. What a UART's transmit interrupt would do. */
size_t cs_line_take(cs_line* line, uint8_t* out, size_t room);
/* Puts a delimiter on an empty line: what a reset cut short ends there, and does not take the first frame with it. */
void cs_line_begin(cs_line* line);
/* Bytes waiting. */
size_t cs_line_waiting(const cs_line* line);

/* A payload being written, little-endian. What would not fit a frame is left out. */
typedef struct {
  uint8_t bytes[CS_PAYLOAD_MAX];
  size_t count;
} cs_payload;

void cs_put_u8(cs_payload* payload, uint8_t value);
void cs_put_u16(cs_payload* payload, uint16_t value);
void cs_put_u32(cs_payload* payload, uint32_t value);
void cs_put_u64(cs_payload* payload, uint64_t value);
void cs_put_f32(cs_payload* payload, float value);
/* u8 length, then the bytes of a NUL-ended string, at most `longest`; a null pointer is an empty string. */
void cs_put_text(cs_payload* payload, const char* text, size_t longest);
/* Head of a sample block; the caller puts count * channels samples after it. */
void cs_put_block_head(cs_payload* payload, uint8_t bits, uint8_t channels, uint16_t count, uint64_t first_index,
                       uint64_t time_us);
/* One sample of `bits` 16, 24 or 32; a value outside that range is put as the nearest end of it. */
void cs_put_sample(cs_payload* payload, uint8_t bits, int32_t value);

uint16_t cs_get_u16(const uint8_t* bytes);
uint32_t cs_get_u32(const uint8_t* bytes);
uint64_t cs_get_u64(const uint8_t* bytes);

/* Frames `payload` onto the line if that leaves `spare` bytes free, else drops and counts it. The sequence number moves
 * on in both cases, so that the host sees the loss. Returns whether it was put. */
bool cs_send(cs_line* line, uint16_t* sequence, uint8_t type, const cs_payload* payload, uint32_t spare);
void cs_send_event(cs_line* line, uint16_t* sequence, uint64_t now_us, uint16_t code, uint32_t argument);
void cs_send_acknowledgement(cs_line* line, uint16_t* sequence, uint64_t now_us, uint16_t id, uint8_t code, uint8_t reason);
void cs_send_log(cs_line* line, uint16_t* sequence, uint64_t now_us, uint8_t level, const char* text);
/* Answers a clock request received at `now_us` and put on the line in the same call: t2 = t3. */
void cs_send_clock_reply(cs_line* line, uint16_t* sequence, uint64_t now_us, const cs_frame* request);

/* A key with its value, as text, e.g. "detector" "moving_mean". Both NUL-ended, at most 32 bytes, outliving the board. */
typedef struct {
  const char *key, *value;
} cs_setting;

/* Who this board says it is. Strings NUL-ended, at most 32 bytes each, outliving the board. */
typedef struct {
  uint8_t unique_id[12];
  const char *firmware_name, *firmware_version;
  uint32_t boot_count; /* raised by one at each power-up or reset */
} cs_identity;

void cs_send_identity(cs_line* line, uint16_t* sequence, uint8_t kind, uint32_t session, const cs_identity* identity,
                      uint8_t stream_count, uint8_t setting_count);

/* What a board knows of the host: whether it speaks our version, and the command ids it used last. */
#define CS_IDS_REMEMBERED 16u
typedef struct {
  bool compatible; /* the last Hello was of our major version */
  bool heartbeat_known;
  uint32_t session, heartbeat;
  uint16_t ids[CS_IDS_REMEMBERED];
  uint8_t ids_known, ids_at;
} cs_host;

/* One Hello. Returns true if it opens a new session: ids and heartbeat count of the old one are forgotten. */
bool cs_host_hello(cs_host* host, const cs_frame* hello);
/* True if a command with this id was seen among the last CS_IDS_REMEMBERED; remembers it if not. */
bool cs_host_repeats(cs_host* host, uint16_t id);
/* True if the heartbeat counts: under a compatible Hello, and its count newer than the last one's. */
bool cs_host_heartbeat(cs_host* host, const cs_frame* heartbeat);

/* A command as received. */
typedef struct {
  uint16_t id;
  uint8_t code;
  uint32_t token, argument;
} cs_command;

/* False if the payload is too short for a command. */
bool cs_get_command(const cs_frame* frame, cs_command* command);

#ifdef __cplusplus
}
#endif
#endif
