// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "daq/bench/bench_view.hpp"

namespace coldstroke::daq {

class VirtualRigProcess;

/// Takes each next action as soon as it is allowed, for runs nobody watches. It can only be made from the handle of a virtual rig
/// that this very process started: gas on a real rig never moves unattended, and nothing a board says about itself can change
/// that.
class UnattendedOperator {
 public:
  UnattendedOperator(const VirtualRigProcess& rig, std::int64_t trials) : trials_left_{trials} { static_cast<void>(rig); }

  /// What to ask for now. Ask every few milliseconds.
  [[nodiscard]] OperatorRequest decide(const BenchView& view) {
    if (!view.next.enabled) return OperatorRequest::none;
    if (view.next.request != OperatorRequest::begin) return view.next.request;
    if (trials_left_ <= 0) return OperatorRequest::none;
    --trials_left_;
    return OperatorRequest::begin;
  }

 private:
  std::int64_t trials_left_;
};

}  // namespace coldstroke::daq
