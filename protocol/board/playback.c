/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "protocol/board/playback.h"

#define HEAD_BYTES 10u
#define SAMPLE_BYTES (2u * CS_PLAYBACK_AXES)

bool cs_playback_active(const cs_playback* playback) {
  return playback->phase == CS_PLAYBACK_FILLING || playback->phase == CS_PLAYBACK_RUNNING || playback->phase == CS_PLAYBACK_OVER;
}

void cs_playback_begin(cs_playback* playback, uint64_t now_us, uint32_t total) {
  const uint32_t number = playback->number + 1u;
  uint8_t* bytes = (uint8_t*)playback;
  for (size_t i = 0; i < sizeof *playback; i++) bytes[i] = 0;
  playback->number = number == 0u ? 1u : number;
  playback->phase = CS_PLAYBACK_FILLING;
  playback->total = total;
  playback->heard_us = now_us;
}

void cs_playback_stop(cs_playback* playback, uint8_t reason) {
  playback->phase = CS_PLAYBACK_STOPPED;
  playback->stop = reason;
}

/* Samples with a smaller index than this have room. */
static uint32_t accepted_to(const cs_playback* playback) {
  const uint32_t room_to = playback->played + CS_PLAYBACK_BUFFER;
  return room_to < playback->total ? room_to : playback->total;
}

void cs_playback_receive(cs_playback* playback, uint64_t now_us, const cs_frame* frame) {
  if (frame->payload_count < HEAD_BYTES) return;
  const uint32_t number = cs_get_u32(frame->payload);
  const uint32_t first = cs_get_u32(frame->payload + 4);
  const uint32_t count = cs_get_u16(frame->payload + 8);
  if (frame->payload_count != HEAD_BYTES + count * SAMPLE_BYTES) return;
  const bool ours = cs_playback_active(playback) && number == playback->number;
  if (ours) playback->heard_us = now_us;
  if (!ours || first != playback->received || count > accepted_to(playback) - playback->received) {
    playback->refused += count;
    return;
  }
  const uint8_t* bytes = frame->payload + HEAD_BYTES;
  for (uint32_t i = 0; i < count; i++) {
    for (unsigned axis = 0; axis < CS_PLAYBACK_AXES; axis++, bytes += 2)
      playback->ring[(playback->received + i) % CS_PLAYBACK_BUFFER][axis] = (int16_t)cs_get_u16(bytes);
  }
  playback->received += count;
  /* Half a buffer in hand rides out a host that is late by as much. */
  if (playback->phase == CS_PLAYBACK_FILLING &&
      (playback->received == playback->total || playback->received >= CS_PLAYBACK_BUFFER / 2u))
    playback->phase = CS_PLAYBACK_RUNNING;
}

bool cs_playback_take(cs_playback* playback, int16_t counts[CS_PLAYBACK_AXES]) {
  if (playback->phase != CS_PLAYBACK_RUNNING) return false;
  if (playback->played == playback->received) {
    playback->starved++;
    return false;
  }
  for (unsigned axis = 0; axis < CS_PLAYBACK_AXES; axis++)
    counts[axis] = playback->ring[playback->played % CS_PLAYBACK_BUFFER][axis];
  playback->played++;
  if (playback->played == playback->total) playback->phase = CS_PLAYBACK_OVER;
  return true;
}

void cs_playback_note(cs_playback* playback, uint64_t now_us, uint8_t state) {
  if (playback->changes >= CS_PLAYBACK_CHANGES) return;
  cs_playback_change* change = &playback->change[playback->changes++];
  change->sample = playback->played == 0u ? 0u : playback->played - 1u;
  change->time_us = now_us;
  change->state = state;
}

void cs_playback_send(cs_playback* playback, cs_line* line, uint16_t* sequence, uint64_t now_us) {
  cs_payload payload;
  payload.count = 0;
  cs_put_u64(&payload, now_us);
  cs_put_u32(&payload, playback->number);
  cs_put_u8(&payload, playback->phase);
  cs_put_u8(&payload, playback->stop);
  cs_put_u32(&payload, playback->total);
  cs_put_u32(&payload, playback->received);
  cs_put_u32(&payload, playback->played);
  cs_put_u32(&payload, accepted_to(playback));
  cs_put_u32(&payload, playback->refused);
  cs_put_u32(&payload, playback->starved);
  cs_put_u8(&payload, (uint8_t)playback->changes);
  for (uint32_t i = 0; i < playback->changes; i++) {
    cs_put_u32(&payload, playback->change[i].sample);
    cs_put_u64(&payload, playback->change[i].time_us);
    cs_put_u8(&payload, playback->change[i].state);
  }
  cs_send(line, sequence, CS_TYPE_PLAYBACK_STATE, &payload, CS_LINE_SPARE);
  playback->sent_us = now_us;
}
