// SPDX-License-Identifier: GPL-3.0-or-later
//
// How much of one core the live view takes: ten seconds of 10 kHz x 4 on screen, 60 frames a second wanted.
//   live_view_cpu                 histories fed by a thread in 1 ms blocks: taking in and drawing
//   live_view_cpu PROGRAM         the whole window on the virtual rig that PROGRAM plays: reading, decoding and drawing together
// Prints frames a second and the share of a core (getrusage). Offscreen unless QT_QPA_PLATFORM says otherwise.
#include <sys/resource.h>

#include <QApplication>
#include <QElapsedTimer>
#include <QTemporaryDir>
#include <QTimer>
#include <atomic>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <memory>
#include <thread>

#include "daq/bench/live_bench.hpp"
#include "gui/window/bench/bench_page.hpp"
#include "gui/window/live_bench_source.hpp"
#include "gui/window/look.hpp"
#include "gui/window/main_window.hpp"
#include "tests/gui/invented_bench.hpp"

namespace coldstroke::gui {
namespace {

constexpr int kWarmUpMilliseconds = 12'000, kMeasuredMilliseconds = 10'000;

double cpu_seconds(int who) {
  rusage used{};
  getrusage(who, &used);
  const auto seconds = [](const timeval& time) {
    return static_cast<double>(time.tv_sec) + 1.0e-6 * static_cast<double>(time.tv_usec);
  };
  return seconds(used.ru_utime) + seconds(used.ru_stime);
}

// Counts what really was painted.
class FrameCounter : public QObject {
 public:
  int frames = 0;

