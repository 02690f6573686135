// SPDX-License-Identifier: GPL-3.0-or-later
//
// Who may sign what. Pure: the driver stores what is accepted.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "analysis/result.hpp"
#include "daq/sequence/readings.hpp"
#include "daq/sequence/sequence.hpp"

namespace coldstroke::daq {

/// The name that a virtual rig's own operator signs with: nobody looked, and nobody could be hurt.
inline constexpr const char* kUnattendedName = "unattended virtual rig";

/// Why this signature cannot be taken; nullopt: it can. One role a person, in the checks of the running trial, after every item
/// of the list as it stands now was confirmed.
[[nodiscard]] std::optional<Complaint> signature_trouble(Step step, const ChecklistSetup& checklist,
                                                         std::span<const Signature> given, const std::string& role,
                                                         const std::string& name, std::span<const std::string> confirmed);
/// Why this bypass cannot be taken; nullopt: it can. Some interlocks have none; every other needs a reason in words.
[[nodiscard]] std::optional<Complaint> bypass_trouble(const std::string& interlock, const std::string& reason);

}  // namespace coldstroke::daq
