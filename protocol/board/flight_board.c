/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "protocol/board/flight_board.h"

enum { PART_SUMMARY = 0, PART_DECISIONS = 1, PART_SAMPLES = 2 };
#define BITS 16u

static void send_event(cs_flight* flight, uint64_t now_us, uint16_t code, uint32_t argument) {
  cs_send_event(&flight->line, &flight->sequence, now_us, code, argument);
  flight->state_due = true;
}

static void send_state_if_due(cs_flight* flight, uint64_t now_us) {
  if (!flight->state_due && now_us - flight->state_sent_us < CS_FLIGHT_STATE_US) return;
  uint8_t continuity = 0;
  for (unsigned i = 0; i < CS_FLIGHT_FIRING_CHANNELS; i++) {
    if (flight->inputs.milliohms[i] != CS_OHMS_OPEN) continuity = (uint8_t)(continuity | 1u << i);
  }
  cs_payload payload;
  payload.count = 0;
  cs_put_u64(&payload, now_us);
  cs_put_u8(&payload, flight->detector.state);
  cs_put_u64(&payload, flight->decision_us);
  cs_put_u32(&payload, flight->decision_count);
  cs_put_u8(&payload, flight->inputs.armed_switch ? 1 : 0);
  cs_put_u8(&payload, continuity);
  cs_put_u16(&payload, flight->inputs.battery_mv);
  cs_put_u32(&payload, flight->config.identity.boot_count);
  cs_put_u32(&payload, flight->record_id);
  cs_put_u8(&payload, flight->recording ? 1 : 0);
  cs_put_u32(&payload, flight->line.frames_dropped);
  cs_put_u8(&payload, CS_FLIGHT_FIRING_CHANNELS);
  for (unsigned i = 0; i < CS_FLIGHT_FIRING_CHANNELS; i++) cs_put_u32(&payload, flight->inputs.milliohms[i]);
  cs_put_u32(&payload, cs_playback_active(&flight->playback) ? flight->playback.number : 0u);
  cs_send(&flight->line, &flight->sequence, CS_TYPE_FLIGHT_STATE, &payload, CS_LINE_SPARE);
  flight->state_due = false;
  flight->state_sent_us = now_us;
}

/* Trial memory */

static uint8_t begin_record(cs_flight* flight, uint64_t now_us, uint32_t record_id) {
  if (record_id == 0) return CS_REASON_ARGUMENT_OUT_OF_RANGE;
  if (cs_playback_active(&flight->playback)) return CS_REASON_WRONG_STEP;
  if (record_id == flight->record_id) return CS_REASON_DUPLICATE; /* a frame come twice must not empty the memory */
  flight->record_id = record_id;
  flight->recording = true;
  flight->record_open = true;
  flight->triggered = false;
  flight->memory_count = 0;
  flight->memory_first = flight->sample_index;
  flight->decisions_kept = 0;
  flight->reading = false;
  send_event(flight, now_us, CS_EVENT_RECORD_BEGUN, record_id);
  return CS_REASON_DONE;
}

static void freeze(cs_flight* flight, uint64_t now_us) {
  if (!flight->recording) return;
  flight->recording = false;
  send_event(flight, now_us, CS_EVENT_RECORD_FROZEN, flight->record_id);
}

static uint8_t end_record(cs_flight* flight, uint64_t now_us) {
  if (!flight->record_open) return CS_REASON_WRONG_STEP;
  flight->record_open = false;
  freeze(flight, now_us);
  return CS_REASON_DONE;
}

static void remember(cs_flight* flight, uint64_t now_us, uint64_t index, const int16_t counts[CS_FLIGHT_AXES]) {
  if (!flight->recording) return;
  for (unsigned axis = 0; axis < CS_FLIGHT_AXES; axis++) flight->memory[index % CS_FLIGHT_MEMORY][axis] = counts[axis];
  flight->memory_last_us = now_us;
  if (flight->memory_count < CS_FLIGHT_MEMORY) {
    flight->memory_count++;
  } else {
    flight->memory_first++;
  }
  const int64_t net = (int64_t)counts[flight->config.axis] - flight->config.detector.rest_counts;
  if (!flight->triggered && net >= flight->config.detector.building_counts) {
    flight->triggered = true;
    flight->trigger_index = index;
  }
  const uint64_t after = CS_FLIGHT_MEMORY - 1u - flight->config.memory_before_samples;
  if (flight->triggered && index - flight->trigger_index >= after) freeze(flight, now_us);
}

