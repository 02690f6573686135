// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/daq/safety/exploration.hpp"

#include <algorithm>
#include <array>
#include <vector>

#include "tests/daq/safety/world_digits.hpp"

namespace coldstroke::daq {

namespace {

using Pressure = World::Pressure;

struct Core {
  Host host;
  BoardModel board;
  bool operator==(const Core&) const = default;
};
constexpr std::uint32_t kBoards = 5 * 3 * 2;
constexpr std::uint32_t kCores = 12 * 5 * 2 * kBoards;

std::uint32_t number(const Core& core) {
  auto n = static_cast<std::uint32_t>(core.host.step);
  n = n * 5 + static_cast<std::uint32_t>(core.host.gas);
  n = n * 2 + (core.host.want_safe ? 1 : 0);
  n = n * 5 + static_cast<std::uint32_t>(core.board.state);
  n = n * 3 + static_cast<std::uint32_t>(core.board.token);
  return n * 2 + (core.board.fault ? 1 : 0);
}

Core core_of(std::uint32_t n) {
  Core core;
  core.board.fault = n % 2 != 0;
  core.board.token = static_cast<BoardModel::Token>(n / 2 % 3);
  core.board.state = static_cast<BoardModel::State>(n / 6 % 5);
  core.host.want_safe = n / 30 % 2 != 0;
  core.host.gas = static_cast<Host::Gas>(n / 60 % 5);
  core.host.step = static_cast<Step>(n / 300);
  return core;
}

bool may_hold_gas(Step step) {
  return step == Step::charging || step == Step::settling || step == Step::counting || step == Step::releasing ||
         step == Step::recording;
}

bool asked_by_a_person(SequenceEvent event) {
  return event == SequenceEvent::begin_requested || event == SequenceEvent::charge_requested ||
         event == SequenceEvent::count_requested || event == SequenceEvent::abort_requested ||
         event == SequenceEvent::acknowledged;
}

enum Property : std::uint8_t {
  token_is_live,
  stop_loop_is_closed,
  interlocks_hold,
  out_of_a_count,
  vent_shuts_for_a_charge,
  abort_vents,
  only_people_lead_to_idle,
  guarded_towards_gas,
  only_people_charge,
  keep_clear_is_kept,
  waiting_vents,
  nothing_unhandled,
  lost_interlock_vents,
  forward_only,
  kProperties
};
constexpr std::array<const char*, kProperties> kWords{
    "a valve opens only with a live token of its purpose",
    "a valve opens only with the emergency-stop loop closed",
    "a valve opens only while every interlock without a bypass holds",
    "fast valves open only out of a count, in step releasing",
    "the vent shuts only for a charge that a person asked for",
    "abort vents in one step from everywhere",
    "only a person's acknowledgement leads to idle",
    "a step towards gas is taken only while every interlock lets it",
    "only a person starts a charge",
    "keep clear and locked out end by a person, after the wait, proven low, nothing live",
    "from every state waiting alone opens the vent, and it stays commanded",
    "no event is unhandled",
    "an interlock lost under pressure vents at once",
    "without a person the steps under pressure run forward only"};

class Explorer {
 public:
  Explorer(std::span<const Row> table, const Setup& setup, bool stop)
      : table_{table}, setup_{setup}, stop_{stop}, seen_(static_cast<std::size_t>(kCores) * kWorlds), memo_(2 * kMemo, 0) {
    for (std::size_t s = 0; s < kSteps; ++s)
      for (std::size_t e = 0; e < kSequenceEvents; ++e)
        rows_[s][e] = transition(table_, static_cast<Step>(s), static_cast<SequenceEvent>(e));
  }

  Exploration run() {
    check_table();
    for (std::uint32_t board = 0; board < kBoards; ++board) {  // a program may start on a board in any state
      Core core = core_of(board);
      core.host = Host{};
      for (std::uint32_t world = 0; world < kWorlds; ++world) visit(number(core) * kWorlds + world);
    }
    bool violated = false;
    for (std::size_t next = 0; next < queue_.size() && !(stop_ && violated); ++next) {
      expand(queue_[next]);
      violated = std::ranges::any_of(violations_, [](std::uint64_t count) { return count > 0; });
    }
    Exploration out;
    out.states = queue_.size();
    out.transitions = transitions_;
    out.valve_openings = openings_;
    for (std::size_t p = 0; p < kProperties; ++p) {
      if (checked_[p] > 0) out.checked[kWords[p]] = checked_[p];
      if (violations_[p] > 0) out.violations[kWords[p]] = violations_[p];
    }
    if (first_violation_ != kProperties) out.first_violation = kWords[first_violation_];
    return out;
  }

 private:
  void visit(std::uint32_t state) {
    if (seen_[state]) return;
    seen_[state] = true;
    queue_.push_back(state);
  }

  void go(std::uint32_t state) {
    ++transitions_;
    visit(state);
  }

