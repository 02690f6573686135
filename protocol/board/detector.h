/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Reference launch detectors, integer arithmetic throughout so that every machine decides at the same sample.
 *
 * Input: one axis of specific force in converter counts (at rest upright it reads +1 g). A detector subtracts
 * `rest_counts` first; every threshold is net of rest. The conditions, net(k) being sample k less rest_counts and
 * filtered if a filter is set, N = window_samples, samples before the first being zero:
 *   moving mean    net(k-N+1) + ... + net(k) >= threshold_counts * N    (divided by N, not by the samples seen so far)
 *   sustained      net(k-N) .. net(k) all >= threshold_counts           (N+1 samples span N periods; N = 0: plain threshold)
 *   velocity gain  net(k-N+1) + ... + net(k) >= sum_threshold           (speed gained within the window, in count samples)
 *   k of n         at least required_samples of net(k-N+1) .. net(k) >= threshold_counts
 * After a decision the detector stays decided until reset.
 *
 * Filter: a single-pole low-pass, filter_shift = s > 0, before everything else (building and condition see its output):
 *   level += x - floor(level / 2^s);  y = floor(level / 2^s);  level 0 before the first sample.
 * Gain 1 at rest, time constant -period / ln(1 - 2^-s). The division rounds down for negative levels too, on any machine.
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
#define CS_DETECTOR_FILTER_SHIFT_MAX 12u

enum { CS_DETECTOR_MOVING_MEAN = 1, CS_DETECTOR_SUSTAINED = 2, CS_DETECTOR_VELOCITY_GAIN = 3, CS_DETECTOR_K_OF_N = 4 };
enum { CS_DETECTOR_IDLE = 0, CS_DETECTOR_BUILDING = 1, CS_DETECTOR_DECIDED = 2, CS_DETECTOR_INHIBITED = 3 };

typedef struct {
  uint8_t kind;              /* CS_DETECTOR_MOVING_MEAN, _SUSTAINED, _VELOCITY_GAIN, _K_OF_N */
  int32_t rest_counts;       /* reading at rest, subtracted first */
  int32_t threshold_counts;  /* moving mean, sustained, k of n: net counts, > 0 */
  int64_t sum_threshold;     /* velocity gain: sum of net counts, > 0 */
  uint32_t window_samples;   /* N above: 1 .. CS_DETECTOR_WINDOW_MAX, sustained also 0 */
  int32_t building_counts;   /* net counts at or above which something has started, > 0 */
  uint32_t deadline_samples; /* 0: none */
  uint32_t required_samples; /* k of n: k, 1 .. window_samples */
  uint8_t filter_shift;      /* s above: 0 (none) .. CS_DETECTOR_FILTER_SHIFT_MAX */
} cs_detector_config;

typedef struct {
  cs_detector_config config;
  int32_t window[CS_DETECTOR_WINDOW_MAX]; /* net counts, zeros before the first sample */
  uint32_t at;
  int64_t sum;
  int64_t level;           /* of the filter, counts * 2^filter_shift */
  uint32_t run;            /* sustained: samples in a row so far; k of n: samples of the window at the threshold */
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
