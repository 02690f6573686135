/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A detector of your own for replay: write these three functions in C, build them as a shared library, name the library in a
 * detector table (docs/detectors.md). A whole example is tests/daq/detector/example_detector.c.
 *
 *   cc -std=c11 -O2 -shared -fPIC -o my_detector.so my_detector.c
 *
 * The library runs in a process of its own. A crash, an endless loop or an answer that is none is reported as a finding of the
 * recording at which it happened; the recordings after it are run all the same. What it prints goes to standard error.
 */
#ifndef COLDSTROKE_DETECTOR_INTERFACE_H
#define COLDSTROKE_DETECTOR_INTERFACE_H

#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* What a detector is doing; numbers as on the wire. After decided or inhibited it should stay so until started again. */
enum { DETECTOR_IDLE = 0, DETECTOR_BUILDING = 1, DETECTOR_DECIDED = 2, DETECTOR_INHIBITED = 3 };

/* How many bytes of memory one detector needs, 1 to 16777216. */
size_t detector_state_bytes(void);
/* Before the first sample of each recording. `state` is zeroed memory of that many bytes, aligned for any type;
 * `counts_per_g` converts: 1 g = counts_per_g counts. */
void detector_start(void* state, double sample_rate_hz, double counts_per_g);
/* One sample in counts, rest not taken off, in order. Returns one of the four states above. */
int detector_sample(void* state, int32_t counts);

#ifdef __cplusplus
}
#endif
#endif
