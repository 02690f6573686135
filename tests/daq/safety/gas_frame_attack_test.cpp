// SPDX-License-Identifier: GPL-3.0-or-later
//
// Every frame that can move gas, replayed, doubled, reordered, delayed beyond its token's life, with bits turned over, cut,
// joined or aimed at another purpose, against the board's own code in every step it can be in. No valve may open.
#include <gtest/gtest.h>

#include <array>
#include <cstdio>
#include <cstring>
#include <memory>
#include <random>
#include <string>
#include <vector>

#include "tests/protocol/board/rig_on_desk.hpp"

namespace coldstroke::wire {
namespace {

using Bytes = std::vector<std::byte>;

/// A board at rest in some step, with frames of a genuine dialogue that it has not heard.
struct Stage {
  std::string name;
  cs_rig board;
  std::uint64_t now_us = 0;
  Bytes ask, use;          ///< token request and gas command with the token that this board granted for it
  Bytes heartbeat, other;  ///< a heartbeat and a harmless command of the same session
};

/// The board, copied so that an attack leaves no trace, and watched: has a valve opened that was shut?
class Target {
 public:
  explicit Target(const Stage& stage) : now_us_{stage.now_us} { board_ = stage.board; }
  void hear(const Bytes& bytes) {
    cs_rig_receive(&board_, now_us_, reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size());
    look();
    std::uint8_t sink[4096];
    while (cs_line_take(&board_.line, sink, sizeof sink) > 0) {
    }
  }
  /// Time passes with samples, housekeeping, obeying valves and heartbeats as from a live host.
  void wait(std::uint64_t us) {
    const std::uint64_t end = now_us_ + us;
    while (now_us_ < end) {
      now_us_ += 10'000;
      board_.heartbeat_us = now_us_;
      const std::int32_t counts[CS_RIG_CHANNELS] = {10, 1000, -20, 0};
      cs_rig_sample(&board_, now_us_, counts);
      const cs_rig_inputs inputs{.readback = board_.outputs, .inputs = kAllInputs, .supply_mv = 24000};
      cs_rig_step(&board_, now_us_, &inputs);
      look();
      std::uint8_t sink[4096];
      while (cs_line_take(&board_.line, sink, sizeof sink) > 0) {
      }
    }
  }
  void allow_opening() { opened_ = 0; }
  [[nodiscard]] bool opened() const { return opened_ != 0; }

 private:
  void look() {
    constexpr unsigned kGas = CS_VALVE_CHARGE | CS_VALVE_FAST_1 | CS_VALVE_FAST_2;
    opened_ |= board_.outputs & ~before_ & kGas;
    before_ = board_.outputs;
  }
  cs_rig board_{};
  std::uint64_t now_us_;
  unsigned before_ = 0, opened_ = 0;

