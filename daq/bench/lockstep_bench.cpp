// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/bench/lockstep_bench.hpp"

#include <algorithm>

#include "daq/bench/bench.hpp"
#include "daq/bench/surroundings.hpp"
#include "daq/bench/unattended_operator.hpp"
#include "daq/virtual_rig/process.hpp"

namespace coldstroke::daq {

namespace {

// Not a divisor of a block's period, so that clock requests meet the boards' blocks at every phase.
constexpr std::int64_t kStepUs = 1'900;
/// A view is taken for the operator every so many steps: building one costs more than a step.
constexpr int kLookEvery = 10;
/// A step whose next action is not allowed for this long, and that has no limit of its own, will never be left.
constexpr double kStuckSeconds = 30.0;
constexpr std::size_t kQueueLimit = 16U << 20U;

Complaint stuck(const BenchView& view) {
  Complaint complaint{"the bench does not get on", std::string{"step '"} + word(view.step) + "'",
                      "mend what it waits for; see the log"};
  if (!view.next.why_not.empty()) complaint.where += ", waiting for " + view.next.why_not;
  for (const LinkView& link : view.links)
    if (!link.trouble.empty()) complaint.where += "; " + link.trouble;
  return complaint;
}

/// Where an abort would change something; in the others the bench is safe already or waits for a person.
bool can_still_abort(Step step) {
  return step != Step::idle && step != Step::review && step != Step::keep_clear && step != Step::locked_out;
}

}  // namespace

struct LockstepBench::Inside {
  Inside(VirtualRigProcess process, Campaign campaign, Bench::Options options, std::filesystem::path file, std::int64_t trials)
      : rig{std::move(process)},
        recorder{std::move(campaign)},
        bench{std::move(options), recorder},
        campaign_file{std::move(file)},
        person{rig, trials} {}

  [[nodiscard]] HostTime now() const { return at_us<HostTime>(now_us); }

  Result<void> step() {
    bench.tick(now());
    LockstepRequest request;
    request.advance_to_us = now_us + kStepUs;
    for (const Node node : {Node::rig, Node::flight})
      request.bytes[static_cast<std::size_t>(node)] = bench.take_output(node, now());
    auto reply = rig.exchange(request);
    if (!reply) return tl::unexpected{reply.error()};
    for (const Node node : {Node::rig, Node::flight}) follow_port(node, reply->port_up[static_cast<std::size_t>(node)]);
    std::ranges::stable_sort(reply->chunks, {}, [](const auto& chunk) { return chunk.stamped.arrival_us; });
    for (const auto& chunk : reply->chunks)
      bench.receive(chunk.node, at_us<HostTime>(chunk.stamped.arrival_us), chunk.stamped.bytes);
    now_us = reply->now_us;
    if (recorder.queued_bytes() > kQueueLimit) return recorder.flush();
    return {};
  }

  void follow_port(Node node, bool up) {
    bool& known = port_up[static_cast<std::size_t>(node)];
    if (up && !known) bench.port_opened(node, now());
    if (!up && known) bench.port_lost(node, now(), std::string{word(node)} + " port vanished");
    known = up;
  }

  /// The open trial, if any, ends as aborted: it is kept, with the reason. Else there is only the complaint.
  Result<LastTrial> give_up(Complaint complaint) {
    bench.leave(now());
    for (LastTrial& finished : bench.take_finished()) ended = std::move(finished);
    if (ended) return *ended;
    return tl::unexpected{std::move(complaint)};
  }

  /// Nothing allowed and no step further for longer than any wait of the sequence.
  bool is_stuck(const BenchView& view) {
    if (view.next.enabled || view.step != seen_step) moved_us = now_us;
    seen_step = view.step;
    const auto& waits = bench.setup().sequence;
    return static_cast<double>(now_us - moved_us) * 1.0e-6 >
           kStuckSeconds + waits.keep_clear_seconds + waits.readback_limit_seconds;
  }

