// SPDX-License-Identifier: GPL-3.0-or-later
//
// Flight board's clock -> host clock -> rig board's clock (the bench clock), with the uncertainty of both steps.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "analysis/result.hpp"
#include "analysis/signal/clock_exchange.hpp"
#include "daq/setup/setup.hpp"
#include "daq/stream/clock.hpp"
#include "daq/stream/node_session.hpp"

namespace coldstroke::daq {

/// An instant on the bench clock, seconds since the alignment's origin, and its standard uncertainty.
struct AlignedInstant {
  double bench_seconds = 0.0, standard_uncertainty_seconds = 0.0;
};

/// What the setup says of a board's line, as limits for its clock fit: the time that the bytes of request and reply surely take
/// on a UART, and the measured asymmetry.
[[nodiscard]] analysis::ClockLimits clock_limits(const PortSetup& port);

struct LineKnowledge {
  analysis::ClockLimits rig, flight;
};
[[nodiscard]] LineKnowledge line_knowledge(const Setup& setup);

class ClockAlignment {
 public:
  /// Fits both boards' clocks. `origin`: the rig instant that is zero on the bench time line of the answers.
  /// Complains if either board answered no clock request, or its clock jumped.
  /// `lines`: what is known of each board's line.
  static Result<ClockAlignment> fit(std::span<const ClockExchange> rig, std::span<const ClockExchange> flight, RigTime origin,
                                    const LineKnowledge& lines = {});

  /// Fractional microseconds: sample instants are not whole ones.
  [[nodiscard]] AlignedInstant to_bench(double flight_us) const;
  [[nodiscard]] double flight_drift_ppm() const { return flight_.drift() * 1.0e6; }  ///< against the host clock
  [[nodiscard]] double rig_drift_ppm() const { return rig_.drift() * 1.0e6; }

 private:
  ClockAlignment(analysis::ClockFit rig, analysis::ClockFit flight) : rig_{std::move(rig)}, flight_{std::move(flight)} {}
  analysis::ClockFit rig_, flight_;  // near: host
  // Large counts would cost digits, so each clock is counted from its own first exchange.
  std::int64_t host_zero_us_ = 0, rig_zero_us_ = 0, flight_zero_us_ = 0;
  double origin_seconds_ = 0.0;
};

/// The live alignment's uncertainty, fitted anew only when an exchange has been added. Newest 64 exchanges a board.
class AlignmentCache {
 public:
  [[nodiscard]] std::optional<double> uncertainty(const std::vector<ClockExchange>& rig, const std::vector<ClockExchange>& flight,
                                                  const LineKnowledge& lines = {});

 private:
  std::int64_t rig_newest_us_ = -1, flight_newest_us_ = -1;
  std::optional<double> uncertainty_;
};

/// Uncertainty and drift of one board's clock against the host at its newest exchange, for link health.
struct ClockHealth {
  double standard_uncertainty_seconds = 0.0, drift_ppm = 0.0;
};
[[nodiscard]] std::optional<ClockHealth> clock_health(std::span<const ClockExchange> exchanges,
                                                      const analysis::ClockLimits& line = {});

}  // namespace coldstroke::daq