 public:
  void begin() { before_ = board_.outputs; }
};

Stage stage(const char* name, bool holding, CommandCode purpose) {
  RigOnDesk desk;
  if (holding) desk.hold();
  Stage out;
  out.name = name;
  const Command ask{desk.next_id++, CommandCode::request_token, 0, static_cast<std::uint32_t>(purpose)};
  out.ask = desk.frame(ask);
  desk.said();
  desk.receive(out.ask);
  const auto grants = all_of<TokenGrant>(desk.said());
  EXPECT_EQ(grants.size(), 1U);
  const std::uint32_t argument = purpose == CommandCode::release ? 150'000 : 0;
  out.use = desk.frame(Command{desk.next_id++, purpose, grants.at(0).token, argument});
  out.heartbeat = desk.frame(Heartbeat{1000});
  out.other = desk.frame(Command{desk.next_id++, CommandCode::open_lid, 0, 0});
  out.board = *desk.rig;
  out.now_us = desk.now_us;
  return out;
}

Bytes flipped(Bytes bytes, std::mt19937_64& random, int bits) {
  for (int k = 0; k < bits; ++k) {
    const std::size_t at = random() % bytes.size();
    bytes[at] ^= static_cast<std::byte>(1U << (random() % 8));
  }
  return bytes;
}

Bytes joined(const Bytes& a, const Bytes& b) {
  Bytes out = a;
  out.insert(out.end(), b.begin(), b.end());
  return out;
}

/// Shown before all else: on these stages the genuine frame does open the valve, so that a board that never opens cannot pass.
TEST(GasFrameAttack, TheGenuineFrameOpensOnceAndItsDoubleNeverAgain) {
  for (const Stage& s : {stage("vented", false, CommandCode::charge), stage("holding, top up", true, CommandCode::charge),
                         stage("holding", true, CommandCode::release)}) {
    Target target{s};
    target.begin();
    target.hear(s.use);
    EXPECT_TRUE(target.opened()) << s.name;
    target.wait(600'000);  // fast valves shut by themselves
    target.allow_opening();
    for (int k = 0; k < 100; ++k) {
      target.hear(s.use);
      target.hear(joined(s.ask, s.use));
      target.wait(20'000);
      EXPECT_FALSE(target.opened()) << s.name << ", double " << k;
    }
  }
}

struct Attack {
  const char* name;
  void (*run)(Target&, const Stage&, std::mt19937_64&);
};

/// Each leaves the token unusable or the frame wrong; the genuine frame in its own time is never among them.
const Attack kAttacks[] = {
    {"one bit turned over", [](Target& t, const Stage& s, std::mt19937_64& r) { t.hear(flipped(s.use, r, 1)); }},
    {"several bits turned over",
     [](Target& t, const Stage& s, std::mt19937_64& r) {
       Bytes bytes = flipped(s.use, r, 2 + static_cast<int>(r() % 6));
       if (bytes != s.use) t.hear(bytes);
     }},
    {"cut short, then the rest of another frame",
     [](Target& t, const Stage& s, std::mt19937_64& r) {
       const std::size_t keep = r() % (s.use.size() - 1);
       t.hear(joined(Bytes(s.use.begin(), s.use.begin() + static_cast<std::ptrdiff_t>(keep)), s.heartbeat));
     }},
    {"bytes in another order",
     [](Target& t, const Stage& s, std::mt19937_64& r) {
       Bytes bytes = s.use;
       std::swap(bytes[r() % bytes.size()], bytes[r() % bytes.size()]);
       if (bytes != s.use) t.hear(bytes);
     }},
    {"a byte too many or too few",
     [](Target& t, const Stage& s, std::mt19937_64& r) {
       Bytes bytes = s.use;
       // inside the frame: a delimiter before or after it changes nothing
       const auto at = bytes.begin() + 1 + static_cast<std::ptrdiff_t>(r() % (bytes.size() - 2));
       if ((r() & 1U) != 0)
         bytes.erase(at);
       else
         bytes.insert(at, static_cast<std::byte>(1 + r() % 255));
       t.hear(bytes);
     }},
    {"the token burnt by a damaged sister, then the genuine frame",
     [](Target& t, const Stage& s, std::mt19937_64& r) {
       Encoder encoder;
       Bytes wrong;  // an id of its own: one heard before would be a double, and not be done at all
       encoder.append(
           Command{static_cast<std::uint16_t>(40'000 + r() % 1000), (r() & 1U) != 0 ? CommandCode::charge : CommandCode::release,
                   static_cast<std::uint32_t>(r() | 1U), 150'000},
           wrong);
       t.hear(wrong);
       t.hear(s.use);
     }},
    {"asked again, so that the old token is dead",
     [](Target& t, const Stage& s, std::mt19937_64& r) {
       Encoder encoder;
       Bytes ask;
       encoder.append(Command{static_cast<std::uint16_t>(30'000 + r() % 1000), CommandCode::request_token, 0,
                              static_cast<std::uint32_t>((r() & 1U) != 0 ? CommandCode::charge : CommandCode::release)},
                      ask);
       t.hear(ask);
       t.hear(s.use);
     }},
    {"after a vent, which kills every token",
     [](Target& t, const Stage& s, std::mt19937_64& r) {
       Encoder encoder;
       Bytes vent;
       encoder.append(Command{static_cast<std::uint16_t>(r()), CommandCode::vent, 0, 0}, vent);
       t.hear(vent);
       t.hear(s.use);
     }},
    {"a guessed token",
     [](Target& t, const Stage&, std::mt19937_64& r) {
       Encoder encoder;
       Bytes guess;
       const CommandCode code = (r() & 1U) != 0 ? CommandCode::charge : CommandCode::release;
       encoder.append(Command{static_cast<std::uint16_t>(r()), code, static_cast<std::uint32_t>(r()), 150'000}, guess);
       t.hear(guess);
     }},
    {"after a new Hello, which begins another session",
     [](Target& t, const Stage& s, std::mt19937_64& r) {
       Encoder encoder;
       Bytes hello;
       encoder.append(Hello{.session = static_cast<std::uint32_t>(r() | 1U)}, hello);
       t.hear(hello);
       t.hear(s.use);
     }},
};

TEST(GasFrameAttack, NoValveOpensInOverAMillionAttempts) {
  constexpr int kEach = 40'000;
  std::mt19937_64 random{20'261'125};
  const std::array<Stage, 3> stages{stage("vented", false, CommandCode::charge),
                                    stage("holding, top up", true, CommandCode::charge),
                                    stage("holding", true, CommandCode::release)};
  std::uint64_t attempts = 0;
  for (const Attack& attack : kAttacks) {
    std::uint64_t opened = 0;
    for (const Stage& s : stages)
      for (int k = 0; k < kEach; ++k, ++attempts) {
        Target target{s};
        target.begin();
        attack.run(target, s, random);
        opened += target.opened() ? 1 : 0;
      }
    EXPECT_EQ(opened, 0U) << attack.name;
    std::printf("  %8d attempts, %llu opened a valve: %s\n", 3 * kEach, static_cast<unsigned long long>(opened), attack.name);
  }
  std::printf("%llu attempts\n", static_cast<unsigned long long>(attempts));
  EXPECT_GE(attempts, 1'000'000U);
}

/// Delays need time to pass on the board, so there are fewer of them: from the token's life on, and far beyond.
TEST(GasFrameAttack, AFrameDelayedBeyondItsTokensLifeOpensNothing) {
  std::mt19937_64 random{7};
  int attempts = 0;
  for (const Stage& s : {stage("vented", false, CommandCode::charge), stage("holding", true, CommandCode::release)})
    for (int k = 0; k < 300; ++k, ++attempts) {
      Target target{s};
      target.begin();
      target.wait(CS_RIG_TOKEN_LIFE_US + random() % 2'000'000);
      target.hear((k & 1) != 0 ? s.use : joined(s.other, s.use));
      EXPECT_FALSE(target.opened()) << s.name;
    }
  std::printf("%d delayed frames\n", attempts);
}

/// Every single-bit flip of the genuine frames, none left out.
TEST(GasFrameAttack, EverySingleBitFlipIsHarmless) {
  int flips = 0;
  for (const Stage& s : {stage("vented", false, CommandCode::charge), stage("holding, top up", true, CommandCode::charge),
                         stage("holding", true, CommandCode::release)})
    for (std::size_t bit = 0; bit < 8 * s.use.size(); ++bit, ++flips) {
      Bytes bytes = s.use;
      bytes[bit / 8] ^= static_cast<std::byte>(1U << (bit % 8));
      Target target{s};
      target.begin();
      target.hear(bytes);
      EXPECT_FALSE(target.opened()) << s.name << ", bit " << bit;
    }
  EXPECT_GT(flips, 300);
}

}  // namespace
}  // namespace coldstroke::wire
