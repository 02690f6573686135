// SPDX-License-Identifier: GPL-3.0-or-later
//
// How fast the host turns a rig board's bytes into messages, beside the checksum alone over the same bytes.
// The counter of_crc says which share of the checksum's speed the whole decoder reaches.
#include <benchmark/benchmark.h>

#include <chrono>
#include <cmath>
#include <random>

#include "protocol/wire/decoder.hpp"

namespace {

using namespace coldstroke::wire;
using Clock = std::chrono::steady_clock;

/// Ten seconds of the default rig stream: 10 kHz, 4 channels of 24 bit with noise, blocks of 20, states between them.
std::vector<std::byte> rig_stream() {
  std::mt19937 random{1};
  std::normal_distribution<double> noise{0.0, 40.0};
  std::vector<std::byte> bytes;
  Encoder encoder;
  for (std::uint64_t block = 0; block < 5000; ++block) {
    SampleBlock samples{.stream = 1, .bits = 24, .channels = 4, .first_index = 20 * block, .node_time_us = 2000 * block};
    for (std::uint64_t i = 0; i < 20; ++i) {
      const double stroke = 1e6 * std::sin(1e-3 * static_cast<double>(20 * block + i));
      for (const double level : {stroke, 3e6 - stroke, stroke / 2, 0.0})
        samples.counts.push_back(static_cast<std::int32_t>(level + noise(random)));
    }
    encoder.append(samples, bytes);
    if (block % 10 == 0) encoder.append(RigState{.node_time_us = 2000 * block, .supply_mv = 24000}, bytes);
  }
  return bytes;
}

const std::uint8_t* raw(const std::vector<std::byte>& bytes) { return reinterpret_cast<const std::uint8_t*>(bytes.data()); }

/// Bytes a second of the checksum alone, over the same bytes, just before.
double crc_speed(const std::vector<std::byte>& bytes) {
  const auto begin = Clock::now();
  std::size_t done = 0;
  while (Clock::now() - begin < std::chrono::milliseconds{200}) {
    benchmark::DoNotOptimize(cs_crc32c(0, raw(bytes), bytes.size()));
    done += bytes.size();
  }
  return static_cast<double>(done) / std::chrono::duration<double>(Clock::now() - begin).count();
}

void crc_alone(benchmark::State& state) {
  const auto bytes = rig_stream();
  for (auto _ : state) benchmark::DoNotOptimize(cs_crc32c(0, raw(bytes), bytes.size()));
  state.SetBytesProcessed(static_cast<std::int64_t>(state.iterations() * bytes.size()));
}
BENCHMARK(crc_alone)->Unit(benchmark::kMillisecond);

/// In pieces of `range(0)` bytes, as a port brings them.
void decode(benchmark::State& state) {
  const auto bytes = rig_stream();
  const double crc = crc_speed(bytes);
  const auto piece = static_cast<std::size_t>(state.range(0));
  std::vector<Message> out;
  Decoder decoder;
  const auto begin = Clock::now();
  for (auto _ : state) {
    decoder.restart();
    for (std::size_t at = 0; at < bytes.size(); at += piece) {
      out.clear();
      decoder.feed(std::span{bytes}.subspan(at, std::min(piece, bytes.size() - at)), out);
      benchmark::DoNotOptimize(out.data());
    }
  }
  const double elapsed_seconds = std::chrono::duration<double>(Clock::now() - begin).count();
  const double done = static_cast<double>(state.iterations()) * static_cast<double>(bytes.size());
  if (decoder.counts().frames != static_cast<std::uint64_t>(state.iterations()) * 5500) state.SkipWithError("frames lost");
  state.SetBytesProcessed(static_cast<std::int64_t>(done));
  state.counters["of_crc"] = done / elapsed_seconds / crc;
}
BENCHMARK(decode)->Arg(512)->Arg(4096)->Arg(65536)->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
