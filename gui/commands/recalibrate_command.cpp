// SPDX-License-Identifier: GPL-3.0-or-later
#include <iostream>
#include <memory>

#include "gui/commands/command.hpp"
#include "gui/commands/trial_text.hpp"
#include "gui/report/rejudge.hpp"

namespace coldstroke::gui {

namespace {

struct Arguments {
  std::string campaign, setup;
  std::int64_t trial = 0;
  daq::Recalibration correction;
  bool json = false;
};

/// The correction as typed, or with the calibration that a setup has in force: its curvature and span come with it.
Result<daq::Recalibration> meant(const Arguments& arguments) {
  daq::Recalibration out = arguments.correction;
  if (arguments.setup.empty()) return out;
  const auto setup = daq::load_setup(arguments.setup);
  if (!setup) return tl::unexpected{setup.error()};
  const auto channel = setup->channel_index(out.channel);
  if (!channel) return tl::unexpected{channel.error()};
  out.calibration = setup->channels[*channel].calibration;
  return out;
}

Exit run(const Arguments& arguments) {
  const auto correction = meant(arguments);
  if (!correction) {
    print_complaint(correction.error());
    return Exit::bad_input;
  }
  const auto trials =
      rejudge(arguments.campaign, arguments.trial == 0 ? std::nullopt : std::optional{arguments.trial}, *correction);
  if (!trials) {
    print_complaint(trials.error());
    return Exit::bad_input;
  }
  Exit exit = Exit::done;
  nlohmann::ordered_json all = nlohmann::ordered_json::array();
  for (const ReportTrial& trial : *trials) {
    exit = worse(exit, exit_of(verdict_word(trial)));
    all.push_back(trial_json(trial));
  }
  if (arguments.json)
    std::cout << all.dump(2) << '\n';
  else
    print_verdict_table(std::cout, *trials);
  return exit;
}

}  // namespace

void add_recalibrate(CLI::App& app, Exit& exit) {
  auto arguments = std::make_shared<Arguments>();
  daq::Recalibration& correction = arguments->correction;
  CLI::App* verb = app.add_subcommand(
      "recalibrate",
      "Put a corrected calibration of a channel beside the old one and judge the trials with it; old results stay");
  verb->add_option("campaign", arguments->campaign, "Campaign file")->required()->check(CLI::ExistingFile);
  verb->add_option("--trial", arguments->trial, "Only this trial; else every recorded one")->check(whole_number(1, kMostTrials));
  verb->add_option("--channel", correction.channel, "Channel, as named in the setup")->required();
  CLI::Option* setup = verb->add_option("--setup", arguments->setup,
                                        "Take the calibration that this setup has in force; without it, type the numbers")
                           ->check(CLI::ExistingFile);
  const std::vector<CLI::Option*> typed{
      verb->add_option("--scale", correction.calibration.scale, "SI unit a count"),
      verb->add_option("--zero-counts", correction.calibration.zero_counts, "Counts that mean zero"),
      verb->add_option("--gain-standard-uncertainty", correction.calibration.gain_standard_uncertainty, "Relative"),
      verb->add_option("--zero-standard-uncertainty", correction.calibration.zero_standard_uncertainty, "SI"),
      verb->add_option("--reference", correction.calibration.reference, "What it was calibrated against, when")};
  for (CLI::Option* number : typed) setup->excludes(number);
  setup->excludes(verb->add_option("--valid-until", correction.calibration.valid_until, "ISO 8601 date"));
  verb->add_option("--author", correction.author, "Who corrects it")->required();
  verb->add_option("--reason", correction.reason, "Why")->required();
  verb->add_flag("--json", arguments->json, "Machine-readable results on standard output");
  verb->footer(std::string{kExitCodes});
  verb->callback([arguments, &exit, setup, typed] {
    for (const CLI::Option* number : typed)
      if (setup->empty() && number->empty()) throw CLI::RequiredError(number->get_name());
    exit = run(*arguments);
  });
}

}  // namespace coldstroke::gui
