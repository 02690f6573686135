/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Reference launch detectors, integer arithmetic throughout so that every machine decides at the same sample.
 *
 * Input: one axis of specific force in converter counts (at rest upright it reads +1 g). A detector subtracts
 * `rest_counts` first, so thresholds are net of gravity. After a decision it stays decided until reset.
 * `deadline_samples` after the first sample at or above `building_counts` (the start of something) without a decision the
 * detector inhibits itself and never decides until reset; 0 means no deadline.
 */
#ifndef COLDSTROKE_BOARD_DETECTOR_H
#define COLDSTROKE_BOARD_DETECTOR_H

#include <stdbool.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

#define CS_DETECTOR_WINDOW_MAX 512u

enum { CS_DETECTOR_MOVING_MEAN = 1, CS_DETECTOR_SUSTAINED = 2, CS_DETECTOR_VELOCITY_GAIN = 3 };
enum { CS_DETECTOR_IDLE = 0, CS_DETECTOR_BUILDING = 1, CS_DETECTOR_DECIDED = 2, CS_DETECTOR_INHIBITED = 3 };

typedef struct {
  uint8_t kind;
  int32_t rest_counts;       /* reading at rest, subtracted first */
  int32_t threshold_counts;  /* moving mean: mean at or above; sustained: each sample at or above;
                                velocity gain: sum over the window of counts at or above threshold_counts * window_samples
                                is the moving mean, so here: sum_threshold is used instead */
  int64_t sum_threshold;     /* velocity gain only: sum of net counts over the window at or above */
  uint32_t window_samples;   /* moving mean, velocity gain: 1 .. CS_DETECTOR_WINDOW_MAX; sustained: samples in a row */
  int32_t building_counts;   /* net counts at or above which something has started */
  uint32_t deadline_samples; /* 0: none */
} cs_detector_config;

typedef struct {
  cs_detector_config config;
  int32_t window[CS_DETECTOR_WINDOW_MAX]; /* net counts, zeros before the first sample */
  uint32_t at;
  int64_t sum;
  uint32_t run;            /* sustained: samples in a row so far */
  uint32_t since_building; /* samples since something started, 0: nothing has */
  uint8_t state;
} cs_detector;

/* Returns false, and leaves a detector that stays inhibited, if the configuration is out of range. */
bool cs_detector_init(cs_detector* detector, const cs_detector_config* config);
/* Back to idle with an empty window. */
void cs_detector_reset(cs_detector* detector);
/* One sample. Returns true exactly once, at the sample that decides. */
bool cs_detector_feed(cs_detector* detector, int32_t counts);

#ifdef __cplusplus
}
#endif
#endif
