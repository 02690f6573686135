// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "gui/report/exchange.hpp"
#include "gui/window/file_request.hpp"
#include "gui/window/job_panel.hpp"

class QLineEdit;

namespace coldstroke::gui {

/// Traces recorded elsewhere, taken in as a trial of the open campaign.
class ImportPanel : public JobPanel {
  Q_OBJECT
 public:
  explicit ImportPanel(QWidget* parent = nullptr);
  void setCampaign(const std::filesystem::path& campaign);
  void addFile(const std::filesystem::path& csv);
  void setSetup(const std::filesystem::path& setup);

 Q_SIGNALS:
  void fileRequested(const coldstroke::gui::FileRequest& request);
  void campaignChanged();  ///< a trial was added

 protected:
  void begin() override;
  [[nodiscard]] QString wanting() const override;

 private:
  void showFiles();
  ImportWish wish_;
  QLineEdit* columns_;
  QLabel *files_, *answer_;
};

}  // namespace coldstroke::gui
