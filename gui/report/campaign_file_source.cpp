// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/campaign_file_source.hpp"

#include "daq/record/trial_archive.hpp"

namespace coldstroke::gui {
namespace {

void say_why_not_judged(ReportTrial& trial) {
  switch (trial.row.status) {
    case daq::TrialStatus::aborted:
      trial.why_not_judged = "Stopped before motion was seen: kept, not judged.";
      break;
    case daq::TrialStatus::interrupted:
      trial.why_not_judged = "The program ended while this trial was being recorded: what had been written is kept.";
      break;
    case daq::TrialStatus::recording:
      trial.why_not_judged = "Still being recorded.";
      break;
    case daq::TrialStatus::recorded:
      trial.why_not_judged = "No result is stored for this trial.";
      break;
  }
}

// The newest stored result, if there is one that this program can read.
Result<ReportTrial> with_stored_result(const daq::Campaign& campaign, daq::TrialRow row) {
  ReportTrial trial;
  trial.row = std::move(row);
  say_why_not_judged(trial);
  auto events = campaign.events(trial.row.number);
  if (!events) return tl::unexpected{events.error()};
  for (daq::HostEvent& event : *events) {
    if (event.kind == "stopped" && trial.row.status == daq::TrialStatus::aborted)
      trial.why_not_judged += " Cause: " + event.text + ".";
    if (event.kind == "bypass") trial.bypasses.push_back(std::move(event.text));
  }
  if (const auto text = campaign.setup_text(trial.row.number))
    if (auto setup = daq::parse_setup(*text, "setup stored with trial " + std::to_string(trial.row.number)))
      trial.setup = std::make_shared<const daq::Setup>(std::move(*setup));
  auto set_aside = campaign.hand_void(trial.row.number);
  if (!set_aside) return tl::unexpected{set_aside.error()};
  trial.hand_void = std::move(*set_aside);
  if (trial.row.status == daq::TrialStatus::aborted) return trial;
  auto results = campaign.results(trial.row.number);
  if (!results) return tl::unexpected{results.error()};
  if (results->empty()) return trial;
  auto stored = daq::parse_result_json(results->back().json);
  if (!stored) {
    trial.why_not_judged = "The stored result cannot be read: " + stored.error().what + ".";
    return trial;
  }
  trial.result = std::move(*stored);
  trial.judged = true;
  return trial;
}

}  // namespace

CampaignFileSource::CampaignFileSource(std::filesystem::path file) : file_{std::move(file)} {}

Result<CampaignRows> CampaignFileSource::rows() const {
  auto campaign = daq::Campaign::open_read_only(file_);
  if (!campaign) return tl::unexpected{campaign.error()};
  CampaignRows rows{file_.string(), {}, {}};
  if (auto name = campaign->name()) rows.name = *name;
  auto trials = campaign->trials();
  if (!trials) return tl::unexpected{trials.error()};
  for (daq::TrialRow& row : *trials) {
    auto trial = with_stored_result(*campaign, std::move(row));
    if (!trial) return tl::unexpected{trial.error()};
    rows.trials.push_back(std::move(*trial));
  }
  return rows;
}

Result<ReportTrial> CampaignFileSource::trial(std::int64_t number) const {
  auto campaign = daq::Campaign::open_read_only(file_);
  if (!campaign) return tl::unexpected{campaign.error()};
  return read_report_trial(*campaign, number);
}

Result<ReportTrial> read_report_trial(const daq::Campaign& campaign, std::int64_t number) {
  auto row = campaign.trial(number);
  if (!row) return tl::unexpected{row.error()};
  auto trial = with_stored_result(campaign, std::move(*row));
  if (!trial) return trial;
  if (auto notes = campaign.notes(number)) trial->notes = std::move(*notes);
  if (auto judged = daq::judge_trial(campaign, number)) {
    trial->traces = std::move(judged->traces);
    trial->decode_notes = std::move(judged->notes);
    if (!trial->judged && trial->row.status == daq::TrialStatus::recorded) {
      trial->result = std::move(judged->result);
      trial->judged = true;
    }
  } else {
    const Complaint& why = judged.error();
    trial->decode_notes.push_back(why.what + " (" + why.where + "). " + why.remedy);
  }
  return trial;
}

}  // namespace coldstroke::gui
