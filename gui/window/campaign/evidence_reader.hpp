// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QObject>
#include <QThread>
#include <atomic>
#include <filesystem>
#include <memory>
#include <vector>

#include "analysis/evidence/campaign_evidence.hpp"

namespace coldstroke::gui {

struct WeighedCampaign {
  std::vector<analysis::EvidenceTrial> trials;
  analysis::CampaignEvidence evidence;
};

/// Reads and weighs a campaign on a thread of its own, since every trial is decoded for its charge.
class EvidenceReader : public QObject {
  Q_OBJECT
 public:
  explicit EvidenceReader(QObject* parent = nullptr);
  ~EvidenceReader() override;
  /// Gives up what is under way and begins anew.
  void read(const std::filesystem::path& campaign);
  /// Waits for the trial under way, no longer.
  void cancel();

 Q_SIGNALS:
  void progressed(int done, int of);
  void weighed(std::shared_ptr<const coldstroke::gui::WeighedCampaign> campaign);
  void refused(const QString& why);

 private:
  std::shared_ptr<std::atomic<bool>> stop_;
  std::unique_ptr<QThread> thread_;
};

}  // namespace coldstroke::gui
