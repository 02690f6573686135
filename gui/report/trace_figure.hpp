// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string_view>

#include "gui/report/event_view.hpp"
#include "gui/report/figure.hpp"

namespace coldstroke::gui {

/// The stacked traces of one trial: lines reduced to one smallest-to-largest stroke a column, so that no peak is lost; shared
/// time axis with zero at first motion; marks with their words; lost samples shaded. `label` names the picture for a reader who
/// cannot see it.
[[nodiscard]] Figure traces_figure(const analysis::TraceSet& traces, const analysis::Marks& marks, const Stretch& stretch,
                                   std::string_view label);

}  // namespace coldstroke::gui
