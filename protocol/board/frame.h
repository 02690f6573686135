/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Frames: header, payload, CRC-32C, then COBS and a zero delimiter. Layout in docs/wire.md.
 *
 * COBS: S. Cheshire, M. Baker, "Consistent Overhead Byte Stuffing", IEEE/ACM Transactions on Networking 7(2), 1999.
 * CRC-32C: Castagnoli polynomial, reflected 0x82F63B78, start and final inversion; vectors in RFC 3720 appendix B.4.
 */
#ifndef COLDSTROKE_BOARD_FRAME_H
#define COLDSTROKE_BOARD_FRAME_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

#define CS_HEADER_BYTES 4u /* u8 type, u8 reserved = 0, u16 sequence */
#define CS_CRC_BYTES 4u
#define CS_PAYLOAD_MAX 1024u
#define CS_FRAME_MAX (CS_HEADER_BYTES + CS_PAYLOAD_MAX + CS_CRC_BYTES)
#define CS_ENCODED_MAX (CS_FRAME_MAX + CS_FRAME_MAX / 254u + 2u) /* COBS overhead and the delimiter */

/* CRC-32C of `count` bytes; `crc` is 0 at the start, or the result over the bytes before, to continue. */
uint32_t cs_crc32c(uint32_t crc, const uint8_t* bytes, size_t count);

/* COBS without delimiter. `out` has room for count + count/254 + 1. Returns bytes written. */
size_t cs_cobs_encode(const uint8_t* bytes, size_t count, uint8_t* out);
/* Inverse; `out` has room for `count`; may be the same buffer as `bytes`. Returns bytes written, or SIZE_MAX if malformed. */
size_t cs_cobs_decode(const uint8_t* bytes, size_t count, uint8_t* out);

/* Whole frame to `out` (room CS_ENCODED_MAX), delimiter included. payload_count <= CS_PAYLOAD_MAX. Returns bytes written. */
size_t cs_frame_encode(uint8_t type, uint16_t sequence, const uint8_t* payload, size_t payload_count, uint8_t* out);

/* What can be wrong with the bytes between two delimiters. */
enum {
  CS_FRAME_OK = 0,
  CS_FRAME_EMPTY = 1, /* two delimiters in a row: idle filler, not counted as damage */
  CS_FRAME_TOO_LONG = 2,
  CS_FRAME_BAD_STUFFING = 3,
  CS_FRAME_TOO_SHORT = 4,
  CS_FRAME_BAD_CRC = 5
};

/* A frame as found: `payload` points into the reader and is valid until the next push. */
typedef struct {
  uint8_t type;
  uint16_t sequence;
  const uint8_t* payload;
  size_t payload_count;
} cs_frame;

/* Byte-at-a-time frame reader. Any bytes are acceptable; after garbage it is in step again at the next delimiter. */
typedef struct {
  uint8_t bytes[CS_ENCODED_MAX];
  size_t count;
  bool overflow;
  uint32_t faults[6]; /* counted by CS_FRAME_* */
} cs_reader;

void cs_reader_init(cs_reader* reader);
/* One byte. Returns -1 while inside a frame, else CS_FRAME_*; on CS_FRAME_OK `frame` is filled. */
int cs_reader_push(cs_reader* reader, uint8_t byte, cs_frame* frame);

#ifdef __cplusplus
}
#endif
#endif
