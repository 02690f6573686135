// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/stream/history.hpp"

#include <gtest/gtest.h>

#include <atomic>
#include <cmath>
#include <numeric>
#include <thread>

namespace coldstroke::daq {
namespace {

std::vector<double> ramp(double from, std::size_t count) {
  std::vector<double> out(count);
  std::iota(out.begin(), out.end(), from);
  return out;
}

TEST(History, GivesBackWhatWasPutIn) {
  History history{100, 1.0e-3};
  history.append(1000, 5.0, ramp(1000.0, 10));
  history.append(1010, 5.01, ramp(1010.0, 10));
  History::Copy copy;
  std::uint64_t generation = 0;
  history.copy_since(0, generation, copy);
  EXPECT_TRUE(copy.restarted);  // a reader that has seen nothing yet
  EXPECT_EQ(copy.first_index, 1000U);
  EXPECT_EQ(copy.samples, ramp(1000.0, 20));
  EXPECT_DOUBLE_EQ(copy.newest_seconds, 5.019);
  history.copy_since(1015, generation, copy);
  EXPECT_FALSE(copy.restarted);
  EXPECT_EQ(copy.first_index, 1015U);
  EXPECT_EQ(copy.samples, ramp(1015.0, 5));
  EXPECT_EQ(copy.skipped, 0U);
}

TEST(History, BreaksTheLineWhereSamplesWereLost) {
  History history{100, 1.0e-3};
  history.append(0, 0.0, ramp(0.0, 2));
  history.append(5, 0.005, ramp(5.0, 1));
  History::Copy copy;
  std::uint64_t generation = 0;
  history.copy_since(0, generation, copy);
  ASSERT_EQ(copy.samples.size(), 6U);
  for (const std::size_t k : {2U, 3U, 4U}) EXPECT_TRUE(std::isnan(copy.samples[k])) << k;
  EXPECT_EQ(copy.samples[5], 5.0);
}

TEST(History, KeepsTheNewestAndSaysWhatItNoLongerHas) {
  History history{10, 1.0e-3};
  for (std::uint64_t at = 0; at < 40; at += 4) history.append(at, 0.0, ramp(static_cast<double>(at), 4));
  History::Copy copy;
  std::uint64_t generation = 0;
  history.copy_since(0, generation, copy);
  history.copy_since(25, generation, copy);
  EXPECT_EQ(copy.first_index, 30U);
  EXPECT_EQ(copy.skipped, 5U);
  EXPECT_EQ(copy.samples, ramp(30.0, 10));
  EXPECT_EQ(history.overwritten(), 30U);
}

TEST(History, RepeatedBlocksChangeNothing) {
  History history{10, 1.0e-3};
  history.append(4, 0.0, ramp(4.0, 4));
  history.append(4, 0.0, ramp(90.0, 4));
  History::Copy copy;
  std::uint64_t generation = 0;
  history.copy_since(0, generation, copy);
  EXPECT_EQ(copy.samples, ramp(4.0, 4));
}

TEST(History, ABoardThatCountsAnewTellsTheReader) {
  History history{10, 1.0e-3};
  history.append(1000, 0.0, ramp(0.0, 4));
  History::Copy copy;
  std::uint64_t generation = 0;
  history.copy_since(0, generation, copy);
  history.clear();
  history.append(0, 0.0, ramp(7.0, 2));
  history.copy_since(1004, generation, copy);
  EXPECT_TRUE(copy.restarted);
  EXPECT_EQ(copy.first_index, 0U);
  EXPECT_EQ(copy.samples, ramp(7.0, 2));
}

// One writer, three readers that copy all the time: each copy is an unbroken stretch of the written ramp (run under the thread
// sanitizer too).
TEST(History, ReadersSeeUnbrokenStretchesWhileTheWriterGoesOn) {
  History history{5000, 1.0e-4};
  std::atomic<bool> writing{true};
  std::atomic<int> copies{0};
  std::vector<std::thread> readers;
  for (int reader = 0; reader < 3; ++reader) {
    readers.emplace_back([&] {
      History::Copy copy;
      std::uint64_t generation = 0, next = 0;
      do {
        history.copy_since(next, generation, copy);
        for (std::size_t k = 0; k < copy.samples.size(); ++k)
          ASSERT_EQ(copy.samples[k], static_cast<double>(copy.first_index + k));
        next = copy.first_index + copy.samples.size();
        ++copies;
      } while (writing);
    });
  }
  // until the readers have read beside it, however late the machine lets them begin
  std::uint64_t written = 0;
  for (; written < 400'000 || (copies < 30 && written < 400'000'000); written += 20)
    history.append(written, 0.0, ramp(static_cast<double>(written), 20));
  writing = false;
  for (std::thread& reader : readers) reader.join();
  EXPECT_GE(copies, 30);
  History::Copy copy;
  std::uint64_t generation = 0;
  history.append(written, 0.0, ramp(static_cast<double>(written), 20));  // nobody reads now: what waited is in
  history.copy_since(0, generation, copy);
  EXPECT_EQ(copy.samples.back(), static_cast<double>(written + 19));
}

}  // namespace
}  // namespace coldstroke::daq
