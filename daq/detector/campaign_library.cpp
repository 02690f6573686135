// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/detector/campaign_library.hpp"

#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cmath>
#include <cstring>
#include <iterator>
#include <nlohmann/json.hpp>

#include "daq/record/trial_archive.hpp"

namespace coldstroke::daq {
namespace {

using analysis::Label;
using analysis::Recording;
using Json = nlohmann::ordered_json;

/// Every recording of this program is one along the tube.
constexpr analysis::Axis kKeptAxis = analysis::Axis::z;

std::string trial_name(const std::filesystem::path& file, std::int64_t number) {
  return "trial " + std::to_string(number) + " of " + file.filename().string();
}

/// `any`: also a trial without motion, to which whoever asked for it gives its label.
Result<Recording> recording_of_trial(const Campaign& campaign, const TrialRow& row, const std::string& name, bool any) {
  const auto judged = judge_trial(campaign, row.number);
  if (!judged) return tl::unexpected{judged.error()};
  auto recording = recording_of_traces(judged->traces, name);
  if (!recording) return recording;
  const auto moved = judged->result.marks.first_motion_seconds;
  if (!moved && !any)
    return complain("no first motion was found; if it was recorded without gas, name it in a library table with its label", name,
                    "see docs/detectors.md");
  recording->provenance = row.virtual_rig ? analysis::Provenance::synthesised : analysis::Provenance::bench;
  recording->source = name + (row.virtual_rig ? ", virtual rig" : "");
  recording->rest_g[2] = std::cos(judged->setup.tilt_radians);
  if (!moved) return recording;
  recording->label = Label::must_fire;
  recording->event = analysis::Event::ejection;
  recording->first_motion_seconds = *moved - find(judged->traces, analysis::Role::vehicle_acceleration)->start_seconds;
  recording->deadline_seconds = judged->setup.decision_deadline_seconds;
  return recording;
}

/// All that a recording says of itself besides its samples and its name, as JSON text in the row's `source`.
std::string source_of(const Recording& recording) {
  Json out{{"how", recording.source},
           {"provenance", word(recording.provenance)},
           {"event", word(recording.event)},
           {"axis", word(kKeptAxis)},
           {"sample_rate_hz", recording.sample_rate_hz},
           {"rest_g", recording.rest_g[static_cast<std::size_t>(kKeptAxis)]},
           {"sensor_range_g", recording.sensor_range_g}};
  if (recording.label == Label::must_fire) {
    out["first_motion_seconds"] = recording.first_motion_seconds;
    out["deadline_seconds"] = recording.deadline_seconds;
  }
  for (const auto& parameter : recording.parameters)
    out["parameters"].push_back({{"name", parameter.name}, {"value", parameter.value}});
  return out.dump(-1, ' ', false, Json::error_handler_t::replace);
}

/// Reads what any program may have written; a key that is missing or of another kind gives the default.
class Source {
 public:
  explicit Source(const std::string& text) : read_(Json::parse(text, nullptr, false)) {}  // braces would make a list of it
  [[nodiscard]] std::string text(const Json& from, const char* key) const {
    return from.is_object() && from.contains(key) && from[key].is_string() ? from[key].get<std::string>() : std::string{};
  }
  [[nodiscard]] std::string text(const char* key) const { return text(read_, key); }
  [[nodiscard]] double number(const char* key, double otherwise) const {
    return read_.is_object() && read_.contains(key) && read_[key].is_number() ? read_[key].get<double>() : otherwise;
  }
  [[nodiscard]] std::vector<analysis::RecordingParameter> parameters() const {
    std::vector<analysis::RecordingParameter> out;
    if (!read_.is_object() || !read_.contains("parameters") || !read_["parameters"].is_array()) return out;
    for (const Json& one : read_["parameters"])
      if (one.is_object() && one.contains("value") && one["value"].is_number())
        out.push_back({text(one, "name"), one["value"].get<double>()});
    return out;
  }

