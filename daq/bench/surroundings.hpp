// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>

#include "daq/sequence/readings.hpp"
#include "daq/setup/setup.hpp"

namespace coldstroke::daq {

/// Reads today's local date, the room where `campaign` lies, and whether the setup's file still reads as it was loaded. Touches
/// the disk: for drivers, about once a second.
[[nodiscard]] Surroundings look_around(const Setup& setup, const std::filesystem::path& campaign);

}  // namespace coldstroke::daq
