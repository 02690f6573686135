// SPDX-License-Identifier: GPL-3.0-or-later
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>

#include "gui/commands/command.hpp"
#include "gui/report/campaign_file_source.hpp"
#include "gui/report/charge_plan_of.hpp"
#include "gui/report/figures.hpp"

namespace coldstroke::gui {
namespace {

using Json = nlohmann::ordered_json;
using analysis::Interval;

struct Arguments {
  std::string campaign;
  double speed_mps = 0.0, peak_g = 0.0, bar = 0.0, mass_kg = 0.0, litres = 0.0;
  int valves = 0;
  std::vector<std::int64_t> leave_out;
  bool beyond = false, json = false;
};

Json json_of(const Interval& x) {
  return {{"value", x.value}, {"standard_uncertainty", x.standard_uncertainty}, {"interval_95", {x.low_95, x.high_95}}};
}

Json json_of(const analysis::Prediction& p) {
  Json out{{"leaves", p.leaves}};
  if (p.leaves) {
    out["exit_speed_mps"] = json_of(p.exit_speed_mps);
    out["stroke_time_seconds"] = json_of(p.stroke_time_seconds);
    out["peak_acceleration_g"] = json_of(p.peak_acceleration_g);
    out["droop_pascals"] = json_of(p.droop_pascals);
    out["speed_ratio_to_lossless"] = p.speed_ratio_to_lossless;
  }
  out["beyond"] = p.beyond;
  if (!p.beyond.empty()) out["caution"] = analysis::kBeyondCaution;
  return out;
}

Json json_of(const PlanMade& made) {
  const auto known = [](const analysis::Known& k) {
    return Json{{"value", k.value}, {"standard_uncertainty", k.standard_uncertainty}};
  };
  Json out{{"trials", Json::array()}, {"left_out", made.left_out}};
  for (const auto& trial : made.trials) out["trials"].push_back(trial.trial);
  out["valve_conductance_m3_per_s_pa"] = known(made.plan.valve_conductance);
  out["running_friction_newtons"] = known(made.plan.running_friction_newtons);
  out["seal_friction_fraction"] = known(made.plan.seal_friction_fraction);
  out["valve_opening_seconds"] = known(made.plan.valve_opening_seconds);
  out["chi_squared_per_freedom"] = made.plan.chi_squared_per_freedom;
  const analysis::PlanBounds& b = made.plan.bounds;
  out["bounds"] = {{"charge_pascals", {b.charge_low_pascals, b.charge_high_pascals}},
                   {"vehicle_mass_kg", {b.mass_low_kg, b.mass_high_kg}},
                   {"reservoir_m3", {b.reservoir_low_m3, b.reservoir_high_m3}},
                   {"valves", {b.valves_low, b.valves_high}}};
  return out;
}

std::string words(const Interval& x, double per_unit, const char* unit) {
  return with_uncertainty(x.value * per_unit, 1.96 * x.standard_uncertainty * per_unit) + ' ' + unit;
}

void print(const analysis::Prediction& p, const char* indent) {
  if (!p.leaves) {
    std::cout << indent << "the vehicle stalls in the tube: a jam hazard\n";
  } else {
    std::cout << indent << "exit speed   " << words(p.exit_speed_mps, 1.0, "m/s") << '\n'
              << indent << "peak         " << words(p.peak_acceleration_g, 1.0, "g") << '\n'
              << indent << "droop        " << words(p.droop_pascals, 1.0e-5, "bar") << '\n'
              << indent << "stroke time  " << words(p.stroke_time_seconds, 1.0e3, "ms") << '\n'
              << indent << "valve quality: " << decimal(100.0 * p.speed_ratio_to_lossless, 0)
              << " % of the speed without valve loss\n";
  }
  for (const std::string& line : p.beyond) std::cout << indent << "BEYOND the recorded trials: " << line << '\n';
  if (p.leaves && !p.beyond.empty()) std::cout << indent << "EXTRAPOLATED: " << analysis::kBeyondCaution << '\n';
}

void print(const PlanMade& made) {
  const analysis::ChargePlan& plan = made.plan;
  std::cout << "fitted to " << made.trials.size() << " trials (95 % intervals)\n"
            << "  each valve    "
            << with_uncertainty(plan.valve_conductance.value * 1.0e8, 1.96e8 * plan.valve_conductance.standard_uncertainty)
            << " dm3/(s bar), opens in "
            << with_uncertainty(plan.valve_opening_seconds.value * 1.0e3,
                                1.96e3 * plan.valve_opening_seconds.standard_uncertainty)
            << " ms\n  friction      "
            << with_uncertainty(plan.running_friction_newtons.value, 1.96 * plan.running_friction_newtons.standard_uncertainty)
            << " N and "
            << with_uncertainty(100.0 * plan.seal_friction_fraction.value,
                                196.0 * plan.seal_friction_fraction.standard_uncertainty)
            << " % of the gas force\n";
  for (const std::string& line : made.left_out) std::cout << "  left out      " << line << '\n';
}

Exit refuse(const Complaint& complaint) {
  print_complaint(complaint);
  return Exit::bad_input;
}

Exit answer_speed(const Arguments& a, const PlanMade& made, const analysis::PlanConditions& conditions, Json out) {
  const double peak = a.peak_g > 0.0 ? a.peak_g : made.peak_limit_g;
  const auto answer = analysis::charge_for(made.plan, conditions, {a.speed_mps, peak, made.charge_limit_pascals},
                                           a.beyond ? analysis::Beyond::allow : analysis::Beyond::refuse);
  if (!answer) return refuse(answer.error());
  static constexpr const char* kWords[] = {"found", "too_hard", "not_reached"};
  out["answer"] = {{"outcome", kWords[static_cast<int>(answer->kind)]}, {"prediction", json_of(answer->prediction)}};
  if (answer->kind != analysis::ChargeAnswer::Kind::not_reached)
    out["answer"]["charge_gauge_pascals"] = json_of(answer->charge_gauge_pascals);
  if (answer->gentle) {
    out["answer"]["gentle_charge_gauge_pascals"] = answer->gentle_charge_gauge_pascals->value;
    out["answer"]["gentle"] = json_of(*answer->gentle);
  }
  if (!answer->no_gentle.empty()) out["answer"]["no_gentle"] = answer->no_gentle;
  const Exit exit = answer->kind == analysis::ChargeAnswer::Kind::found ? Exit::done : Exit::failed;
  if (a.json) return std::cout << out.dump(2) << '\n', exit;
  print(made);
  if (answer->kind == analysis::ChargeAnswer::Kind::not_reached) {
    std::cout << "not reached: even at the limit of " << decimal(made.charge_limit_pascals * 1.0e-5, 2) << " bar\n";
  } else {
    std::cout << "charge for " << significant(a.speed_mps, 4) << " m/s: " << words(answer->charge_gauge_pascals, 1.0e-5, "bar")
              << " gauge\n";
  }
  print(answer->prediction, "  ");
  if (answer->kind == analysis::ChargeAnswer::Kind::too_hard) {
    std::cout << "TOO HARD: the peak may exceed " << significant(peak, 3) << " g.\n";
    if (answer->gentle) {
      std::cout << "most that keeps it: " << decimal(answer->gentle_charge_gauge_pascals->value * 1.0e-5, 2) << " bar\n";
      print(*answer->gentle, "  ");
    } else {
      std::cout << answer->no_gentle << '\n';
    }
  }
  return exit;
}

Exit charge(const Arguments& a) {
  const auto rows = CampaignFileSource{a.campaign}.rows();
  if (!rows) return refuse(rows.error());
  for (const std::int64_t number : a.leave_out)
    if (std::ranges::none_of(rows->trials, [&](const ReportTrial& trial) { return trial.row.number == number; }))
      return refuse({"the campaign has no trial " + std::to_string(number), "--leave-out", "name trials that it has"});
  const auto made = charge_plan_of(*rows, a.leave_out);
  if (!made) return refuse(made.error());
  analysis::PlanConditions conditions = made->conditions;
  if (a.mass_kg > 0.0) conditions.vehicle_mass_kg = a.mass_kg;
  if (a.litres > 0.0) conditions.reservoir_volume_m3 = a.litres * 1.0e-3;
  if (a.valves > 0) conditions.valve_count = a.valves;
  Json out = json_of(*made);
  if (a.speed_mps > 0.0) return answer_speed(a, *made, conditions, std::move(out));
  if (a.bar > 0.0) {
    conditions.charge_gauge_pascals = a.bar * 1.0e5;
    // Not a question of how well it is foretold: a person may fill to what is answered.
    if (conditions.charge_gauge_pascals > made->charge_limit_pascals)
      return refuse({significant(a.bar, 4) + " bar is above what this rig may be charged to, " +
                         decimal(made->charge_limit_pascals * 1.0e-5, 2) + " bar (maximum_bar, and nine tenths of relief_bar)",
                     "--bar", "ask for less; --beyond is about the recorded trials and does not lift the rig's limit"});
    const auto p = analysis::predict(made->plan, conditions, a.beyond ? analysis::Beyond::allow : analysis::Beyond::refuse);
    if (!p) return refuse(p.error());
    out["prediction"] = json_of(*p);
    if (!a.json) {
      print(*made);
      std::cout << "at " << significant(a.bar, 4) << " bar gauge:\n";
      print(*p, "  ");
    }
  } else if (!a.json) {
    print(*made);
  }
  if (a.json) std::cout << out.dump(2) << '\n';
  return Exit::done;
}

}  // namespace

void add_charge(CLI::App& app, Exit& exit) {
  auto a = std::make_shared<Arguments>();
  CLI::App* verb = app.add_subcommand(
      "charge", "Charge plan: fit the recorded trials and say what another charge, or a wanted speed, would take");
  verb->add_option("campaign", a->campaign, "Campaign file")->required()->check(CLI::ExistingFile);
  auto* speed =
      verb->add_option("--speed", a->speed_mps, "Which charge gives this exit speed, m/s")->check(number_within(0.1, 1000.0));
  verb->add_option("--peak", a->peak_g, "without exceeding this felt peak, g; the setup's criterion unless given")
      ->needs(speed)
      ->check(number_within(0.1, 10'000.0));
  verb->add_option("--bar", a->bar, "What this charge would do, bar gauge")->excludes(speed)->check(number_within(0.01, 300.0));
  verb->add_option("--mass", a->mass_kg, "With another vehicle mass, kg")->check(number_within(0.001, 1000.0));
  verb->add_option("--reservoir", a->litres, "With another reservoir, litres")->check(number_within(0.001, 1000.0));
  verb->add_option("--valves", a->valves, "With another number of fast valves")->check(CLI::Range(1, 64));
  verb->add_option("--leave-out", a->leave_out, "Trials not to fit")->check(whole_number(1, kMostTrials));
  verb->add_flag("--beyond", a->beyond, "Answer beyond the recorded trials too; the answer says so");
  verb->add_flag("--json", a->json, "Machine-readable on standard output");
  verb->footer(std::string{kExitCodes} + " A speed that cannot be had within the limits is exit code 1.");
  verb->callback([a, &exit] { exit = charge(*a); });
}

}  // namespace coldstroke::gui
