// SPDX-License-Identifier: GPL-3.0-or-later
//
// One long calculation at a time beside the window, to be stopped at any moment.
#pragma once

#include <QObject>
#include <QThreadPool>
#include <atomic>
#include <functional>
#include <memory>
#include <utility>

namespace coldstroke::gui {

class BackgroundJob : public QObject {
  Q_OBJECT
 public:
  using Asked = std::function<bool()>;  ///< true once it was asked to stop; from any thread
  explicit BackgroundJob(QObject* parent = nullptr);
  ~BackgroundJob() override;

  [[nodiscard]] bool busy() const { return stop_ != nullptr; }
  void cancel();
  /// From the work's thread, at most as often as the window can show it.
  void tell(std::size_t done, std::size_t total) { Q_EMIT progressed(static_cast<int>(done), static_cast<int>(total)); }
  /// For work that counts what it has done and goes on only if told so.
  [[nodiscard]] std::function<bool(std::size_t, std::size_t)> progress(Asked asked) {
    return [this, asked = std::move(asked)](std::size_t done, std::size_t total) {
      tell(done, total);
      return !asked();
    };
  }

  /// `work(asked)` on a thread of its own, then `done(its answer, whether it was asked to stop)` on the window's. Not while busy.
  template <class Work, class Done>
  void start(Work work, Done done) {
    stop_ = std::make_shared<std::atomic<bool>>(false);
    Q_EMIT changed();
    worker_.start([this, work = std::move(work), done = std::move(done), stop = stop_] {
      auto answer = std::make_shared<decltype(work(Asked{}))>(work([stop] { return stop->load(); }));
      QMetaObject::invokeMethod(this, [this, answer, done, stop] {
        stop_.reset();
        Q_EMIT changed();
        done(std::move(*answer), stop->load());
      });
    });
  }

 Q_SIGNALS:
  void changed();  ///< busy or no longer
  void progressed(int done, int total);

 private:
  std::shared_ptr<std::atomic<bool>> stop_;
  QThreadPool worker_;
};

}  // namespace coldstroke::gui
