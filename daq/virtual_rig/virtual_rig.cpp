// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/virtual_rig/virtual_rig.hpp"

#include <algorithm>
#include <cmath>

namespace coldstroke::daq {
namespace {

constexpr std::int64_t kHousekeepingNs = 1'000'000;  // the boards' main loops come round at least this often
constexpr std::uint16_t kSupplyMillivolts = 12000;

double seconds(std::int64_t ns) { return static_cast<double>(ns) * 1.0e-9; }

std::array<double, 4> scales(const SensorBank& sensors) {
  return {sensors.rig_scale(RigChannel::force), sensors.rig_scale(RigChannel::supply_pressure),
          sensors.rig_scale(RigChannel::chamber_pressure), sensors.rig_scale(RigChannel::dummy_current)};
}

}  // namespace

VirtualRig::VirtualRig(const Scenario& scenario, std::uint64_t seed)
    : scenario_{scenario},
      seed_{seed},
      physics_{scenario, seed},
      sensors_{scenario, seed},
      rig_{scenario, seed, scales(sensors_)},
      flight_{scenario, seed, sensors_.flight_scale()},
      schedule_{scenario} {
  Random clocks{seed, 40};
  const Scenario::Boards& boards = scenario.boards;
  const auto offset_us = [&] { return static_cast<std::int64_t>(clocks.uniform() * boards.offset_max_seconds * 1.0e6); };
  const auto drift = [&](const std::optional<double>& given) {
    const double drawn = boards.drift_standard_deviation_ppm * clocks.normal();
    return given.value_or(drawn);
  };
  const std::int64_t rig_offset = offset_us();
  const double rig_drift = drift(boards.rig_drift_ppm);
  rig_.power_up(0, rig_offset, rig_drift);
  const std::int64_t flight_offset = offset_us();
  flight_.power_up(0, flight_offset, drift(boards.flight_drift_ppm));
  outputs_ = rig_.outputs();
  update_faults(0);
}

Node VirtualRig::board_behind(Node port) const {
  if (!faults_.swapped) return port;
  return port == Node::rig ? Node::flight : Node::rig;
}

void VirtualRig::host_bytes(Node node, std::span<const std::byte> bytes) {
  const Node board = board_behind(node);
  if (board == Node::flight && !physics_.cable_connected()) return;
  hardware(board).to_board.send(bytes, now_ns_);
}

std::vector<StampedBytes> VirtualRig::take(Node node) { return hardware(board_behind(node)).to_host.take(now_us()); }

bool VirtualRig::port_up(Node node) const {
  return board_behind(node) == Node::rig || !scenario_.vehicle.hang_up || physics_.cable_connected();
}

VirtualRig::Next VirtualRig::next() const {
  Next soonest;
  const auto consider = [&soonest](std::int64_t ns, Due what) {
    if (ns < soonest.ns) soonest = {ns, what};
  };
  if (rig_.hardware.powered()) {
    consider(rig_.hardware.next_sample_ns(), Due::rig_sample);
    consider(rig_.hardware.to_board.next_ns(), Due::rig_bytes);
  } else {
    consider(*rig_.hardware.off_until_ns, Due::rig_power);
  }
  if (flight_.hardware.powered()) {
    consider(flight_.hardware.next_sample_ns(), Due::flight_sample);
    consider(flight_.hardware.to_board.next_ns(), Due::flight_bytes);
  } else {
    consider(*flight_.hardware.off_until_ns, Due::flight_power);
  }
  consider(housekeeping_ns_, Due::housekeeping);
  return soonest;
}

void VirtualRig::advance_to(std::int64_t bench_us) {
  const std::int64_t target = bench_us * 1000;
  while (now_ns_ < target) {
    const Next soonest = next();
    if (soonest.ns <= std::min(physics_ns_, target)) {
      now_ns_ = std::max(now_ns_, soonest.ns);
      happen(soonest);
    } else if (physics_ns_ < target) {
      step_physics();
    } else {
      now_ns_ = target;
    }
  }
}

void VirtualRig::step_physics() {
  std::int64_t end = physics_ns_ + std::llround(physics_.step_seconds() * 1.0e9);
  // A step ends where the firing pulse begins or ends, so that its current flows when the board says.
  if (pulse_start_)
    for (const double edge : {*pulse_start_, *pulse_start_ + scenario_.firing.pulse_seconds})
      if (const std::int64_t at = std::llround(edge * 1.0e9); at > physics_ns_) end = std::min(end, at);
  const double amperes = dummy_amperes(0.5 * (seconds(physics_ns_) + seconds(end)));
  physics_ns_ = end;
  physics_.advance(seconds(physics_ns_), runs_);
  sensors_.follow(runs_, amperes);
  if (std::optional<EjectionStory> over = physics_.take_finished()) finished_.push_back(truth_of(*over));
}

void VirtualRig::happen(const Next& next) {
  // Whatever left the boards until now is on its way before anything new is put on the line.
  rig_.pump(next.ns);
  flight_.pump(next.ns);
  switch (next.what) {
    case Due::rig_sample:
      sample_rig();
      return after_rig(next.ns);
    case Due::flight_sample:
      return sample_flight(next.ns);
    case Due::housekeeping:
      return housekeeping(next.ns);
    case Due::rig_bytes:
      deliver(Node::rig, next.ns);
      return after_rig(next.ns);
    case Due::flight_bytes:
      return deliver(Node::flight, next.ns);
    case Due::rig_power:
      ++rig_.hardware.boot_count;
      rig_.power_up(next.ns, 0, rig_.hardware.clock.drift_ppm());
      return after_rig(next.ns);
    case Due::flight_power:
      ++flight_.hardware.boot_count;
      flight_.power_up(next.ns, 0, flight_.hardware.clock.drift_ppm());
      decisions_seen_ = 0;
      return;
  }
}

void VirtualRig::sample_rig() { rig_.sample(sensors_.rig_counts(seconds(rig_.hardware.next_sample_ns()))); }

void VirtualRig::sample_flight(std::int64_t at_ns) {
  if (flight_.sample(sensors_.flight_counts(seconds(at_ns)))) detector_decided(at_ns);
  decisions_seen_ = flight_.decision_count();
}

void VirtualRig::detector_decided(std::int64_t at_ns) {
  physics_.story().decisions_seconds.push_back(seconds(at_ns));
  if (flight_inputs().armed_switch && load_ohms() > 0.0 && !pulse_start_)
    pulse_start_ = seconds(at_ns) + scenario_.firing.logic_seconds;
}

void VirtualRig::deliver(Node node, std::int64_t at_ns) {
  const LineToBoard::Delivery delivery = hardware(node).to_board.take();
  if (node == Node::rig) return rig_.receive(at_ns, delivery.bytes);
  flight_.receive(at_ns, delivery.bytes);
  if (flight_.decision_count() < decisions_seen_) {  // the host reset the detector: only what it decides from here counts
    if (!physics_.story().first_motion_seconds) physics_.story().decisions_seconds.clear();
    pulse_start_.reset();
  }
  decisions_seen_ = flight_.decision_count();
}

void VirtualRig::housekeeping(std::int64_t at_ns) {
  housekeeping_ns_ += kHousekeepingNs;
  update_faults(at_ns);
  if (rig_.hardware.powered()) {
    rig_.step(at_ns, rig_inputs());
    after_rig(at_ns);
  }
  if (flight_.hardware.powered()) flight_.step(at_ns, flight_inputs());
}

void VirtualRig::after_rig(std::int64_t at_ns) {
  const std::uint16_t outputs = rig_.outputs();
  if (outputs == outputs_) return;
  outputs_ = outputs;
  physics_.command(outputs, seconds(at_ns));
}

void VirtualRig::switch_off(NodeHardware& node, double off_seconds, std::int64_t at_ns) {
  node.off_until_ns = at_ns + std::llround(off_seconds * 1.0e9);
  node.to_board.drop_all();
}

void VirtualRig::update_faults(std::int64_t at_ns) {
  faults_ = schedule_.update(seconds(at_ns), physics_.ejection(), rig_.rig_step());
  physics_.set_faults(faults_.physics);
  sensors_.set_faults(faults_.sensors);
  if (!physics_.cable_connected()) faults_.to_host[1].dead = faults_.to_board[1].dead = true;
  for (const Node node : {Node::rig, Node::flight}) {
    NodeHardware& board = hardware(node);
    const auto n = static_cast<std::size_t>(node);
    if (faults_.to_board[n].dead) board.to_board.drop_all();
    board.to_host.set_faults(faults_.to_host[n]);
    board.to_board.set_faults(faults_.to_board[n]);
    if (faults_.jump_seconds[n]) board.clock.jump(std::llround(*faults_.jump_seconds[n] * 1.0e6));
    if (faults_.off_seconds[n]) switch_off(board, *faults_.off_seconds[n], at_ns);
  }
  if (faults_.off_seconds[0]) after_rig(at_ns);
  if (faults_.off_seconds[1]) {
    pulse_start_.reset();
    physics_.story().memory_lost = physics_.story().release_seconds.has_value();
  }
  rig_.set_firmware_version(faults_.rig_firmware);
  flight_.set_firmware_version(faults_.flight_firmware);
  flight_.set_detector(faults_.detector);
}

double VirtualRig::load_ohms() const {
  if (!scenario_.firing.dummy_load) return 0.0;
  return faults_.load_ohms.value_or(scenario_.firing.load_ohms);
}

/// Ohm's law round the firing loop; there is current only into a dummy load.
double VirtualRig::dummy_amperes(double when) const {
  if (!pulse_start_ || when < *pulse_start_ || when >= *pulse_start_ + scenario_.firing.pulse_seconds) return 0.0;
  const Scenario::Firing& f = scenario_.firing;
  return f.battery_volts / (f.battery_ohms + f.wire_ohms + faults_.series_ohms.value_or(f.series_ohms) + load_ohms());
}

cs_rig_inputs VirtualRig::rig_inputs() const {
  cs_rig_inputs out{};
  out.readback = physics_.readback();
  if (faults_.readback_stuck) {
    // As at power-up: the vent's bit on, all others off.
    const unsigned stuck = *faults_.readback_stuck;
    out.readback = static_cast<std::uint16_t>((out.readback & ~stuck) | (stuck & CS_VALVE_VENT));
  }
  unsigned inputs = physics_.lid_switches();
  if (!faults_.stop_loop_open) inputs |= CS_INPUT_STOP_LOOP_CLOSED;
  if (!faults_.key_out) inputs |= CS_INPUT_RELEASE_KEY_IN;
  out.inputs = static_cast<std::uint16_t>(inputs);
  out.supply_mv = kSupplyMillivolts;
  return out;
}

cs_flight_inputs VirtualRig::flight_inputs() const {
  cs_flight_inputs out{};
  out.armed_switch = scenario_.firing.arm_switch || faults_.armed;
  for (std::size_t i = 0; i < CS_FLIGHT_FIRING_CHANNELS; ++i) {
    double ohms = i == 0 ? load_ohms() : scenario_.firing.dummy_load ? scenario_.firing.load_ohms : 0.0;
    if (faults_.channel_ohms[i]) ohms = *faults_.channel_ohms[i];
    const bool present = ohms > 0.0 || faults_.channel_ohms[i].has_value();
    out.milliohms[i] = present ? static_cast<std::uint32_t>(std::lround(ohms * 1000.0)) : CS_OHMS_OPEN;
  }
  out.battery_mv = static_cast<std::uint16_t>(std::lround(scenario_.firing.battery_volts * 1000.0));
  return out;
}

EjectionTruth VirtualRig::truth_of(const EjectionStory& story) const {
  EjectionTruth out;
  out.story = story;
  out.scenario = scenario_.name;
  out.seed = seed_;
  out.vehicle_mass_kg = physics_.drawn().vehicle_mass_kg;
  out.piston_mass_kg = physics_.drawn().piston_mass_kg;
  out.stroke_metres = physics_.drawn().stroke_metres;
  out.tilt_radians = scenario_.tube.tilt_radians;
  out.decision_deadline_seconds = scenario_.detector.decision_deadline_seconds;
  out.rig_offset_seconds = rig_.hardware.clock.offset_seconds();
  out.rig_drift_ppm = rig_.hardware.clock.drift_ppm();
  out.flight_offset_seconds = flight_.hardware.clock.offset_seconds();
  out.flight_drift_ppm = flight_.hardware.clock.drift_ppm();
  out.faults = schedule_.names(story.number);
  return out;
}

std::vector<EjectionTruth> VirtualRig::take_truth() {
  std::vector<EjectionTruth> out;
  out.swap(finished_);
  return out;
}

std::optional<EjectionTruth> VirtualRig::unfinished_truth() const {
  const EjectionStory& story = physics_.story();
  if (!story.release_seconds && !story.first_motion_seconds) return std::nullopt;
  return truth_of(story);
}

LockstepReply exchange(VirtualRig& rig, const LockstepRequest& request) {
  constexpr std::array kNodes{Node::rig, Node::flight};
  for (const Node node : kNodes) {
    const std::vector<std::byte>& bytes = request.bytes[static_cast<std::size_t>(node)];
    if (!bytes.empty()) rig.host_bytes(node, bytes);
  }
  rig.advance_to(request.advance_to_us);
  LockstepReply reply;
  reply.now_us = rig.now_us();
  for (const Node node : kNodes) {
    for (StampedBytes& chunk : rig.take(node)) reply.chunks.push_back({node, std::move(chunk)});
    reply.port_up[static_cast<std::size_t>(node)] = rig.port_up(node);
  }
  return reply;
}

}  // namespace coldstroke::daq
