// SPDX-License-Identifier: GPL-3.0-or-later
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>

#include "gui/commands/command.hpp"
#include "gui/report/campaign_file_source.hpp"
#include "gui/report/climb_view.hpp"
#include "gui/report/figures.hpp"

namespace coldstroke::gui {
namespace {

using Json = nlohmann::ordered_json;

struct Arguments {
  std::string campaign;
  std::int64_t trial = 0;
  bool json = false;
};

Json json_of(const ClimbView& view) {
  Json out{{"apex_seconds", view.apex.seconds}, {"apex_metres", view.apex.height_metres}};
  if (view.window) out["window_seconds"] = {view.window->opens_seconds, view.window->closes_seconds};
  if (view.onset_seconds) out["thrust_onset_seconds"] = *view.onset_seconds;
  if (view.onset_early_seconds) out["thrust_onset_95_seconds"] = {*view.onset_early_seconds, *view.onset_late_seconds};
  out["profile"] = Json::array();
  for (const ClimbPoint& p : view.profile)
    out["profile"].push_back({{"seconds", p.seconds}, {"height_metres", p.height_metres}, {"speed_mps", p.speed_mps}});
  return out;
}

Exit climb(const Arguments& a) {
  const auto trial = CampaignFileSource{a.campaign}.trial(a.trial);
  if (!trial) return print_complaint(trial.error()), Exit::bad_input;
  const auto view = climb_view(*trial);
  if (!view) return print_complaint(view.error()), Exit::bad_input;
  if (a.json) return std::cout << json_of(*view).dump(2) << '\n', Exit::done;
  std::cout << "unpowered climb of trial " << a.trial << ", seconds from separation\n";
  for (const ClimbPoint& p : view->profile) {
    const bool inside = view->window && p.seconds >= view->window->opens_seconds && p.seconds <= view->window->closes_seconds;
    std::cout << "  " << decimal(p.seconds, 2) << " s  " << decimal(p.height_metres, 2) << " m  " << decimal(p.speed_mps, 2)
              << " m/s" << (inside ? "  window" : "") << '\n';
  }
  for (const std::string& line : view->sentences) std::cout << line << '\n';
  return Exit::done;
}

}  // namespace

void add_climb(CLI::App& app, Exit& exit) {
  auto a = std::make_shared<Arguments>();
  CLI::App* verb = app.add_subcommand("climb", "Ignition window of one trial: its unpowered climb and when thrust would begin");
  verb->add_option("campaign", a->campaign, "Campaign file")->required()->check(CLI::ExistingFile);
  verb->add_option("--trial", a->trial, "Which trial")->required()->check(whole_number(1, kMostTrials));
  verb->add_flag("--json", a->json, "Machine-readable on standard output");
  verb->footer(std::string{kExitCodes} + " It computes only; inhibiting a late ignition is the flight board's own duty.");
  verb->callback([a, &exit] { exit = climb(*a); });
}

}  // namespace coldstroke::gui
