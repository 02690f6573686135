// SPDX-License-Identifier: GPL-3.0-or-later
//
// Threads: one a port (daq/link), one for the bench (here), one for the archive (daq/record), one a judgement at most. They meet
// at `Inside::inbox` (ports and screen to bench), at the recorder's queue, and at the published view. Nothing else is shared.
#include "daq/bench/live_bench.hpp"

#include <QThread>
#include <QTimer>
#include <future>
#include <mutex>
#include <random>
#include <variant>

#include "daq/bench/bench.hpp"
#include "daq/bench/surroundings.hpp"
#include "daq/link/serial_link.hpp"
#include "daq/virtual_rig/process.hpp"

namespace coldstroke::daq {

namespace {

constexpr int kTickMilliseconds = 4;
constexpr std::int64_t kPublishEveryUs = 33'000;
constexpr std::int64_t kLookAroundEveryUs = 1'000'000;
/// The rig board's watchdog has vented by itself after this long without a heartbeat.
constexpr std::int64_t kLeaveAfterUs = 3'000'000;

struct PortOpened {
  Node node;
};
struct PortLost {
  Node node;
  std::string why;
};
struct Bytes {
  Node node;
  std::vector<std::byte> bytes;
};
struct Note {
  std::string author, text;
};
struct Signing {
  std::string role, name;
  std::vector<std::string> confirmed;
};
struct TargetPressure {
  double pascals;
};
struct Happening {
  HostTime time;
  std::variant<PortOpened, PortLost, Bytes, OperatorRequest, Note, Signing, Bypass, TargetPressure> what;
};

}  // namespace

struct LiveBench::Inside {
  Inside(Options given, Campaign campaign, Bench::Options bench_options, std::filesystem::path file)
      : options{std::move(given)},
        campaign_file{std::move(file)},
        recorder{std::move(campaign)},
        bench{std::move(bench_options), recorder} {
    view = std::make_shared<const BenchView>(bench.view(host_now()));
    histories.resize(bench.setup().channels.size());
  }

  void put(Happening happening) {
    const std::scoped_lock lock{inbox_mutex};
    inbox.push_back(std::move(happening));
  }

  void open_ports() {
    const auto port = [this](Node node) -> std::unique_ptr<SerialLink> {
      PortSetup port_setup = node == Node::rig ? bench.setup().rig_port : bench.setup().flight_port;
      if (rig_process) port_setup.name = node == Node::rig ? rig_process->rig_port() : rig_process->flight_port();
      if (port_setup.name.empty()) {
        put({host_now(), PortLost{node, std::string{"no port is named for the "} + word(node) + ": give one in the setup"}});
        return nullptr;
      }
      return std::make_unique<SerialLink>(port_setup, node,
                                          SerialLink::Handlers{[this, node](HostTime at, std::vector<std::byte> bytes) {
                                                                 put({at, Bytes{node, std::move(bytes)}});
                                                               },
                                                               [this, node](HostTime at) {
                                                                 put({at, PortOpened{node}});
                                                               },
                                                               [this, node](HostTime at, const QString& why) {
                                                                 put({at, PortLost{node, why.toStdString()}});
                                                               }});
    };
    rig_link = port(Node::rig);
    flight_link = port(Node::flight);
  }

  /// One turn of the bench thread.
  void turn() {
    std::vector<Happening> happenings;
    {
      const std::scoped_lock lock{inbox_mutex};
      happenings.swap(inbox);
    }
    for (const Happening& happening : happenings) take(happening);
    const HostTime now = host_now();
    if (us_of(now) - looked_us >= kLookAroundEveryUs) {
      looked_us = us_of(now);
      bench.set_surroundings(look_around(bench.setup(), campaign_file));
    }
    bench.tick(now);
    for (const auto& [node, link] : {std::pair{Node::rig, rig_link.get()}, std::pair{Node::flight, flight_link.get()}}) {
      std::vector<std::byte> bytes = bench.take_output(node, now);
      if (link != nullptr && !bytes.empty()) link->write(std::move(bytes));
    }
    judge(now);
    if (us_of(now) - published_us >= kPublishEveryUs) publish(now);
  }

