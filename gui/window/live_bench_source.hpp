// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <memory>

#include "daq/bench/live_bench.hpp"
#include "gui/window/bench_source.hpp"

namespace coldstroke::gui {

/// The real bench behind the window's interface. Destroying it vents and closes the campaign (see LiveBench).
class LiveBenchSource : public BenchSource {
  Q_OBJECT
 public:
  explicit LiveBenchSource(std::unique_ptr<daq::LiveBench> bench);
  [[nodiscard]] std::shared_ptr<const daq::BenchView> view() const override;
  [[nodiscard]] std::shared_ptr<const daq::History> history(std::size_t channel) const override;
  void request(daq::OperatorRequest request) override;
  void addNote(const QString& author, const QString& text) override;
  void sign(const QString& role, const QString& name, const QStringList& confirmed) override;
  void bypass(const QString& interlock, const QString& reason) override;
  void setTarget(double pascals) override;
  [[nodiscard]] const daq::Setup& setup() const override;

 private:
  std::unique_ptr<daq::LiveBench> bench_;
};

}  // namespace coldstroke::gui