static uint64_t memory_time(const cs_flight* flight, uint64_t index) {
  const uint64_t back = flight->memory_first + flight->memory_count - 1u - index;
  return flight->memory_last_us - back * flight->config.sample_period_ns / 1000u;
}

/* Read-back */

static void send_summary(cs_flight* flight) {
  cs_payload payload;
  payload.count = 0;
  cs_put_u32(&payload, flight->record_id);
  cs_put_u32(&payload, flight->decisions_kept);
  cs_put_u64(&payload, flight->memory_first);
  cs_put_u64(&payload, flight->memory_count);
  cs_put_u64(&payload, flight->memory_count == 0 ? CS_NO_TIME : memory_time(flight, flight->memory_first));
  cs_put_u32(&payload, flight->config.sample_period_ns);
  cs_put_u8(&payload, 1);
  cs_put_u8(&payload, flight->record_id != 0 && !flight->recording ? 1 : 0);
  cs_send(&flight->line, &flight->sequence, CS_TYPE_MEMORY_SUMMARY, &payload, 0);
}

static void receive_memory_request(cs_flight* flight, const cs_frame* frame) {
  if (frame->payload_count < 13 || frame->payload[0] > PART_SAMPLES) return;
  if (frame->payload[0] == PART_SUMMARY) {
    send_summary(flight);
    return;
  }
  const uint64_t first = cs_get_u64(frame->payload + 1);
  const uint64_t count = cs_get_u32(frame->payload + 9);
  const bool samples = frame->payload[0] == PART_SAMPLES;
  const uint64_t oldest = samples ? flight->memory_first : 0;
  const uint64_t end = samples ? flight->memory_first + flight->memory_count : flight->decisions_kept;
  flight->reading = true;
  flight->reading_what = frame->payload[0];
  flight->reading_sent = 0;
  flight->reading_at = samples && first > oldest ? first : oldest;
  flight->reading_end = samples && first < end && end - first > count ? first + count : end;
}

static void send_decision(cs_flight* flight) {
  const uint32_t index = (uint32_t)flight->reading_at;
  cs_payload payload;
  payload.count = 0;
  cs_put_u32(&payload, flight->record_id);
  cs_put_u32(&payload, index);
  cs_put_u64(&payload, flight->decisions[index].time_us);
  cs_put_u64(&payload, flight->decisions[index].sample_index);
  cs_send(&flight->line, &flight->sequence, CS_TYPE_MEMORY_DECISION, &payload, CS_LINE_SPARE);
  flight->reading_at++;
  flight->reading_sent++;
}

static void send_samples(cs_flight* flight) {
  const uint64_t left = flight->reading_end - flight->reading_at;
  const uint32_t count = left < CS_FLIGHT_READ_SAMPLES ? (uint32_t)left : CS_FLIGHT_READ_SAMPLES;
  cs_payload payload;
  payload.count = 0;
  cs_put_u32(&payload, flight->record_id);
  cs_put_block_head(&payload, BITS, CS_FLIGHT_AXES, (uint16_t)count, flight->reading_at, memory_time(flight, flight->reading_at));
  for (uint32_t i = 0; i < count; i++) {
    for (unsigned axis = 0; axis < CS_FLIGHT_AXES; axis++)
      cs_put_sample(&payload, BITS, flight->memory[(flight->reading_at + i) % CS_FLIGHT_MEMORY][axis]);
  }
  cs_send(&flight->line, &flight->sequence, CS_TYPE_MEMORY_SAMPLES, &payload, CS_LINE_SPARE);
  flight->reading_at += count;
  flight->reading_sent += count;
}

static void send_end(cs_flight* flight) {
  cs_payload payload;
  payload.count = 0;
  cs_put_u32(&payload, flight->record_id);
  cs_put_u8(&payload, flight->reading_what);
  cs_put_u32(&payload, flight->reading_sent);
  cs_send(&flight->line, &flight->sequence, CS_TYPE_MEMORY_END, &payload, CS_LINE_SPARE);
  flight->reading = false;
}

/* As many frames as the line takes without making an answer wait long. */
static void read_back(cs_flight* flight) {
  while (flight->reading && cs_line_waiting(&flight->line) <= CS_FLIGHT_READ_WAITING) {
    const bool samples = flight->reading_what == PART_SAMPLES;
    if (samples && flight->reading_at < flight->memory_first) flight->reading_at = flight->memory_first; /* overwritten since */
    if (flight->reading_at >= flight->reading_end) {
      send_end(flight);
    } else if (samples) {
      send_samples(flight);
    } else {
      send_decision(flight);
    }
  }
}

