// SPDX-License-Identifier: GPL-3.0-or-later
//
// The charge plan: the stroke model fitted to recorded trials, asked what another charge, reservoir, mass or number of valves
// would do, and which charge gives a wanted exit speed. Beyond what was recorded it refuses, unless told to go on, and then says
// so.
#pragma once

#include <Eigen/Core>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "analysis/pneumatics/stroke_model.hpp"
#include "analysis/result.hpp"

namespace coldstroke::analysis {

struct Known {
  double value = 0.0, standard_uncertainty = 0.0;
};

/// What a charge plan is asked about, and what a recorded trial ran under.
struct PlanConditions {
  double charge_gauge_pascals = 0.0;
  double vehicle_mass_kg = 0.0;
  double reservoir_volume_m3 = 0.0;
  int valve_count = 0;
};

/// One recorded trial. Values that were not measured are left out.
struct RecordedStroke {
  std::int64_t trial = 0;
  PlanConditions conditions;
  std::optional<Known> exit_speed_mps, stroke_time_seconds, peak_acceleration_g, droop_pascals;  ///< peak felt, not kinematic
};

/// What is known of the rig before any trial. The four numbers to be fitted are a first guess; a guess counts as known to a
/// factor of about 1.6 (conductance, opening) or 2 (frictions), so that trials decide.
struct PlanRig {
  StrokeParameters parameters;     ///< vehicle mass, reservoir and valves are taken from the conditions
  double valve_conductance = 0.0;  ///< m^3/(s Pa), each fast valve with its hoses
  double valve_critical_ratio = 0.3;
  double valve_opening_seconds = 0.010;
};

enum class PlanQuantity : std::size_t { exit_speed, stroke_time, peak, droop };
inline constexpr std::size_t kPlanQuantities = 4;

struct Residual {
  std::int64_t trial = 0;
  PlanQuantity quantity = PlanQuantity::exit_speed;
  double measured = 0.0, fitted = 0.0;
};

/// What the recorded trials span, and how far beyond a prediction still counts as inside.
struct PlanBounds {
  double charge_low_pascals = 0.0, charge_high_pascals = 0.0;  ///< widened by 15 %
  double mass_low_kg = 0.0, mass_high_kg = 0.0;                ///< widened by 25 %
  double reservoir_low_m3 = 0.0, reservoir_high_m3 = 0.0;      ///< widened by 25 %
  int valves_low = 0, valves_high = 0;                         ///< as recorded
};

struct ChargePlan {
  PlanRig rig;
  Known valve_conductance, running_friction_newtons, seal_friction_fraction, valve_opening_seconds;
  Eigen::Matrix4d covariance;                ///< of the logarithms of these four
  double scatter[kPlanQuantities] = {};      ///< relative standard deviation from trial to trial about the fit
  double measurement[kPlanQuantities] = {};  ///< relative, common to all trials: what their sensors leave open
  double chi_squared_per_freedom = 0.0;
  std::vector<Residual> residuals;
  PlanBounds bounds;
};

/// Levenberg-Marquardt (Eigen) on the logarithms of conductance, frictions and opening time. Complains of fewer than three trials
/// with an exit speed, of a rig that cannot be simulated and of a fit that does not converge.
[[nodiscard]] Result<ChargePlan> fit_charge_plan(const PlanRig& rig, const std::vector<RecordedStroke>& trials);

struct Interval {
  double value = 0.0, standard_uncertainty = 0.0, low_95 = 0.0, high_95 = 0.0;
};

struct Prediction {
  bool leaves = true;  ///< false: it stalls in the tube, a jam hazard; the rest is then 0
  Interval exit_speed_mps, stroke_time_seconds, peak_acceleration_g, droop_pascals;
  /// In what it goes beyond the recorded trials, with the numbers; empty: inside. Where it is not, the intervals hold what the
  /// fit leaves open and not what the model gets wrong out there: no trial shows that, so no width is claimed for it.
  std::vector<std::string> beyond;
  double speed_ratio_to_lossless = 0.0;  ///< to the closed form of a charge that expands without any valve
};

/// Goes with every interval of such a prediction.
inline constexpr const char* kBeyondCaution =
    "the ± is of the fitted numbers and the trials' scatter only; how far the extrapolation itself is off is not known";

enum class Beyond { refuse, allow };

/// In what the conditions lie outside the plan's bounds, one sentence each; empty: inside.
[[nodiscard]] std::vector<std::string> beyond_bounds(const ChargePlan& plan, const PlanConditions& conditions);

/// Complains of conditions outside the bounds (unless allowed) and of such that are not positive.
[[nodiscard]] Result<Prediction> predict(const ChargePlan& plan, const PlanConditions& conditions, Beyond beyond);

/// The inverse question.
struct ChargeWish {
  double exit_speed_mps = 0.0;
  double peak_limit_g = 0.0;          ///< felt; 0: none
  double charge_limit_pascals = 0.0;  ///< gauge, never above
};
struct ChargeAnswer {
  enum class Kind {
    found,        ///< `charge` gives the speed, and the peak's upper 95 % limit is within the wish
    too_hard,     ///< it gives the speed but the peak exceeds the limit; `gentlest` is the most that the limit allows
    not_reached,  ///< even the charge limit is too little; `at_limit` says what it gives
  };
  Kind kind = Kind::not_reached;
  Interval charge_gauge_pascals;                        ///< found, too_hard: with the speed's uncertainty as that of the charge
  Prediction prediction;                                ///< at that charge; not_reached: at the charge limit
  std::optional<Interval> gentle_charge_gauge_pascals;  ///< too_hard: largest charge whose peak keeps the limit
  std::optional<Prediction> gentle;                     ///< at that charge; the two are there together
  std::string no_gentle;                                ///< too_hard without them: why, and what to do
};
/// `conditions.charge_gauge_pascals` is not used.
[[nodiscard]] Result<ChargeAnswer> charge_for(const ChargePlan& plan, PlanConditions conditions, const ChargeWish& wish,
                                              Beyond beyond);

/// Exit speed of a fixed charge that expands from the reservoir without valve loss, adiabatic or isothermal; F is a constant
/// friction. Source: Rohrbach, Buresh and Madsen, Am. J. Phys. 2012, doi 10.1119/1.3644253; gravity added. 0: it does not leave.
[[nodiscard]] double lossless_exit_speed_mps(const StrokeParameters& parameters, double charge_gauge_pascals,
                                             double friction_newtons, bool isothermal);

}  // namespace coldstroke::analysis
