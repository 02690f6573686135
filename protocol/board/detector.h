/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Reference launch detectors, integer arithmetic throughout so that every machine decides at the same sample.
 *
 * Input: one axis of specific force in converter counts (at rest upright it reads +1 g). A detector subtracts
 * `rest_counts` first; every threshold is net of rest. The three conditions, net(k) being sample k less rest_counts,
 * N = window_samples, samples before the first being zero:
 *   moving mean    net(k-N+1) + ... + net(k) >= threshold_counts * N    (divided by N, not by the samples seen so far)
 *   sustained      net(k-N) .. net(k) all >= threshold_counts           (N+1 samples span N periods; N = 0: plain threshold)
 *   velocity gain  net(k-N+1) + ... + net(k) >= sum_threshold           (speed gained within the window, in count samples)
 * After a decision the detector stays decided until reset.
 *
 * Decision deadline: the first sample at or above building_counts, at index b, makes the detector "building". A decision
 * is possible up to and including sample b + deadline_samples; without one there the detector inhibits itself at that
 * sample and never decides until reset. deadline_samples 0 means no deadline.
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
  uint8_t kind;              /* CS_DETECTOR_MOVING_MEAN, _SUSTAINED, _VELOCITY_GAIN */
  int32_t rest_counts;       /* reading at rest, subtracted first */
  int32_t threshold_counts;  /* moving mean, sustained: net counts, > 0 */
  int64_t sum_threshold;     /* velocity gain: sum of net counts, > 0 */
  uint32_t window_samples;   /* N above: 1 .. CS_DETECTOR_WINDOW_MAX, sustained also 0 */
  int32_t building_counts;   /* net counts at or above which something has started, > 0 */
  uint32_t deadline_samples; /* 0: none */
} cs_detector_config;

typedef struct {
  cs_detector_config config;
  int32_t window[CS_DETECTOR_WINDOW_MAX]; /* net counts, zeros before the first sample */
  uint32_t at;
  int64_t sum;
  uint32_t run;            /* sustained: samples in a row so far */
  uint32_t since_building; /* building: samples since the one that started it */
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