  void expand(std::uint32_t state) {
    world_number_ = state % kWorlds;
    const World world = world_of(world_number_);
    const Core core = core_of(state / kWorlds);
    // the world turns, one value at a time
    std::uint32_t weight = 1;
    const auto digits = digits_of(world_number_);
    for (std::size_t k = 0; k < kWorldSizes.size(); ++k) {
      for (std::uint32_t value = 0; value < kWorldSizes[k]; ++value)
        if (value != digits[k]) go(state - digits[k] * weight + value * weight);
      weight *= kWorldSizes[k];
    }
    for (std::size_t e = 0; e < kSequenceEvents; ++e) happen(core, world, static_cast<SequenceEvent>(e));
    dialogue(core, world);
    board_by_itself(core, world);
    check_waiting(core, world);
  }

  /// A move to `after`: whatever it is, the rules on valves hold.
  void move(const Core& before, const World& world, const Core& after) {
    const bool charge_opens = !before.board.charge_valve_open() && after.board.charge_valve_open();
    const bool fast_opens = !before.board.fast_valves_open() && after.board.fast_valves_open();
    if (charge_opens || fast_opens) {
      ++openings_;
      check(token_is_live, before.board.token == (charge_opens ? BoardModel::Token::charge : BoardModel::Token::release));
      check(stop_loop_is_closed, world.stop_loop_closed);
      check(interlocks_hold, allowed(charge_opens ? Step::charging : Step::releasing, before.board, true));
      if (fast_opens) check(out_of_a_count, before.host.step == Step::releasing);
    }
    if (before.board.vent_open() && !after.board.vent_open())
      check(vent_shuts_for_a_charge, charge_opens && before.host.step == Step::charging);
    go(number(after) * kWorlds + world_number_);
  }

  /// The row that answers now, as `answer` in sequence.hpp decides it (from a table of pointers, because it is asked so often).
  const Row* row_for(Step from, SequenceEvent event, const BoardModel& board) {
    const auto& rows = rows_[static_cast<std::size_t>(from)];
    const Row* row = rows[static_cast<std::size_t>(event)];
    if (row == nullptr || !row->guarded || allowed(row->to, board, false)) return row;
    return event == SequenceEvent::deadline_passed ? rows[static_cast<std::size_t>(SequenceEvent::interlock_lost)] : nullptr;
  }

  void happen(const Core& core, const World& world, SequenceEvent event) {
    const Row* row = row_for(core.host.step, event, core.board);
    Core after = core;
    if (row != nullptr) take(*row, world, after);
    check_event(core, world, event, row, after);
    move(core, world, after);
  }

  /// What the bench does with a row: enter, then act.
  static void take(const Row& row, const World& world, Core& core) {
    if (row.to != core.host.step) core.host.gas = Host::Gas::none;
    core.host.step = row.to;
    for (const Action action : row.actions) {
      if (action == Action::start_charge) {
        core.host.want_safe = false;
        core.host.gas = Host::Gas::charge_asked;
      }
      if (action == Action::start_release) core.host.gas = Host::Gas::release_asked;
      if (action == Action::stop_charge && world.link) core.board.stop_charge();
      if (action == Action::close_trial && world.link) core.board.clear_faults(senses(world));
      if (action == Action::make_safe) {
        core.host.want_safe = true;
        if (world.link) core.board.vent();
      }
    }
  }

  static BoardModel::Senses senses(const World& world) {
    return {world.stop_loop_closed, world.key_in, world.link, world.pressure == Pressure::over};
  }

  /// Token asked for, granted, spent; and what the host keeps saying.
  void dialogue(const Core& core, const World& world) {
    if (!world.link) return;
    using Gas = Host::Gas;
    Core after = core;
    const bool for_charge = core.host.gas == Gas::charge_asked || core.host.gas == Gas::charge_granted;
    if (core.host.gas == Gas::charge_asked || core.host.gas == Gas::release_asked) {
      after.board.ask_token(for_charge ? BoardModel::Token::charge : BoardModel::Token::release);
      after.host.gas = for_charge ? Gas::charge_granted : Gas::release_granted;
      move(core, world, after);
    } else if (core.host.gas != Gas::none) {
      after.host.gas = Gas::none;
      if (allowed(core.host.step, core.board, false))  // the bench looks once more before it spends the token
        static_cast<void>(for_charge ? after.board.charge(senses(world)) : after.board.release(senses(world)));
      move(core, world, after);
    }
    if (core.host.want_safe && !core.board.vent_open()) {
      after = core;
      after.board.vent();
      move(core, world, after);
    }
  }

  void board_by_itself(const Core& core, const World& world) {
    const auto changed = [&](auto change) {
      Core after = core;
      change(after.board);
      if (!(after == core)) move(core, world, after);
    };
    changed([&](BoardModel& b) { b.supervise(senses(world)); });
    changed([](BoardModel& b) { b.open_time_over(); });
    changed([](BoardModel& b) { b.token_expires(); });
    changed([](BoardModel& b) {  // a valve that does not follow, a low supply
      b.fault = true;
      b.vent();
    });
    changed([](BoardModel& b) { b = BoardModel{}; });  // a reset
  }

