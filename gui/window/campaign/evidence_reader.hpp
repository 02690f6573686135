// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QObject>
#include <filesystem>
#include <memory>
#include <optional>

#include "gui/report/evidence_words.hpp"
#include "gui/window/background_job.hpp"

namespace coldstroke::gui {

/// Reads and weighs a campaign beside the window, since every trial is decoded for its charge. The newest asked for counts.
class EvidenceReader : public QObject {
  Q_OBJECT
 public:
  explicit EvidenceReader(QObject* parent = nullptr);
  /// Gives up what is under way and begins anew.
  void read(const std::filesystem::path& campaign);
  /// Nothing is delivered of what is under way.
  void cancel();

 Q_SIGNALS:
  void progressed(int done, int of);
  void weighed(std::shared_ptr<const coldstroke::gui::WeighedCampaign> campaign);
  void refused(const QString& why);

 private:
  void begin();
  std::optional<std::filesystem::path> wanted_;
  BackgroundJob* job_;
};

}  // namespace coldstroke::gui
