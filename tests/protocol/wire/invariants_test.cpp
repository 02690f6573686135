// SPDX-License-Identifier: GPL-3.0-or-later
//
// The invariants of docs/wire.md, section 8, by number. All random streams have fixed seeds.
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <random>
#include <set>

#include "tests/protocol/board/flight_on_desk.hpp"
#include "tests/protocol/board/rig_on_desk.hpp"
#include "tests/protocol/wire/example_messages.hpp"
#include "tests/protocol/wire/golden_frames.hpp"

namespace coldstroke::wire {
namespace {

using Bytes = std::vector<std::byte>;
using Random = std::mt19937;

constexpr unsigned kGas = CS_VALVE_CHARGE | CS_VALVE_FAST_1 | CS_VALVE_FAST_2;

Bytes framed(std::uint8_t type, std::uint16_t sequence, const Bytes& payload) {
  std::uint8_t out[CS_ENCODED_MAX];
  const std::size_t count =
      cs_frame_encode(type, sequence, reinterpret_cast<const std::uint8_t*>(payload.data()), payload.size(), out);
  const auto view = std::as_bytes(std::span{out, count});
  return {view.begin(), view.end()};
}

Bytes random_bytes(Random& random, std::size_t count) {
  Bytes bytes(count);
  for (auto& byte : bytes) byte = static_cast<std::byte>(random() % 256);
  return bytes;
}

/// All golden frames in a row, then a few wounds: bits flipped, bytes left out, put in, or doubled.
Bytes wounded_stream(Random& random, std::size_t wounds) {
  Bytes stream;
  for (const auto& frame : golden_frames()) stream.insert(stream.end(), frame.bytes.begin(), frame.bytes.end());
  for (std::size_t i = 0; i < wounds && stream.size() > 10; ++i) {
    const auto at = stream.begin() + static_cast<std::ptrdiff_t>(random() % (stream.size() - 8));
    switch (random() % 4) {
      case 0:
        *at ^= static_cast<std::byte>(1U << (random() % 8));
        break;
      case 1:
        stream.erase(at, at + static_cast<std::ptrdiff_t>(random() % 8));
        break;
      case 2:
        stream.insert(at, static_cast<std::byte>(random() % 256));
        break;
      default: {
        const Bytes copy(at, at + static_cast<std::ptrdiff_t>(random() % 8));
        stream.insert(at, copy.begin(), copy.end());
      }
    }
  }
  return stream;
}

std::vector<Message> decoded(const Bytes& bytes) {
  Decoder decoder;
  std::vector<Message> out;
  decoder.feed(bytes, out);
  return out;
}

void feed(cs_rig& rig, std::uint64_t now_us, const Bytes& bytes) {
  cs_rig_receive(&rig, now_us, reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size());
}

TEST(Invariant, I01_AnyBytesAreAcceptableToDecoderAndBoards) {
  Random random{1};
  Decoder decoder;
  FlightOnDesk flight;
  RigOnDesk rig;
  for (int round = 0; round < 400; ++round) {
    const Bytes bytes = round % 2 == 0 ? random_bytes(random, random() % 3000) : wounded_stream(random, random() % 40);
    std::vector<Message> out;
    decoder.feed(bytes, out);
    rig.receive(bytes);
    cs_flight_receive(flight.flight.get(), flight.now_us, reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size());
    flight.said();
  }
  // right checksums, wrong payloads: every type at every short length
  std::uint16_t sequence = 0;
  for (unsigned type = 0; type < 256; ++type) {
    for (std::size_t length = 0; length < 48; ++length) {
      const Bytes frame = framed(static_cast<std::uint8_t>(type), sequence++, random_bytes(random, length));
      std::vector<Message> out;
      decoder.feed(frame, out);
      rig.receive(frame);
      cs_flight_receive(flight.flight.get(), flight.now_us, reinterpret_cast<const std::uint8_t*>(frame.data()), frame.size());
      flight.said();
    }
  }
  EXPECT_GT(decoder.counts().fault(FrameFault::bad_checksum), 100U);
  EXPECT_GT(decoder.counts().fault(FrameFault::bad_payload), 100U);
  rig.send(Hello{.session = 99});
  EXPECT_EQ(rig.command(CommandCode::vent), Reason::done) << "alive";
}

TEST(Invariant, I02_AfterGarbageTheNextWholeFrameIsDelivered) {
  Random random{2};
  for (int round = 0; round < 3000; ++round) {
    Bytes stream = random_bytes(random, random() % 2000);
    stream.push_back(std::byte{0});
    const Bytes frame = framed(0x22, 1, payload(Heartbeat{77}));
    stream.insert(stream.end(), frame.begin(), frame.end());
    const auto out = decoded(stream);
    ASSERT_FALSE(out.empty());
    ASSERT_TRUE(out.back() == Message{Heartbeat{77}});
  }
}

TEST(Invariant, I03_AnyCuttingGivesTheSameMessagesAndCounts) {
  Random random{3};
  for (int round = 0; round < 200; ++round) {
    const Bytes stream = wounded_stream(random, random() % 10);
    Decoder whole;
    std::vector<Message> expected;
    whole.feed(stream, expected);
    Decoder pieces;
    std::vector<Message> out;
    for (std::size_t at = 0; at < stream.size();) {
      const std::size_t count = std::min<std::size_t>(random() % 70, stream.size() - at);
      pieces.feed(std::span{stream}.subspan(at, count), out);
      at += count;
    }
    ASSERT_TRUE(out == expected) << "round " << round;
    ASSERT_TRUE(pieces.counts() == whole.counts()) << "round " << round;
  }
}

TEST(Invariant, I04_DecodingEncodingDecodingChangesNothing) {
  Random random{4};
  std::size_t messages = 0;
  for (int round = 0; round < 60000; ++round) {  // right checksums around golden payloads with a few bytes changed
    const auto examples = example_messages();
    const Message& message = examples[random() % examples.size()].message;
    Bytes bytes = payload(message);
    for (auto i = random() % 4; i > 0; --i) bytes[random() % bytes.size()] = static_cast<std::byte>(random() % 256);
    const auto first = decoded(framed(static_cast<std::uint8_t>(type_of(message)), 1, bytes));
    if (first.empty()) continue;
    Encoder encoder;
    Bytes again;
    encoder.append(first[0], again);
    const auto second = decoded(again);
    ASSERT_EQ(second.size(), 1U);
    ASSERT_TRUE(second[0] == first[0]) << "round " << round;
    ++messages;
  }
  EXPECT_GT(messages, 10000U);
}

TEST(Invariant, I05_NoSingleBitErrorIsDelivered) {
  std::size_t flips = 0;
  for (const auto& frame : golden_frames()) {
    ASSERT_EQ(decoded(frame.bytes).size(), 1U);
    for (std::size_t bit = 0; bit < 8 * frame.bytes.size(); ++bit, ++flips) {
      Bytes wounded = frame.bytes;
      wounded[bit / 8] ^= static_cast<std::byte>(1U << (bit % 8));
      wounded.push_back(std::byte{0});  // the flip may have hit the delimiter
      ASSERT_TRUE(decoded(wounded).empty()) << frame.name << " bit " << bit;
    }
  }
  EXPECT_GT(flips, 5000U);
}

TEST(Invariant, I06_NoFrameCutShortIsDelivered) {
  for (const auto& frame : golden_frames()) {
    for (std::size_t from = 0; from + 1 < frame.bytes.size(); ++from) {
      for (std::size_t count = 1; from + count < frame.bytes.size(); ++count) {  // any run of bytes left out, delimiter kept
        Bytes wounded = frame.bytes;
        const auto at = wounded.begin() + static_cast<std::ptrdiff_t>(from);
        wounded.erase(at, at + static_cast<std::ptrdiff_t>(count));
        ASSERT_TRUE(decoded(wounded).empty()) << frame.name << " without bytes " << from << " to " << from + count;
      }
    }
  }
}

TEST(Invariant, I07_NothingIsDeliveredTwiceAndWhatIsMissingIsCounted) {
  Random random{7};
  for (int round = 0; round < 300; ++round) {
    // a line that drops, doubles, and delays frames by up to 20 places
    std::vector<std::pair<std::uint32_t, std::uint32_t>> arrivals;  // place, heartbeat count
    std::set<std::uint32_t> arrived;
    const std::uint32_t sent = 500;
    for (std::uint32_t k = 0; k < sent; ++k) {
      const bool dropped = k != 0 && k != sent - 1 && random() % 10 == 0;
      const unsigned copies = dropped ? 0 : random() % 10 == 0 ? 2 : 1;
      for (unsigned i = 0; i < copies; ++i) {
        const bool delayed = k != 0 && k != sent - 1 && random() % 10 == 0;
        arrivals.emplace_back(10 * k + (delayed ? random() % 200 : 0), k);
        arrived.insert(k);
      }
    }
    std::stable_sort(arrivals.begin(), arrivals.end(), [](auto a, auto b) { return a.first < b.first; });
    Decoder decoder;
    std::vector<Message> out;
    for (const auto& [place, k] : arrivals)
      decoder.feed(framed(0x22, static_cast<std::uint16_t>(65300 + k), payload(Heartbeat{k})), out);
    std::set<std::uint32_t> delivered;
    for (const auto& heartbeat : all_of<Heartbeat>(out)) delivered.insert(heartbeat.count);
    ASSERT_EQ(delivered.size(), out.size()) << "twice, round " << round;
    ASSERT_EQ(delivered, arrived) << "round " << round;
    ASSERT_EQ(decoder.counts().fault(FrameFault::lost), sent - arrived.size()) << "round " << round;
    ASSERT_EQ(decoder.counts().fault(FrameFault::repeated), arrivals.size() - arrived.size()) << "round " << round;
  }
}

TEST(Invariant, I08_TheSameBytesAtTheSameTimesGiveTheSameBytes) {
  const auto life = [] {
    RigOnDesk desk;
    desk.hold();
    desk.release(80000);
    desk.run(500000);
    desk.command(CommandCode::vent);
    Random random{8};
    desk.receive(wounded_stream(random, 20));
    desk.run(100000);
    return desk.said();
  };
  const auto first = life();
  EXPECT_GT(first.size(), 50U);
  EXPECT_TRUE(first == life());
}

/// The steps a rig without a live token can be in, all with every interlock holding.
std::vector<std::unique_ptr<RigOnDesk>> rigs_without_token() {
  std::vector<std::unique_ptr<RigOnDesk>> rigs;
  for (int step = 0; step < 4; ++step) {
    auto desk = std::make_unique<RigOnDesk>();
    if (step == 1) desk->charge();
    if (step >= 2) desk->hold();
    if (step == 3) {
      desk->release(1000);
      desk->run(5000);
    }
    desk->run(5000);
    EXPECT_EQ(desk->rig->step, step);
    EXPECT_EQ(desk->rig->token, 0U);
    rigs.push_back(std::move(desk));
  }
  return rigs;
}

TEST(Invariant, I09_WithoutALiveTokenNoFrameOpensAValve) {
  Random random{9};
  for (const auto& desk : rigs_without_token()) {
    const unsigned open = desk->rig->outputs & kGas;
    for (unsigned attempt = 0; attempt < 30000; ++attempt) {
      cs_rig rig = *desk->rig;
      const bool any_code = attempt % 2 == 0;
      const Command command{static_cast<std::uint16_t>(random()),
                            any_code           ? static_cast<CommandCode>(random() % 256)
                            : attempt % 4 == 1 ? CommandCode::charge
                                               : CommandCode::release,
                            static_cast<std::uint32_t>(random()), static_cast<std::uint32_t>(random() % 600000)};
      feed(rig, desk->now_us, framed(0x30, static_cast<std::uint16_t>(random()), payload(command)));
      ASSERT_EQ(rig.outputs & kGas & ~open, 0U) << "step " << int{rig.step} << " attempt " << attempt;
    }
  }
}

/// A host's whole session up to and with the release, frame by frame, and the rig as it was before each.
struct Session {
  struct Sent {
    Bytes frame;
    std::uint64_t at_us;
  };
  std::vector<Sent> sent;
  std::size_t charge = 0, release = 0;  // where in `sent`
  std::unique_ptr<cs_rig> before_charge, before_release, before_all, after_all;
  std::uint64_t after_us = 0;
};

Session recorded_session() {
  Session session;
  RigOnDesk desk;
  const auto send = [&](const Message& message) {
    session.sent.push_back({desk.frame(message), desk.now_us});
    desk.receive(session.sent.back().frame);
  };
  const auto token = [&] { return all_of<TokenGrant>(desk.said()).at(0).token; };
  session.before_all = std::make_unique<cs_rig>(*desk.rig);
  send(Command{1, CommandCode::request_token, 0, 2});
  session.before_charge = std::make_unique<cs_rig>(*desk.rig);
  session.charge = session.sent.size();
  send(Command{2, CommandCode::charge, token(), 0});
  EXPECT_EQ(desk.rig->step, CS_RIG_CHARGING) << "the session does charge";
  desk.run(20000);
  send(Command{3, CommandCode::stop_charge, 0, 0});
  desk.said();
  desk.run(20000);
  send(Command{4, CommandCode::request_token, 0, 5});
  session.before_release = std::make_unique<cs_rig>(*desk.rig);
  session.release = session.sent.size();
  send(Command{5, CommandCode::release, token(), 80000});
  EXPECT_EQ(desk.rig->outputs, CS_VALVE_FAST_1 | CS_VALVE_FAST_2) << "the session does release";
  desk.run(120000);
  send(Command{6, CommandCode::vent, 0, 0});
  desk.run(20000);
  session.after_all = std::make_unique<cs_rig>(*desk.rig);
  session.after_us = desk.now_us;
  return session;
}

TEST(Invariant, I10_ARepeatedReplayedOrEarlyFrameOpensNoValve) {
  Random random{10};
  const Session session = recorded_session();
  // charged and holding again after that session, with a fresh heartbeat: what a replayed release would need
  const auto charged_again = [&](bool new_session) {
    auto rig = std::make_unique<cs_rig>(*session.after_all);
    rig->step = CS_RIG_HOLDING;
    rig->outputs = 0;
    rig->inputs.readback = 0;
    if (new_session) feed(*rig, session.after_us, framed(0x01, 0, payload(Hello{.session = 2})));
    return rig;
  };
  const std::unique_ptr<cs_rig> states[] = {charged_again(false), charged_again(true),
                                            std::make_unique<cs_rig>(*session.after_all)};
  for (unsigned attempt = 0; attempt < 60000; ++attempt) {  // frames of the past, any order, any number of times
    cs_rig rig = *states[attempt % 3];
    rig.heartbeat_us = session.after_us;
    std::string order;
    for (auto i = 1 + random() % 6; i > 0; --i) {
      const std::size_t which = random() % session.sent.size();
      order += std::to_string(which) + " ";
      feed(rig, session.after_us, session.sent[which].frame);
      ASSERT_EQ(rig.outputs & kGas, 0U) << "state " << attempt % 3 << " frames " << order;
    }
  }
  // charge before its token was asked for, then the request, in a session not yet begun
  cs_rig early = *session.before_all;
  feed(early, session.sent[0].at_us, session.sent[session.charge].frame);
  EXPECT_EQ(early.outputs & kGas, 0U);
  feed(early, session.sent[0].at_us, session.sent[0].frame);
  EXPECT_EQ(early.outputs & kGas, 0U);
  // doubled on the line: the second does nothing, the valves keep their first open time
  cs_rig twice = *session.before_release;
  const auto& release = session.sent[session.release];
  feed(twice, release.at_us, release.frame);
  const std::uint64_t released_us = twice.released_us;
  feed(twice, release.at_us + 50000, release.frame);
  EXPECT_EQ(twice.released_us, released_us);
}

TEST(Invariant, I11_AFrameLaterThanItsTokensLifeOpensNoValve) {
  Random random{11};
  const Session session = recorded_session();
  const auto opens = [&](const cs_rig& before, const Session::Sent& sent, std::uint64_t delay_us) {
    cs_rig rig = before;
    rig.heartbeat_us = rig.sampled_us = sent.at_us + delay_us;  // the host and the converter were there all along
    feed(rig, sent.at_us + delay_us, sent.frame);
    return (rig.outputs & kGas) != 0;
  };
  const auto& charge = session.sent[session.charge];
  const auto& release = session.sent[session.release];
  EXPECT_TRUE(opens(*session.before_charge, charge, CS_RIG_TOKEN_LIFE_US - 1)) << "the control: in time it does open";
  EXPECT_TRUE(opens(*session.before_release, release, CS_RIG_TOKEN_LIFE_US - 1));
  for (int attempt = 0; attempt < 10000; ++attempt) {
    const std::uint64_t delay =
        CS_RIG_TOKEN_LIFE_US + (attempt < 10 ? static_cast<std::uint64_t>(attempt) : random() % 100000000U);
    ASSERT_FALSE(opens(*session.before_charge, charge, delay)) << delay;
    ASSERT_FALSE(opens(*session.before_release, release, delay)) << delay;
  }
}

TEST(Invariant, I12_ADamagedFrameOpensNoValve) {
  Random random{12};
  const Session session = recorded_session();
  for (const std::size_t which : {session.charge, session.release}) {
    const cs_rig& before = which == session.charge ? *session.before_charge : *session.before_release;
    const auto& sent = session.sent[which];
    for (unsigned attempt = 0; attempt < 50000; ++attempt) {
      Bytes wounded = sent.frame;
      if (attempt < 8 * sent.frame.size()) {
        wounded[attempt / 8] ^= static_cast<std::byte>(1U << (attempt % 8));  // every single bit
      } else {
        for (auto i = 1 + random() % 8; i > 0; --i)
          wounded[random() % wounded.size()] ^= static_cast<std::byte>(1U + random() % 255);
      }
      if (wounded == sent.frame) continue;
      wounded.push_back(std::byte{0});
      cs_rig rig = before;
      feed(rig, sent.at_us, wounded);
      ASSERT_EQ(rig.outputs & kGas, 0U) << "attempt " << attempt;
    }
    // damaged, and yet with a right checksum: any field of the command but the id wrong
    for (unsigned attempt = 0; attempt < 20000; ++attempt) {
      const Command good = all_of<Command>(decoded(sent.frame)).at(0);
      Command bad = good;
      switch (attempt % 3) {
        case 0:
          bad.token ^= 1U << (random() % 32);
          break;
        case 1:
          bad.code = good.code == CommandCode::charge ? CommandCode::release : CommandCode::charge;
          break;
        default:
          bad.token = static_cast<std::uint32_t>(random());
          break;
      }
      if (bad == good) continue;
      cs_rig rig = before;
      feed(rig, sent.at_us, framed(0x30, 9, payload(bad)));
      ASSERT_EQ(rig.outputs & kGas, 0U) << "attempt " << attempt;
      feed(rig, sent.at_us, sent.frame);
      ASSERT_EQ(rig.outputs & kGas, 0U) << "nor the right one after it: the token is burnt, attempt " << attempt;
    }
  }
}

TEST(Invariant, I13_VentAlwaysVents) {
  for (const auto& desk : rigs_without_token()) {
    for (unsigned variant = 0; variant < 64; ++variant) {
      cs_rig rig = *desk->rig;
      rig.faults = static_cast<std::uint16_t>(variant % 32);
      if (variant >= 32) feed(rig, desk->now_us, framed(0x01, 0, payload(Hello{.protocol_major = 7})));
      feed(rig, desk->now_us, framed(0x30, 0, payload(Command{100, CommandCode::vent, variant, variant})));
      ASSERT_EQ(rig.outputs & ~static_cast<unsigned>(CS_LID_OPEN), static_cast<unsigned>(CS_VALVE_VENT));
      ASSERT_EQ(rig.step, CS_RIG_VENTED);
    }
  }
}

/// A host gone mad for fifteen seconds: every kind of command with and without right tokens, at any pace; inputs that flicker.
template <class Watch>
void torment(unsigned seed, Watch watch) {
  Random random{seed};
  RigOnDesk desk;
  for (int act = 0; act < 150; ++act) {
    desk.heartbeats = desk.heartbeats ? random() % 12 != 0 : random() % 3 == 0;
    desk.samples = random() % 20 != 0;
    desk.inputs.inputs = random() % 10 == 0 ? static_cast<std::uint16_t>(random() % 4) : kAllInputs;
    desk.counts[1] = random() % 20 == 0 ? 2000000 : 1000;
    desk.command(CommandCode::clear_faults);
    switch (random() % 8) {
      case 0:
        desk.charge();
        break;
      case 1:
        desk.command(CommandCode::stop_charge);
        break;
      case 2:
        desk.release(static_cast<std::uint32_t>(random() % 600000));
        break;
      case 3:
        desk.command(CommandCode::vent);
        break;
      case 5:
        desk.hold();
        break;
      case 6:
        desk.command(static_cast<CommandCode>(random() % 30), static_cast<std::uint32_t>(random() % 9));
        break;
      default:
        break;
    }
    watch(desk);
    for (auto i = random() % 200; i > 0; --i) {
      desk.run(1000);
      watch(desk);
    }
  }
}

TEST(Invariant, I14_FastValvesAreNeverOpenLongerThanTheirLimit) {
  std::size_t openings = 0;
  for (unsigned seed = 0; seed < 8; ++seed) {
    std::uint64_t opened = 0;
    bool was_open = false;
    torment(seed, [&](const RigOnDesk& desk) {
      const bool open = (desk.rig->outputs & kFastValves) != 0;
      if (open && !was_open) {
        opened = desk.now_us;
        ++openings;
      }
      if (open) {
        ASSERT_LE(desk.now_us - opened, CS_RIG_OPEN_MAX_US + 1000);
      }
      was_open = open;
    });
  }
  EXPECT_GT(openings, 10U);
}

TEST(Invariant, I15_WithoutHeartbeatsTheRigIsVented) {
  std::size_t silences = 0;
  for (unsigned seed = 100; seed < 108; ++seed) {
    torment(seed, [&](const RigOnDesk& desk) {
      const std::uint64_t silence = desk.now_us - desk.rig->heartbeat_us;
      if (silence <= CS_RIG_WATCHDOG_US + 1000) return;
      ++silences;
      ASSERT_TRUE(desk.vented());
    });
  }
  EXPECT_GT(silences, 100U);
}

TEST(Invariant, I16_TheVentShutsOnlyWithAnAcceptedCharge) {
  std::size_t shut = 0;
  for (unsigned seed = 200; seed < 208; ++seed) {
    std::vector<Message> heard;
    torment(seed, [&](RigOnDesk& desk) {
      for (auto& message : desk.last_said) heard.push_back(std::move(message));
      for (auto& message : desk.said()) heard.push_back(std::move(message));
      desk.last_said.clear();
    });
    std::optional<std::uint64_t> shut_at;
    for (const Message& message : heard) {
      if (const auto* event = std::get_if<Event>(&message); event != nullptr && event->code == EventCode::vent_shut) {
        ++shut;
        ASSERT_FALSE(shut_at.has_value());
        shut_at = event->node_time_us;
      }
      const auto* answer = std::get_if<Acknowledgement>(&message);
      if (answer == nullptr || answer->code != CommandCode::charge || answer->reason != Reason::done) continue;
      if (shut_at.has_value()) {
        ASSERT_EQ(*shut_at, answer->node_time_us);
      }
      shut_at.reset();
    }
    ASSERT_FALSE(shut_at.has_value()) << "a vent that shut without an accepted charge";
  }
  EXPECT_GT(shut, 50U);
}

TEST(Invariant, I17_NoCommandArmsFiresOrTestsAChannel) {
  RigOnDesk rig;
  FlightOnDesk flight;
  for (unsigned code = 0; code < 256; ++code) {
    const auto command = static_cast<CommandCode>(code);
    EXPECT_EQ(rig.command(command, 1, 1) != Reason::unknown_command, code >= 1 && code <= 8) << code;
    EXPECT_EQ(flight.command(command, 1) != Reason::unknown_command, code >= 20 && code <= 24) << code;
  }
}

TEST(Invariant, EveryNumberOnThePageHasATest) {
  std::ifstream page{COLDSTROKE_SOURCE_DIR "/docs/wire.md"};
  std::set<std::string> on_page;
  for (std::string line; std::getline(page, line);) {
    if (!line.starts_with("- **I")) continue;
    const std::string number = line.substr(5, line.find("**", 5) - 5);
    on_page.insert(number.size() == 1 ? "0" + number : number);
  }
  std::set<std::string> tested;
  const auto* suite = testing::UnitTest::GetInstance()->current_test_info();
  const auto& all = *testing::UnitTest::GetInstance();
  for (int i = 0; i < all.total_test_suite_count(); ++i) {
    if (std::string{all.GetTestSuite(i)->name()} != suite->test_suite_name()) continue;
    for (int k = 0; k < all.GetTestSuite(i)->total_test_count(); ++k) {
      const std::string name = all.GetTestSuite(i)->GetTestInfo(k)->name();
      if (name.starts_with("I") && name.find('_') == 3) tested.insert(name.substr(1, 2));
    }
  }
  EXPECT_FALSE(on_page.empty());
  EXPECT_EQ(on_page, tested);
}

}  // namespace
}  // namespace coldstroke::wire