/* What comes from the host */

static uint8_t reset_detector(cs_flight* flight, uint64_t now_us) {
  cs_detector_reset(&flight->detector);
  flight->decision_us = CS_NO_TIME;
  flight->decision_count = 0;
  send_event(flight, now_us, CS_EVENT_DETECTOR_RESET, 0);
  return CS_REASON_DONE;
}

static bool channels_safe(const cs_flight* flight) {
  if (flight->inputs.armed_switch) return false;
  for (unsigned i = 0; i < CS_FLIGHT_FIRING_CHANNELS; i++) {
    const uint32_t milliohms = flight->inputs.milliohms[i];
    const bool dummy = milliohms >= flight->config.dummy_low_milliohms[i] &&
                       milliohms <= flight->config.dummy_high_milliohms[i] && flight->config.dummy_high_milliohms[i] != 0u;
    if (milliohms != CS_OHMS_OPEN && !dummy) return false;
  }
  return true;
}

static uint8_t begin_playback(cs_flight* flight, uint64_t now_us, uint32_t total) {
  if (total == 0u || total > INT32_MAX) return CS_REASON_ARGUMENT_OUT_OF_RANGE;
  if (cs_playback_active(&flight->playback) || flight->record_open || flight->recording) return CS_REASON_WRONG_STEP;
  if (!flight->inputs_known || !channels_safe(flight)) return CS_REASON_FIRING_CHANNEL;
  cs_playback_begin(&flight->playback, now_us, total);
  reset_detector(flight, now_us);
  if (flight->detector.state != CS_DETECTOR_IDLE) cs_playback_note(&flight->playback, now_us, flight->detector.state);
  send_event(flight, now_us, CS_EVENT_PLAYBACK_BEGUN, flight->playback.number);
  cs_playback_send(&flight->playback, &flight->line, &flight->sequence, now_us);
  return CS_REASON_DONE;
}

/* Whichever way it ends, the detector forgets the stimulus before it sees the accelerometer again. */
static void stop_playback(cs_flight* flight, uint64_t now_us, uint8_t reason) {
  cs_playback_stop(&flight->playback, reason);
  reset_detector(flight, now_us);
  send_event(flight, now_us, CS_EVENT_PLAYBACK_ENDED, flight->playback.number);
  cs_playback_send(&flight->playback, &flight->line, &flight->sequence, now_us);
}

static uint8_t end_playback(cs_flight* flight, uint64_t now_us) {
  if (!cs_playback_active(&flight->playback)) return CS_REASON_WRONG_STEP;
  stop_playback(flight, now_us, flight->playback.phase == CS_PLAYBACK_OVER ? CS_STOP_NONE : CS_STOP_BY_HOST);
  return CS_REASON_DONE;
}

static void receive_playback(cs_flight* flight, uint64_t now_us, const cs_frame* frame) {
  if (!flight->host.compatible) return;
  cs_playback_receive(&flight->playback, now_us, frame);
  cs_playback_send(&flight->playback, &flight->line, &flight->sequence, now_us);
}

static void watch_playback(cs_flight* flight, uint64_t now_us) {
  if (!cs_playback_active(&flight->playback)) return;
  if (!channels_safe(flight)) {
    stop_playback(flight, now_us, CS_STOP_FIRING_CHANNEL);
  } else if (now_us - flight->playback.heard_us >= CS_PLAYBACK_SILENCE_US) {
    stop_playback(flight, now_us, CS_STOP_HOST_SILENT);
  } else if (now_us - flight->playback.sent_us >= CS_FLIGHT_STATE_US) {
    cs_playback_send(&flight->playback, &flight->line, &flight->sequence, now_us);
  }
}

static uint8_t perform(cs_flight* flight, uint64_t now_us, const cs_command* command) {
  switch (command->code) {
    case CS_COMMAND_RESET_DETECTOR:
      return reset_detector(flight, now_us);
    case CS_COMMAND_BEGIN_RECORD:
      return begin_record(flight, now_us, command->argument);
    case CS_COMMAND_END_RECORD:
      return end_record(flight, now_us);
    case CS_COMMAND_BEGIN_PLAYBACK:
      return begin_playback(flight, now_us, command->argument);
    case CS_COMMAND_END_PLAYBACK:
      return end_playback(flight, now_us);
    default:
      return CS_REASON_UNKNOWN_COMMAND;
  }
}