  void take(const Happening& happening) {
    if (const auto* bytes = std::get_if<Bytes>(&happening.what)) bench.receive(bytes->node, happening.time, bytes->bytes);
    if (const auto* opened = std::get_if<PortOpened>(&happening.what)) bench.port_opened(opened->node, happening.time);
    if (const auto* lost = std::get_if<PortLost>(&happening.what)) bench.port_lost(lost->node, happening.time, lost->why);
    if (const auto* request = std::get_if<OperatorRequest>(&happening.what)) bench.request(*request, happening.time);
    if (const auto* note = std::get_if<Note>(&happening.what)) bench.add_note(happening.time, note->author, note->text);
    // a refusal stands in the log, for the screen
    if (const auto* signing = std::get_if<Signing>(&happening.what))
      static_cast<void>(bench.sign(happening.time, signing->role, signing->name, signing->confirmed));
    if (const auto* bypass = std::get_if<Bypass>(&happening.what))
      static_cast<void>(bench.bypass(happening.time, bypass->interlock, bypass->reason));
    if (const auto* target = std::get_if<TargetPressure>(&happening.what))
      static_cast<void>(bench.set_target(happening.time, target->pascals));
  }

  /// Judging reads the file again, through its own connection, on its own thread: the heartbeat must not wait for it.
  void judge(HostTime now) {
    if (const auto trial = bench.take_trial_to_judge()) {
      judging_trial = *trial;
      judging = std::async(std::launch::async, [file = campaign_file, number = *trial]() -> Result<JudgedTrial> {
        auto archive = Campaign::open_read_only(file);
        if (!archive) return tl::unexpected{archive.error()};
        return judge_trial(*archive, number);
      });
    }
    if (judging.valid() && judging.wait_for(std::chrono::seconds{0}) == std::future_status::ready)
      bench.judged(judging_trial, judging.get(), now);
  }

  void publish(HostTime now) {
    published_us = us_of(now);
    auto fresh = std::make_shared<const BenchView>(bench.view(now));
    const auto finished = bench.take_finished();
    {
      const std::scoped_lock lock{view_mutex};
      view = std::move(fresh);
      for (std::size_t c = 0; c < histories.size(); ++c) histories[c] = bench.history(c);
    }
    Q_EMIT outside->viewChanged();
    for (const LastTrial& trial : finished) Q_EMIT outside->trialFinished(trial.number);
  }

  Options options;
  std::filesystem::path campaign_file;
  Recorder recorder;
  Bench bench;
  LiveBench* outside = nullptr;
  std::optional<VirtualRigProcess> rig_process;
  std::unique_ptr<SerialLink> rig_link, flight_link;
  std::future<Result<JudgedTrial>> judging;
  std::int64_t judging_trial = 0, published_us = 0, looked_us = -kLookAroundEveryUs;

  std::mutex inbox_mutex;
  std::vector<Happening> inbox;
  mutable std::mutex view_mutex;
  std::shared_ptr<const BenchView> view;
  std::vector<std::shared_ptr<const History>> histories;

