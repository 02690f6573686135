// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/detector/recording.hpp"

#include <algorithm>
#include <boost/random/mersenne_twister.hpp>
#include <boost/random/normal_distribution.hpp>
#include <cmath>
#include <map>
#include <numeric>

#include "analysis/detector/board_counts.hpp"
#include "analysis/pneumatics/stroke_model.hpp"
#include "analysis/signal/saturation.hpp"

namespace coldstroke::analysis {
namespace {

using std::string;

/// Where on the old record the new one reads its sample at `seconds`.
double source_seconds(double seconds, double from_seconds, double factor) {
  return seconds <= from_seconds ? seconds : from_seconds + (seconds - from_seconds) / factor;
}

std::vector<double> stretched(const std::vector<double>& samples, double rate_hz, double from_seconds, double factor) {
  if (factor == 1.0 || samples.size() < 2) return samples;
  const double end = static_cast<double>(samples.size() - 1) / rate_hz;
  const double new_end = end <= from_seconds ? end : from_seconds + (end - from_seconds) * factor;
  const auto count = static_cast<std::size_t>(std::floor(new_end * rate_hz * (1.0 + 1.0e-12))) + 1;
  std::vector<double> out(count);
  for (std::size_t k = 0; k < count; ++k) {
    const double place = source_seconds(static_cast<double>(k) / rate_hz, from_seconds, factor) * rate_hz;
    const auto left = std::min(static_cast<std::size_t>(place), samples.size() - 2);
    out[k] = std::lerp(samples[left], samples[left + 1], std::min(place - static_cast<double>(left), 1.0));
  }
  return out;
}

std::optional<Complaint> axis_fault(const Recording& r, Axis axis) {
  const string where = "recording \"" + r.name + "\"";
  const auto& samples = r.along(axis);
  if (samples.empty())
    return Complaint{string{"no samples along axis "} + word(axis), where,
                     "choose an axis that was recorded, or take the recording out of the library"};
  const auto bad = std::find_if_not(samples.begin(), samples.end(), [](double v) { return std::isfinite(v); });
  if (bad != samples.end())
    return Complaint{"a sample is not a number", where + ", sample " + std::to_string(bad - samples.begin()),
                     "cut the recording there or record it again; a gap is not filled in silently"};
  if (!std::isfinite(r.sample_rate_hz) || r.sample_rate_hz <= 0.0)
    return Complaint{"a sample rate of " + std::to_string(r.sample_rate_hz) + " Hz", where, "give the rate it was recorded at"};
  if (!std::isfinite(r.rest_g[static_cast<std::size_t>(axis)]))
    return Complaint{"the reading at rest is not a number", where, "give what the axis reads at rest, in g"};
  return std::nullopt;
}

std::optional<Complaint> must_fire_fault(const Recording& r, Axis axis) {
  if (r.label != Label::must_fire) return std::nullopt;
  const string where = "recording \"" + r.name + "\"";
  const double end = static_cast<double>(r.along(axis).size() - 1) / r.sample_rate_hz;
  if (!std::isfinite(r.first_motion_seconds) || r.first_motion_seconds < 0.0 || r.first_motion_seconds > end)
    return Complaint{"first motion at " + std::to_string(r.first_motion_seconds) + " s is not inside the recording", where,
                     "give first motion between 0 and " + std::to_string(end) + " s"};
  if (!std::isfinite(r.deadline_seconds) || r.deadline_seconds <= 0.0)
    return Complaint{"it must fire and has no decision deadline", where,
                     "give the latest safe decision, in seconds from first motion"};
  return std::nullopt;
}

std::optional<Complaint> repeated_name(std::span<const Recording> library) {
  std::map<string, Label> seen;
  for (const Recording& r : library) {
    const auto [found, fresh] = seen.emplace(r.name, r.label);
    if (fresh) continue;
    if (found->second != r.label)
      return Complaint{"labelled both must_fire and must_stay_silent", "recording \"" + r.name + "\"",
                       "decide which one is right and take the other out"};
    return Complaint{"two recordings have this name", "recording \"" + r.name + "\"", "give every recording its own name"};
  }
  return std::nullopt;
}

/// Neighbours in the order of their samples hold any two that are alike. Returns the pair labelled both ways, else notes repeats.
std::optional<Complaint> same_samples(std::span<const Recording> library, Axis axis, std::vector<Finding>& findings) {
  std::vector<std::size_t> order(library.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return library[a].along(axis) < library[b].along(axis); });
  for (std::size_t i = 1; i < order.size(); ++i) {
    const Recording &a = library[order[i - 1]], &b = library[order[i]];
    if (a.along(axis) != b.along(axis) || a.sample_rate_hz != b.sample_rate_hz) continue;
    if (a.label != b.label)
      return Complaint{"the same samples are labelled both must_fire and must_stay_silent",
                       "recordings \"" + a.name + "\" and \"" + b.name + "\"",
                       "decide which label is right and take the other out"};
    findings.push_back({"repeated_recording", b.name, "has the same samples as \"" + a.name + "\": it is counted twice"});
  }
  return std::nullopt;
}

void note_clipping(const Recording& r, Axis axis, std::vector<Finding>& findings) {
  if (r.sensor_range_g <= 0.0) return;
  const double end = r.sensor_range_g * kStandardGravity;
  const auto runs = saturated_runs(r.along(axis), -end, end, end * 1.0e-4);
  if (runs.empty()) return;
  std::size_t count = 0;
  for (const IndexRun& run : runs) count += run.last - run.first;
  findings.push_back({"clipped", r.name,
                      std::to_string(count) + " samples at the end of the accelerometer's range, first at sample " +
                          std::to_string(runs.front().first) + ": the truth is larger than recorded"});
}

void note_rates(std::span<const Recording> library, std::vector<Finding>& findings) {
  std::map<double, std::size_t> rates;
  for (const Recording& r : library) {
    const auto known = std::ranges::find_if(rates, [&r](const auto& rate) { return same_rate(rate.first, r.sample_rate_hz); });
    ++(known == rates.end() ? rates[r.sample_rate_hz] : known->second);
  }
  if (rates.size() < 2) return;
  string text;
  for (const auto& [rate, count] : rates)
    text += (text.empty() ? "" : ", ") + std::to_string(count) + " at " + std::to_string(std::lround(rate)) + " Hz";
  findings.push_back(
      {"mixed_sample_rates", "", "recordings " + text + ": each is brought to the board's rate by straight lines"});
}

}  // namespace

