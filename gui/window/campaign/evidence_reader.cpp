// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/campaign/evidence_reader.hpp"

#include "gui/window/look.hpp"

namespace coldstroke::gui {

EvidenceReader::EvidenceReader(QObject* parent) : QObject{parent}, job_{new BackgroundJob{this}} {
  connect(job_, &BackgroundJob::progressed, this, &EvidenceReader::progressed);
}

void EvidenceReader::cancel() {
  wanted_.reset();
  job_->cancel();
}

void EvidenceReader::read(const std::filesystem::path& campaign) {
  wanted_ = campaign;
  job_->cancel();
  if (!job_->busy()) begin();
}

void EvidenceReader::begin() {
  const std::filesystem::path file = *wanted_;
  wanted_.reset();
  job_->start([this, file](const BackgroundJob::Asked& asked) { return read_weighed(file, job_->progress(asked)); },
              [this](Result<WeighedCampaign> made, bool stopped) {
                if (wanted_) return begin();
                if (stopped) return;
                if (made)
                  Q_EMIT weighed(std::make_shared<const WeighedCampaign>(std::move(*made)));
                else
                  Q_EMIT refused(text(made.error().what));
              });
}

}  // namespace coldstroke::gui
