// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/daq/virtual_rig/bench_host.hpp"

#include <algorithm>

namespace coldstroke::daq {
namespace {

constexpr std::int64_t kStepUs = 1000;
constexpr std::int64_t kBeatUs = 50000;

}  // namespace

Exchange exchange_with(VirtualRig& rig) {
  return [&rig](const LockstepRequest& request) { return exchange(rig, request); };
}

void BenchHost::send(Node node, const wire::Message& message) {
  const auto n = static_cast<std::size_t>(node);
  encoders_[n].append(message, out_[n]);
}

void BenchHost::step(std::int64_t to_us) {
  if (beating && now_us_ >= beat_us_) {
    send(Node::rig, wire::Heartbeat{++beats_});
    beat_us_ = now_us_ + kBeatUs;
  }
  const LockstepReply reply = exchange_({to_us, out_});
  out_ = {};
  now_us_ = reply.now_us;
  port_up = reply.port_up;
  for (const LockstepReply::Chunk& chunk : reply.chunks) {
    const auto n = static_cast<std::size_t>(chunk.node);
    raw[n].insert(raw[n].end(), chunk.stamped.bytes.begin(), chunk.stamped.bytes.end());
    std::vector<wire::Message> messages;
    decoders_[n].feed(chunk.stamped.bytes, messages);
    for (wire::Message& message : messages) heard_[n].push_back({chunk.stamped.arrival_us, std::move(message)});
  }
}

void BenchHost::run_for(double seconds) {
  const std::int64_t end = now_us_ + static_cast<std::int64_t>(seconds * 1.0e6);
  while (now_us_ < end) step(std::min(end, now_us_ + kStepUs));
}

bool BenchHost::run_until(const std::function<bool()>& done, double limit_seconds) {
  const std::int64_t end = now_us_ + static_cast<std::int64_t>(limit_seconds * 1.0e6);
  while (!done() && now_us_ < end) step(now_us_ + kStepUs);
  return done();
}

void BenchHost::greet() {
  send(Node::rig, wire::Hello{wire::kProtocolMajor, wire::kProtocolMinor, 7});
  send(Node::flight, wire::Hello{wire::kProtocolMajor, wire::kProtocolMinor, 7});
  run_for(0.1);
}

wire::Reason BenchHost::command(Node node, wire::CommandCode code, std::uint32_t argument, std::uint32_t token) {
  const std::uint16_t id = next_id_++;
  send(node, wire::Command{id, code, token, argument});
  std::optional<wire::Reason> answer;
  run_until(
      [&] {
        if (const auto ack = newest<wire::Acknowledgement>(node); ack && ack->id == id) answer = ack->reason;
        return answer.has_value();
      },
      0.2);
  return answer.value_or(wire::Reason::unknown_command);
}

wire::Reason BenchHost::command_with_token(wire::CommandCode code, std::uint32_t argument) {
  const std::uint16_t id = next_id_++;
  send(Node::rig, wire::Command{id, wire::CommandCode::request_token, 0, static_cast<std::uint32_t>(code)});
  std::uint32_t token = 0;
  run_until(
      [&] {
        if (const auto grant = newest<wire::TokenGrant>(Node::rig); grant && grant->id == id) token = grant->token;
        return token != 0;
      },
      0.2);
  return command(Node::rig, code, argument, token);
}

void BenchHost::prepare(std::uint32_t record_id) {
  greet();
  command(Node::rig, wire::CommandCode::clear_faults);
  command(Node::flight, wire::CommandCode::reset_detector);
  command(Node::flight, wire::CommandCode::begin_record, record_id);
}

bool BenchHost::charge(double gauge_pascals, double settle_seconds) {
  if (command_with_token(wire::CommandCode::charge) != wire::Reason::done) return false;
  const auto pressure = [&] {
    const auto block = newest<wire::SampleBlock>(Node::rig);
    return block ? block->counts[block->counts.size() - 3] * kPressureScale : 0.0;
  };
  const bool reached = run_until([&] { return pressure() >= gauge_pascals; }, 60.0);
  if (command(Node::rig, wire::CommandCode::stop_charge) != wire::Reason::done) return false;
  run_for(settle_seconds);
  return reached;
}

wire::Reason BenchHost::release(double open_seconds) {
  return command_with_token(wire::CommandCode::release, static_cast<std::uint32_t>(open_seconds * 1.0e6));
}

bool BenchHost::eject(std::uint32_t record_id, double gauge_pascals) {
  prepare(record_id);
  if (!charge(gauge_pascals) || release() != wire::Reason::done) return false;
  run_for(4.0);
  vent();
  run_for(6.0);
  return true;
}

std::vector<double> BenchHost::channel(Node node, std::size_t index, double scale) const {
  std::vector<double> out;
  for (const Heard& h : heard_[static_cast<std::size_t>(node)])
    if (const auto* block = std::get_if<wire::SampleBlock>(&h.message))
      for (std::size_t i = index; i < block->counts.size(); i += block->channels) out.push_back(block->counts[i] * scale);
  return out;
}

Scenario exact_scenario() {
  Scenario s;
  for (SensorScatter* sensor : {&s.force, &s.supply_pressure, &s.chamber_pressure, &s.dummy_current, &s.acceleration})
    sensor->gain_standard_uncertainty = sensor->zero_standard_uncertainty = sensor->noise_rms = 0.0;
  s.valves.fast_jitter_seconds = s.tube.friction_scatter = 0.0;
  s.tube.stroke_standard_uncertainty_metres = s.tube.piston_mass_standard_uncertainty_kg =
      s.vehicle.mass_standard_uncertainty_kg = 0.0;
  return s;
}

}  // namespace coldstroke::daq
