/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How to read this file: outputs change in drive() and nowhere else; trip() is every way to vent by itself; supervise()
 * is what time alone can cause; perform() is what a command can cause, its gas-moving rows being charge() and release().
 */
#include "protocol/board/rig_board.h"

#define SUPPLY_CHANNEL 1u
#define FAST_VALVES (CS_VALVE_FAST_1 | CS_VALVE_FAST_2)
#define VALVES (CS_VALVE_CHARGE | CS_VALVE_VENT | FAST_VALVES)

static void send_event(cs_rig* rig, uint64_t now_us, uint16_t code, uint32_t argument) {
  cs_send_event(&rig->line, &rig->sequence, now_us, code, argument);
}

/* The only place where outputs change. One event for each valve that changes, the vent's opening first of all. */
static void drive(cs_rig* rig, uint64_t now_us, unsigned outputs, uint8_t step) {
  const unsigned opened = outputs & ~(unsigned)rig->outputs;
  const unsigned shut = rig->outputs & ~outputs;
  if (opened == 0 && shut == 0 && step == rig->step) return;
  rig->outputs = (uint16_t)outputs;
  rig->step = step;
  rig->state_due = true;
  if ((opened | shut) & VALVES) rig->readback_bad_since_us = CS_NO_TIME; /* valves get their time anew */
  if (opened & CS_VALVE_VENT) send_event(rig, now_us, CS_EVENT_VENT_OPENED, 0);
  if (shut & CS_VALVE_VENT) send_event(rig, now_us, CS_EVENT_VENT_SHUT, 0);
  if (shut & CS_VALVE_CHARGE) send_event(rig, now_us, CS_EVENT_CHARGE_SHUT, 0);
  if (opened & CS_VALVE_CHARGE) send_event(rig, now_us, CS_EVENT_CHARGE_OPENED, 0);
  if (opened & FAST_VALVES) send_event(rig, now_us, CS_EVENT_FAST_VALVES_OPENED, (uint32_t)rig->open_us);
  if (shut & FAST_VALVES) send_event(rig, now_us, CS_EVENT_FAST_VALVES_SHUT, 0);
  if ((opened | shut) & CS_LID_OPEN) send_event(rig, now_us, CS_EVENT_LID_COMMANDED, (opened & CS_LID_OPEN) ? 1 : 0);
}

static void vent(cs_rig* rig, uint64_t now_us) {
  rig->token = 0;
  drive(rig, now_us, (rig->outputs & CS_LID_OPEN) | (unsigned)CS_VALVE_VENT, CS_RIG_VENTED);
}

/* Vents by itself and latches why. */
static void trip(cs_rig* rig, uint64_t now_us, unsigned fault, uint16_t event) {
  if ((rig->faults & fault) == 0) {
    rig->faults = (uint16_t)(rig->faults | fault);
    rig->state_due = true;
    send_event(rig, now_us, event, fault);
  }
  vent(rig, now_us);
}

static bool heartbeat_fresh(const cs_rig* rig, uint64_t now_us) {
  return rig->host_seen && now_us - rig->heartbeat_us <= CS_RIG_WATCHDOG_US;
}

/* No pressure reading is as bad as too high a one. */
static bool over_pressure(const cs_rig* rig, uint64_t now_us) {
  return rig->sampled_us == CS_NO_TIME || now_us - rig->sampled_us > CS_RIG_SAMPLE_AGE_US ||
         rig->pressure_counts >= rig->config.over_pressure_counts;
}

static bool reads_back(const cs_rig* rig) { return ((rig->inputs.readback ^ rig->outputs) & VALVES) == 0; }

/* What time alone can cause. */
static void supervise(cs_rig* rig, uint64_t now_us) {
  if ((rig->outputs & FAST_VALVES) && now_us - rig->released_us >= rig->open_us)
    drive(rig, now_us, rig->outputs & ~(unsigned)FAST_VALVES, rig->step);
  if (rig->token != 0 && now_us >= rig->token_until_us) {
    rig->expired_token = rig->token;
    rig->token = 0;
    send_event(rig, now_us, CS_EVENT_TOKEN_EXPIRED, rig->token_purpose);
  }
  if (rig->step == CS_RIG_VENTED) return;
  if (!heartbeat_fresh(rig, now_us)) trip(rig, now_us, CS_FAULT_WATCHDOG, CS_EVENT_VENTED_BY_WATCHDOG);
  if (rig->step != CS_RIG_VENTED && over_pressure(rig, now_us))
    trip(rig, now_us, CS_FAULT_OVER_PRESSURE, CS_EVENT_VENTED_BY_OVER_PRESSURE);
}

