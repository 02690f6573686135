// SPDX-License-Identifier: GPL-3.0-or-later
//
// Runs trials without a window: on a virtual rig of its own, or on two ports with a person typing every step.
#include <unistd.h>
#include <QCoreApplication>
#include <QElapsedTimer>
#include <QSocketNotifier>
#include <QTimer>
#include <iostream>
#include <memory>

#include "daq/bench/live_bench.hpp"
#include "daq/bench/lockstep_bench.hpp"
#include "daq/bench/unattended_operator.hpp"
#include "daq/virtual_rig/scenario_setup.hpp"
#include "gui/commands/command.hpp"
#include "gui/commands/console_application.hpp"
#include "gui/commands/terminal_operator.hpp"
#include "gui/commands/trial_text.hpp"
#include "gui/report/campaign_file_source.hpp"

namespace coldstroke::gui {

namespace {

struct Arguments {
  bool virtual_rig = false, real_time = false, json = false;
  std::string scenario = "steady", campaign = "trials.coldstroke", setup, report, truth;
  std::vector<std::string> faults;
  std::uint64_t seed = 1;
  std::int64_t trials = 1;
};

/// Numbers of the trials that ended in this run, and the worst of what went wrong.
struct Run {
  std::vector<std::int64_t> trials;
  Exit trouble = Exit::done;
};

Result<daq::Setup> setup_of(const Arguments& arguments) {
  if (!arguments.setup.empty()) return daq::load_setup(arguments.setup);
  if (arguments.virtual_rig) {
    const auto text = daq::setup_text_for(arguments.scenario);
    if (!text) return tl::unexpected{text.error()};
    return daq::parse_setup(*text, "built-in setup of the virtual rig");
  }
  return complain("a real rig needs a setup", "command line",
                  "give --setup FILE (docs/setup.md), or --virtual for the virtual rig");
}

void report_progress(const daq::LastTrial& trial) {
  std::cerr << "trial " << trial.number << ": " << trial.verdict << ", " << trial.sentence << '\n';
}

Run run_lockstep(const Arguments& arguments, daq::Setup setup) {
  Run run;
  auto bench = daq::LockstepBench::start({std::move(setup),
                                          arguments.campaign,
                                          arguments.scenario,
                                          arguments.seed,
                                          arguments.faults,
                                          arguments.truth,
                                          arguments.trials,
                                          {}});
  if (!bench) {
    print_complaint(bench.error());
    run.trouble = Exit::bench_trouble;
    return run;
  }
  for (std::int64_t k = 0; k < arguments.trials && !stop_asked(); ++k) {
    const auto trial = (*bench)->run_trial([] { return stop_asked(); });
    if (!trial) {
      print_complaint(trial.error());
      run.trouble = Exit::bench_trouble;
      break;
    }
    report_progress(*trial);
    run.trials.push_back(trial->number);
  }
  return run;
}

constexpr qint64 kLeaveMilliseconds = 10'000;

/// Real time: a virtual rig that this process started runs unattended; anything else has a person at the terminal.
class LiveRun : public QObject {
 public:
  LiveRun(daq::LiveBench& live_bench, std::int64_t trials)
      : bench_{live_bench}, person_{std::cerr, trials}, wanted_{trials}, input_{STDIN_FILENO, QSocketNotifier::Read} {
    if (const auto* rig = bench_.virtualRig()) unattended_ = std::make_unique<daq::UnattendedOperator>(*rig, trials);
    input_.setEnabled(unattended_ == nullptr);
    connect(&input_, &QSocketNotifier::activated, this, [this] { read(); });
    connect(&bench_, &daq::LiveBench::trialFinished, this, [this](qlonglong number) {
      run.trials.push_back(number);
      if (const auto last = bench_.view()->last) report_progress(*last);
    });
    connect(&bench_, &daq::LiveBench::viewChanged, this, [this] { look(); });
  }
  Run run;

