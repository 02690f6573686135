/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What both boards share: the line out, the frame reader, identity, clock replies.
 *
 * Board code is C11, freestanding: no heap, no operating system, no libc call. A board's main loop calls
 * the functions below from one context; nothing here is interrupt safe. Time is always passed in, in
 * microseconds of the node's own 64-bit clock. The byte layout of every frame is in docs/wire.md.
 */
#ifndef COLDSTROKE_BOARD_NODE_H
#define COLDSTROKE_BOARD_NODE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "protocol/board/frame.h"

#ifdef __cplusplus
extern "C" {
#endif

#define CS_PROTOCOL_MAJOR 1u
#define CS_PROTOCOL_MINOR 0u
#define CS_NO_TIME UINT64_MAX /* "there was none" in every field that holds an instant */

/* Bytes waiting for the line, a ring. A frame that does not fit whole is not begun: it is dropped and counted. */
#define CS_LINE_BYTES 16384u
typedef struct {
  uint8_t bytes[CS_LINE_BYTES];
  uint32_t head, tail;     /* tail == head: empty */
  uint32_t frames_dropped; /* frames that found no room since power-up */
} cs_line;

/* Moves up to `room` waiting bytes to `out`, returns how many. What a UART's transmit interrupt would do. */
size_t cs_line_take(cs_line* line, uint8_t* out, size_t room);

/* A key with its value, as text, e.g. "detector" "moving_mean". Both NUL-ended and outliving the board. */
typedef struct {
  const char *key, *value;
} cs_setting;

/* Who this board says it is. Strings NUL-ended, at most 32 bytes each, outliving the board. */
typedef struct {
  uint8_t unique_id[12];
  const char *firmware_name, *firmware_version;
  uint32_t boot_count; /* raised by one at each power-up or reset */
} cs_identity;

#ifdef __cplusplus
}
#endif
#endif