static void send_state_if_due(cs_rig* rig, uint64_t now_us) {
  if (!rig->state_due && now_us - rig->state_sent_us < CS_RIG_STATE_US) return;
  const uint64_t age = now_us - rig->heartbeat_us;
  cs_payload payload;
  payload.count = 0;
  cs_put_u64(&payload, now_us);
  cs_put_u8(&payload, rig->step);
  cs_put_u16(&payload, rig->outputs);
  cs_put_u16(&payload, rig->inputs.readback);
  cs_put_u16(&payload, rig->inputs.inputs);
  cs_put_u16(&payload, rig->faults);
  cs_put_u16(&payload, rig->inputs.supply_mv);
  cs_put_u32(&payload, rig->host_seen && age < UINT32_MAX ? (uint32_t)age : UINT32_MAX);
  cs_put_u32(&payload, rig->config.identity.boot_count);
  cs_put_u32(&payload, rig->line.frames_dropped);
  cs_send(&rig->line, &rig->sequence, CS_TYPE_RIG_STATE, &payload, CS_LINE_SPARE);
  rig->state_due = false;
  rig->state_sent_us = now_us;
}

/* xorshift32 (G. Marsaglia, "Xorshift RNGs", Journal of Statistical Software 8(14), 2003), stirred by the time of asking.
 * It need not withstand an attacker: it makes an old, damaged or misdirected frame miss. */
static uint32_t next_random(cs_rig* rig, uint64_t now_us) {
  uint32_t x = rig->random ^ (uint32_t)(now_us * 2654435761u);
  if (x == 0) x = 0x9E3779B9u;
  x ^= x << 13;
  x ^= x >> 17;
  x ^= x << 5;
  rig->random = x;
  return x;
}

static uint8_t grant_token(cs_rig* rig, uint64_t now_us, uint32_t purpose) {
  if (purpose != CS_COMMAND_CHARGE && purpose != CS_COMMAND_RELEASE) return CS_REASON_ARGUMENT_OUT_OF_RANGE;
  rig->token = next_random(rig, now_us); /* never 0: xorshift maps only 0 to 0 */
  rig->token_purpose = purpose;
  rig->token_until_us = now_us + CS_RIG_TOKEN_LIFE_US;
  return CS_REASON_DONE;
}

static void send_grant(cs_rig* rig, uint16_t id) {
  cs_payload payload;
  payload.count = 0;
  cs_put_u16(&payload, id);
  cs_put_u8(&payload, (uint8_t)rig->token_purpose);
  cs_put_u32(&payload, rig->token);
  cs_put_u16(&payload, CS_RIG_TOKEN_LIFE_US / 1000u);
  cs_send(&rig->line, &rig->sequence, CS_TYPE_TOKEN_GRANT, &payload, 0);
}

/* Burns the live token, right or wrong: one attempt a token. */
static uint8_t spend_token(cs_rig* rig, const cs_command* command) {
  const uint32_t live = rig->token;
  rig->token = 0;
  if (command->token == 0) return CS_REASON_NO_TOKEN;
  if (live == 0) return command->token == rig->expired_token ? CS_REASON_TOKEN_EXPIRED : CS_REASON_NO_TOKEN;
  if (command->token != live || command->code != rig->token_purpose) return CS_REASON_WRONG_TOKEN;
  return CS_REASON_DONE;
}

/* What charge and release have in common. */
static uint8_t gas_may_move(const cs_rig* rig, uint64_t now_us, bool right_step) {
  if ((rig->inputs.inputs & CS_INPUT_STOP_LOOP_CLOSED) == 0) return CS_REASON_STOP_LOOP_OPEN;
  if (rig->faults != 0) return CS_REASON_FAULT_LATCHED;
  if (!right_step) return CS_REASON_WRONG_STEP;
  if (!heartbeat_fresh(rig, now_us)) return CS_REASON_NO_HEARTBEAT;
  if (over_pressure(rig, now_us)) return CS_REASON_OVER_PRESSURE;
  return CS_REASON_DONE;
}

