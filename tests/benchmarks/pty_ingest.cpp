// SPDX-License-Identifier: GPL-3.0-or-later
//
// Sustained taking in over a pseudo-terminal: a writer that waits for nobody but the line, the port's own thread, the decoder.
//   pty_ingest [SECONDS]
// First at the default rig line's pace (3 000 000 baud, 8N1: 300 000 bytes a second), then as fast as the line takes it.
// Prints bytes a second, frames, what was lost, and the share of a core for reading and decoding. Ends with 1 if anything was
// lost.
#include <fcntl.h>
#include <sys/resource.h>
#include <unistd.h>

#include <QCoreApplication>
#include <atomic>
#include <chrono>
#include <condition_variable>
#include <cstdio>
#include <cstdlib>
#include <mutex>
#include <thread>

#include "daq/link/serial_link.hpp"
#include "protocol/wire/decoder.hpp"

namespace {

using namespace coldstroke;
using Clock = std::chrono::steady_clock;

double seconds_since(Clock::time_point begin) { return std::chrono::duration<double>(Clock::now() - begin).count(); }

double thread_seconds(int who) {
  rusage used{};
  getrusage(who, &used);
  const auto seconds = [](const timeval& time) {
    return static_cast<double>(time.tv_sec) + 1.0e-6 * static_cast<double>(time.tv_usec);
  };
  return seconds(used.ru_utime) + seconds(used.ru_stime);
}

/// The default rig stream, a block of 20 samples of 4 channels each 2 ms; sequence numbers run on.
class Writer {
 public:
  Writer(int master, double bytes_per_second, double seconds) : master_{master} {
    thread_ = std::thread{[this, bytes_per_second, seconds] { run(bytes_per_second, seconds); }};
  }
  ~Writer() { thread_.join(); }
  std::atomic<std::uint64_t> frames = 0, bytes = 0;
  std::atomic<double> cpu = 0.0;
  std::atomic<bool> done = false;

 private:
  void run(double bytes_per_second, double seconds) {
    wire::Encoder encoder;
    const auto begin = Clock::now();
    std::vector<std::byte> piece;
    for (std::uint64_t block = 0; seconds_since(begin) < seconds; ++block) {
      wire::SampleBlock samples{.stream = 1, .bits = 24, .channels = 4, .first_index = 20 * block, .node_time_us = 2000 * block};
      for (std::uint64_t k = 0; k < 80; ++k)
        samples.counts.push_back(static_cast<std::int32_t>((block * 7919 + k * 104729) % 8'000'000) - 4'000'000);
      piece.clear();
      encoder.append(samples, piece);
      if (!put(piece)) break;
      frames += 1;
      bytes += piece.size();
      cpu = thread_seconds(RUSAGE_THREAD);
      if (bytes_per_second <= 0.0) continue;
      std::this_thread::sleep_until(begin + std::chrono::duration_cast<Clock::duration>(std::chrono::duration<double>(
                                                static_cast<double>(bytes.load()) / bytes_per_second)));
    }
    done = true;
  }
  // All of it, waiting while the line is full: what is lost then was lost by the reader.
  bool put(std::span<const std::byte> piece) {
    while (!piece.empty()) {
      const ssize_t taken = ::write(master_, piece.data(), piece.size());
      if (taken < 0) return false;
      piece = piece.subspan(static_cast<std::size_t>(taken));
    }
    return true;
  }
  int master_;
  std::thread thread_;
};

int run(const char* what, double bytes_per_second, double seconds) {
  const int master = posix_openpt(O_RDWR | O_NOCTTY);
  if (master < 0 || grantpt(master) != 0 || unlockpt(master) != 0) return 1;
  std::mutex mutex;
  std::condition_variable arrived;
  wire::Decoder decoder;
  std::vector<wire::Message> messages;
  std::uint64_t received = 0;
  std::atomic<bool> open = false, ending = false;
  daq::SerialLink link{{ptsname(master), 3'000'000},
                       daq::Node::rig,
                       {[&](daq::HostTime, std::vector<std::byte> bytes) {
                          const std::scoped_lock lock{mutex};
                          received += bytes.size();
                          messages.clear();
                          decoder.feed(bytes, messages);
                          arrived.notify_one();
                        },
                        [&](daq::HostTime) { open = true; },
                        [&](daq::HostTime, const QString& why) {
                          if (!ending) std::printf("port lost: %s\n", qPrintable(why));
                        }}};
  while (!open) std::this_thread::yield();
  const double cpu = thread_seconds(RUSAGE_SELF);
  const auto begin = Clock::now();
  std::uint64_t sent_frames = 0, sent_bytes = 0;
  double writing = 0.0;
  {
    Writer writer{master, bytes_per_second, seconds};
    std::unique_lock lock{mutex};
    const auto limit = begin + std::chrono::duration_cast<Clock::duration>(std::chrono::duration<double>(seconds + 10.0));
    // Woken by each piece that arrives; the last one comes after the writer is done, or shortly before.
    while (!(writer.done && received == writer.bytes) && Clock::now() < limit)
      arrived.wait_for(lock, std::chrono::milliseconds{50});
    sent_frames = writer.frames;
    sent_bytes = writer.bytes;
    writing = writer.cpu;
  }
  const double wall = seconds_since(begin), used = thread_seconds(RUSAGE_SELF) - cpu - writing;
  const std::scoped_lock lock{mutex};
  std::uint64_t faults = 0;
  for (const auto one : decoder.counts().faults) faults += one;
  const std::uint64_t missing = sent_frames - decoder.counts().frames;
  std::printf(
      "%s: %.3f MB/s for %.1f s, %llu frames sent, %llu decoded, lost frames %llu, faults seen %llu, missing bytes %llu; "
      "reading and decoding %.1f %% of one core\n",
      what, 1.0e-6 * static_cast<double>(received) / wall, wall, static_cast<unsigned long long>(sent_frames),
      static_cast<unsigned long long>(decoder.counts().frames), static_cast<unsigned long long>(missing),
      static_cast<unsigned long long>(faults), static_cast<unsigned long long>(sent_bytes - received), 100.0 * used / wall);
  ending = true;
  ::close(master);
  return missing == 0 && faults == 0 ? 0 : 1;
}

}  // namespace

int main(int argc, char** argv) {
  const QCoreApplication application{argc, argv};
  const double seconds = argc > 1 ? std::atof(argv[1]) : 10.0;
  const int paced = run("3 Mbaud line", 300'000.0, seconds), flat_out = run("flat out", 0.0, seconds);
  return paced + flat_out == 0 ? 0 : 1;
}
