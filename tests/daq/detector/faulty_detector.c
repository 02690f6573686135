/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Decides at the first sample of 1000 counts or more, and goes wrong, in the way it is built for, at the first below -1000.
 */
#include <signal.h>
#include <stdio.h>

#include "daq/detector/detector_interface.h"

size_t detector_state_bytes(void) { return sizeof(int); }

void detector_start(void* state, double sample_rate_hz, double counts_per_g) {
  (void)state;
  printf("started at %g Hz, %g counts a g\n", sample_rate_hz, counts_per_g); /* must not come between the answers */
  fflush(stdout);
}

int detector_sample(void* state, int32_t counts) {
  int* decided = state;
  if (counts < -1000) {
#ifdef FAULT_CRASH
    raise(SIGSEGV);
#elif defined FAULT_LOOP
    for (volatile int forever = 1; forever;) {
    }
#else
    return 9;
#endif
  }
  if (counts >= 1000) *decided = 1;
  return *decided ? DETECTOR_DECIDED : DETECTOR_IDLE;
}