const char* word(Label label) { return label == Label::must_fire ? "must_fire" : "must_stay_silent"; }

const char* word(Event event) {
  static constexpr std::array kWords{"ejection",  "pulse",   "carrying",  "setting_down", "tube_knock", "wind_rocking",
                                     "hand_drop", "landing", "line_snag", "transport",    "other"};
  return kWords[static_cast<std::size_t>(event)];
}

const char* word(Provenance provenance) {
  static constexpr std::array kWords{"bench", "imported", "synthesised", "variant"};
  return kWords[static_cast<std::size_t>(provenance)];
}

Recording vary(const Recording& recording, const Variation& variation) {
  Recording out = recording;
  out.provenance = Provenance::variant;
  out.name += " (varied)";
  out.parameters.insert(out.parameters.end(), {{"level_factor", variation.level_factor},
                                               {"time_factor", variation.time_factor},
                                               {"offset_g", variation.offset_g},
                                               {"noise_rms_g", variation.noise_rms_g}});
  boost::random::mt19937_64 engine{variation.noise_seed};
  boost::random::normal_distribution<double> noise{0.0, variation.noise_rms_g * kStandardGravity};
  const double from = recording.label == Label::must_fire ? recording.first_motion_seconds : 0.0;
  for (std::size_t a = 0; a < out.axes.size(); ++a) {
    const double rest = recording.rest_g[a] * kStandardGravity;
    out.axes[a] = stretched(recording.axes[a], recording.sample_rate_hz, from, variation.time_factor);
    for (double& v : out.axes[a]) {
      v = rest + variation.level_factor * (v - rest) + variation.offset_g * kStandardGravity;
      if (variation.noise_rms_g > 0.0) v += noise(engine);
    }
  }
  return out;
}

Result<std::vector<Finding>> check_library(std::span<const Recording> library, Axis axis) {
  if (library.empty())
    return complain("the library holds no recordings", "library",
                    "add must_fire and must_stay_silent recordings, or synthesise some");
  for (const Recording& r : library) {
    if (auto fault = axis_fault(r, axis)) return tl::unexpected{*fault};
    if (auto fault = must_fire_fault(r, axis)) return tl::unexpected{*fault};
  }
  if (auto fault = repeated_name(library)) return tl::unexpected{*fault};
  std::vector<Finding> findings;
  if (auto fault = same_samples(library, axis, findings)) return tl::unexpected{*fault};
  note_rates(library, findings);
  bool silent = false;
  for (const Recording& r : library) {
    note_clipping(r, axis, findings);
    silent = silent || r.label == Label::must_stay_silent;
    const double end = static_cast<double>(r.along(axis).size() - 1) / r.sample_rate_hz;
    if (r.label == Label::must_fire && end < r.first_motion_seconds + r.deadline_seconds)
      findings.push_back({"short_recording", r.name, "ends before its own decision deadline: a late decision cannot show"});
  }
  if (!silent)
    findings.push_back({"no_silent_recordings", "", "nothing in the library must stay silent: false decisions cannot show"});
  return findings;
}

}  // namespace coldstroke::analysis
