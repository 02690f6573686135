// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "daq/record/evidence_trials.hpp"

namespace coldstroke::gui {

/// Says on standard error how far long work is, at a terminal only, and ends it when the person presses Ctrl-C.
[[nodiscard]] daq::Progress progress_line(const char* doing);

}  // namespace coldstroke::gui