  QThread thread;
  std::unique_ptr<QTimer> timer;
};

Result<std::unique_ptr<LiveBench>> LiveBench::start(Options options) {
  auto campaign = Campaign::open_or_create(options.campaign, options.setup.campaign_name);
  if (!campaign) return tl::unexpected{campaign.error()};
  const auto trials = campaign->trials();
  if (!trials) return tl::unexpected{trials.error()};
  std::optional<VirtualRigProcess> rig_process;
  Bench::Options bench_options;
  if (options.virtual_rig) {
    VirtualRigOptions rig_options;
    rig_options.scenario = options.scenario;
    rig_options.seed = options.seed;
    rig_options.faults = options.faults;
    rig_options.truth_file = options.truth_file;
    auto started = VirtualRigProcess::start_real_time(rig_options, options.program);
    if (!started) return tl::unexpected{started.error()};
    rig_process = std::move(*started);
    bench_options.origin = origin_of(rig_options);
  }
  bench_options.setup = options.setup;
  bench_options.virtual_rig = options.virtual_rig;
  bench_options.first_trial = trials->empty() ? 1 : trials->back().number + 1;
  bench_options.campaign_file = options.campaign.string();
  bench_options.campaign_name = options.setup.campaign_name;
  bench_options.session_seed = std::random_device{}();
  const std::filesystem::path file = options.campaign;
  auto inside = std::make_unique<Inside>(std::move(options), std::move(*campaign), std::move(bench_options), file);
  inside->rig_process = std::move(rig_process);
  return std::unique_ptr<LiveBench>{new LiveBench{std::move(inside)}};
}

LiveBench::LiveBench(std::unique_ptr<Inside> inside) : inside_{std::move(inside)} {
  Inside* in = inside_.get();
  in->outside = this;
  in->open_ports();
  in->timer = std::make_unique<QTimer>();
  in->timer->setInterval(kTickMilliseconds);
  in->timer->setTimerType(Qt::PreciseTimer);
  in->timer->moveToThread(&in->thread);
  connect(in->timer.get(), &QTimer::timeout, in->timer.get(), [in] { in->turn(); });
  connect(&in->thread, &QThread::started, in->timer.get(), qOverload<>(&QTimer::start));
  in->thread.start();
}

LiveBench::~LiveBench() {
  Inside* in = inside_.get();
  // Abort vents; then stay until the board has read back a proven low pressure, or its own watchdog must have acted.
  QMetaObject::invokeMethod(
      in->timer.get(),
      [in] {
        const HostTime begun = host_now();
        if (in->bench.step() != Step::idle && in->bench.step() != Step::review) in->bench.request(OperatorRequest::abort, begun);
        while (!in->bench.at_rest() && us_of(host_now()) - us_of(begun) < kLeaveAfterUs) {
          in->turn();
          QThread::msleep(kTickMilliseconds);
        }
        in->bench.leave(host_now());
        in->turn();
        in->timer->stop();
      },
      Qt::BlockingQueuedConnection);
  in->rig_link.reset();
  in->flight_link.reset();
  in->thread.quit();
  in->thread.wait();
  in->timer.reset();
  if (in->judging.valid()) in->judging.wait();
}

std::shared_ptr<const BenchView> LiveBench::view() const {
  const std::scoped_lock lock{inside_->view_mutex};
  return inside_->view;
}

std::shared_ptr<const History> LiveBench::history(std::size_t channel) const {
  const std::scoped_lock lock{inside_->view_mutex};
  return channel < inside_->histories.size() ? inside_->histories[channel] : nullptr;
}

const VirtualRigProcess* LiveBench::virtualRig() const { return inside_->rig_process ? &*inside_->rig_process : nullptr; }

void LiveBench::request(OperatorRequest request) { inside_->put({host_now(), request}); }

void LiveBench::addNote(const QString& author, const QString& text) {
  inside_->put({host_now(), Note{author.toStdString(), text.toStdString()}});
}

void LiveBench::sign(const QString& role, const QString& name, const QStringList& confirmed) {
  Signing signing{role.toStdString(), name.toStdString(), {}};
  for (const QString& item : confirmed) signing.confirmed.push_back(item.toStdString());
  inside_->put({host_now(), std::move(signing)});
}

void LiveBench::bypass(const QString& interlock, const QString& reason) {
  inside_->put({host_now(), Bypass{interlock.toStdString(), reason.toStdString()}});
}

void LiveBench::setTarget(double pascals) { inside_->put({host_now(), TargetPressure{pascals}}); }

const Setup& LiveBench::setup() const { return inside_->options.setup; }

}  // namespace coldstroke::daq
