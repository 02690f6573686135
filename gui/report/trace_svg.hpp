// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>

#include "gui/report/event_view.hpp"

namespace coldstroke::gui {

/// Text safe inside HTML and SVG, attributes included.
[[nodiscard]] std::string escaped(std::string_view text);

/// The stacked traces of one trial as one <svg> element: vector lines reduced to one smallest-to-largest stroke a column, so
/// that no peak is lost; shared time axis with zero at first motion; marks with their words; lost samples hatched.
/// `label` names the picture for a reader who cannot see it.
[[nodiscard]] std::string traces_svg(const analysis::TraceSet& traces, const analysis::Marks& marks, const Stretch& stretch,
                                     std::string_view label);

}  // namespace coldstroke::gui
