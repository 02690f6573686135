// SPDX-License-Identifier: GPL-3.0-or-later
#include <dlfcn.h>
#include <sys/prctl.h>
#include <unistd.h>

#include <csignal>
#include <cstddef>
#include <cstdio>
#include <cstring>
#include <memory>

#include "daq/detector/foreign_detector.hpp"
#include "daq/virtual_rig/lockstep.hpp"

namespace coldstroke::daq {
namespace {

constexpr std::size_t kStateBytesMax = 16U << 20U;
constexpr std::uint32_t kSamplesMax = 100'000'000;

struct Functions {
  std::size_t (*state_bytes)() = nullptr;
  void (*start)(void*, double, double) = nullptr;
  int (*sample)(void*, std::int32_t) = nullptr;
};

/// dlsym gives an object pointer; a function pointer is its bits on every system that has dlsym (POSIX).
template <class F>
bool find(void* library, const char* name, F& function) {
  void* const symbol = dlsym(library, name);
  std::memcpy(&function, &symbol, sizeof function);
  if (symbol == nullptr) std::fprintf(stderr, "the library has no function %s\n", name);
  return symbol != nullptr;
}

}  // namespace

int serve_foreign(const std::string& library, double sample_rate_hz, double counts_per_g) {
  // Not even a detector in an endless loop outlives a program that was killed.
  prctl(PR_SET_PDEATHSIG, SIGKILL);
  // What the library prints must not stand between the answers.
  const int answers = dup(STDOUT_FILENO);
  if (answers < 0 || dup2(STDERR_FILENO, STDOUT_FILENO) < 0) return 3;
  void* const loaded = dlopen(library.c_str(), RTLD_NOW | RTLD_LOCAL);
  if (loaded == nullptr) {
    std::fprintf(stderr, "%s\n", dlerror());
    return 3;
  }
  Functions functions;
  if (!find(loaded, "detector_state_bytes", functions.state_bytes) || !find(loaded, "detector_start", functions.start) ||
      !find(loaded, "detector_sample", functions.sample))
    return 3;
  const std::byte ready{1};
  if (!write_all(answers, std::span{&ready, 1})) return 3;
  for (;;) {
    std::uint32_t count = 0;
    const auto head = read_exactly(STDIN_FILENO, std::as_writable_bytes(std::span{&count, 1}));
    if (!head || !*head || count > kSamplesMax) return head && !*head ? 0 : 3;
    std::vector<std::int32_t> counts(count);
    if (const auto body = read_exactly(STDIN_FILENO, std::as_writable_bytes(std::span{counts})); !body || !*body) return 3;
    const std::size_t bytes = functions.state_bytes();
    if (bytes == 0 || bytes > kStateBytesMax) {
      std::fprintf(stderr, "detector_state_bytes gives %zu; 1 to %zu are allowed\n", bytes, kStateBytesMax);
      return 3;
    }
    std::vector<std::max_align_t> state(bytes / sizeof(std::max_align_t) + 1);
    functions.start(state.data(), sample_rate_hz, counts_per_g);
    std::vector<std::byte> out;
    out.reserve(count + 4);
    for (std::size_t i = 0; i < 4; ++i) out.push_back(static_cast<std::byte>(count >> (8 * i)));
    for (const std::int32_t value : counts) {
      const int answer = functions.sample(state.data(), value);
      out.push_back(static_cast<std::byte>(answer >= 0 && answer <= 3 ? answer : 255));
    }
    if (!write_all(answers, out)) return 3;
  }
}

}  // namespace coldstroke::daq
