/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Stimulus playback: samples that come over the line in place of the accelerometer's, one at each tick of the accelerometer, so
 * that the detector of this very board can be asked what it makes of a recording. The rules are in docs/wire.md, section 7.
 *
 * Every sample is accounted for: received in order, or refused; played, or still waiting. A tick that finds nothing waiting feeds
 * the detector nothing, and is counted: the detector sees the samples of a stimulus in order and without a gap, or not at all.
 */
#ifndef COLDSTROKE_BOARD_PLAYBACK_H
#define COLDSTROKE_BOARD_PLAYBACK_H

#include "protocol/board/node.h"

#ifdef __cplusplus
extern "C" {
#endif

#define CS_PLAYBACK_AXES 3u
#define CS_PLAYBACK_BUFFER 512u         /* samples of three axes waiting to be played: 256 ms at 2 kHz, 3 KB */
#define CS_PLAYBACK_CHANGES 4u          /* a detector changes state three times at most: building, then decided or inhibited */
#define CS_PLAYBACK_SILENCE_US 2000000u /* a host not heard for so long has gone: the playback stops */

/* What a playback is doing. Over: all samples played, kept for the host to read. */
enum { CS_PLAYBACK_NONE = 0, CS_PLAYBACK_FILLING = 1, CS_PLAYBACK_RUNNING = 2, CS_PLAYBACK_OVER = 3, CS_PLAYBACK_STOPPED = 4 };
/* Why it stopped before its end. */
enum { CS_STOP_NONE = 0, CS_STOP_BY_HOST = 1, CS_STOP_FIRING_CHANNEL = 2, CS_STOP_HOST_SILENT = 3 };

typedef struct {
  uint32_t sample; /* of the stimulus, from 0 */
  uint64_t time_us;
  uint8_t state;
} cs_playback_change;

typedef struct {
  uint32_t number; /* of the newest playback since power-up, 0: there was none */
  uint8_t phase, stop;
  uint32_t total;    /* samples announced */
  uint32_t received; /* taken, in order: also the index that is wanted next */
  uint32_t played;
  uint32_t refused; /* samples that came out of order, twice, for another playback, or beyond what is accepted */
  uint32_t starved; /* ticks that found nothing waiting while running */
  uint32_t changes;
  cs_playback_change change[CS_PLAYBACK_CHANGES];
  uint64_t heard_us, sent_us;
  int16_t ring[CS_PLAYBACK_BUFFER][CS_PLAYBACK_AXES]; /* sample i at [i % CS_PLAYBACK_BUFFER] */
} cs_playback;

/* Whether the detector belongs to a playback: from begin to end, also while it waits to be read. */
bool cs_playback_active(const cs_playback* playback);
void cs_playback_begin(cs_playback* playback, uint64_t now_us, uint32_t total);
void cs_playback_stop(cs_playback* playback, uint8_t reason);
/* One frame of samples. */
void cs_playback_receive(cs_playback* playback, uint64_t now_us, const cs_frame* frame);
/* One tick: true, and the counts of the next sample, if one is to be played now. */
bool cs_playback_take(cs_playback* playback, int16_t counts[CS_PLAYBACK_AXES]);
/* The detector changed state at the sample taken last. */
void cs_playback_note(cs_playback* playback, uint64_t now_us, uint8_t state);
/* The playback's state as a frame. */
void cs_playback_send(cs_playback* playback, cs_line* line, uint16_t* sequence, uint64_t now_us);

#ifdef __cplusplus
}
#endif
#endif