static uint8_t charge(cs_rig* rig, uint64_t now_us, const cs_command* command) {
  uint8_t reason = spend_token(rig, command);
  if (reason != CS_REASON_DONE) return reason;
  reason = gas_may_move(rig, now_us, rig->step == CS_RIG_VENTED || rig->step == CS_RIG_HOLDING);
  if (reason != CS_REASON_DONE) return reason;
  if ((rig->inputs.readback ^ rig->outputs) & CS_VALVE_VENT) return CS_REASON_VENT_STUCK;
  drive(rig, now_us, (rig->outputs & CS_LID_OPEN) | (unsigned)CS_VALVE_CHARGE, CS_RIG_CHARGING);
  return CS_REASON_DONE;
}

static uint8_t release(cs_rig* rig, uint64_t now_us, const cs_command* command) {
  uint8_t reason = spend_token(rig, command);
  if (reason != CS_REASON_DONE) return reason;
  reason = gas_may_move(rig, now_us, rig->step == CS_RIG_HOLDING);
  if (reason != CS_REASON_DONE) return reason;
  if ((rig->inputs.inputs & CS_INPUT_RELEASE_KEY_IN) == 0) return CS_REASON_KEY_OUT;
  if (command->argument < 1 || command->argument > CS_RIG_OPEN_MAX_US) return CS_REASON_ARGUMENT_OUT_OF_RANGE;
  rig->released_us = now_us;
  rig->open_us = command->argument;
  drive(rig, now_us, rig->outputs | FAST_VALVES, CS_RIG_RELEASED);
  return CS_REASON_DONE;
}

static uint8_t stop_charge(cs_rig* rig, uint64_t now_us) {
  if (rig->step != CS_RIG_CHARGING && rig->step != CS_RIG_HOLDING) return CS_REASON_WRONG_STEP;
  if (rig->token_purpose == CS_COMMAND_CHARGE) rig->token = 0; /* a charge still on its way must not come after this */
  drive(rig, now_us, rig->outputs & ~(unsigned)CS_VALVE_CHARGE, CS_RIG_HOLDING);
  return CS_REASON_DONE;
}

static uint8_t move_lid(cs_rig* rig, uint64_t now_us, bool open) {
  if ((rig->inputs.inputs & CS_INPUT_STOP_LOOP_CLOSED) == 0) return CS_REASON_STOP_LOOP_OPEN;
  if (!open && rig->step == CS_RIG_RELEASED) return CS_REASON_WRONG_STEP; /* a vehicle may be in its way */
  const unsigned rest = rig->outputs & ~(unsigned)CS_LID_OPEN;
  drive(rig, now_us, open ? rest | CS_LID_OPEN : rest, rig->step);
  return CS_REASON_DONE;
}

/* All of the latched faults, or none: a fault whose cause is still there keeps all. */
static uint8_t clear_faults(cs_rig* rig, uint64_t now_us) {
  const unsigned faults = rig->faults;
  const bool still = ((faults & CS_FAULT_WATCHDOG) && !heartbeat_fresh(rig, now_us)) ||
                     ((faults & CS_FAULT_OVER_PRESSURE) && over_pressure(rig, now_us)) ||
                     ((faults & CS_FAULT_STOP_LOOP) && (rig->inputs.inputs & CS_INPUT_STOP_LOOP_CLOSED) == 0) ||
                     ((faults & CS_FAULT_READBACK) && !reads_back(rig)) ||
                     ((faults & CS_FAULT_SUPPLY) && rig->inputs.supply_mv < rig->config.supply_low_mv);
  if (still) return CS_REASON_FAULT_STILL_PRESENT;
  rig->faults = 0;
  rig->state_due = rig->state_due || faults != 0;
  return CS_REASON_DONE;
}

