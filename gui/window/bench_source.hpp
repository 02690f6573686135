// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QObject>
#include <QString>
#include <QStringList>
#include <cstddef>
#include <memory>

#include "daq/bench/bench_view.hpp"
#include "daq/stream/history.hpp"

namespace coldstroke::gui {

/// What the window needs of a running bench, and nothing more. Lives in the window's thread; every member returns at once.
class BenchSource : public QObject {
  Q_OBJECT
 public:
  using QObject::QObject;
  [[nodiscard]] virtual std::shared_ptr<const daq::BenchView> view() const = 0;  ///< never null
  /// By position in BenchView::channels; null until the stream is known.
  [[nodiscard]] virtual std::shared_ptr<const daq::History> history(std::size_t channel) const = 0;
  virtual void request(daq::OperatorRequest request) = 0;
  virtual void addNote(const QString& author, const QString& text) = 0;  ///< to the running or last trial
  /// The three things a person types for the running trial. What is refused stands in the log.
  virtual void sign(const QString& role, const QString& name, const QStringList& confirmed) = 0;
  virtual void bypass(const QString& interlock, const QString& reason) = 0;
  virtual void setTarget(double pascals) = 0;
  [[nodiscard]] virtual const daq::Setup& setup() const = 0;  ///< in force, as it was loaded

 Q_SIGNALS:
  void viewChanged();
  void trialFinished(qlonglong number);
};

}  // namespace coldstroke::gui
