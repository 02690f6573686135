// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "analysis/calibration/calibration.hpp"
#include "analysis/result.hpp"
#include "daq/setup/setup.hpp"
#include "daq/stream/history.hpp"

namespace coldstroke::gui {

/// Mean and scatter of what a channel reads, in counts, over the newest `seconds` of its history. `applied` and `unloading` of
/// the point are left to the caller. Complains of a history that holds less, of lost samples, and of readings at or beyond the
/// channel's range: overload or a broken wire.
[[nodiscard]] Result<analysis::CalibrationPoint> capture(const daq::History& history, const daq::ChannelSetup& channel,
                                                         double seconds);

}  // namespace coldstroke::gui
