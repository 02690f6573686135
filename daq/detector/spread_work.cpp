// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/detector/spread_work.hpp"

#include <algorithm>
#include <atomic>
#include <mutex>
#include <thread>
#include <vector>

namespace coldstroke::daq {

bool spread_work(std::size_t count, unsigned threads, const std::function<bool(std::size_t, const std::function<bool()>&)>& piece,
                 const std::function<void(std::size_t)>& progress, const std::function<bool()>& cancelled) {
  std::atomic<std::size_t> next{0};
  std::atomic<bool> stopped{false};
  std::mutex telling;
  std::size_t done = 0;
  const std::function<bool()> asked = [&] { return stopped || (cancelled && cancelled()); };
  const auto work = [&] {
    for (std::size_t index = next++; index < count && !stopped; index = next++) {
      if (!piece(index, asked)) {
        stopped = true;
        return;
      }
      const std::lock_guard lock{telling};
      ++done;
      if (progress) progress(done);
    }
  };
  {
    std::vector<std::jthread> others;
    const unsigned wanted = threads != 0 ? threads : std::max(1U, std::thread::hardware_concurrency());
    for (unsigned i = 1; i < std::min<std::size_t>(wanted, count); ++i) others.emplace_back(work);
    work();
  }
  return !stopped;
}

}  // namespace coldstroke::daq
