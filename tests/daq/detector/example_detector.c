/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An example of daq/detector/detector_interface.h: decides once the felt level has been above 4 g net of rest for 10 ms
 * without a break, and takes the level at rest from the first 50 ms of the recording itself.
 */
#include "daq/detector/detector_interface.h"

typedef struct {
  double counts_per_g, rest_sum;
  long rest_samples, rest_taken, hold_samples, held;
  int state;
} detector;

size_t detector_state_bytes(void) { return sizeof(detector); }

void detector_start(void* state, double sample_rate_hz, double counts_per_g) {
  detector* d = state;
  d->counts_per_g = counts_per_g;
  d->rest_samples = (long)(0.050 * sample_rate_hz);
  d->hold_samples = (long)(0.010 * sample_rate_hz);
}

int detector_sample(void* state, int32_t counts) {
  detector* d = state;
  if (d->rest_taken < d->rest_samples) {
    d->rest_sum += counts;
    d->rest_taken++;
    return d->state;
  }
  const double net_g = (counts - d->rest_sum / (double)d->rest_samples) / d->counts_per_g;
  if (d->state == DETECTOR_IDLE && net_g >= 1.0) d->state = DETECTOR_BUILDING;
  d->held = net_g >= 4.0 ? d->held + 1 : 0;
  if (d->held >= d->hold_samples) d->state = DETECTOR_DECIDED;
  return d->state;
}
