// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/html_report.hpp"

namespace coldstroke::gui {

Result<std::string> report_of_trial(const TrialSource& source, ReportHead head, std::int64_t number) {
  auto rows = source.rows();
  if (!rows) return tl::unexpected{rows.error()};
  auto trial = source.trial(number);
  if (!trial) return tl::unexpected{trial.error()};
  head.campaign_name = rows->name;
  head.campaign_file = rows->file;
  return html_report(head, {std::move(*trial)});
}

Result<std::string> report_of_campaign(const TrialSource& source, ReportHead head) {
  auto rows = source.rows();
  if (!rows) return tl::unexpected{rows.error()};
  head.campaign_name = rows->name;
  head.campaign_file = rows->file;
  for (const std::size_t k : drawn_trials(rows->trials)) {
    auto whole = source.trial(rows->trials[k].row.number);
    if (!whole) return tl::unexpected{whole.error()};
    rows->trials[k] = std::move(*whole);
  }
  return html_report(head, rows->trials);
}

std::filesystem::path report_path(const std::filesystem::path& campaign, std::optional<std::int64_t> trial) {
  const std::string name = campaign.stem().string() + (trial ? "-trial-" + std::to_string(*trial) : "-report") + ".html";
  return campaign.parent_path() / name;
}

}  // namespace coldstroke::gui