static uint8_t perform(cs_rig* rig, uint64_t now_us, const cs_command* command) {
  switch (command->code) {
    case CS_COMMAND_REQUEST_TOKEN:
      return grant_token(rig, now_us, command->argument);
    case CS_COMMAND_CHARGE:
      return charge(rig, now_us, command);
    case CS_COMMAND_STOP_CHARGE:
      return stop_charge(rig, now_us);
    case CS_COMMAND_RELEASE:
      return release(rig, now_us, command);
    case CS_COMMAND_OPEN_LID:
      return move_lid(rig, now_us, true);
    case CS_COMMAND_SHUT_LID:
      return move_lid(rig, now_us, false);
    case CS_COMMAND_CLEAR_FAULTS:
      return clear_faults(rig, now_us);
    default:
      return CS_REASON_UNKNOWN_COMMAND;
  }
}

static void receive_command(cs_rig* rig, uint64_t now_us, const cs_frame* frame) {
  cs_command command;
  if (!cs_get_command(frame, &command)) return;
  uint8_t reason = CS_REASON_DONE;
  if (command.code == CS_COMMAND_VENT) {
    vent(rig, now_us); /* always, even if repeated, or from a host of another version */
  } else if (!rig->host.compatible) {
    reason = CS_REASON_NO_COMPATIBLE_HELLO;
  } else if (cs_host_repeats(&rig->host, command.id)) {
    reason = CS_REASON_DUPLICATE;
  } else {
    reason = perform(rig, now_us, &command);
  }
  cs_send_acknowledgement(&rig->line, &rig->sequence, now_us, command.id, command.code, reason);
  if (command.code == CS_COMMAND_REQUEST_TOKEN && reason == CS_REASON_DONE) send_grant(rig, command.id);
}

static void send_stream(cs_rig* rig) {
  static const char* const names[CS_RIG_CHANNELS] = {"force", "supply", "chamber", "dummy_current"};
  static const uint8_t quantities[CS_RIG_CHANNELS] = {CS_QUANTITY_FORCE, CS_QUANTITY_GAUGE_PRESSURE, CS_QUANTITY_GAUGE_PRESSURE,
                                                      CS_QUANTITY_CURRENT};
  cs_payload payload;
  payload.count = 0;
  cs_put_u8(&payload, 1);
  cs_put_u8(&payload, rig->config.sample_bits);
  cs_put_u32(&payload, rig->config.sample_period_ns);
  cs_put_u8(&payload, CS_RIG_CHANNELS);
  for (size_t i = 0; i < CS_RIG_CHANNELS; i++) {
    cs_put_u8(&payload, quantities[i]);
    cs_put_f32(&payload, rig->config.scale_hint[i]);
    cs_put_text(&payload, names[i], 16);
  }
  cs_send(&rig->line, &rig->sequence, CS_TYPE_STREAM_DESCRIPTION, &payload, 0);
}

static void receive_hello(cs_rig* rig, uint64_t now_us, const cs_frame* frame) {
  if (frame->payload_count < 6) return;
  if (cs_host_hello(&rig->host, frame)) rig->token = 0;
  cs_send_identity(&rig->line, &rig->sequence, CS_NODE_RIG, cs_get_u32(frame->payload + 2), &rig->config.identity, 1, 0);
  if (!rig->host.compatible) {
    cs_send_log(&rig->line, &rig->sequence, now_us, CS_LOG_WARNING,
                "host speaks another major version of the protocol: every command but vent is refused");
    return;
  }
  send_stream(rig);
}

static void receive_frame(cs_rig* rig, uint64_t now_us, const cs_frame* frame) {
  switch (frame->type) {
    case CS_TYPE_HELLO:
      receive_hello(rig, now_us, frame);
      break;
    case CS_TYPE_HEARTBEAT:
      if (!cs_host_heartbeat(&rig->host, frame)) break;
      rig->host_seen = true;
      rig->heartbeat_us = now_us;
      break;
    case CS_TYPE_CLOCK_REQUEST:
      cs_send_clock_reply(&rig->line, &rig->sequence, now_us, frame);
      break;
    case CS_TYPE_COMMAND:
      receive_command(rig, now_us, frame);
      break;
    default: /* from a newer minor version, or not for this board */
      break;
  }
}

