// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>

namespace coldstroke::daq {

/// A two-position valve with its coil: after a dead time the spool moves in a straight ramp, opening and shutting alike.
/// Times are bench seconds and never go back.
class ValveDrive {
 public:
  ValveDrive(double dead_seconds, double opening_seconds, bool open_at_start)
      : dead_{dead_seconds}, opening_{opening_seconds}, commanded_{open_at_start}, position_{open_at_start ? 1.0 : 0.0} {}

  void set_dead_seconds(double seconds) { dead_ = seconds; }

  void command(bool open, double now) {
    if (open == commanded_) return;
    commanded_ = open;
    position_ = opening(now + dead_);  // the old ramp runs on until the dead time is over
    before_ = {ramp_start_, from_, to_};
    ramp_start_ = now + dead_;
    from_ = position_;
    to_ = open ? 1.0 : 0.0;
  }

  [[nodiscard]] bool commanded() const { return commanded_; }

  /// 0 shut .. 1 open.
  [[nodiscard]] double opening(double now) const {
    if (now < ramp_start_) return ramp(before_.start, before_.from, before_.to, now);
    return ramp(ramp_start_, from_, to_, now);
  }

  /// True from a command until the spool has arrived.
  [[nodiscard]] bool busy(double now) const { return now < ramp_start_ + opening_; }
  /// Corners of the ramp: steps of integration should end there.
  [[nodiscard]] double ramp_start() const { return ramp_start_; }
  [[nodiscard]] double ramp_end() const { return ramp_start_ + opening_; }

 private:
  [[nodiscard]] double ramp(double start, double from, double to, double now) const {
    if (now < start) return from;
    const double travel = opening_ > 0.0 ? (now - start) / opening_ : 1.0;
    return to > from ? std::min(to, from + travel) : std::max(to, from - travel);
  }
  struct Ramp {
    double start, from, to;
  };
  double dead_, opening_;
  bool commanded_;
  double position_;
  double ramp_start_ = -1.0e9, from_ = position_, to_ = position_;
  Ramp before_{-1.0e9, position_, position_};
};

}  // namespace coldstroke::daq
