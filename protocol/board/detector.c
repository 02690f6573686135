/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "protocol/board/detector.h"

static bool in_range(const cs_detector_config* config) {
  if (config->building_counts <= 0 || config->window_samples > CS_DETECTOR_WINDOW_MAX) return false;
  if (config->filter_shift > CS_DETECTOR_FILTER_SHIFT_MAX) return false;
  switch (config->kind) {
    case CS_DETECTOR_MOVING_MEAN:
      return config->threshold_counts > 0 && config->window_samples > 0;
    case CS_DETECTOR_SUSTAINED:
      return config->threshold_counts > 0;
    case CS_DETECTOR_VELOCITY_GAIN:
      return config->sum_threshold > 0 && config->window_samples > 0;
    case CS_DETECTOR_K_OF_N:
      return config->threshold_counts > 0 && config->required_samples > 0 && config->required_samples <= config->window_samples;
    default:
      return false;
  }
}

static void empty(cs_detector* detector) {
  for (uint32_t i = 0; i < CS_DETECTOR_WINDOW_MAX; i++) detector->window[i] = 0;
  detector->at = 0;
  detector->sum = 0;
  detector->level = 0;
  detector->run = 0;
  detector->since_building = 0;
}

bool cs_detector_init(cs_detector* detector, const cs_detector_config* config) {
  detector->config = *config;
  cs_detector_reset(detector);
  return detector->state != CS_DETECTOR_INHIBITED;
}

void cs_detector_reset(cs_detector* detector) {
  empty(detector);
  detector->state = in_range(&detector->config) ? CS_DETECTOR_IDLE : CS_DETECTOR_INHIBITED;
}

static int32_t net_of_rest(int32_t counts, int32_t rest) {
  const int64_t net = (int64_t)counts - rest;
  if (net > INT32_MAX) return INT32_MAX;
  if (net < INT32_MIN) return INT32_MIN;
  return (int32_t)net;
}

/* Largest integer not above value / 2^shift; the shift of a negative number is left to the compiler by C11, so not used. */
static int64_t divided(int64_t value, unsigned shift) { return value >= 0 ? value >> shift : ~(~value >> shift); }

static int32_t filtered(cs_detector* detector, int32_t net) {
  const unsigned shift = detector->config.filter_shift;
  if (shift == 0) return net;
  detector->level += net - divided(detector->level, shift);
  return (int32_t)divided(detector->level, shift); /* between the least and the greatest net seen, or 0: it fits */
}

/* Puts one sample into the window; the sum is exact, so nothing drifts. */
static void slide(cs_detector* detector, int32_t net) {
  detector->sum += (int64_t)net - detector->window[detector->at];
  detector->window[detector->at] = net;
  detector->at = (detector->at + 1u) % detector->config.window_samples;
}

/* k of n: puts one sample into the window and keeps the count of those at the threshold. */
static void slide_count(cs_detector* detector, int32_t net) {
  const int32_t threshold = detector->config.threshold_counts;
  if (detector->window[detector->at] >= threshold) detector->run--;
  if (net >= threshold) detector->run++;
  detector->window[detector->at] = net;
  detector->at = (detector->at + 1u) % detector->config.window_samples;
}

/* Whether the condition holds at this sample. */
static bool condition(cs_detector* detector, int32_t net) {
  const cs_detector_config* config = &detector->config;
  switch (config->kind) {
    case CS_DETECTOR_SUSTAINED:
      detector->run = net >= config->threshold_counts ? detector->run + 1u : 0u;
      return detector->run > config->window_samples;
    case CS_DETECTOR_MOVING_MEAN:
      slide(detector, net);
      return detector->sum >= (int64_t)config->threshold_counts * config->window_samples;
    case CS_DETECTOR_K_OF_N:
      slide_count(detector, net);
      return detector->run >= config->required_samples;
    default:
      slide(detector, net);
      return detector->sum >= config->sum_threshold;
  }
}

bool cs_detector_feed(cs_detector* detector, int32_t counts) {
  if (detector->state == CS_DETECTOR_DECIDED || detector->state == CS_DETECTOR_INHIBITED) return false;
  const int32_t net = filtered(detector, net_of_rest(counts, detector->config.rest_counts));
  if (detector->state == CS_DETECTOR_IDLE && net >= detector->config.building_counts) detector->state = CS_DETECTOR_BUILDING;
  if (condition(detector, net)) {
    detector->state = CS_DETECTOR_DECIDED;
    return true;
  }
  if (detector->state == CS_DETECTOR_BUILDING) {
    if (detector->config.deadline_samples != 0 && detector->since_building >= detector->config.deadline_samples)
      detector->state = CS_DETECTOR_INHIBITED;
    else
      detector->since_building++;
  }
  return false;
}