void cs_rig_init(cs_rig* rig, const cs_rig_config* config, uint64_t now_us) {
  uint8_t* bytes = (uint8_t*)rig;
  for (size_t i = 0; i < sizeof *rig; i++) bytes[i] = 0;
  rig->config = *config;
  cs_reader_init(&rig->reader);
  cs_line_begin(&rig->line);
  rig->outputs = CS_VALVE_VENT;
  rig->step = CS_RIG_VENTED;
  rig->state_due = true;
  rig->readback_bad_since_us = CS_NO_TIME;
  rig->sampled_us = CS_NO_TIME;
  rig->state_sent_us = now_us;
  rig->random = config->entropy;
  send_event(rig, now_us, CS_EVENT_POWER_UP, config->identity.boot_count);
}

void cs_rig_receive(cs_rig* rig, uint64_t now_us, const uint8_t* bytes, size_t count) {
  cs_frame frame;
  supervise(rig, now_us); /* what is overdue comes before what has just arrived */
  for (size_t i = 0; i < count; i++) {
    if (cs_reader_push(&rig->reader, bytes[i], &frame) == CS_FRAME_OK) receive_frame(rig, now_us, &frame);
  }
  send_state_if_due(rig, now_us);
}

static void send_block(cs_rig* rig) {
  cs_payload payload;
  payload.count = 0;
  cs_put_block_head(&payload, rig->config.sample_bits, CS_RIG_CHANNELS, (uint16_t)rig->block_count, rig->block_first,
                    rig->block_time_us);
  for (uint32_t i = 0; i < rig->block_count * CS_RIG_CHANNELS; i++)
    cs_put_sample(&payload, rig->config.sample_bits, rig->block[i]);
  cs_send(&rig->line, &rig->sequence, CS_TYPE_SAMPLE_BLOCK, &payload, CS_LINE_SPARE);
  rig->block_count = 0;
}

void cs_rig_sample(cs_rig* rig, uint64_t now_us, const int32_t counts[CS_RIG_CHANNELS]) {
  rig->pressure_counts = counts[SUPPLY_CHANNEL];
  rig->sampled_us = now_us;
  if (rig->pressure_counts >= rig->config.over_pressure_counts)
    trip(rig, now_us, CS_FAULT_OVER_PRESSURE, CS_EVENT_VENTED_BY_OVER_PRESSURE);
  supervise(rig, now_us);
  if (rig->block_count == 0) {
    rig->block_first = rig->sample_index;
    rig->block_time_us = now_us;
  }
  for (size_t i = 0; i < CS_RIG_CHANNELS; i++) rig->block[rig->block_count * CS_RIG_CHANNELS + i] = counts[i];
  rig->sample_index++;
  if (++rig->block_count == CS_RIG_BLOCK) send_block(rig);
  send_state_if_due(rig, now_us);
}

static void supervise_readback(cs_rig* rig, uint64_t now_us) {
  if (reads_back(rig)) {
    rig->readback_bad_since_us = CS_NO_TIME;
  } else if (rig->readback_bad_since_us == CS_NO_TIME) {
    rig->readback_bad_since_us = now_us;
  } else if (now_us - rig->readback_bad_since_us >= CS_RIG_READBACK_US) {
    trip(rig, now_us, CS_FAULT_READBACK, CS_EVENT_VENTED_BY_READBACK);
  }
}

void cs_rig_step(cs_rig* rig, uint64_t now_us, const cs_rig_inputs* inputs) {
  if (inputs->inputs != rig->inputs.inputs || inputs->readback != rig->inputs.readback) rig->state_due = true;
  rig->inputs = *inputs;
  if ((inputs->inputs & CS_INPUT_STOP_LOOP_CLOSED) == 0 && rig->step != CS_RIG_VENTED)
    trip(rig, now_us, CS_FAULT_STOP_LOOP, CS_EVENT_VENTED_BY_STOP_LOOP);
  if (inputs->supply_mv < rig->config.supply_low_mv) trip(rig, now_us, CS_FAULT_SUPPLY, CS_EVENT_VENTED_BY_SUPPLY);
  supervise(rig, now_us);
  supervise_readback(rig, now_us);
  send_state_if_due(rig, now_us);
}
