// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/live_bench_source.hpp"

namespace coldstroke::gui {

LiveBenchSource::LiveBenchSource(std::unique_ptr<daq::LiveBench> bench) : bench_{std::move(bench)} {
  connect(bench_.get(), &daq::LiveBench::viewChanged, this, &BenchSource::viewChanged);
  connect(bench_.get(), &daq::LiveBench::trialFinished, this, &BenchSource::trialFinished);
}

std::shared_ptr<const daq::BenchView> LiveBenchSource::view() const { return bench_->view(); }
std::shared_ptr<const daq::History> LiveBenchSource::history(std::size_t channel) const { return bench_->history(channel); }
void LiveBenchSource::request(daq::OperatorRequest request) { bench_->request(request); }
void LiveBenchSource::addNote(const QString& author, const QString& text) { bench_->addNote(author, text); }
void LiveBenchSource::sign(const QString& role, const QString& name, const QStringList& confirmed) {
  bench_->sign(role, name, confirmed);
}
void LiveBenchSource::bypass(const QString& interlock, const QString& reason) { bench_->bypass(interlock, reason); }
void LiveBenchSource::setTarget(double pascals) { bench_->setTarget(pascals); }
const daq::Setup& LiveBenchSource::setup() const { return bench_->setup(); }

}  // namespace coldstroke::gui
