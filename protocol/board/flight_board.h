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
#include "protocol/board/playback.h"

#ifdef __cplusplus
extern "C" {
#endif

#define CS_FLIGHT_AXES 3u
#define CS_FLIGHT_BLOCK 10u /* samples a block: 5 ms at 2 kHz */
#define CS_FLIGHT_FIRING_CHANNELS 2u
#define CS_FLIGHT_DECISIONS 16u
#ifndef CS_FLIGHT_MEMORY
#define CS_FLIGHT_MEMORY 24576u /* samples of all axes kept: 12.288 s at 2 kHz; a real part would use flash */
#endif
#define CS_FLIGHT_READ_SAMPLES 128u /* samples a read-back frame */
#define CS_FLIGHT_READ_WAITING 512u /* read-back waits while more bytes than this wait for the line: answers stay quick */
#define CS_FLIGHT_STATE_US 20000u   /* between two state frames */
#define CS_OHMS_OPEN UINT32_MAX     /* milliohms field: no continuity */

typedef struct {
  cs_identity identity;
  uint32_t sample_period_ns; /* 500000 for 2 kHz */
  float scale_hint;          /* m/s^2 a count */
  uint8_t axis;              /* which axis the detector watches, 0..2 */
  cs_detector_config detector;
  const cs_setting* settings; /* detector settings as the identity dialogue reports them */
  uint8_t setting_count;
  uint32_t memory_before_samples; /* kept from before the freeze trigger, <= CS_FLIGHT_MEMORY; see below */
  /* Registered dummy loads, both ends included; high 0: none, the channel must be open. Playback is refused unless every
   * channel is open or inside its own pair. */
  uint32_t dummy_low_milliohms[CS_FLIGHT_FIRING_CHANNELS], dummy_high_milliohms[CS_FLIGHT_FIRING_CHANNELS];
} cs_flight_config;

typedef struct {
  bool armed_switch;                             /* the board's physical arm switch */
  uint32_t milliohms[CS_FLIGHT_FIRING_CHANNELS]; /* measured, CS_OHMS_OPEN if open */
  uint16_t battery_mv;
} cs_flight_inputs;

typedef struct {
  uint64_t time_us, sample_index;
} cs_decision;

/* Memory: begin_record empties it and starts a ring of the newest CS_FLIGHT_MEMORY samples. The first sample whose watched
 * axis, net of rest, reaches config.detector.building_counts is the trigger (whatever the detector makes of it); the ring
 * freezes once it holds memory_before_samples samples from before the trigger, the trigger, and everything after it up to
 * CS_FLIGHT_MEMORY in all, so that the ejection, the fall and the landing are kept. end_record freezes early. Decisions
 * are kept until end_record, even after the ring is frozen. Power-up empties all. */
typedef struct {
  cs_flight_config config;
  cs_reader reader;
  cs_line line;
  uint16_t sequence;
  cs_host host;
  cs_detector detector;
  cs_flight_inputs inputs;
  bool inputs_known;       /* they have been measured since power-up */
  bool state_due;          /* something changed: a state frame goes out at the end of this call */
  uint64_t decision_us;    /* first decision since the detector was reset, CS_NO_TIME: none */
  uint32_t decision_count; /* since the detector was reset */
  uint64_t state_sent_us;
  uint64_t sample_index; /* samples taken since power-up */
  uint64_t block_time_us, block_first;
  uint32_t block_count;
  int32_t block[CS_FLIGHT_BLOCK * CS_FLIGHT_AXES];
  /* trial memory */
  uint32_t record_id; /* 0: nothing recorded since power-up */
  bool recording;     /* samples are being kept */
  bool record_open;   /* decisions are being kept */
  bool triggered;
  uint64_t trigger_index;
  uint64_t memory_first, memory_count; /* absolute index of the oldest kept sample, how many */
  uint64_t memory_last_us;             /* node time of the newest kept sample; the others lie one period apart before it */
  int16_t memory[CS_FLIGHT_MEMORY][CS_FLIGHT_AXES]; /* sample of absolute index i at [i % CS_FLIGHT_MEMORY] */
  cs_decision decisions[CS_FLIGHT_DECISIONS];
  uint32_t decisions_kept;
  /* While it is active the detector works for it alone: no decision of it is counted, kept or told as a real one. */
  cs_playback playback;
  /* read-back in progress: one frame is sent whenever the line has room */
  bool reading;
  uint8_t reading_what; /* part as in the memory request */
  uint64_t reading_at, reading_end;
  uint32_t reading_sent;
} cs_flight;

/* Power-up: detector idle, memory empty. config.detector is checked: out of range, it stays inhibited and says so. */
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
