/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The rig board: samples the load cell and the pressures, drives the valves and the lid, and keeps itself safe.
 *
 * Safety of its own, whatever the host does or sends ("vents": charge shut, fast valves shut, vent open, token dead):
 *  - power-up and every reset: fast valves shut, charge valve shut, vent open;
 *  - no valid heartbeat for CS_RIG_WATCHDOG_US while not vented: vents, latched fault;
 *  - supply pressure at or above the limit, or no sample of it for CS_RIG_SAMPLE_AGE_US while not vented: the same;
 *  - emergency-stop loop open while not vented: the same;
 *  - electrical supply below its limit, or a valve that does not read back as commanded: the same;
 *  - charge and release need a live one-time token (bound to its purpose), the stop loop closed, no latched fault, a
 *    fresh heartbeat, and the release key in (release); release only from holding, fast valves open a bounded time;
 *  - a command id repeated among the last 16 is never done again; vent is always done and never refused;
 *  - the vent, once open, shuts only as part of an accepted charge command.
 * These are not a safety-rated function: see docs/firmware.md. There is no firing output on this board.
 */
#ifndef COLDSTROKE_BOARD_RIG_BOARD_H
#define COLDSTROKE_BOARD_RIG_BOARD_H

#include "protocol/board/node.h"

#ifdef __cplusplus
extern "C" {
#endif

#define CS_RIG_WATCHDOG_US 250000u
#define CS_RIG_TOKEN_LIFE_US 3000000u /* life of a token; the longest the wire format allows */
#define CS_RIG_OPEN_MAX_US 500000u    /* longest time the fast valves may stay open */
#define CS_RIG_READBACK_US 100000u    /* longest time a valve may read back otherwise than commanded */
#define CS_RIG_SAMPLE_AGE_US 100000u  /* older than this, the newest supply-pressure sample says nothing */
#define CS_RIG_STATE_US 20000u        /* between two state frames */
#define CS_RIG_CHANNELS 4u            /* stream 1: force, supply pressure, chamber pressure, dummy-load current */
#define CS_RIG_BLOCK 20u              /* samples a block */

/* Bits of outputs and read-backs (wire: RigState.outputs, .readback). A set bit: open / energised. */
enum {
  CS_VALVE_CHARGE = 1u << 0,
  CS_VALVE_VENT = 1u << 1,
  CS_VALVE_FAST_1 = 1u << 2,
  CS_VALVE_FAST_2 = 1u << 3,
  CS_LID_OPEN = 1u << 4
};
/* Bits of inputs (wire: RigState.inputs). */
enum {
  CS_INPUT_STOP_LOOP_CLOSED = 1u << 0,
  CS_INPUT_RELEASE_KEY_IN = 1u << 1,
  CS_INPUT_LID_OPEN_SWITCH = 1u << 2,
  CS_INPUT_LID_SHUT_SWITCH = 1u << 3
};
/* Bits of faults, latched until CS_COMMAND_CLEAR_FAULTS finds their cause gone (wire: RigState.faults). */
enum {
  CS_FAULT_WATCHDOG = 1u << 0,
  CS_FAULT_OVER_PRESSURE = 1u << 1,
  CS_FAULT_STOP_LOOP = 1u << 2,
  CS_FAULT_READBACK = 1u << 3, /* a valve does not read back as commanded for 100 ms */
  CS_FAULT_SUPPLY = 1u << 4    /* electrical supply below the limit */
};
/* Steps of the rig board (wire: RigState.step). */
enum { CS_RIG_VENTED = 0, CS_RIG_CHARGING = 1, CS_RIG_HOLDING = 2, CS_RIG_RELEASED = 3 };

typedef struct {
  cs_identity identity;
  uint32_t sample_period_ns;         /* 100000 for 10 kHz */
  uint8_t sample_bits;               /* 16, 24 or 32 */
  float scale_hint[CS_RIG_CHANNELS]; /* SI unit a count, a hint for the host, never used for safety */
  int32_t over_pressure_counts;      /* supply-pressure channel: vent at or above */
  uint16_t supply_low_mv;            /* electrical supply: fault below */
  uint32_t entropy;                  /* seeds the token generator; a real board reads it from hardware */
} cs_rig_config;

typedef struct {
  uint16_t readback; /* CS_VALVE_*, CS_LID_OPEN as sensed */
  uint16_t inputs;   /* CS_INPUT_* */
  uint16_t supply_mv;
} cs_rig_inputs;

typedef struct {
  cs_rig_config config;
  cs_reader reader;
  cs_line line;
  uint16_t sequence;
  cs_host host;
  uint16_t outputs; /* CS_VALVE_*, CS_LID_OPEN: what the board commands now; the hardware layer copies it to pins */
  uint16_t faults;
  uint8_t step;
  bool state_due; /* something changed: a state frame goes out at the end of this call */
  cs_rig_inputs inputs;
  bool host_seen;        /* a heartbeat has come since power-up */
  uint64_t heartbeat_us; /* node time of the last valid heartbeat */
  uint64_t released_us, open_us;
  uint64_t readback_bad_since_us; /* CS_NO_TIME: reads back as commanded */
  uint64_t state_sent_us;
  uint32_t token, token_purpose; /* 0: none */
  uint32_t expired_token;        /* the last that died of age, 0: none */
  uint64_t token_until_us;
  uint32_t random;
  int32_t pressure_counts; /* newest sample of the supply-pressure channel */
  uint64_t sampled_us;     /* when it was taken, CS_NO_TIME: never */
  uint64_t sample_index;   /* samples taken since power-up */
  uint64_t block_time_us, block_first;
  uint32_t block_count;
  int32_t block[CS_RIG_BLOCK * CS_RIG_CHANNELS];
} cs_rig;

/* Power-up. Leaves the vent open and everything else shut. `now_us` is the node clock's present reading. */
void cs_rig_init(cs_rig* rig, const cs_rig_config* config, uint64_t now_us);
/* Bytes from the host, as they come. Any bytes at all are acceptable input. */
void cs_rig_receive(cs_rig* rig, uint64_t now_us, const uint8_t* bytes, size_t count);
/* One tick of the converter: counts of the four channels. Blocks of CS_RIG_BLOCK are sent. Over-pressure acts here. */
void cs_rig_sample(cs_rig* rig, uint64_t now_us, const int32_t counts[CS_RIG_CHANNELS]);
/* Housekeeping, at least every millisecond: watchdog, stop loop, open time, read-back, state frames (every 20 ms). */
void cs_rig_step(cs_rig* rig, uint64_t now_us, const cs_rig_inputs* inputs);

#ifdef __cplusplus
}
#endif
#endif