  void check_event(const Core& core, const World& world, SequenceEvent event, const Row* row, const Core& after) {
    const Step from = core.host.step, to = after.host.step;
    if (event == SequenceEvent::abort_requested) {
      const bool safe_step = !may_hold_gas(to) && to != Step::idle && to != Step::checks;
      check(abort_vents, row != nullptr && safe_step && after.host.want_safe && after.host.gas == Host::Gas::none &&
                             (!world.link || after.board.vent_open()));
    }
    if (from == to) return;
    if (to == Step::idle) check(only_people_lead_to_idle, event == SequenceEvent::acknowledged);
    if (to == Step::charging || to == Step::counting || to == Step::releasing)
      check(guarded_towards_gas, allowed(to, core.board, false));
    if (to == Step::charging) check(only_people_charge, event == SequenceEvent::charge_requested);
    if (from == Step::keep_clear || from == Step::locked_out)
      check(keep_clear_is_kept,
            to == Step::locked_out || (event == SequenceEvent::acknowledged && world.waited && world.pressure == Pressure::low &&
                                       world.firing == World::Firing::as_registered && world.link));
  }

  /// Nobody does anything: the step's own deadline, the host's repeated vent command or the board's watchdog must open the vent.
  void check_waiting(Core core, const World& world) {
    for (int moves = 0; moves < 8 && !(core.board.vent_open() && core.host.want_safe); ++moves) {
      if (const Row* row = row_for(core.host.step, SequenceEvent::deadline_passed, core.board)) take(*row, world, core);
      if (core.host.want_safe && world.link) core.board.vent();
      core.board.supervise(senses(world));
    }
    check(waiting_vents, core.board.vent_open() && core.host.want_safe);
  }

  /// What the table alone must satisfy.
  void check_table() {
    for (std::size_t s = 0; s < kSteps; ++s)
      for (std::size_t e = 0; e < kSequenceEvents; ++e) {
        const bool disregarded = std::ranges::any_of(sequence_disregards(), [&](const Disregard& d) {
          return d.on == static_cast<SequenceEvent>(e) && d.in(static_cast<Step>(s));
        });
        check(nothing_unhandled, disregarded != (rows_[s][e] != nullptr));
      }
    for (const Row& row : table_) {
      const bool vents = std::ranges::find(row.actions, Action::make_safe) != row.actions.end();
      const bool lost = row.on == SequenceEvent::interlock_lost || row.on == SequenceEvent::live_channel_found ||
                        row.on == SequenceEvent::board_vented_itself;
      if (lost && may_hold_gas(row.from)) check(lost_interlock_vents, vents && !row.guarded);
      if (may_hold_gas(row.from) && may_hold_gas(row.to) && row.to != row.from && !asked_by_a_person(row.on))
        check(forward_only, row.to > row.from);  // the enumeration is in the order of a trial
    }
  }

  /// Whether the interlocks let the step be entered in the present world; `strict`: every one without a bypass holds.
  bool allowed(Step to, const BoardModel& board, bool strict) {
    static constexpr std::array kKinds{Step::checks, Step::charging, Step::releasing, Step::review, Step::idle};
    const Step like = to == Step::counting ? Step::releasing : to;
    const auto kind = static_cast<std::size_t>(std::ranges::find(kKinds, like) - kKinds.begin());
    if (kind == kKinds.size()) return true;  // a step without interlocks
    const std::size_t at =
        ((kind * 5 + static_cast<std::size_t>(board.state)) * 2 + (board.fault ? 1 : 0)) * kWorlds + world_number_;
    std::uint8_t& known = memo_[(strict ? kMemo : 0) + at];
    if (known == 0) {
      const InterlockList list = interlocks_to_enter(to, readings_of(world_of(world_number_), board, setup_), setup_);
      const bool holds =
          strict ? std::ranges::all_of(list.lines, [](const Interlock& l) { return l.holds || l.bypassable; }) : list.all_hold();
      known = holds ? 2 : 1;
    }
    return known == 2;
  }

  void check(Property property, bool holds) {
    ++checked_[property];
    if (holds) return;
    ++violations_[property];
    if (first_violation_ == kProperties) first_violation_ = property;
  }

  static constexpr std::size_t kMemo = std::size_t{5} * 5 * 2 * kWorlds;
  std::span<const Row> table_;
  const Setup& setup_;
  bool stop_;
  std::array<std::array<const Row*, kSequenceEvents>, kSteps> rows_{};
  std::vector<bool> seen_;
  std::vector<std::uint8_t> memo_;  // 0 not asked yet, 1 no, 2 yes
  std::vector<std::uint32_t> queue_;
  std::uint32_t world_number_ = 0;
  std::uint64_t transitions_ = 0, openings_ = 0;
  std::array<std::uint64_t, kProperties> checked_{}, violations_{};
  Property first_violation_ = kProperties;
};

}  // namespace

Exploration explore(std::span<const Row> table, const Setup& setup, bool stop_at_violation) {
  return Explorer{table, setup, stop_at_violation}.run();
}

}  // namespace coldstroke::daq
