// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/daq/safety/rig_room.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <utility>

#include "tests/daq/virtual_rig/open_port.hpp"

namespace coldstroke::daq {

namespace {

constexpr std::int64_t kTurnUs = 2'000;
constexpr int kLookEvery = 5;

std::filesystem::path fresh_folder() {
  const auto* info = testing::UnitTest::GetInstance()->current_test_info();
  std::string name = std::string{info->test_suite_name()} + "." + info->name();
  static int rooms = 0;  // a test may have several, each with its own campaign
  name += "." + std::to_string(++rooms);
  auto folder = std::filesystem::path{testing::TempDir()} / "coldstroke_safety" / name;
  std::filesystem::remove_all(folder);
  std::filesystem::create_directories(folder);
  return folder;
}

}  // namespace

Room::Room(RoomOptions options)
    : people{options.people}, surroundings{options.surroundings}, folder_{fresh_folder()}, file_{folder_ / "room.coldstroke"} {
  auto setup = parse_setup(options.setup_text.empty() ? virtual_setup_text() : options.setup_text, "room");
  if (!setup) throw std::runtime_error{setup.error().what + " " + setup.error().where};
  setup_ = std::move(*setup);
  VirtualRigOptions rig;
  rig.scenario = options.scenario;
  if (options.scenario.find('\n') != std::string::npos) {
    rig.scenario = (folder_ / "scenario.toml").string();
    std::ofstream{rig.scenario} << options.scenario;
  }
  rig.seed = options.seed;
  rig.faults = options.faults;
  start_rig(std::move(rig));
  host_starts();
}

void Room::start_rig(VirtualRigOptions rig) {
  const VirtualRigProgram program{COLDSTROKE_VIRTUAL_RIG_SERVER, {}};
#ifdef COLDSTROKE_OVER_PORTS
  rig.rig_link = (folder_ / "rig").string();
  rig.flight_link = (folder_ / "flight").string();
  auto started = VirtualRigProcess::start_real_time(rig, program);
  if (!started) throw std::runtime_error{started.error().what};
  rig_.emplace(std::move(*started));
  exchange_ = exchange_over_ports(rig.rig_link, rig.flight_link);
#else
  auto started = VirtualRigProcess::start_lockstep(std::move(rig), program);
  if (!started) throw std::runtime_error{started.error().what};
  rig_.emplace(std::move(*started));
  exchange_ = [this](const LockstepRequest& request) {
    auto reply = rig_->exchange(request);
    if (!reply) throw std::runtime_error{reply.error().what};
    return std::move(*reply);
  };
#endif
}

Room::~Room() {
  bench_.reset();
  recorder_.reset();
  std::error_code ignored;
  std::filesystem::remove_all(folder_, ignored);
}

void Room::host_starts() {
  auto campaign = Campaign::open_or_create(file_, "room");
  if (!campaign) throw std::runtime_error{campaign.error().what};
  const auto trials = campaign->trials();
  recorder_ = std::make_unique<Recorder>(std::move(*campaign));
  Bench::Options options;
  options.setup = setup_;
  options.first_trial = trials && !trials->empty() ? trials->back().number + 1 : 1;
  options.session_seed = 100 + ++sessions_;
  bench_ = std::make_unique<Bench>(std::move(options), *recorder_);
  log_last_.clear();
  bench_->port_opened(Node::rig, now());
  bench_->port_opened(Node::flight, now());
  port_up_ = {true, true};
  step_seen_ = bench_->step();
  path_ += std::string{word(step_seen_)};
}

void Room::host_dies() {
  read_log(view());
  bench_.reset();
  recorder_.reset();
  path_ += " (dead) ";
}

bool Room::rig_vented() const {
  constexpr std::uint16_t kFast = wire::kFastValve1 | wire::kFastValve2;
  return vent_open() && (rig_readback_ & kFast) == 0;
}

bool Room::vent_open() const { return (rig_readback_ & (wire::kChargeValve | wire::kVentValve)) == wire::kVentValve; }

void Room::ask(OperatorRequest request) {
  bench_->request(request, now());
  follow_step();
}

void Room::follow_step() {
  if (bench_->step() != step_seen_) path_ += std::string{", "} + word(step_seen_ = bench_->step());
}

void Room::listen(const LockstepReply& reply) {
  std::vector<wire::Message> messages;
  for (const auto& chunk : reply.chunks)
    if (chunk.node == Node::rig) ear_.feed(chunk.stamped.bytes, messages);
  for (const wire::Message& message : messages)
    if (const auto* state = std::get_if<wire::RigState>(&message)) rig_readback_ = state->readback;
}

void Room::tell_flight_board(const wire::Message& message) { wire::Encoder{}.append(message, foreign_); }

void Room::host_stands_still(double seconds) {
  const std::int64_t end = now_us_ + static_cast<std::int64_t>(seconds * 1.0e6);
  while (now_us_ < end) turn(false);
  // what the boards said meanwhile lay in the ports and arrives at once
  for (const auto& chunk : std::exchange(waiting_, {})) bench_->receive(chunk.node, now(), chunk.stamped.bytes);
}

void Room::turn(bool host_runs) {
  LockstepRequest request;
  request.advance_to_us = now_us_ + kTurnUs;
  if (bench_ && host_runs) {
    bench_->set_surroundings(surroundings);
    bench_->tick(now());
    for (const Node node : {Node::rig, Node::flight})
      request.bytes[static_cast<std::size_t>(node)] = bench_->take_output(node, now());
  }
  auto& to_flight = request.bytes[static_cast<std::size_t>(Node::flight)];
  to_flight.insert(to_flight.end(), foreign_.begin(), foreign_.end());
  foreign_.clear();
  LockstepReply reply = exchange_(request);
  std::ranges::stable_sort(reply.chunks, {}, [](const auto& chunk) { return chunk.stamped.arrival_us; });
  listen(reply);
  now_us_ = reply.now_us;
  if (!host_runs) waiting_.insert(waiting_.end(), reply.chunks.begin(), reply.chunks.end());
  if (!bench_ || !host_runs) return;
  follow_ports(reply.port_up);
  for (const auto& chunk : reply.chunks)
    bench_->receive(chunk.node, at_us<HostTime>(chunk.stamped.arrival_us), chunk.stamped.bytes);
  if (const auto trial = bench_->take_trial_to_judge()) {
    const auto archive = Campaign::open_read_only(file_);
    bench_->judged(*trial, archive ? judge_trial(*archive, *trial) : Result<JudgedTrial>{tl::unexpected{archive.error()}}, now());
  }
  for (LastTrial& trial : bench_->take_finished()) ended_.push_back(std::move(trial));
  follow_step();
}

void Room::follow_ports(const std::array<bool, 2>& port_up) {
  for (const Node node : {Node::rig, Node::flight}) {
    bool& known = port_up_[static_cast<std::size_t>(node)];
    const bool up = port_up[static_cast<std::size_t>(node)];
    if (up && !known) bench_->port_opened(node, now());
    if (!up && known) bench_->port_lost(node, now(), "the port vanished");
    known = up;
  }
}

/// Log lines that are new since the last look: those after the last one seen.
void Room::read_log(const BenchView& now_view) {
  std::size_t from = 0;
  for (std::size_t k = now_view.log.size(); k > 0; --k)
    if (now_view.log[k - 1].text == log_last_) {
      from = k;
      break;
    }
  for (std::size_t k = from; k < now_view.log.size(); ++k) said_ += now_view.log[k].text + "\n";
  if (!now_view.log.empty()) log_last_ = now_view.log.back().text;
}

const std::string& Room::said() {
  if (bench_) read_log(view());
  return said_;
}

void Room::act() {
  const BenchView now_view = view();
  read_log(now_view);
  if (people.sign && now_view.checklist.open) {
    const char* names[] = {"Ann Lee", "Bo Ek"};
    for (std::size_t k = 0; k < now_view.checklist.roles.size() && k < 2; ++k)
      if (now_view.checklist.roles[k].name.empty())
        static_cast<void>(bench_->sign(now(), now_view.checklist.roles[k].role, names[k], now_view.checklist.items));
  }
  if (people.aim && now_view.checklist.open && !now_view.typed_target_pascals)
    static_cast<void>(bench_->set_target(now(), bench_->setup().charge.target_pascals));
  if (!people.act || !now_view.next.enabled) return;
  if (now_view.next.request == OperatorRequest::acknowledge && !people.acknowledge) return;
  if (now_view.next.request == OperatorRequest::count && !people.release) return;
  if (now_view.next.request == OperatorRequest::begin && !ended_.empty()) return;  // one trial, unless a test asks for more
  ask(now_view.next.request);
}

bool Room::until(const std::function<bool()>& done, double limit_seconds) {
  const std::int64_t end = now_us_ + static_cast<std::int64_t>(limit_seconds * 1.0e6);
  for (int k = 0; now_us_ < end; ++k) {
    if (done()) return true;
    turn();
    if (bench_ && k % kLookEvery == 0) act();
  }
  return done();
}

void Room::run(double seconds) {
  until([] { return false; }, seconds);
}

bool Room::until_step(Step step, double limit_seconds) {
  return until([&] { return bench_ && bench_->step() == step; }, limit_seconds);
}

bool Room::until_trial_ended(double limit_seconds) {
  return until([&] { return !ended_.empty() && bench_->step() == Step::idle; }, limit_seconds);
}

const InterlockLine* Room::interlock(const std::string& name) {
  static thread_local BenchView kept;
  kept = view();
  const auto line = std::ranges::find(kept.interlocks, name, &InterlockLine::name);
  return line == kept.interlocks.end() ? nullptr : &*line;
}

}  // namespace coldstroke::daq
