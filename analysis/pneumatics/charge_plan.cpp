// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/pneumatics/charge_plan.hpp"

#include <Eigen/Cholesky>
#include <algorithm>
#include <array>
#include <boost/math/constants/constants.hpp>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <cstdio>
#include <limits>
#include <unsupported/Eigen/LevenbergMarquardt>
#include <unsupported/Eigen/NumericalDiff>

namespace coldstroke::analysis {
namespace {

constexpr double kStepSeconds = 1.0e-4;  // agrees with 20 us to 1e-5: first motion, corners and exit are located
constexpr Eigen::Index kParameters = 4;
// Standard deviations of the guesses' logarithms: conductance, running friction, seal friction, opening time.
constexpr std::array<double, 4> kGuess{0.5, 0.7, 0.7, 0.5};
// What the model itself is not good to, relative: no gas dynamics in hoses, no muzzle push (common practice, no source).
constexpr std::array<double, kPlanQuantities> kModel{0.003, 0.005, 0.015, 0.007};
constexpr double kChargeBeyond = 0.15, kOtherBeyond = 0.25;
constexpr double kNormal95 = 1.959963984540054;

using Theta = Eigen::Vector4d;
using Values = std::array<double, kPlanQuantities>;

template <class... Numbers>
std::string sentence(const char* format, Numbers... numbers) {
  char text[240];
  std::snprintf(text, sizeof text, format, numbers...);
  return text;
}

StrokeParameters with(const PlanRig& rig, const PlanConditions& c, const Theta& theta) {
  StrokeParameters q = rig.parameters;
  q.vehicle_mass_kg = c.vehicle_mass_kg;
  q.reservoir_volume_m3 = c.reservoir_volume_m3;
  q.valves.assign(static_cast<std::size_t>(c.valve_count),
                  Valve{std::exp(theta[0]), rig.valve_critical_ratio, 0.0, std::exp(theta[3])});
  q.running_friction_newtons = std::exp(theta[1]);
  // Breakaway shows only in when it starts, which no number here counts from; half above running is usual (no source).
  q.breakaway_newtons = 1.5 * q.running_friction_newtons;
  q.seal_friction_fraction = std::min(0.9, std::exp(theta[2]));
  return q;
}

/// Nothing if the vehicle stays in the tube.
std::optional<Values> simulated(const PlanRig& rig, const PlanConditions& c, const Theta& theta) {
  const StrokeParameters q = with(rig, c, theta);
  const StrokeSummary s = simulate_stroke(q, c.charge_gauge_pascals, kStepSeconds);
  if (!s.exit_seconds || !s.first_motion_seconds) return std::nullopt;
  return Values{s.exit_speed_mps, *s.exit_seconds - *s.first_motion_seconds,
                s.peak_acceleration_mps2 / kStandardGravity + std::cos(q.tilt_radians),
                q.ambient_pascals + c.charge_gauge_pascals - s.reservoir_at_exit_pascals};
}

const std::optional<Known>& quantity(const RecordedStroke& s, std::size_t which) {
  const std::optional<Known>* all[] = {&s.exit_speed_mps, &s.stroke_time_seconds, &s.peak_acceleration_g, &s.droop_pascals};
  return *all[which];
}

struct Observation {
  std::size_t trial, quantity;
  double value, sigma;
};

std::vector<Observation> observations(const std::vector<RecordedStroke>& trials) {
  std::vector<Observation> out;
  for (std::size_t t = 0; t < trials.size(); ++t)
    for (std::size_t q = 0; q < kPlanQuantities; ++q)
      if (const auto& known = quantity(trials[t], q); known && known->value > 0.0)
        out.push_back({t, q, known->value, std::hypot(known->standard_uncertainty, kModel[q] * known->value)});
  return out;
}

struct Misfit : Eigen::DenseFunctor<double> {
  Misfit(const PlanRig& own_rig, const std::vector<RecordedStroke>& own_trials, const std::vector<Observation>& own_seen,
         const Theta& own_guess)
      : DenseFunctor<double>{static_cast<int>(kParameters), static_cast<int>(own_seen.size()) + static_cast<int>(kParameters)},
        rig{own_rig},
        trials{own_trials},
        seen{own_seen},
        guess{own_guess} {}

