// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/stream/node_session.hpp"

#include <gtest/gtest.h>

namespace coldstroke::daq {
namespace {

class Board {
 public:
  Board& say(const wire::Message& message) {
    encoder_.append(message, bytes_);
    return *this;
  }
  std::vector<std::byte> take() { return std::exchange(bytes_, {}); }

 private:
  wire::Encoder encoder_;
  std::vector<std::byte> bytes_;
};

wire::Identity identity(wire::NodeKind kind, std::uint32_t session, std::uint8_t major = wire::kProtocolMajor) {
  wire::Identity out;
  out.kind = kind;
  out.protocol_major = major;
  out.session = session;
  out.stream_count = 1;
  out.firmware_name = "invented";
  out.firmware_version = "2.5";
  return out;
}

wire::StreamDescription stream() { return {1, 16, 500'000, {{wire::Quantity::acceleration, 0.01F, "accel_z"}}}; }

TEST(NodeSession, IsCompatibleOnceTheBoardHasDescribedItself) {
  NodeSession session{Node::flight};
  session.opened(77);
  Board board;
  session.receive(at_us<HostTime>(1000), board.say(identity(wire::NodeKind::flight_board, 77)).take());
  EXPECT_FALSE(session.compatible());  // its stream is still to come
  session.receive(at_us<HostTime>(2000), board.say(stream()).take());
  EXPECT_TRUE(session.compatible());
  EXPECT_EQ(session.trouble(), "");
  EXPECT_NE(session.identity_sentence().find("invented 2.5"), std::string::npos);
}

TEST(NodeSession, AnAnswerToAnEarlierOpeningIsStale) {
  NodeSession session{Node::flight};
  session.opened(78);
  Board board;
  session.receive(at_us<HostTime>(1000), board.say(identity(wire::NodeKind::flight_board, 77)).say(stream()).take());
  EXPECT_FALSE(session.identity());
}

TEST(NodeSession, SwappedBoardsAreNamed) {
  NodeSession session{Node::flight};
  session.opened(5);
  Board board;
  session.receive(at_us<HostTime>(1000), board.say(identity(wire::NodeKind::rig_board, 5)).say(stream()).take());
  EXPECT_FALSE(session.compatible());
  EXPECT_NE(session.trouble().find("swap"), std::string::npos);
}

TEST(NodeSession, ANewerMajorVersionIsRefusedWithTheRemedy) {
  NodeSession session{Node::rig};
  session.opened(5);
  Board board;
  session.receive(at_us<HostTime>(1000),
                  board.say(identity(wire::NodeKind::rig_board, 5, wire::kProtocolMajor + 1)).say(stream()).take());
  EXPECT_FALSE(session.compatible());
  EXPECT_NE(session.trouble().find("update this program"), std::string::npos);
}

TEST(NodeSession, KeepsStateAgesAndExchanges) {
  NodeSession session{Node::flight};
  session.opened(5);
  Board board;
  wire::FlightState state;
  state.battery_mv = 7400;
  session.receive(at_us<HostTime>(9000), board.say(state).say(wire::ClockReply{1, 100, 200, 210}).take());
  EXPECT_EQ(session.flight_state()->battery_mv, 7400);
  EXPECT_EQ(us_of(*session.state_time()), 9000);
  EXPECT_EQ(session.exchanges(), (std::vector<ClockExchange>{{100, 200, 210, 9000}}));
  session.closed();
  EXPECT_FALSE(session.state_time());
  EXPECT_TRUE(session.flight_state());  // what was last known stays, without an age
}

TEST(NodeSession, TextFromABoardIsShownEscaped) {
  NodeSession session{Node::rig};
  session.opened(5);
  Board board;
  auto who = identity(wire::NodeKind::rig_board, 5);
  who.firmware_name = "a\x1b[31m\"<b>";
  session.receive(at_us<HostTime>(1), board.say(who).take());
  EXPECT_EQ(session.identity_sentence().find('\x1b'), std::string::npos);
  EXPECT_NE(session.identity_json().find("\\\\x1b"), std::string::npos);
}

}  // namespace
}  // namespace coldstroke::daq
