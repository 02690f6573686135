// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/gui/invented_bench.hpp"

#include <cmath>
#include <random>

#include "tests/gui/invented_trial.hpp"

namespace coldstroke::gui {
namespace {

using daq::Headline;
using daq::StepLine;

std::vector<StepLine> ladder(std::size_t now, const char* remark = "0:08") {
  const char* names[] = {"Checks", "Charge", "Settle", "Count", "Release", "Record", "Vent", "Review"};
  std::vector<StepLine> steps;
  for (std::size_t k = 0; k < std::size(names); ++k)
    steps.push_back({names[k],
                     k < now    ? StepLine::State::done
                     : k == now ? StepLine::State::now
                                : StepLine::State::ahead,
                     k == now ? remark : ""});
  return steps;
}

std::vector<daq::InterlockLine> interlocks() {
  std::vector<daq::InterlockLine> lines{
      {"Emergency-stop loop", "closed", "closed", "", true, true},
      {"Rig link", "12 ms old", "at most 500 ms old", "", true, true},
      {"Flight link", "30 ms old", "at most 500 ms old", "", true, true},
      {"Lid", "shut", "open", "open the lid and look at its switch", false, true},
      {"Firing channels", "2 of 2 open", "open", "", true, true},
      {"Charge pressure", "7.02 bar", "6.90 to 7.10 bar", "", true, true},
      {"Battery", "7.1 V", "at least 6.8 V", "wait for a reading, or replace the cable", false, false}};
  lines[3].bypassable = true;
  return lines;
}

// Beside the ladder no line of it is done.
std::vector<StepLine> beside_ladder(const char* name, const char* remark) {
  std::vector<StepLine> steps = ladder(8);
  for (StepLine& step : steps) step.state = StepLine::State::ahead;
  steps.push_back({name, StepLine::State::now, remark});
  return steps;
}

daq::ChecklistView checklist(bool open) {
  const daq::ChecklistSetup list = daq::default_checklist();
  daq::ChecklistView view{list.items, {}, open};
  for (const std::string& role : list.roles) view.roles.push_back({role, {}, {}, false});
  return view;
}

void hold(std::vector<daq::InterlockLine>& lines) {
  for (auto& line : lines) line.holds = line.fresh = true;
}

}  // namespace

const daq::Setup& invented_setup() {
  static const daq::Setup setup = daq::parse_setup(daq::virtual_setup_text(), "built-in setup of the virtual rig").value();
  return setup;
}

ScriptedBench::ScriptedBench(daq::BenchView view)
    : view_{std::make_shared<daq::BenchView>(std::move(view))}, setup_{invented_setup()} {}

std::shared_ptr<const daq::History> ScriptedBench::history(std::size_t channel) const {
  return channel < histories.size() ? histories[channel] : nullptr;
}

void ScriptedBench::publish(daq::BenchView view) {
  view_ = std::make_shared<daq::BenchView>(std::move(view));
  Q_EMIT viewChanged();
}

daq::BenchView invented_view() {
  using analysis::Quantity;
  using analysis::Role;
  daq::BenchView view;
  view.headline = Headline::pressurised;
  view.pressure_pascals = 7.02e5;
  view.pressure_age_seconds = 0.012;
  view.step = daq::Step::settling;
  view.ladder = ladder(2);
  view.interlocks = interlocks();
  for (auto& link : view.links) {
    link.open = link.talking = true;
    link.age_seconds = 0.004;
    link.counts.frames = 1204377;
    link.clock_uncertainty_seconds = 0.0002;
    link.clock_drift_ppm = -11.4;
  }
  view.links[0].identity = "rig-reference 1.0 (id 0a1b2c)";
  view.links[1].identity = "flight-reference 1.0 (id 7f3d11)";
  view.links[1].counts.faults[static_cast<std::size_t>(wire::FrameFault::lost)] = 3;
  view.next = {"Hold to start the count", daq::OperatorRequest::count, false, true, "the lid reads shut, it must be open"};
  view.trial_number = 14;
  view.detector_known = true;
  view.firing = "safe, 2 of 2 open";
  view.alignment_uncertainty_seconds = 0.0002;
  view.channels = {{"load_cell", Quantity::force, Role::force, 0.4, 0.004, false},
                   {"supply", Quantity::gauge_pressure, Role::supply_pressure, 7.02e5, 0.004, false},
                   {"chamber", Quantity::gauge_pressure, Role::chamber_pressure, 1.2e3, 0.004, false},
                   {"accelerometer", Quantity::acceleration, Role::vehicle_acceleration, 9.81, 0.004, false}};
  view.log = {{"14:01:52", "trial 14 opened"},
              {"14:02:03", "charge valve opened"},
              {"14:02:11", "charge valve shut at 7.03 bar"},
              {"14:02:19", "settled"}};
  view.last = daq::LastTrial{13, "pass", "All 5 criteria hold."};
  view.checklist = checklist(false);
  view.keep_out = daq::keep_out(invented_setup());
  view.virtual_rig = true;
  view.campaign_file = "/demo/larch.coldstroke";
  view.campaign_name = "Larch ejections";
  return view;
}

daq::BenchView invented_view(Headline headline) {
  daq::BenchView view = invented_view();
  view.headline = headline;
  switch (headline) {
    case Headline::safe:
      view.step = daq::Step::idle;
      view.pressure_pascals = 800.0;
      view.ladder = beside_ladder("idle", "");
      view.ladder.pop_back();
      hold(view.interlocks);
      view.next = {"Begin trial 14: run the checks", daq::OperatorRequest::begin, true, false, ""};
      break;
    case Headline::pressurised:
      hold(view.interlocks);
      view.next = {"Hold to start the count", daq::OperatorRequest::count, true, true, ""};
      break;
    case Headline::release_enabled:
      view.step = daq::Step::counting;
      view.ladder = ladder(3);
      break;
    case Headline::recording:
      view.step = daq::Step::recording;
      view.ladder = ladder(5);
      break;
    case Headline::venting:
      view.step = daq::Step::venting;
      view.ladder = ladder(6);
      view.pressure_pascals = 3.1e5;
      break;
    case Headline::keep_clear:
      view.step = daq::Step::keep_clear;
      break;
    case Headline::unknown:
      view.pressure_age_seconds = 4.2;
      view.links[0].talking = false;
      view.links[0].age_seconds = 4.2;
      break;
  }
  return view;
}

daq::BenchView invented_view(daq::Step step) {
  using enum daq::Step;
  using daq::OperatorRequest;
  const auto with = [](Headline headline, daq::Step now, std::size_t line, const char* remark, daq::NextAction next) {
    daq::BenchView view = invented_view(headline);
    view.step = now;
    view.ladder = ladder(line, remark);
    view.next = std::move(next);
    // The bench lists what the next step waits for; these wait for nothing but time and pressure.
    if (now == recording || now == venting || now == aborting) view.interlocks.clear();
    return view;
  };
  const auto waiting = [](const char* label) { return daq::NextAction{label, OperatorRequest::none, false, false, ""}; };
  switch (step) {
    case idle:
      return invented_view(Headline::safe);
    case checks: {
      daq::BenchView view = with(Headline::safe, checks, 0, "",
                                 {"Hold to charge to 8.00 bar", OperatorRequest::charge, false, true,
                                  "checklist: reads 0 of 2 signed, must be signed by both"});
      view.checklist = checklist(true);
      return view;
    }
    case charging:
      return with(Headline::pressurised, charging, 1, "0:21", waiting("Charging ..."));
    case settling:
      return with(Headline::pressurised, settling, 2, "4:12",
                  {"Hold to start the count to release", OperatorRequest::count, true, true, ""});
    case counting: {
      daq::BenchView view = with(Headline::release_enabled, counting, 3, "0:03", waiting("Counting: release follows"));
      view.countdown_seconds = 2.6;
      hold(view.interlocks);
      return view;
    }
    case releasing:
      return with(Headline::release_enabled, releasing, 4, "0:01", waiting("Releasing ..."));
    case recording:
      return with(Headline::recording, recording, 5, "0:03", waiting("Recording the fall and landing ..."));
    case venting:
      return with(Headline::venting, venting, 6, "0:14", waiting("Venting ..."));
    case review:
      return with(Headline::safe, review, 7, "waits for the flight board",
                  {"Finish trial 14", OperatorRequest::acknowledge, false, false, "analysis: reads running, must be done"});
    case aborting: {
      daq::BenchView view = with(Headline::venting, aborting, 8, "", waiting("Venting ..."));
      view.ladder = beside_ladder("aborting", "0:12");
      view.log.push_back({"14:02:25", "counting -> aborting: abort asked for"});
      return view;
    }
    case keep_clear:
    case locked_out:
      break;
  }
  daq::BenchView view = with(Headline::keep_clear, step, 9, "",
                             {"Acknowledge: I have read the gauge and looked", OperatorRequest::acknowledge, false, false,
                              "keep-clear wait: reads 42 s left, must be run down"});
  view.pressure_pascals = 6.1e5;
  view.keep_clear_seconds = 41.3;
  view.ladder = beside_ladder(daq::word(step), "0:42");
  view.alarm = step == keep_clear ? "release commanded, no motion seen: the vehicle may still be in the tube"
                                  : "a firing channel is live: channel 1 reads 0.4 ohm";
  view.interlocks = {{"keep-clear wait", "42 s left", "run down", "wait behind the line", false, true},
                     {"pressure proven low", "6.10 bar", "below 0.20 bar", "let the vent work, then read the gauge", false, true},
                     {"Rig link", "12 ms old", "at most 500 ms old", "", true, true}};
  return view;
}

std::vector<std::shared_ptr<daq::History>> invented_histories() {
  std::vector<std::shared_ptr<daq::History>> all;
  const analysis::TraceSet stroke = invented_traces(31.2);
  for (std::size_t channel = 0; channel < 4; ++channel) {
    const analysis::Trace& trace = stroke.traces[channel];
    const auto count = static_cast<std::size_t>(std::lround(10.0 / trace.period_seconds));
    auto history = std::make_shared<daq::History>(count, trace.period_seconds);
    std::vector<double> samples(count);
    for (std::size_t k = 0; k < count; ++k) {  // quiet for 6 s, then the invented record
      const double t = static_cast<double>(k) * trace.period_seconds - 6.0;
      samples[k] =
          trace.samples[t < 0.0 ? k % 2000
                                : std::min(trace.samples.size() - 1, static_cast<std::size_t>(t / trace.period_seconds))];
    }
    history->append(1000, 100.0, samples);
    all.push_back(std::move(history));
  }
  return all;
}

WindowDoors invented_doors(ScriptedBench** bench) {
  const auto open = [bench]() -> Result<OpenedBench> {
    auto made = std::make_unique<ScriptedBench>(invented_view());
    made->histories = invented_histories();
    if (bench != nullptr) *bench = made.get();
    return OpenedBench{std::move(made), "/demo/larch.coldstroke"};
  };
  WindowDoors doors;
  doors.virtual_rig = open;
  doors.setup = [open](const std::filesystem::path&) { return open(); };
  doors.check_setup = [](const std::filesystem::path& file) -> Result<daq::Setup> {
    return complain("The key charge.target_bar is missing.", file.string() + ", line 12",
                    "Write the pressure to charge to, in bar gauge.");
  };
  doors.sound = [](Tone) {};
  doors.campaign = [](const std::filesystem::path&) -> Result<std::shared_ptr<const TrialSource>> {
    return std::shared_ptr<const TrialSource>{std::make_shared<InventedSource>()};
  };
  doors.add_note = [](const std::filesystem::path&, std::int64_t, const std::string&, const std::string&) -> Result<void> {
    return {};
  };
  doors.void_trial = [](const std::filesystem::path& file, std::int64_t, const std::string&, const std::string&) -> Result<void> {
    return complain("The campaign file is being written by another program.", file.string(), "Close the bench first.");
  };
  return doors;
}

}  // namespace coldstroke::gui
