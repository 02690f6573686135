// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "analysis/result.hpp"

namespace coldstroke::daq {

/// The built-in rig's own setup, fitted to a scenario: where the scenario's firing channels end in dummy loads, they are
/// registered in it. `scenario`: a built-in name or FILE.toml.
[[nodiscard]] Result<std::string> setup_text_for(const std::string& scenario);

}  // namespace coldstroke::daq