 private:
  Json read_;
};

/// Complains of a row that cannot serve.
Result<Recording> kept_recording(Campaign::Stimulus&& row) {
  const Source source{row.source};
  const auto refuse = [&](const char* why) { return complain(why, row.name, "keep the recording again (docs/detectors.md)"); };
  const auto label = analysis::from_word(row.label, Label::must_stay_silent);
  const auto event = analysis::from_word(source.text("event"), analysis::Event::other);
  const auto provenance = analysis::from_word(source.text("provenance"), analysis::Provenance::variant);
  const auto axis = analysis::from_word(source.text("axis"), analysis::Axis::z);
  if (!label) return refuse("its label is neither of the two");
  if (!event || !provenance || !axis) return refuse("its source does not say event, provenance and axis in this program's words");
  Recording out;
  out.name = row.name;
  out.label = *label;
  out.event = *event;
  out.provenance = *provenance;
  out.source = source.text("how");
  out.parameters = source.parameters();
  out.sensor_range_g = source.number("sensor_range_g", 0.0);
  const auto along = static_cast<std::size_t>(*axis);
  out.rest_g[along] = source.number("rest_g", out.rest_g[along]);
  if (*label == Label::must_fire) {
    out.first_motion_seconds = source.number("first_motion_seconds", -1.0);
    out.deadline_seconds = source.number("deadline_seconds", 0.0);
    if (out.first_motion_seconds < 0.0 || out.deadline_seconds <= 0.0)
      return refuse("it must fire, but its source gives no first motion or no deadline");
  }
  // 1 / (1 / 3000) is not 3000: the rate is taken as written where it is the period's.
  const double stated = source.number("sample_rate_hz", 0.0);
  out.sample_rate_hz = stated > 0.0 && 1.0 / stated == row.sample_period_seconds ? stated : 1.0 / row.sample_period_seconds;
  out.axes[along] = std::move(row.samples_mps2);
  return out;
}

Result<void> keep(Campaign& campaign, const Recording& recording) {
  Campaign::Stimulus stimulus;
  stimulus.name = recording.name;
  stimulus.label = word(recording.label);
  stimulus.source = source_of(recording);
  stimulus.sample_period_seconds = 1.0 / recording.sample_rate_hz;
  stimulus.samples_mps2 = recording.along(kKeptAxis);
  if (const auto added = campaign.add_stimulus(stimulus); !added) return tl::unexpected{added.error()};
  return {};
}

}  // namespace

Result<Recording> recording_of_traces(const analysis::TraceSet& traces, const std::string& name) {
  const analysis::Trace* trace = find(traces, analysis::Role::vehicle_acceleration);
  if (trace == nullptr || trace->samples.empty())
    return complain("it holds no acceleration of the vehicle", name, "record or import one with the role acceleration");
  if (!trace->missing.empty())
    return complain("samples of the vehicle's acceleration are missing", name, "use another record: a gap would be made up");
  Recording out;
  out.name = name;
  out.sample_rate_hz = 1.0 / trace->period_seconds;
  out.axes[static_cast<std::size_t>(analysis::Axis::z)] = trace->samples;
  return out;
}

Result<std::vector<Recording>> recordings_of_campaign(const std::filesystem::path& file, std::int64_t only,
                                                      std::vector<std::string>& left_out, const Progress& progress) {
  const auto campaign = Campaign::open_read_only(file);
  if (!campaign) return tl::unexpected{campaign.error()};
  const auto rows = campaign->trials();
  if (!rows) return tl::unexpected{rows.error()};
  std::vector<Recording> out;
  std::size_t done = 0;
  for (const TrialRow& row : *rows) {
    if (only != 0 && row.number != only) continue;
    const std::string name = trial_name(file, row.number);
    auto recording = recording_of_trial(*campaign, row, name, only != 0);
    if (recording)
      out.push_back(std::move(*recording));
    else
      left_out.push_back(name + ": " + recording.error().what);
    if (progress && !progress(++done, rows->size()))
      return complain("stopped on request after " + std::to_string(done) + " trials", "reading the campaign's library",
                      "start it again; nothing was changed");
  }
  return out;
}

Result<std::vector<Recording>> kept_recordings(const Campaign& campaign, std::vector<std::string>& left_out) {
  auto rows = campaign.stimuli();
  if (!rows) return tl::unexpected{rows.error()};
  std::vector<Recording> out;
  for (Campaign::Stimulus& row : *rows) {
    const std::string name = row.name;
    auto recording = kept_recording(std::move(row));
    if (recording)
      out.push_back(std::move(*recording));
    else
      left_out.push_back("\"" + name + "\": " + recording.error().what);
  }
  return out;
}

Result<std::vector<Recording>> library_of_campaign(const std::filesystem::path& file, std::vector<std::string>& left_out,
                                                   const Progress& progress) {
  auto library = recordings_of_campaign(file, 0, left_out, progress);
  if (!library) return library;
  const auto campaign = Campaign::open_read_only(file);
  if (!campaign) return tl::unexpected{campaign.error()};
  auto kept = kept_recordings(*campaign, left_out);
  if (!kept) return kept;
  std::ranges::move(*kept, std::back_inserter(*library));
  return library;
}

Result<void> check_place_for(const std::filesystem::path& file, const std::string& name) {
  if (!std::filesystem::exists(file)) {
    const auto folder = file.has_parent_path() ? file.parent_path() : std::filesystem::path{"."};
    if (::access(folder.c_str(), W_OK) == 0) return {};
    return complain("the campaign cannot be begun: " + std::string{std::strerror(errno)}, file.string(), "name another folder");
  }
  std::vector<std::string> left_out;
  const auto library = library_of_campaign(file, left_out);
  if (!library) return tl::unexpected{library.error()};
  if (std::ranges::find(*library, name, &Recording::name) == library->end()) return {};
  return complain("a recording of this name is in the campaign already", "recording \"" + name + "\"", "give it another name");
}

Result<std::vector<analysis::Finding>> keep_recordings(const std::filesystem::path& file, std::span<const Recording> recordings) {
  std::vector<Recording> whole;
  if (std::filesystem::exists(file)) {
    std::vector<std::string> left_out;
    auto present = library_of_campaign(file, left_out);
    if (!present) return tl::unexpected{present.error()};
    whole = std::move(*present);
  }
  if (recordings.empty())
    return complain("there is no recording to keep", "library", "name a library table or a campaign that holds some");
  whole.insert(whole.end(), recordings.begin(), recordings.end());
  auto findings = check_library(whole, kKeptAxis);
  if (!findings) return findings;
  auto campaign = Campaign::open_or_create(file, file.stem().string());
  if (!campaign) return tl::unexpected{campaign.error()};
  for (const Recording& recording : recordings)
    if (const auto kept = keep(*campaign, recording); !kept) return tl::unexpected{kept.error()};
  return findings;
}

}  // namespace coldstroke::daq