  int operator()(const InputType& x, ValueType& out) const {
    std::vector<std::optional<Values>> model;
    model.reserve(trials.size());
    for (const RecordedStroke& trial : trials) model.push_back(simulated(rig, trial.conditions, x));
    Eigen::Index row = 0;
    for (const Observation& o : seen) {
      // A trial that left where the model stalls: as wrong as a value of zero.
      const double fitted = model[o.trial] ? (*model[o.trial])[o.quantity] : 0.0;
      out[row++] = (o.value - fitted) / o.sigma;
    }
    for (Eigen::Index k = 0; k < kParameters; ++k) out[row++] = (x[k] - guess[k]) / kGuess[static_cast<std::size_t>(k)];
    return 0;
  }

  const PlanRig& rig;
  const std::vector<RecordedStroke>& trials;
  const std::vector<Observation>& seen;
  Theta guess;
};

Theta theta_of(const ChargePlan& plan) {
  return {std::log(plan.valve_conductance.value), std::log(plan.running_friction_newtons.value),
          std::log(plan.seal_friction_fraction.value), std::log(plan.valve_opening_seconds.value)};
}

PlanBounds bounds_of(const std::vector<RecordedStroke>& trials) {
  PlanBounds b;
  double charge_low = 1.0e300, charge_high = 0.0;
  b.mass_low_kg = b.reservoir_low_m3 = 1.0e300;
  b.valves_low = std::numeric_limits<int>::max();
  for (const RecordedStroke& t : trials) {
    const PlanConditions& c = t.conditions;
    charge_low = std::min(charge_low, c.charge_gauge_pascals);
    charge_high = std::max(charge_high, c.charge_gauge_pascals);
    b.mass_low_kg = std::min(b.mass_low_kg, c.vehicle_mass_kg / (1.0 + kOtherBeyond));
    b.mass_high_kg = std::max(b.mass_high_kg, c.vehicle_mass_kg * (1.0 + kOtherBeyond));
    b.reservoir_low_m3 = std::min(b.reservoir_low_m3, c.reservoir_volume_m3 / (1.0 + kOtherBeyond));
    b.reservoir_high_m3 = std::max(b.reservoir_high_m3, c.reservoir_volume_m3 * (1.0 + kOtherBeyond));
    b.valves_low = std::min(b.valves_low, c.valve_count);
    b.valves_high = std::max(b.valves_high, c.valve_count);
  }
  b.charge_low_pascals = charge_low / (1.0 + kChargeBeyond);
  b.charge_high_pascals = charge_high * (1.0 + kChargeBeyond);
  return b;
}

bool usable(const PlanConditions& c) {
  return c.charge_gauge_pascals > 0.0 && c.vehicle_mass_kg > 0.0 && c.reservoir_volume_m3 > 0.0 && c.valve_count > 0 &&
         c.valve_count <= 64;
}

void add_scatter(ChargePlan& plan, const std::vector<RecordedStroke>& trials, const std::vector<Observation>& seen,
                 const Theta& theta) {
  std::vector<std::optional<Values>> model;
  model.reserve(trials.size());
  for (const RecordedStroke& trial : trials) model.push_back(simulated(plan.rig, trial.conditions, theta));
  std::array<double, kPlanQuantities> squares{}, stated{};
  std::array<double, kPlanQuantities> count{};
  for (const Observation& o : seen) {
    const double fitted = model[o.trial] ? (*model[o.trial])[o.quantity] : 0.0;
    plan.residuals.push_back({trials[o.trial].trial, static_cast<PlanQuantity>(o.quantity), o.value, fitted});
    squares[o.quantity] += std::pow((o.value - fitted) / o.value, 2);
    stated[o.quantity] += quantity(trials[o.trial], o.quantity)->standard_uncertainty / o.value;
    count[o.quantity] += 1.0;
  }
  for (std::size_t q = 0; q < kPlanQuantities; ++q) {
    // A quantity nobody measured is worth no more than the model.
    plan.scatter[q] = count[q] > 0.0 ? std::sqrt(squares[q] / std::max(1.0, count[q] - 1.0)) : 5.0 * kModel[q];
    plan.measurement[q] = count[q] > 0.0 ? stated[q] / count[q] : 0.0;
  }
}

Known known(double log_value, double log_u) {
  const double value = std::exp(log_value);
  return {value, value * log_u};
}

/// The four quantities with their uncertainty; nothing if it stalls.
std::optional<std::array<Interval, kPlanQuantities>> intervals(const ChargePlan& plan, const PlanConditions& c) {
  const Theta theta = theta_of(plan);
  const auto middle = simulated(plan.rig, c, theta);
  if (!middle) return std::nullopt;
  Eigen::Matrix<double, static_cast<int>(kPlanQuantities), 4> slopes;
  for (Eigen::Index k = 0; k < kParameters; ++k) {
    const double step = 0.02;
    Theta low = theta, high = theta;
    low[k] -= step;
    high[k] += step;
    const auto below = simulated(plan.rig, c, low), above = simulated(plan.rig, c, high);
    for (Eigen::Index q = 0; q < static_cast<Eigen::Index>(kPlanQuantities); ++q) {
      const auto i = static_cast<std::size_t>(q);
      // At the edge of a stall one side may not leave; the other then serves.
      const double up = above ? (*above)[i] : (*middle)[i], down = below ? (*below)[i] : (*middle)[i];
      slopes(q, k) = (up - down) / (step * (above && below ? 2.0 : 1.0));
    }
  }
  std::array<Interval, kPlanQuantities> out;
  for (std::size_t q = 0; q < kPlanQuantities; ++q) {
    const auto row = slopes.row(static_cast<Eigen::Index>(q));
    const double fit = row * plan.covariance * row.transpose(), value = (*middle)[q];
    const double u =
        std::sqrt(std::max(0.0, fit) + std::pow(value, 2) * (std::pow(plan.scatter[q], 2) + std::pow(plan.measurement[q], 2) +
                                                             std::pow(kModel[q], 2)));
    out[q] = {value, u, value - kNormal95 * u, value + kNormal95 * u};
  }
  return out;
}

Prediction prediction_at(const ChargePlan& plan, const PlanConditions& c) {
  Prediction out;
  out.beyond = beyond_bounds(plan, c);
  const auto all = intervals(plan, c);
  out.leaves = all.has_value();
  if (!all) return out;
  out.exit_speed_mps = (*all)[0];
  out.stroke_time_seconds = (*all)[1];
  out.peak_acceleration_g = (*all)[2];
  out.droop_pascals = (*all)[3];
  const StrokeParameters q = with(plan.rig, c, theta_of(plan));
  const double lossless = lossless_exit_speed_mps(q, c.charge_gauge_pascals, q.running_friction_newtons, false);
  if (lossless > 0.0) out.speed_ratio_to_lossless = out.exit_speed_mps.value / lossless;
  return out;
}

/// Charge at which a rising function of it passes `wanted`, in (0, limit]; nothing if it stays below.
template <class F>
std::optional<double> charge_where(F value, double wanted, double limit) {
  const auto excess = [&](double charge) { return value(charge) - wanted; };
  const double least = std::min(1000.0, 0.5 * limit);
  if (!(excess(limit) >= 0.0)) return std::nullopt;
  if (excess(least) >= 0.0) return least;
  std::uintmax_t tries = 60;
  const auto [low, high] = boost::math::tools::toms748_solve(
      excess, least, limit, [](double a, double b) { return std::abs(a - b) < 1.0; }, tries);
  return 0.5 * (low + high);
}

/// Of an answer that is too hard: the most that the peak's limit allows, or why there is no such charge.
void add_gentlest(ChargeAnswer& out, const ChargePlan& plan, const PlanConditions& conditions, double peak_limit_g,
                  Beyond beyond) {
  const auto at = [&](double charge) {
    PlanConditions c = conditions;
    c.charge_gauge_pascals = charge;
    return c;
  };
  // The peak's own uncertainty, in parts of it, changes little with the charge.
  const double part = out.prediction.peak_acceleration_g.high_95 / out.prediction.peak_acceleration_g.value;
  const Theta theta = theta_of(plan);
  const auto peak = [&](double charge) {
    const auto values = simulated(plan.rig, at(charge), theta);
    return values ? (*values)[2] * part : 0.0;
  };
  const auto gentle = charge_where(peak, peak_limit_g, out.charge_gauge_pascals.value);
  constexpr double kStallShare = 0.9;  // far under the limit: the search ended at the edge of a stall, not at the limit
  if (!gentle || peak(*gentle - 2.0) < kStallShare * peak_limit_g) {
    out.no_gentle = "No charge keeps that peak: one that stays below it leaves the vehicle stuck in the tube";
    return;
  }
  const auto there = predict(plan, at(*gentle), beyond);
  if (!there) {
    out.no_gentle = "The largest charge that keeps that peak is " + there.error().what + "; " + there.error().remedy;
    return;
  }
  out.gentle_charge_gauge_pascals = Interval{*gentle, 0.0, *gentle, *gentle};
  out.gentle = *there;
}

}  // namespace

double lossless_exit_speed_mps(const StrokeParameters& q, double charge_gauge_pascals, double friction_newtons, bool isothermal) {
  const double area = 0.25 * boost::math::constants::pi<double>() * q.bore_metres * q.bore_metres;
  const double mass = q.vehicle_mass_kg + q.piston_mass_kg, p0 = q.ambient_pascals + charge_gauge_pascals;
  const double growth = 1.0 + area * q.stroke_metres / q.reservoir_volume_m3, k = kAirHeatCapacityRatio;
  const double gas = p0 * q.reservoir_volume_m3 * (isothermal ? std::log(growth) : (1.0 - std::pow(growth, 1.0 - k)) / (k - 1.0));
  const double against = q.ambient_pascals * area + friction_newtons + mass * kStandardGravity * std::cos(q.tilt_radians);
  const double energy = gas - against * q.stroke_metres;
  return energy > 0.0 ? std::sqrt(2.0 * energy / mass) : 0.0;
}

Result<ChargePlan> fit_charge_plan(const PlanRig& rig, const std::vector<RecordedStroke>& trials) {
  const auto speeds = std::count_if(trials.begin(), trials.end(),
                                    [](const RecordedStroke& t) { return t.exit_speed_mps && usable(t.conditions); });
  if (speeds < 3)
    return complain("a charge plan needs at least three trials with an exit speed, there are " + std::to_string(speeds),
                    "recorded trials", "record more trials");
  for (const RecordedStroke& t : trials)
    if (!usable(t.conditions))
      return complain("charge, mass, reservoir or number of valves is not positive", "trial " + std::to_string(t.trial),
                      "correct the setup, or leave this trial out");
  if (!(rig.valve_conductance > 0.0) || !(rig.valve_opening_seconds > 0.0) || !(rig.parameters.running_friction_newtons > 0.0) ||
      !(rig.parameters.seal_friction_fraction > 0.0) || !(rig.parameters.bore_metres > 0.0) ||
      !(rig.parameters.stroke_metres > 0.0) || !(rig.parameters.dead_volume_m3 > 0.0))
    return complain("a first guess or a length of the rig is not positive", "rig of the charge plan",
                    "give conductance, opening time, frictions, bore, stroke and dead volume above 0");
  const Theta guess{std::log(rig.valve_conductance), std::log(rig.parameters.running_friction_newtons),
                    std::log(rig.parameters.seal_friction_fraction), std::log(rig.valve_opening_seconds)};
  const std::vector<Observation> seen = observations(trials);
  // A step for the slopes far above the integrator's own error.
  using Slopes = Eigen::NumericalDiff<Misfit, Eigen::Central>;
  Slopes misfit{Misfit{rig, trials, seen, guess}, 1.0e-6};
  Eigen::LevenbergMarquardt<Slopes> search{misfit};
  search.setMaxfev(40);
  search.setXtol(1.0e-6);
  search.setFtol(1.0e-8);
  Eigen::VectorXd x = guess;
  const auto status = search.minimize(x);
  if (!x.allFinite() || status == Eigen::LevenbergMarquardtSpace::ImproperInputParameters)
    return complain("the fit does not converge", "recorded trials", "look at the trials: are charge, mass and reservoir right?");
  ChargePlan plan;
  plan.rig = rig;
  plan.bounds = bounds_of(trials);
  Eigen::VectorXd rest(misfit.values());
  misfit(x, rest);
  Eigen::MatrixXd slopes(misfit.values(), kParameters);
  misfit.df(x, slopes);
  const Eigen::Matrix4d information = slopes.transpose() * slopes;
  // As many numbers as observations and guesses, less the four fitted.
  plan.chi_squared_per_freedom = rest.squaredNorm() / static_cast<double>(seen.size());
  plan.covariance = information.ldlt().solve(Eigen::Matrix4d::Identity()) * std::max(1.0, plan.chi_squared_per_freedom);
  const Theta best = x;
  plan.valve_conductance = known(best[0], std::sqrt(plan.covariance(0, 0)));
  plan.running_friction_newtons = known(best[1], std::sqrt(plan.covariance(1, 1)));
  plan.seal_friction_fraction = known(best[2], std::sqrt(plan.covariance(2, 2)));
  plan.valve_opening_seconds = known(best[3], std::sqrt(plan.covariance(3, 3)));
  add_scatter(plan, trials, seen, best);
  return plan;
}

std::vector<std::string> beyond_bounds(const ChargePlan& plan, const PlanConditions& c) {
  const PlanBounds& b = plan.bounds;
  std::vector<std::string> out;
  if (c.charge_gauge_pascals < b.charge_low_pascals || c.charge_gauge_pascals > b.charge_high_pascals)
    out.push_back(sentence("charge %.4g bar, the trials reach from %.4g to %.4g bar with 15 %% allowed",
                           c.charge_gauge_pascals * 1e-5, b.charge_low_pascals * 1e-5, b.charge_high_pascals * 1e-5));
  if (c.vehicle_mass_kg < b.mass_low_kg || c.vehicle_mass_kg > b.mass_high_kg)
    out.push_back(sentence("vehicle mass %.4g kg, the trials reach from %.4g to %.4g kg with 25 %% allowed", c.vehicle_mass_kg,
                           b.mass_low_kg, b.mass_high_kg));
  if (c.reservoir_volume_m3 < b.reservoir_low_m3 || c.reservoir_volume_m3 > b.reservoir_high_m3)
    out.push_back(sentence("reservoir %.4g litres, the trials reach from %.4g to %.4g litres with 25 %% allowed",
                           c.reservoir_volume_m3 * 1e3, b.reservoir_low_m3 * 1e3, b.reservoir_high_m3 * 1e3));
  if (c.valve_count < b.valves_low || c.valve_count > b.valves_high)
    out.push_back(sentence("%d fast valves, the trials had %d to %d", c.valve_count, b.valves_low, b.valves_high));
  return out;
}

Result<Prediction> predict(const ChargePlan& plan, const PlanConditions& conditions, Beyond beyond) {
  if (!usable(conditions))
    return complain("charge, mass, reservoir and number of valves must be above 0", "conditions of the prediction",
                    "correct them");
  Prediction out = prediction_at(plan, conditions);
  if (!out.beyond.empty() && beyond == Beyond::refuse)
    return complain("outside what the recorded trials can say: " + out.beyond.front(), "conditions of the prediction",
                    "record trials there, or ask for an extrapolation, which is then marked as one");
  return out;
}

Result<ChargeAnswer> charge_for(const ChargePlan& plan, PlanConditions conditions, const ChargeWish& wish, Beyond beyond) {
  if (!(wish.exit_speed_mps > 0.0) || !(wish.charge_limit_pascals > 0.0))
    return complain("exit speed and charge limit must be above 0", "wish", "correct them");
  conditions.charge_gauge_pascals = wish.charge_limit_pascals;
  if (!usable(conditions)) return complain("mass, reservoir and number of valves must be above 0", "conditions", "correct them");
  const auto at = [&](double charge) {
    PlanConditions c = conditions;
    c.charge_gauge_pascals = charge;
    return c;
  };
  const Theta theta = theta_of(plan);
  // It never leaves: speed 0, so that the search goes on upwards.
  const auto speed = [&](double charge) {
    const auto values = simulated(plan.rig, at(charge), theta);
    return values ? (*values)[0] : 0.0;
  };
  const auto checked = [&](double charge) { return predict(plan, at(charge), beyond); };
  ChargeAnswer out;
  const auto charge = charge_where(speed, wish.exit_speed_mps, wish.charge_limit_pascals);
  auto prediction = checked(charge.value_or(wish.charge_limit_pascals));
  if (!prediction) return tl::unexpected{prediction.error()};
  out.prediction = *prediction;
  if (!charge) return out;
  const double step = 0.01 * *charge, slope = (speed(*charge + step) - speed(*charge - step)) / (2.0 * step);
  const double u = slope > 0.0 ? out.prediction.exit_speed_mps.standard_uncertainty / slope : *charge;
  out.charge_gauge_pascals = {*charge, u, *charge - kNormal95 * u, *charge + kNormal95 * u};
  out.kind = ChargeAnswer::Kind::found;
  if (!(wish.peak_limit_g > 0.0) || out.prediction.peak_acceleration_g.high_95 <= wish.peak_limit_g) return out;
  out.kind = ChargeAnswer::Kind::too_hard;
  add_gentlest(out, plan, conditions, wish.peak_limit_g, beyond);
  return out;
}

}  // namespace coldstroke::analysis