static void receive_command(cs_flight* flight, uint64_t now_us, const cs_frame* frame) {
  cs_command command;
  if (!cs_get_command(frame, &command)) return;
  uint8_t reason;
  if (!flight->host.compatible) {
    reason = CS_REASON_NO_COMPATIBLE_HELLO;
  } else if (cs_host_repeats(&flight->host, command.id)) {
    reason = CS_REASON_DUPLICATE;
  } else {
    reason = perform(flight, now_us, &command);
  }
  cs_send_acknowledgement(&flight->line, &flight->sequence, now_us, command.id, command.code, reason);
}

static void send_stream(cs_flight* flight) {
  static const char* const names[CS_FLIGHT_AXES] = {"accel_x", "accel_y", "accel_z"};
  cs_payload payload;
  payload.count = 0;
  cs_put_u8(&payload, 1);
  cs_put_u8(&payload, BITS);
  cs_put_u32(&payload, flight->config.sample_period_ns);
  cs_put_u8(&payload, CS_FLIGHT_AXES);
  for (unsigned axis = 0; axis < CS_FLIGHT_AXES; axis++) {
    cs_put_u8(&payload, CS_QUANTITY_ACCELERATION);
    cs_put_f32(&payload, flight->config.scale_hint);
    cs_put_text(&payload, names[axis], 16);
  }
  cs_send(&flight->line, &flight->sequence, CS_TYPE_STREAM_DESCRIPTION, &payload, 0);
}

static void send_settings(cs_flight* flight) {
  for (uint8_t i = 0; i < flight->config.setting_count; i++) {
    cs_payload payload;
    payload.count = 0;
    cs_put_u8(&payload, i);
    cs_put_text(&payload, flight->config.settings[i].key, 32);
    cs_put_text(&payload, flight->config.settings[i].value, 32);
    cs_send(&flight->line, &flight->sequence, CS_TYPE_DETECTOR_SETTING, &payload, 0);
  }
}

static void receive_hello(cs_flight* flight, uint64_t now_us, const cs_frame* frame) {
  if (frame->payload_count < 6) return;
  cs_host_hello(&flight->host, frame);
  cs_send_identity(&flight->line, &flight->sequence, CS_NODE_FLIGHT, cs_get_u32(frame->payload + 2), &flight->config.identity, 1,
                   flight->config.setting_count);
  if (!flight->host.compatible) {
    cs_send_log(&flight->line, &flight->sequence, now_us, CS_LOG_WARNING,
                "host speaks another major version of the protocol: every command is refused");
    return;
  }
  send_stream(flight);
  send_settings(flight);
}

static void receive_frame(cs_flight* flight, uint64_t now_us, const cs_frame* frame) {
  switch (frame->type) {
    case CS_TYPE_HELLO:
      receive_hello(flight, now_us, frame);
      break;
    case CS_TYPE_CLOCK_REQUEST:
      cs_send_clock_reply(&flight->line, &flight->sequence, now_us, frame);
      break;
    case CS_TYPE_COMMAND:
      receive_command(flight, now_us, frame);
      break;
    case CS_TYPE_MEMORY_REQUEST:
      receive_memory_request(flight, frame);
      break;
    case CS_TYPE_PLAYBACK_SAMPLES:
      receive_playback(flight, now_us, frame);
      break;
    default: /* a heartbeat means nothing here; others are from a newer minor version, or not for this board */
      break;
  }
}

void cs_flight_receive(cs_flight* flight, uint64_t now_us, const uint8_t* bytes, size_t count) {
  cs_frame frame;
  for (size_t i = 0; i < count; i++) {
    if (cs_reader_push(&flight->reader, bytes[i], &frame) == CS_FRAME_OK) receive_frame(flight, now_us, &frame);
  }
  read_back(flight);
  send_state_if_due(flight, now_us);
}

/* What comes from the sensors and the clock */

void cs_flight_init(cs_flight* flight, const cs_flight_config* config, uint64_t now_us) {
  uint8_t* bytes = (uint8_t*)flight;
  for (size_t i = 0; i < sizeof *flight; i++) bytes[i] = 0;
  flight->config = *config;
  if (flight->config.axis >= CS_FLIGHT_AXES) flight->config.axis = 0;
  if (flight->config.memory_before_samples >= CS_FLIGHT_MEMORY) flight->config.memory_before_samples = CS_FLIGHT_MEMORY - 1u;
  cs_reader_init(&flight->reader);
  cs_line_begin(&flight->line);
  for (unsigned i = 0; i < CS_FLIGHT_FIRING_CHANNELS; i++) flight->inputs.milliohms[i] = CS_OHMS_OPEN;
  flight->decision_us = CS_NO_TIME;
  flight->state_due = true;
  flight->state_sent_us = now_us;
  send_event(flight, now_us, CS_EVENT_POWER_UP, config->identity.boot_count);
  if (!cs_detector_init(&flight->detector, &config->detector))
    cs_send_log(&flight->line, &flight->sequence, now_us, CS_LOG_ERROR, "detector settings out of range: detector inhibited");
}

