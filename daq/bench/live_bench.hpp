// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QObject>
#include <QString>
#include <QStringList>
#include <filesystem>
#include <memory>
#include <optional>
#include <vector>

#include "analysis/result.hpp"
#include "daq/bench/bench_view.hpp"
#include "daq/setup/setup.hpp"
#include "daq/stream/history.hpp"
#include "daq/virtual_rig/process.hpp"

namespace coldstroke::daq {

/// The running bench as the window sees it: threads, ports, recorder and sequence behind one object.
/// Lives in the thread that made it; the work is done elsewhere. Every member may be called from that thread at any time and
/// returns at once.
class LiveBench : public QObject {
  Q_OBJECT
 public:
  struct Options {
    Setup setup;
    std::filesystem::path campaign;  ///< created if absent
    bool virtual_rig = false;        ///< start and use a built-in virtual rig instead of the setup's ports
    std::string scenario = "steady";
    std::uint64_t seed = 1;
    VirtualRigProgram program{};         ///< which program plays the virtual rig
    std::vector<std::string> faults{};   ///< of the virtual rig, beside the scenario's own (docs/virtual-rig.md)
    std::filesystem::path truth_file{};  ///< where the virtual rig writes what really happened; empty: nowhere
  };
  /// Complains if the campaign cannot be opened or the virtual rig does not start; a missing port is not a complaint: it is shown
  /// and retried.
  static Result<std::unique_ptr<LiveBench>> start(Options options);
  /// Vents, waits until the board has confirmed or its watchdog must have acted, ends the trial, closes the campaign.
  ~LiveBench() override;

  [[nodiscard]] std::shared_ptr<const BenchView> view() const;  ///< newest published view, never null
  [[nodiscard]] std::shared_ptr<const History> history(
      std::size_t channel) const;  ///< by position in BenchView::channels; may be null until the stream is known
  void request(OperatorRequest request);
  /// The virtual rig that this object started, or nullptr on real ports.
  [[nodiscard]] const VirtualRigProcess* virtualRig() const;
  /// One role signs the checklist of the running trial; `confirmed` must be the list's items, in order. A refusal stands in the
  /// log.
  void sign(const QString& role, const QString& name, const QStringList& confirmed);
  /// Goes on although this interlock does not hold; the reason is stored with the trial. A refusal stands in the log.
  void bypass(const QString& interlock, const QString& reason);
  /// The charge a person typed for the running trial, gauge. A refusal stands in the log.
  void setTarget(double pascals);
  [[nodiscard]] const Setup& setup() const;                  ///< as it was loaded
  void addNote(const QString& author, const QString& text);  ///< to the running or last trial

 Q_SIGNALS:
  void viewChanged();                    ///< at most 30 times a second
  void trialFinished(qlonglong number);  ///< its result is in the campaign file

 private:
  struct Inside;
  explicit LiveBench(std::unique_ptr<Inside> inside);
  std::unique_ptr<Inside> inside_;
};

}  // namespace coldstroke::daq
