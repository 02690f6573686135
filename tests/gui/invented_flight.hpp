// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "gui/report/trial_source.hpp"

namespace coldstroke::gui {

/// A trial with the virtual rig's setup, whose numbers after the tube are computed from made-up ones of the stroke.
[[nodiscard]] ReportTrial invented_flight();
/// Trials at nine charges from 6 to 8.8 bar on one simulated rig, with a little scatter, and one void one.
[[nodiscard]] CampaignRows invented_charges();
/// What that rig really does at a charge, m/s.
[[nodiscard]] double invented_rig_speed_mps(double charge_gauge_pascals);

}  // namespace coldstroke::gui
