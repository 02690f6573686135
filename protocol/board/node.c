/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "protocol/board/node.h"

#define TEXT_MAX 32u
#define LOG_TEXT_MAX 200u
#define STREAM 1u /* both boards have one stream, number 1 */

size_t cs_line_waiting(const cs_line* line) { return (line->head - line->tail + CS_LINE_BYTES) % CS_LINE_BYTES; }

void cs_line_begin(cs_line* line) {
  line->bytes[0] = 0;
  line->tail = 0;
  line->head = 1;
}

size_t cs_line_take(cs_line* line, uint8_t* out, size_t room) {
  size_t taken = 0;
  while (taken < room && line->tail != line->head) {
    out[taken++] = line->bytes[line->tail];
    line->tail = (line->tail + 1u) % CS_LINE_BYTES;
  }
  return taken;
}

void cs_put_u8(cs_payload* payload, uint8_t value) {
  if (payload->count < CS_PAYLOAD_MAX) payload->bytes[payload->count++] = value;
}

static void put_bytes(cs_payload* payload, uint64_t value, unsigned bytes) {
  for (unsigned i = 0; i < bytes; i++) cs_put_u8(payload, (uint8_t)((value >> (8u * i)) & 0xFFu));
}

void cs_put_u16(cs_payload* payload, uint16_t value) { put_bytes(payload, value, 2); }
void cs_put_u32(cs_payload* payload, uint32_t value) { put_bytes(payload, value, 4); }
void cs_put_u64(cs_payload* payload, uint64_t value) { put_bytes(payload, value, 8); }

void cs_put_f32(cs_payload* payload, float value) {
  union {
    float number;
    uint32_t bits;
  } same = {value};
  cs_put_u32(payload, same.bits);
}

void cs_put_text(cs_payload* payload, const char* text, size_t longest) {
  size_t count = 0;
  while (text != NULL && count < longest && text[count] != '\0') count++;
  cs_put_u8(payload, (uint8_t)count);
  for (size_t i = 0; i < count; i++) cs_put_u8(payload, (uint8_t)text[i]);
}

void cs_put_block_head(cs_payload* payload, uint8_t bits, uint8_t channels, uint16_t count, uint64_t first_index,
                       uint64_t time_us) {
  cs_put_u8(payload, STREAM);
  cs_put_u8(payload, bits);
  cs_put_u8(payload, channels);
  cs_put_u16(payload, count);
  cs_put_u64(payload, first_index);
  cs_put_u64(payload, time_us);
}

void cs_put_sample(cs_payload* payload, uint8_t bits, int32_t value) {
  if (bits < 32) {
    const int32_t top = (int32_t)((1u << (bits - 1u)) - 1u);
    if (value > top) value = top;
    if (value < -top - 1) value = -top - 1;
  }
  put_bytes(payload, (uint32_t)value, bits / 8u);
}

uint16_t cs_get_u16(const uint8_t* bytes) { return (uint16_t)(bytes[0] | bytes[1] << 8); }
uint32_t cs_get_u32(const uint8_t* bytes) { return cs_get_u16(bytes) | (uint32_t)cs_get_u16(bytes + 2) << 16; }
uint64_t cs_get_u64(const uint8_t* bytes) { return cs_get_u32(bytes) | (uint64_t)cs_get_u32(bytes + 4) << 32; }

bool cs_send(cs_line* line, uint16_t* sequence, uint8_t type, const cs_payload* payload, uint32_t spare) {
  uint8_t frame[CS_ENCODED_MAX];
  const size_t count = cs_frame_encode(type, (*sequence)++, payload->bytes, payload->count, frame);
  if (cs_line_waiting(line) + count + spare >= CS_LINE_BYTES) {
    line->frames_dropped++;
    return false;
  }
  for (size_t i = 0; i < count; i++) {
    line->bytes[line->head] = frame[i];
    line->head = (line->head + 1u) % CS_LINE_BYTES;
  }
  return true;
}

void cs_send_event(cs_line* line, uint16_t* sequence, uint64_t now_us, uint16_t code, uint32_t argument) {
  cs_payload payload;
  payload.count = 0;
  cs_put_u64(&payload, now_us);
  cs_put_u16(&payload, code);
  cs_put_u32(&payload, argument);
  cs_send(line, sequence, CS_TYPE_EVENT, &payload, 0);
}

