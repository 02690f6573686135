// SPDX-License-Identifier: GPL-3.0-or-later
//
// The board model of the exploration against the board's own C code: every state of the model under everything that can happen
// to it, done to both; afterwards both must be in the same state.
#include "tests/daq/safety/board_model.hpp"

#include <gtest/gtest.h>

#include <cstdio>
#include <iterator>

#include "tests/protocol/board/rig_on_desk.hpp"

namespace coldstroke::daq {
namespace {

using wire::CommandCode;
using State = BoardModel::State;
using Token = BoardModel::Token;

/// A real board brought into a state of the model, and the token it granted on the way (0: none).
struct Desk {
  wire::RigOnDesk rig;
  std::uint32_t token = 0;

  explicit Desk(const BoardModel& wanted) {
    if (wanted.state != State::vented) rig.charge();
    rig.run(20'000);
    if (wanted.state == State::holding || wanted.state == State::released_open || wanted.state == State::released_shut) {
      rig.command(CommandCode::stop_charge);
      rig.run(20'000);
    }
    if (wanted.state == State::released_open || wanted.state == State::released_shut) rig.release(400'000);
    if (wanted.state == State::released_shut) rig.run(450'000);
    if (wanted.token != Token::none)
      token = rig.token_for(wanted.token == Token::charge ? CommandCode::charge : CommandCode::release);
    if (wanted.fault) rig.rig->faults = CS_FAULT_STOP_LOOP;  // latched; only the vented board can have got there by itself
  }

  [[nodiscard]] BoardModel seen() const {
    BoardModel out;
    const cs_rig& board = *rig.rig;
    out.state = board.step == CS_RIG_VENTED                                  ? State::vented
                : board.step == CS_RIG_CHARGING                              ? State::charging
                : board.step == CS_RIG_HOLDING                               ? State::holding
                : (board.outputs & (CS_VALVE_FAST_1 | CS_VALVE_FAST_2)) != 0 ? State::released_open
                                                                             : State::released_shut;
    if (board.token != 0) out.token = board.token_purpose == CS_COMMAND_CHARGE ? Token::charge : Token::release;
    out.fault = board.faults != 0;
    return out;
  }
  /// The outputs say the same as the step.
  [[nodiscard]] bool outputs_agree() const {
    const BoardModel model = seen();
    const unsigned valves = rig.rig->outputs & (CS_VALVE_CHARGE | CS_VALVE_VENT | CS_VALVE_FAST_1 | CS_VALVE_FAST_2);
    unsigned wanted = 0;
    if (model.vent_open()) wanted |= CS_VALVE_VENT;
    if (model.charge_valve_open()) wanted |= CS_VALVE_CHARGE;
    if (model.fast_valves_open()) wanted |= CS_VALVE_FAST_1 | CS_VALVE_FAST_2;
    return valves == wanted;
  }
};

/// Something that happens, done to the model and to the board.
struct Happening {
  const char* what;
  void (*to_model)(BoardModel&);
  void (*to_board)(Desk&);
};

BoardModel::Senses all_good() { return {}; }

const Happening kHappenings[] = {
    {"vent command", [](BoardModel& m) { m.vent(); }, [](Desk& d) { d.rig.command(CommandCode::vent); }},
    {"token for a charge", [](BoardModel& m) { m.ask_token(Token::charge); },
     [](Desk& d) { d.rig.token_for(CommandCode::charge); }},
    {"token for a release", [](BoardModel& m) { m.ask_token(Token::release); },
     [](Desk& d) { d.rig.token_for(CommandCode::release); }},
    {"charge with the token", [](BoardModel& m) { m.charge(all_good()); },
     [](Desk& d) { d.rig.command(CommandCode::charge, 0, d.token); }},
    {"release with the token", [](BoardModel& m) { m.release(all_good()); },
     [](Desk& d) { d.rig.command(CommandCode::release, 300'000, d.token); }},
    {"release with the key out",
     [](BoardModel& m) {
       BoardModel::Senses senses;
       senses.key_in = false;
       m.release(senses);
     },
     [](Desk& d) {
       d.rig.inputs.inputs = wire::kStopLoopClosed;
       d.rig.run(2'000);
       d.rig.command(CommandCode::release, 300'000, d.token);
     }},
    {"stop charge", [](BoardModel& m) { m.stop_charge(); }, [](Desk& d) { d.rig.command(CommandCode::stop_charge); }},
    {"stop loop opens",
     [](BoardModel& m) {
       BoardModel::Senses senses;
       senses.stop_loop_closed = false;
       m.supervise(senses);
     },
     [](Desk& d) {
       d.rig.inputs.inputs = wire::kReleaseKeyIn;
       d.rig.run(2'000);
     }},
    {"charge while the stop loop is open",
     [](BoardModel& m) {
       BoardModel::Senses senses;
       senses.stop_loop_closed = false;
       m.supervise(senses);
       m.charge(senses);
     },
     [](Desk& d) {
       d.rig.inputs.inputs = wire::kReleaseKeyIn;
       d.rig.run(2'000);
       d.rig.command(CommandCode::charge, 0, d.token);
     }},
    {"heartbeats stop",
     [](BoardModel& m) {
       BoardModel::Senses senses;
       senses.heartbeat = false;
       m.supervise(senses);
     },
     [](Desk& d) {
       d.rig.heartbeats = false;
       d.rig.run(260'000);
     }},
    {"open time over, then nothing", [](BoardModel& m) { m.open_time_over(); }, [](Desk& d) { d.rig.run(410'000); }},
    {"token dies of age",
     [](BoardModel& m) {
       m.open_time_over();
       m.token_expires();
     },
     [](Desk& d) { d.rig.run(3'100'000); }},
    {"faults cleared, cause gone", [](BoardModel& m) { m.clear_faults(all_good()); },
     [](Desk& d) { d.rig.command(CommandCode::clear_faults); }},
};

TEST(BoardModel, MovesAsTheBoardsOwnCodeDoesFromEveryState) {
  int compared = 0;
  for (std::uint8_t state = 0; state < 5; ++state)
    for (std::uint8_t token = 0; token < 3; ++token)
      for (const bool fault : {false, true})
        for (const Happening& happening : kHappenings) {
          BoardModel model;
          model.state = static_cast<State>(state);
          model.token = static_cast<Token>(token);
          model.fault = fault;
          Desk desk{model};
          ASSERT_EQ(desk.seen(), model) << "could not be set up: state " << int{state} << ", token " << int{token};
          happening.to_model(model);
          happening.to_board(desk);
          const BoardModel seen = desk.seen();
          EXPECT_EQ(seen, model) << happening.what << " in state " << int{state} << ", token " << int{token} << ", fault "
                                 << fault << ": board in state " << static_cast<int>(seen.state) << ", token "
                                 << static_cast<int>(seen.token) << ", fault " << seen.fault;
          EXPECT_TRUE(desk.outputs_agree()) << happening.what;
          ++compared;
        }
  std::printf("%d moves compared\n", compared);
  EXPECT_EQ(compared, 5 * 3 * 2 * static_cast<int>(std::size(kHappenings)));
}

TEST(BoardModel, OverPressureIsSupervisedAsTheModelSays) {
  for (std::uint8_t state = 0; state < 5; ++state) {
    BoardModel model;
    model.state = static_cast<State>(state);
    Desk desk{model};
    desk.rig.counts[1] = wire::rig_config().over_pressure_counts;
    desk.rig.run(200);
    BoardModel::Senses senses;
    senses.over_pressure = true;
    model.supervise(senses);
    EXPECT_EQ(desk.seen().state, model.state);
    EXPECT_TRUE(desk.seen().fault);  // latched even while vented
  }
}

}  // namespace
}  // namespace coldstroke::daq
