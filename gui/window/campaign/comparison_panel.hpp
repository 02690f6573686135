// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "gui/report/comparison_sheet.hpp"
#include "gui/window/file_request.hpp"
#include "gui/window/job_panel.hpp"

class QComboBox;

namespace coldstroke::gui {

class MetricChoice;

/// Two campaigns, or the last two configurations of one: one sentence, the tests under it.
class ComparisonPanel : public JobPanel {
  Q_OBJECT
 public:
  explicit ComparisonPanel(QWidget* parent = nullptr);
  void setCampaign(const std::filesystem::path& campaign);
  /// The other campaign; none: the last two configurations of the open one.
  void setOther(const std::filesystem::path& campaign);

 Q_SIGNALS:
  void fileRequested(const coldstroke::gui::FileRequest& request);

 protected:
  void followJob() override;
  void begin() override;
  [[nodiscard]] QString wanting() const override;

 private:
  void showAnswer(Result<TrialComparison> answer);
  void save(const std::filesystem::path& file);
  void followMetric();
  std::filesystem::path campaign_, other_;
  QComboBox* with_;
  MetricChoice* metric_;
  QDoubleSpinBox* margin_;
  QLabel *sentence_ = nullptr, *numbers_ = nullptr;
  QPushButton* save_ = nullptr;
  std::optional<TrialComparison> shown_;
};

}  // namespace coldstroke::gui
