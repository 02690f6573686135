// SPDX-License-Identifier: GPL-3.0-or-later
#include <fstream>
#include <system_error>

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

Result<void> write_report(const std::filesystem::path& file, const std::string& html) {
  const std::filesystem::path unfinished = file.string() + ".unfinished";
  {
    std::ofstream out{unfinished, std::ios::binary | std::ios::trunc};
    out << html;
    out.flush();
    if (!out) {
      std::error_code ignored;
      std::filesystem::remove(unfinished, ignored);
      return complain("The report could not be written.", file.string(),
                      "Check that the folder can be written and has room, or name another file.");
    }
  }
  std::error_code failed;
  std::filesystem::rename(unfinished, file, failed);
  if (failed)
    return complain("The report could not take its name: " + failed.message() + ".", file.string(),
                    "It was left as " + unfinished.string() + ".");
  return {};
}

std::filesystem::path report_path(const std::filesystem::path& campaign, std::optional<std::int64_t> trial) {
  const std::string name = campaign.stem().string() + (trial ? "-trial-" + std::to_string(*trial) : "-report") + ".html";
  return campaign.parent_path() / name;
}

}  // namespace coldstroke::gui
