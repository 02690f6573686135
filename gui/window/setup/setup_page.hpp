// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>
#include <filesystem>
#include <vector>

#include "analysis/result.hpp"
#include "daq/bench/bench_view.hpp"
#include "daq/setup/setup.hpp"

class QGridLayout;
class QLabel;
class QPushButton;
class QScrollArea;

namespace coldstroke::gui {

class SetupText;

/// One line of what a setup says; a title without words begins a group.
struct SetupFact {
  QString title, words;
};
/// What the setup says, for people: file and digest, rig, pressures with the limit of every part, firing channels, sequence.
[[nodiscard]] std::vector<SetupFact> setup_facts(const daq::Setup& setup);

/// What is this rig? The setup in force in words and as its exact text, or what is wrong with a file that does not load.
class SetupPage : public QWidget {
  Q_OBJECT
 public:
  explicit SetupPage(QWidget* parent = nullptr);
  void show(const daq::Setup& setup, const std::filesystem::path& campaign);
  void follow(const daq::BenchView& view);  ///< ports as they are now
  void showNothing();
  /// A file that was asked for and does not load. What is in force stays in force, and is said so.
  void showComplaint(const std::filesystem::path& file, const Complaint& complaint);
  void clearComplaint();
  /// Whether another setup may be opened now; if not, why.
  void setChangeBlocked(const QString& why);

 Q_SIGNALS:
  void setupWanted();
  void leaveWanted();

 protected:
  void showEvent(QShowEvent* event) override;

 private:
  void showFacts(const std::vector<SetupFact>& facts);
  void showInForce();
  QLabel *title_, *complaint_, *blocked_, *ports_, *ports_here_;
  QPushButton *open_, *leave_, *back_;
  QWidget* facts_ = nullptr;
  QWidget* facts_place_;
  QScrollArea* facts_area_;
  SetupText* text_;
  QString in_force_title_, in_force_text_;
};

}  // namespace coldstroke::gui