 private:
  void look() {
    const auto view = bench_.view();
    if (stop_asked() && !stopping_) {
      stopping_ = true;
      bench_.request(daq::OperatorRequest::abort);
    }
    const bool idle = view->step == daq::Step::idle;
    // a wait may go on long after the vent is open: leaving is allowed, approaching is not
    const bool keep_clear = view->step == daq::Step::keep_clear || view->step == daq::Step::locked_out;
    if (stopping_ && keep_clear)
      std::cerr << "KEEP CLEAR is not over: " << view->alarm << "; stay behind the line and read the gauge at the vessel\n";
    if ((stopping_ && (idle || keep_clear || view->step == daq::Step::review)) ||
        (idle && static_cast<std::int64_t>(run.trials.size()) >= wanted_)) {
      QCoreApplication::quit();
      return;
    }
    if (stopping_) {
      leave_unproven(*view);
      return;
    }
    if (unattended_) {
      if (const auto request = unattended_->decide(*view); request != daq::OperatorRequest::none) bench_.request(request);
    } else {
      person_.show(*view);
    }
  }

  /// A rig that answers no more cannot prove that it is vented; its board's watchdog has acted long before this wait is over.
  void leave_unproven(const daq::BenchView& view) {
    if (!stopping_for_.isValid()) stopping_for_.start();
    if (stopping_for_.elapsed() < kLeaveMilliseconds) return;
    std::cerr << "leaving in " << word(view.step)
              << ": the rig is not proven vented. Treat it as pressurised and read the gauge at the vessel\n";
    run.trouble = Exit::bench_trouble;
    QCoreApplication::quit();
  }

  void read() {
    std::array<char, 256> buffer{};
    const ssize_t count = ::read(STDIN_FILENO, buffer.data(), buffer.size());
    if (count <= 0) {  // nobody at the terminal any more
      input_.setEnabled(false);
      std::cerr << "standard input ended: aborting, since a person must be at the terminal\n";
      run.trouble = Exit::bench_trouble;
      stopping_ = true;
      bench_.request(daq::OperatorRequest::abort);
      return;
    }
    typed_.append(buffer.data(), static_cast<std::size_t>(count));
    for (std::size_t end = typed_.find('\n'); end != std::string::npos; end = typed_.find('\n')) {
      pass_on(person_.typed(std::string_view{typed_}.substr(0, end), *bench_.view()));
      typed_.erase(0, end + 1);
    }
  }

  void pass_on(const Typed& typed) {
    if (const auto* request = std::get_if<daq::OperatorRequest>(&typed)) bench_.request(*request);
    if (const auto* bypass = std::get_if<TypedBypass>(&typed))
      bench_.bypass(QString::fromStdString(bypass->interlock), QString::fromStdString(bypass->reason));
    if (const auto* target = std::get_if<TypedTarget>(&typed)) bench_.setTarget(target->pascals);
    const auto* signature = std::get_if<TypedSignature>(&typed);
    if (signature == nullptr) return;
    QStringList confirmed;
    for (const std::string& item : signature->confirmed) confirmed << QString::fromStdString(item);
    bench_.sign(QString::fromStdString(signature->role), QString::fromStdString(signature->name), confirmed);
  }

