// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <memory>
#include <utility>
#include <vector>

#include "gui/window/bench_source.hpp"
#include "gui/window/main_window.hpp"

namespace coldstroke::gui {

/// A bench whose views a test writes, and which remembers what it was asked for.
class ScriptedBench : public BenchSource {
  Q_OBJECT
 public:
  explicit ScriptedBench(daq::BenchView view);
  [[nodiscard]] std::shared_ptr<const daq::BenchView> view() const override { return view_; }
  [[nodiscard]] std::shared_ptr<const daq::History> history(std::size_t channel) const override;
  void request(daq::OperatorRequest request) override { requests.push_back(request); }
  void addNote(const QString& author, const QString& text) override { notes.emplace_back(author, text); }
  void sign(const QString& role, const QString& name, const QStringList& confirmed) override {
    signatures.push_back({role, name, confirmed});
  }
  void bypass(const QString& interlock, const QString& reason) override { bypasses.emplace_back(interlock, reason); }
  void setTarget(double pascals) override { targets.push_back(pascals); }
  [[nodiscard]] const daq::Setup& setup() const override { return setup_; }
  void publish(daq::BenchView view);

  std::vector<std::shared_ptr<daq::History>> histories;
  std::vector<daq::OperatorRequest> requests;
  std::vector<std::pair<QString, QString>> notes, bypasses;
  struct Signed {
    QString role, name;
    QStringList confirmed;
  };
  std::vector<Signed> signatures;
  std::vector<double> targets;

 private:
  std::shared_ptr<const daq::BenchView> view_;
  daq::Setup setup_;
};

/// Four channels (force, supply, chamber, acceleration), both links talking, step settling at 7.02 bar.
[[nodiscard]] daq::BenchView invented_view();
/// The same bench in a given state of the headline, with the step that goes with it.
[[nodiscard]] daq::BenchView invented_view(daq::Headline headline);
/// The same bench in a given step of the sequence, with what the bench shows there.
[[nodiscard]] daq::BenchView invented_view(daq::Step step);
/// The virtual rig's setup: what the scripted bench says is in force.
[[nodiscard]] const daq::Setup& invented_setup();
/// Ten seconds of four channels: three at 10 kHz, one at 2 kHz, with one ejection 3 s before the end.
[[nodiscard]] std::vector<std::shared_ptr<daq::History>> invented_histories();
/// Doors that open invented things; `bench` receives the bench that was handed out.
[[nodiscard]] WindowDoors invented_doors(ScriptedBench** bench);

}  // namespace coldstroke::gui
