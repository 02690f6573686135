// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/campaign/evidence_reader.hpp"

#include <QMetaObject>

#include "daq/record/evidence_trials.hpp"

namespace coldstroke::gui {
namespace {

Result<std::shared_ptr<const WeighedCampaign>> weigh(const std::filesystem::path& file, const daq::Progress& progress) {
  auto campaign = daq::Campaign::open_read_only(file);
  if (!campaign) return tl::unexpected{campaign.error()};
  auto trials = daq::read_evidence(*campaign, progress);
  if (!trials) return tl::unexpected{trials.error()};
  auto evidence = analysis::weigh_campaign(*trials);
  if (!evidence) return tl::unexpected{evidence.error()};
  return std::make_shared<const WeighedCampaign>(WeighedCampaign{std::move(*trials), std::move(*evidence)});
}

}  // namespace

EvidenceReader::EvidenceReader(QObject* parent) : QObject{parent} {}

EvidenceReader::~EvidenceReader() { cancel(); }

void EvidenceReader::cancel() {
  if (thread_ == nullptr) return;
  stop_->store(true);
  thread_->wait();
  thread_.reset();
}

void EvidenceReader::read(const std::filesystem::path& campaign) {
  cancel();
  stop_ = std::make_shared<std::atomic<bool>>(false);
  const auto stop = stop_;
  // Answers come back through this object's own event loop; those of a reading given up are left out.
  const auto tell = [this, stop](auto say) {
    QMetaObject::invokeMethod(
        this,
        [stop, say] {
          if (!stop->load()) say();
        },
        Qt::QueuedConnection);
  };
  thread_.reset(QThread::create([this, campaign, stop, tell] {
    auto result = weigh(campaign, [this, stop, tell](std::size_t done, std::size_t of) {
      tell([this, done, of] { Q_EMIT progressed(static_cast<int>(done), static_cast<int>(of)); });
      return !stop->load();
    });
    if (result)
      tell([this, made = *result] { Q_EMIT weighed(made); });
    else
      tell([this, why = result.error().what] { Q_EMIT refused(QString::fromStdString(why)); });
  }));
  thread_->start();
}

}  // namespace coldstroke::gui