  daq::LiveBench& bench_;
  TerminalOperator person_;
  std::unique_ptr<daq::UnattendedOperator> unattended_;
  QElapsedTimer stopping_for_;
  std::int64_t wanted_;
  QSocketNotifier input_;
  std::string typed_;
  bool stopping_ = false;
};

Run run_live(const Arguments& arguments, daq::Setup setup) {
  Run none{{}, Exit::bench_trouble};
  if (!arguments.virtual_rig && isatty(STDIN_FILENO) == 0) {
    print_complaint({"gas moves on a real rig only with a person at the terminal", "standard input is not a terminal",
                     "run this in a terminal, or use --virtual"});
    return none;
  }
  const ConsoleApplication application;
  auto bench = daq::LiveBench::start({std::move(setup),
                                      arguments.campaign,
                                      arguments.virtual_rig,
                                      arguments.scenario,
                                      arguments.seed,
                                      {},
                                      arguments.faults,
                                      arguments.truth});
  if (!bench) {
    print_complaint(bench.error());
    return none;
  }
  LiveRun run{**bench, arguments.trials};
  QCoreApplication::exec();
  return std::move(run.run);
}

Exit print_run(const Arguments& arguments, const Run& run) {
  Exit exit = run.trouble;
  std::vector<ReportTrial> trials;
  const CampaignFileSource source{arguments.campaign};
  for (const std::int64_t number : run.trials) {
    auto trial = source.trial(number);
    if (!trial) {
      print_complaint(trial.error());
      exit = worse(exit, Exit::bad_input);
      continue;
    }
    exit = worse(exit, exit_of(verdict_word(*trial)));
    trial->traces = {};  // a long run would hold hundreds of megabytes for a table that needs none of it
    trials.push_back(std::move(*trial));
  }
  if (static_cast<std::int64_t>(run.trials.size()) < arguments.trials) exit = worse(exit, Exit::not_judged);
  if (arguments.json) {
    nlohmann::ordered_json out{{"campaign", arguments.campaign}, {"trials", nlohmann::ordered_json::array()}};
    for (const ReportTrial& trial : trials) out["trials"].push_back(trial_json(trial));
    std::cout << out.dump(2) << '\n';
  } else if (!trials.empty()) {
    print_verdict_table(std::cout, trials);
    std::cout << "campaign file: " << arguments.campaign << '\n';
  }
  if (!arguments.report.empty() && !trials.empty()) {
    const auto written = report_to_file(arguments.campaign, arguments.report, std::nullopt);
    if (!written) {
      print_complaint(written.error());
      exit = worse(exit, Exit::bad_input);
    } else if (!arguments.json) {
      std::cout << "report: " << arguments.report << '\n';
    }
  }
  return exit;
}

Exit eject(const Arguments& arguments) {
  auto setup = setup_of(arguments);
  if (!setup) {
    print_complaint(setup.error());
    return Exit::bad_input;
  }
  catch_stop_signals();
  const bool accelerated = arguments.virtual_rig && !arguments.real_time;
  return print_run(arguments, accelerated ? run_lockstep(arguments, std::move(*setup)) : run_live(arguments, std::move(*setup)));
}

}  // namespace

void add_eject(CLI::App& app, Exit& exit) {
  auto arguments = std::make_shared<Arguments>();
  CLI::App* verb = app.add_subcommand(
      "eject", "Run trials: unarmed ejections, recorded and judged. On a real rig a person types every step that moves gas");
  CLI::Option* virtual_rig = verb->add_flag("--virtual", arguments->virtual_rig, "Start and use a built-in virtual rig");
  verb->add_option("--scenario", arguments->scenario, "Virtual rig: name of a built-in scenario or a scenario file")
      ->needs(virtual_rig)
      ->capture_default_str();
  verb->add_option("--seed", arguments->seed, "Virtual rig: seed of all its scatter")
      ->needs(virtual_rig)
      ->check(whole_number(0, kHighestSeed))
      ->capture_default_str();
  verb->add_option("--fault", arguments->faults, "Virtual rig: inject this fault too (docs/virtual-rig.md); may be repeated")
      ->needs(virtual_rig);
  verb->add_option("--truth", arguments->truth, "Virtual rig: write what really happened, one JSON line an ejection")
      ->needs(virtual_rig);
  verb->add_flag("--real-time", arguments->real_time, "Virtual rig: over pseudo-terminals in real time, not accelerated")
      ->needs(virtual_rig);
  verb->add_option("--trials", arguments->trials, "How many")->check(whole_number(1, kMostTrials))->capture_default_str();
  verb->add_option("--campaign", arguments->campaign, "Campaign file, created if absent")->capture_default_str();
  verb->add_option("--setup", arguments->setup, "Setup file (docs/setup.md)")->check(CLI::ExistingFile);
  verb->add_option("--report", arguments->report, "Write an HTML report of the campaign here");
  verb->add_flag("--json", arguments->json, "Machine-readable result on standard output");
  verb->footer(std::string{kExitCodes});
  verb->callback([arguments, &exit] { exit = eject(*arguments); });
}

}  // namespace coldstroke::gui