void cs_send_acknowledgement(cs_line* line, uint16_t* sequence, uint64_t now_us, uint16_t id, uint8_t code, uint8_t reason) {
  cs_payload payload;
  payload.count = 0;
  cs_put_u16(&payload, id);
  cs_put_u8(&payload, code);
  cs_put_u8(&payload, reason);
  cs_put_u64(&payload, now_us);
  cs_send(line, sequence, CS_TYPE_ACKNOWLEDGEMENT, &payload, 0);
}

void cs_send_log(cs_line* line, uint16_t* sequence, uint64_t now_us, uint8_t level, const char* text) {
  cs_payload payload;
  payload.count = 0;
  cs_put_u64(&payload, now_us);
  cs_put_u8(&payload, level);
  cs_put_text(&payload, text, LOG_TEXT_MAX);
  cs_send(line, sequence, CS_TYPE_LOG_LINE, &payload, CS_LINE_SPARE);
}

void cs_send_clock_reply(cs_line* line, uint16_t* sequence, uint64_t now_us, const cs_frame* request) {
  if (request->payload_count < 12) return;
  cs_payload payload;
  payload.count = 0;
  cs_put_u32(&payload, cs_get_u32(request->payload));
  cs_put_u64(&payload, cs_get_u64(request->payload + 4));
  cs_put_u64(&payload, now_us);
  cs_put_u64(&payload, now_us);
  cs_send(line, sequence, CS_TYPE_CLOCK_REPLY, &payload, 0);
}

void cs_send_identity(cs_line* line, uint16_t* sequence, uint8_t kind, uint32_t session, const cs_identity* identity,
                      uint8_t stream_count, uint8_t setting_count) {
  cs_payload payload;
  payload.count = 0;
  cs_put_u8(&payload, kind);
  cs_put_u8(&payload, CS_PROTOCOL_MAJOR);
  cs_put_u8(&payload, CS_PROTOCOL_MINOR);
  cs_put_u32(&payload, session);
  for (size_t i = 0; i < sizeof identity->unique_id; i++) cs_put_u8(&payload, identity->unique_id[i]);
  cs_put_u32(&payload, identity->boot_count);
  cs_put_u8(&payload, stream_count);
  cs_put_u8(&payload, setting_count);
  cs_put_text(&payload, identity->firmware_name, TEXT_MAX);
  cs_put_text(&payload, identity->firmware_version, TEXT_MAX);
  cs_send(line, sequence, CS_TYPE_IDENTITY, &payload, 0);
}

bool cs_host_hello(cs_host* host, const cs_frame* hello) {
  const uint32_t session = cs_get_u32(hello->payload + 2);
  const bool was_compatible = host->compatible;
  host->compatible = hello->payload[0] == CS_PROTOCOL_MAJOR;
  if (was_compatible && host->compatible && session == host->session) return false;
  host->session = session;
  host->heartbeat_known = false;
  host->ids_known = 0;
  host->ids_at = 0;
  return true;
}

bool cs_host_repeats(cs_host* host, uint16_t id) {
  for (uint8_t i = 0; i < host->ids_known; i++) {
    if (host->ids[i] == id) return true;
  }
  host->ids[host->ids_at] = id;
  host->ids_at = (uint8_t)((host->ids_at + 1u) % CS_IDS_REMEMBERED);
  if (host->ids_known < CS_IDS_REMEMBERED) host->ids_known++;
  return false;
}

bool cs_host_heartbeat(cs_host* host, const cs_frame* heartbeat) {
  if (!host->compatible || heartbeat->payload_count < 4) return false;
  const uint32_t count = cs_get_u32(heartbeat->payload);
  /* A repeated or delayed heartbeat must not keep a charged rig alive. Newer: less than half the range ahead. */
  if (host->heartbeat_known && (count == host->heartbeat || count - host->heartbeat >= 0x80000000u)) return false;
  host->heartbeat_known = true;
  host->heartbeat = count;
  return true;
}

bool cs_get_command(const cs_frame* frame, cs_command* command) {
  if (frame->payload_count < 11) return false;
  command->id = cs_get_u16(frame->payload);
  command->code = frame->payload[2];
  command->token = cs_get_u32(frame->payload + 3);
  command->argument = cs_get_u32(frame->payload + 7);
  return true;
}
