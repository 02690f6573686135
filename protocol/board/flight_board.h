/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The flight board: samples acceleration, runs its launch detector, and remembers one trial in its own memory.
 *
 * On the bench the cable stays behind when the vehicle leaves, so decisions AND the samples around them are kept
 * here and read back after reconnection. There is no message that arms, fires or tests a channel.
 */
#ifndef COLDSTROKE_BOARD_FLIGHT_BOARD_H
#define COLDSTROKE_BOARD_FLIGHT_BOARD_H

#include "protocol/board/detector.h"
#include "protocol/board/node.h"

#ifdef __cplusplus
extern "C" {
#endif

#define CS_FLIGHT_AXES 3u
#define CS_FLIGHT_BLOCK 10u /* samples a block: 5 ms at 2 kHz */
#define CS_FLIGHT_FIRING_CHANNELS 2u
#define CS_FLIGHT_DECISIONS 16u
#define CS_FLIGHT_MEMORY 24576u /* samples of all axes kept: 12.288 s at 2 kHz; a real part would use flash */
#define CS_OHMS_OPEN UINT32_MAX /* milliohms field: no continuity */

typedef struct {
  cs_identity identity;
  uint32_t sample_period_ns; /* 500000 for 2 kHz */
  float scale_hint;          /* m/s^2 a count */
  uint8_t axis;              /* which axis the detector watches, 0..2 */
  cs_detector_config detector;
  const cs_setting* settings; /* detector settings as the identity dialogue reports them */
  uint8_t setting_count;
  uint32_t memory_before_samples; /* kept from before the freeze trigger, <= CS_FLIGHT_MEMORY; see below */
} cs_flight_config;

typedef struct {
  bool armed_switch;                             /* the board's physical arm switch */
  uint32_t milliohms[CS_FLIGHT_FIRING_CHANNELS]; /* measured, CS_OHMS_OPEN if open */
  uint16_t battery_mv;
} cs_flight_inputs;

typedef struct {
  uint64_t time_us, sample_index;
} cs_decision;

/* Memory: while recording, a ring of the newest CS_FLIGHT_MEMORY samples. The first sample whose watched axis, net of
 * rest, reaches config.detector.building_counts is the trigger; recording freezes CS_FLIGHT_MEMORY - memory_before_samples
 * samples after it, so the ejection, the fall and the landing are kept. begin_record clears memory and starts again; end_record
 * stops early. */
typedef struct {
  cs_flight_config config;
  cs_reader reader;
  cs_line line;
  uint16_t sequence;
  cs_detector detector;
  cs_flight_inputs inputs;
  uint64_t decision_us; /* CS_NO_TIME: none since reset */
  uint32_t decision_count;
  uint64_t state_sent_us;
  uint64_t sample_index;
  uint64_t block_time_us, block_first;
  uint32_t block_count;
  int32_t block[CS_FLIGHT_BLOCK * CS_FLIGHT_AXES];
  /* trial memory */
  uint32_t record_id; /* 0: nothing recorded since power-up */
  bool recording;
  bool triggered;
  uint64_t trigger_index;
  uint64_t memory_first, memory_count; /* absolute index of the oldest kept sample, how many */
  uint64_t memory_time_us;             /* node time of memory_last sample is derived: see cs_flight_memory_time */
  int16_t memory[CS_FLIGHT_MEMORY][CS_FLIGHT_AXES];
  cs_decision decisions[CS_FLIGHT_DECISIONS];
  uint32_t decisions_kept;
  /* read-back in progress: one frame is sent whenever the line has room */
  uint8_t reading_what;
  uint64_t reading_at, reading_end;
  uint64_t epoch_us; /* node time of sample 0; sample k is at epoch_us + k * period */
} cs_flight;

void cs_flight_init(cs_flight* flight, const cs_flight_config* config, uint64_t now_us);
void cs_flight_receive(cs_flight* flight, uint64_t now_us, const uint8_t* bytes, size_t count);
/* One tick of the accelerometer: counts of the three axes. Runs the detector. */
void cs_flight_sample(cs_flight* flight, uint64_t now_us, const int16_t counts[CS_FLIGHT_AXES]);
/* Housekeeping, at least every millisecond: state frames (every 20 ms), read-back frames. */
void cs_flight_step(cs_flight* flight, uint64_t now_us, const cs_flight_inputs* inputs);

#ifdef __cplusplus
}
#endif
#endif
