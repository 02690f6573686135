// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/rejudge.hpp"

namespace coldstroke::gui {
namespace {

Result<std::vector<daq::TrialRow>> meant(const daq::Campaign& campaign, const std::filesystem::path& file,
                                         std::optional<std::int64_t> only) {
  const auto rows = campaign.trials();
  if (!rows) return tl::unexpected{rows.error()};
  std::vector<daq::TrialRow> out;
  for (const daq::TrialRow& row : *rows)
    if (only ? *only == row.number : row.status == daq::TrialStatus::recorded) out.push_back(row);
  if (out.empty())
    return complain(only ? "there is no trial " + std::to_string(*only) : "no recorded trial to judge again", file.string(),
                    "see the trials with: coldstroke show " + file.string());
  return out;
}

}  // namespace

ReportTrial report_of(daq::TrialRow row, daq::JudgedTrial judged) {
  ReportTrial trial;
  trial.row = std::move(row);
  trial.traces = std::move(judged.traces);
  trial.decode_notes = std::move(judged.notes);
  trial.result = std::move(judged.result);
  trial.judged = true;
  return trial;
}

Result<std::vector<ReportTrial>> rejudge(const std::filesystem::path& file, std::optional<std::int64_t> only,
                                         const daq::Recalibration& correction) {
  auto campaign = daq::Campaign::open_or_create(file, "");
  if (!campaign) return tl::unexpected{campaign.error()};
  const auto rows = meant(*campaign, file, only);
  if (!rows) return tl::unexpected{rows.error()};
  std::vector<ReportTrial> out;
  for (const daq::TrialRow& row : *rows) {
    auto judged = daq::judge_recalibrated(*campaign, row.number, correction);
    if (!judged) return tl::unexpected{judged.error()};
    judged->traces = {};  // the results are enough, and the traces of a whole campaign are large
    out.push_back(report_of(row, std::move(*judged)));
  }
  for (const ReportTrial& trial : out) {
    if (auto kept = daq::keep_recalibration(*campaign, trial.row.number, correction); !kept) return tl::unexpected{kept.error()};
    const auto stored = campaign->add_result(trial.row.number, word(trial.result.verdict), daq::result_json(trial.result));
    if (!stored) return tl::unexpected{stored.error()};
  }
  return out;
}

}  // namespace coldstroke::gui