  Result<void> judge() {
    const auto trial = bench.take_trial_to_judge();
    if (!trial) return {};
    auto archive = Campaign::open_read_only(campaign_file);
    if (!archive) return tl::unexpected{archive.error()};
    bench.judged(*trial, judge_trial(*archive, *trial), now());
    return {};
  }

  VirtualRigProcess rig;
  Recorder recorder;
  Bench bench;
  std::filesystem::path campaign_file;
  UnattendedOperator person;
  std::optional<Surroundings> surroundings;
  std::int64_t now_us = 0;
  std::int64_t moved_us = 0;  // when the next action was last allowed, or the step changed
  Step seen_step = Step::idle;
  std::array<bool, 2> port_up{false, false};
  std::optional<LastTrial> ended;
};

Result<std::unique_ptr<LockstepBench>> LockstepBench::start(Options options) {
  auto campaign = Campaign::open_or_create(options.campaign, options.setup.campaign_name);
  if (!campaign) return tl::unexpected{campaign.error()};
  const auto trials = campaign->trials();
  if (!trials) return tl::unexpected{trials.error()};
  VirtualRigOptions rig_options;
  rig_options.scenario = options.scenario;
  rig_options.seed = options.seed;
  rig_options.faults = options.faults;
  rig_options.truth_file = options.truth.string();
  auto process = VirtualRigProcess::start_lockstep(rig_options, options.program);
  if (!process) return tl::unexpected{process.error()};
  Bench::Options bench_options;
  bench_options.virtual_rig = true;
  bench_options.origin = origin_of(rig_options);
  bench_options.first_trial = trials->empty() ? 1 : trials->back().number + 1;
  bench_options.campaign_file = options.campaign.string();
  bench_options.campaign_name = options.setup.campaign_name;
  bench_options.setup = std::move(options.setup);
  return std::unique_ptr<LockstepBench>{new LockstepBench{std::make_unique<Inside>(
      std::move(*process), std::move(*campaign), std::move(bench_options), options.campaign, options.trials)}};
}

LockstepBench::LockstepBench(std::unique_ptr<Inside> inside) : inside_{std::move(inside)} {}
LockstepBench::~LockstepBench() = default;

Result<LastTrial> LockstepBench::run_trial(const std::function<bool()>& stop) {
  Inside& in = *inside_;
  in.ended.reset();
  in.bench.set_surroundings(in.surroundings.value_or(look_around(in.bench.setup(), in.campaign_file)));
  bool stopping = false;
  in.moved_us = in.now_us;
  for (int turn = 0;; ++turn) {
    if (const auto stepped = in.step(); !stepped) return tl::unexpected{stepped.error()};
    if (const auto judged = in.judge(); !judged) return tl::unexpected{judged.error()};
    for (LastTrial& finished : in.bench.take_finished()) in.ended = std::move(finished);
    if (in.ended && in.bench.step() == Step::idle) return *in.ended;
    if (turn % kLookEvery != 0) continue;
    const BenchView view = in.bench.view(in.now());
    if (stop() && !stopping) {
      stopping = true;
      in.bench.request(OperatorRequest::abort, in.now());
    }
    if (stopping && in.bench.at_rest()) return in.give_up({"stopped by the operator", "trial run", "start again when ready"});
    if (in.is_stuck(view)) {
      if (stopping || !can_still_abort(view.step)) return in.give_up(stuck(view));
      in.bench.add_note(in.now(), "unattended operator", "gave up waiting for " + view.next.why_not);
      in.bench.request(OperatorRequest::abort, in.now());
      in.moved_us = in.now_us;
    }
    if (stopping) continue;
    if (const auto request = in.person.decide(view); request != OperatorRequest::none) in.bench.request(request, in.now());
  }
}

BenchView LockstepBench::view() const { return inside_->bench.view(inside_->now()); }

double LockstepBench::simulated_seconds() const { return static_cast<double>(inside_->now_us) * 1.0e-6; }

}  // namespace coldstroke::daq