 protected:
  bool eventFilter(QObject* watched, QEvent* event) override {
    if (event->type() == QEvent::Paint) ++frames;
    return QObject::eventFilter(watched, event);
  }
};

// Four channels at 10 kHz, a block of ten samples each millisecond, a pulse each second so that there is something to draw.
class Feed {
 public:
  explicit Feed(ScriptedBench& bench) {
    for (int channel = 0; channel < 4; ++channel) histories_.push_back(std::make_shared<daq::History>(100'000, 1.0e-4));
    bench.histories = histories_;
    thread_ = std::thread{[this] { run(); }};
  }
  ~Feed() {
    stop_ = true;
    thread_.join();
  }
  [[nodiscard]] double cpu() const { return cpu_; }

 private:
  void run() {
    auto next = std::chrono::steady_clock::now();
    std::vector<double> block(10);
    for (std::uint64_t index = 0; !stop_; index += 10) {
      for (std::size_t channel = 0; channel < 4; ++channel) {
        const double size = channel == 0 ? 300.0 : channel == 3 ? 300.0 : 5.0e5;
        for (std::size_t k = 0; k < block.size(); ++k) {
          const double t = 1.0e-4 * static_cast<double>(index + k), phase = t - std::floor(t);
          block[k] = size * ((phase < 0.05 ? std::sin(phase / 0.05 * M_PI) : 0.0) + 0.02 * std::sin(4000.0 * t));
        }
        histories_[channel]->append(index, 100.0 + 1.0e-4 * static_cast<double>(index), block);
      }
      cpu_ = cpu_seconds(RUSAGE_THREAD);
      next += std::chrono::milliseconds{1};
      std::this_thread::sleep_until(next);
    }
  }
  std::vector<std::shared_ptr<daq::History>> histories_;
  std::atomic<bool> stop_ = false;
  std::atomic<double> cpu_ = 0.0;
  std::thread thread_;
};

Result<OpenedBench> open_virtual(const std::string& program, const QString& folder) {
  auto setup = daq::parse_setup(daq::virtual_setup_text(), "built-in setup");
  if (!setup) return tl::unexpected{setup.error()};
  daq::LiveBench::Options options;
  options.setup = std::move(*setup);
  options.campaign = folder.toStdString() + "/cpu.coldstroke";
  options.virtual_rig = true;
  options.program.executable = program;
  auto bench = daq::LiveBench::start(std::move(options));
  if (!bench) return tl::unexpected{bench.error()};
  return OpenedBench{std::make_unique<LiveBenchSource>(std::move(*bench)), folder.toStdString() + "/cpu.coldstroke"};
}

std::uint64_t sum(const wire::LineCounts& counts) {
  std::uint64_t all = 0;
  for (const auto one : counts.faults) all += one;
  return all;
}

// Frames taken in and lost on both lines since `before`.
void print_lines(const daq::BenchView& before, const daq::BenchView& after, double seconds) {
  for (std::size_t k = 0; k < after.links.size(); ++k) {
    const auto &from = before.links[k].counts, &to = after.links[k].counts;
    std::printf("  %s: %.0f frames/s, lost, damaged, repeated or late: %llu\n", daq::word(static_cast<daq::Node>(k)),
                static_cast<double>(to.frames - from.frames) / seconds, static_cast<unsigned long long>(sum(to) - sum(from)));
  }
}

int measure(const char* what, MainWindow& window, const Feed* feed, const BenchSource* bench = nullptr) {
  window.resize(1280, 800);
  window.show();
  FrameCounter counter;
  window.findChild<BenchPage*>()->traces()->installEventFilter(&counter);
  double cpu = 0.0, feeding = 0.0;
  std::shared_ptr<const daq::BenchView> before;
  QElapsedTimer clock;
  QTimer::singleShot(kWarmUpMilliseconds, &window, [&] {  // until ten seconds are on screen
    counter.frames = 0;
    cpu = cpu_seconds(RUSAGE_SELF);
    feeding = feed == nullptr ? 0.0 : feed->cpu();
    if (bench != nullptr) before = bench->view();
    clock.start();
    // Not quit(): that asks the window, which does not close with pressure on.
    QTimer::singleShot(kMeasuredMilliseconds, &window, [] { QApplication::exit(); });
  });
  QApplication::exec();
  const double seconds = 1.0e-9 * static_cast<double>(clock.nsecsElapsed()), used = cpu_seconds(RUSAGE_SELF) - cpu;
  std::printf("%s: %.1f frames/s, %.1f %% of one core", what, counter.frames / seconds, 100.0 * used / seconds);
  if (feed != nullptr) {
    const double own = feed->cpu() - feeding;
    std::printf(", of that %.1f %% by the thread that makes the samples; window alone %.1f %%", 100.0 * own / seconds,
                100.0 * (used - own) / seconds);
  }
  std::printf("\n");
  if (before != nullptr) print_lines(*before, *bench->view(), seconds);
  return 0;
}

}  // namespace
}  // namespace coldstroke::gui

int main(int argc, char** argv) {
  using namespace coldstroke::gui;
  if (qEnvironmentVariableIsEmpty("QT_QPA_PLATFORM")) qputenv("QT_QPA_PLATFORM", "offscreen");
  QApplication application{argc, argv};
  apply_look(application);
  if (argc > 1) {
    const QTemporaryDir folder;
    MainWindow window{real_doors()};
    auto opened = open_virtual(argv[1], folder.path());
    if (!opened) {
      std::fprintf(stderr, "%s %s %s\n", opened.error().what.c_str(), opened.error().where.c_str(),
                   opened.error().remedy.c_str());
      return 1;
    }
    const BenchSource* bench = opened->bench.get();
    window.useBench(std::move(*opened));
    return measure("window on the virtual rig", window, nullptr, bench);
  }
  ScriptedBench* bench = nullptr;
  MainWindow window{invented_doors(&bench)};
  window.openVirtualRig();
  const Feed feed{*bench};
  QTimer views;  // the bench publishes 30 views a second
  views.callOnTimeout([&] { bench->publish(invented_view()); });
  views.start(33);
  return measure("10 kHz x 4", window, &feed);
}