static void decided(cs_flight* flight, uint64_t now_us, uint64_t index) {
  if (flight->decision_us == CS_NO_TIME) flight->decision_us = now_us;
  flight->decision_count++;
  if (flight->record_open && flight->decisions_kept < CS_FLIGHT_DECISIONS) {
    cs_decision* kept = &flight->decisions[flight->decisions_kept++];
    kept->time_us = now_us;
    kept->sample_index = index;
  }
}

static void detect(cs_flight* flight, uint64_t now_us, uint64_t index, int32_t counts) {
  const uint8_t before = flight->detector.state;
  if (cs_detector_feed(&flight->detector, counts)) decided(flight, now_us, index);
  if (flight->detector.state == before) return;
  /* the three states a feed can lead to, in the order of their events */
  static const uint16_t events[] = {0, CS_EVENT_DETECTOR_BUILDING, CS_EVENT_DETECTOR_DECIDED, CS_EVENT_DETECTOR_INHIBITED};
  send_event(flight, now_us, events[flight->detector.state], (uint32_t)(index & UINT32_MAX));
}

/* The stimulus takes the accelerometer's place: as many samples a second, at the same point of the same loop. */
static void detect_played(cs_flight* flight, uint64_t now_us) {
  int16_t counts[CS_PLAYBACK_AXES];
  if (!cs_playback_take(&flight->playback, counts)) return;
  const uint8_t before = flight->detector.state;
  cs_detector_feed(&flight->detector, counts[flight->config.axis]);
  if (flight->detector.state != before) cs_playback_note(&flight->playback, now_us, flight->detector.state);
  if (flight->detector.state != before || flight->playback.phase == CS_PLAYBACK_OVER)
    cs_playback_send(&flight->playback, &flight->line, &flight->sequence, now_us);
}

static void send_block(cs_flight* flight) {
  cs_payload payload;
  payload.count = 0;
  cs_put_block_head(&payload, BITS, CS_FLIGHT_AXES, (uint16_t)flight->block_count, flight->block_first, flight->block_time_us);
  for (uint32_t i = 0; i < flight->block_count * CS_FLIGHT_AXES; i++) cs_put_sample(&payload, BITS, flight->block[i]);
  cs_send(&flight->line, &flight->sequence, CS_TYPE_SAMPLE_BLOCK, &payload, CS_LINE_SPARE);
  flight->block_count = 0;
}

void cs_flight_sample(cs_flight* flight, uint64_t now_us, const int16_t counts[CS_FLIGHT_AXES]) {
  const uint64_t index = flight->sample_index++;
  if (cs_playback_active(&flight->playback)) {
    detect_played(flight, now_us);
  } else {
    detect(flight, now_us, index, counts[flight->config.axis]);
  }
  remember(flight, now_us, index, counts);
  if (flight->block_count == 0) {
    flight->block_first = index;
    flight->block_time_us = now_us;
  }
  for (unsigned axis = 0; axis < CS_FLIGHT_AXES; axis++)
    flight->block[flight->block_count * CS_FLIGHT_AXES + axis] = counts[axis];
  if (++flight->block_count == CS_FLIGHT_BLOCK) send_block(flight);
  send_state_if_due(flight, now_us);
}

static bool same(const cs_flight_inputs* a, const cs_flight_inputs* b) {
  bool equal = a->armed_switch == b->armed_switch;
  for (unsigned i = 0; i < CS_FLIGHT_FIRING_CHANNELS; i++)
    equal = equal && (a->milliohms[i] == CS_OHMS_OPEN) == (b->milliohms[i] == CS_OHMS_OPEN);
  return equal;
}

void cs_flight_step(cs_flight* flight, uint64_t now_us, const cs_flight_inputs* inputs) {
  if (!same(inputs, &flight->inputs)) flight->state_due = true; /* a measured resistance alone waits its turn */
  flight->inputs = *inputs;
  flight->inputs_known = true;
  watch_playback(flight, now_us);
  read_back(flight);
  send_state_if_due(flight, now_us);
}
