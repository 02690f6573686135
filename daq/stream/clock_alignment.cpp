// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/stream/clock_alignment.hpp"

#include <cmath>

namespace coldstroke::daq {

namespace {

constexpr std::size_t kLiveExchanges = 64;

std::vector<analysis::ClockExchange> in_seconds(std::span<const ClockExchange> exchanges, std::int64_t host_zero_us,
                                                std::int64_t node_zero_us) {
  std::vector<analysis::ClockExchange> out;
  out.reserve(exchanges.size());
  const auto host = [&](std::int64_t us) { return static_cast<double>(us - host_zero_us) * 1.0e-6; };
  const auto node = [&](std::uint64_t us) { return static_cast<double>(static_cast<std::int64_t>(us) - node_zero_us) * 1.0e-6; };
  for (const ClockExchange& e : exchanges)
    out.push_back({host(e.t1_host_us), node(e.t2_node_us), node(e.t3_node_us), host(e.t4_host_us)});
  return out;
}

/// By how much a board's clock jumped against the host's, seconds, if it did: more than two crystals drift apart and more than
/// the delays of both exchanges could hide.
std::optional<double> jump_seconds(std::span<const analysis::ClockExchange> exchanges) {
  constexpr double kSlackSeconds = 1.0e-3;
  constexpr double kWildestDrift = 500.0e-6;
  for (std::size_t k = 1; k < exchanges.size(); ++k) {
    const auto before = analysis::read_clock(exchanges[k - 1]), now = analysis::read_clock(exchanges[k]);
    const double change = now.offset_seconds - before.offset_seconds;
    const double allowed = before.distance_seconds + now.distance_seconds + kSlackSeconds +
                           kWildestDrift * std::abs(now.at_seconds - before.at_seconds);
    if (std::abs(change) > allowed) return change;
  }
  return std::nullopt;
}

std::span<const ClockExchange> newest(const std::vector<ClockExchange>& all) {
  return std::span{all}.last(std::min(all.size(), kLiveExchanges));
}

constexpr double kBitsPerByte = 10.0;  // start, eight, stop

double seconds_on_the_line(const wire::Message& message, int baud) {
  std::vector<std::byte> bytes;
  wire::Encoder{}.append(message, bytes);
  return static_cast<double>(bytes.size()) * kBitsPerByte / baud;
}

}  // namespace

analysis::ClockLimits clock_limits(const PortSetup& port) {
  analysis::ClockLimits out;
  out.asymmetry_standard_uncertainty_seconds = port.asymmetry_standard_uncertainty_seconds;
  if (!port.uart || port.baud <= 0) return out;
  // Neither frame's length depends on what it carries.
  out.least_way_out_seconds = seconds_on_the_line(wire::ClockRequest{}, port.baud);
  out.least_way_back_seconds = seconds_on_the_line(wire::ClockReply{}, port.baud);
  return out;
}

LineKnowledge line_knowledge(const Setup& setup) { return {clock_limits(setup.rig_port), clock_limits(setup.flight_port)}; }

Result<ClockAlignment> ClockAlignment::fit(std::span<const ClockExchange> rig, std::span<const ClockExchange> flight,
                                           RigTime origin, const LineKnowledge& lines) {
  if (rig.empty() || flight.empty())
    return complain(std::string{rig.empty() ? "the rig board" : "the flight board"} + " answered no clock request",
                    "clock alignment", "keep both links open for a second before the trial");
  const std::int64_t host_zero = rig.front().t1_host_us;
  const auto rig_zero = static_cast<std::int64_t>(rig.front().t2_node_us);
  const auto flight_zero = static_cast<std::int64_t>(flight.front().t2_node_us);
  const auto rig_exchanges = in_seconds(rig, host_zero, rig_zero), flight_exchanges = in_seconds(flight, host_zero, flight_zero);
  for (const auto& [board, jump] :
       {std::pair{"rig", jump_seconds(rig_exchanges)}, std::pair{"flight", jump_seconds(flight_exchanges)}})
    if (jump)
      return complain(std::string{"the clock of the "} + board + " board jumped by " + std::to_string(*jump) + " s",
                      "clock alignment",
                      "look for a reset or a timer that wraps; the record is aligned by the pulse instead, if it can be");
  auto rig_fit = analysis::fit_clock(rig_exchanges, lines.rig);
  if (!rig_fit) return tl::unexpected{rig_fit.error()};
  auto flight_fit = analysis::fit_clock(flight_exchanges, lines.flight);
  if (!flight_fit) return tl::unexpected{flight_fit.error()};
  ClockAlignment out{std::move(*rig_fit), std::move(*flight_fit)};
  out.host_zero_us_ = host_zero;
  out.rig_zero_us_ = rig_zero;
  out.flight_zero_us_ = flight_zero;
  out.origin_seconds_ = static_cast<double>(us_of(origin) - rig_zero) * 1.0e-6;
  return out;
}

AlignedInstant ClockAlignment::to_bench(double flight_us) const {
  const double host = flight_.to_near((flight_us - static_cast<double>(flight_zero_us_)) * 1.0e-6);
  return {rig_.to_far(host) - origin_seconds_,
          std::hypot(rig_.standard_uncertainty_at(host), flight_.standard_uncertainty_at(host))};
}

std::optional<ClockHealth> clock_health(std::span<const ClockExchange> exchanges, const analysis::ClockLimits& line) {
  if (exchanges.empty()) return std::nullopt;
  const std::int64_t host_zero = exchanges.front().t1_host_us;
  const auto fit =
      analysis::fit_clock(in_seconds(exchanges, host_zero, static_cast<std::int64_t>(exchanges.front().t2_node_us)), line);
  if (!fit) return std::nullopt;
  const double newest_seconds = static_cast<double>(exchanges.back().t4_host_us - host_zero) * 1.0e-6;
  return ClockHealth{fit->standard_uncertainty_at(newest_seconds), fit->drift() * 1.0e6};
}

std::optional<double> AlignmentCache::uncertainty(const std::vector<ClockExchange>& rig, const std::vector<ClockExchange>& flight,
                                                  const LineKnowledge& lines) {
  if (rig.empty() || flight.empty()) return std::nullopt;
  if (rig.back().t4_host_us == rig_newest_us_ && flight.back().t4_host_us == flight_newest_us_) return uncertainty_;
  rig_newest_us_ = rig.back().t4_host_us;
  flight_newest_us_ = flight.back().t4_host_us;
  const auto rig_health = clock_health(newest(rig), lines.rig);
  const auto flight_health = clock_health(newest(flight), lines.flight);
  uncertainty_.reset();
  if (rig_health && flight_health)
    uncertainty_ = std::hypot(rig_health->standard_uncertainty_seconds, flight_health->standard_uncertainty_seconds);
  return uncertainty_;
}

}  // namespace coldstroke::daq
