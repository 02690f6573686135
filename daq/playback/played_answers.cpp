// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/playback/played_answers.hpp"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <nlohmann/json.hpp>
#include <string_view>

#include "protocol/board/frame.h"

namespace coldstroke::daq {
namespace {

using Json = nlohmann::ordered_json;
using analysis::Finding;

constexpr int kVersion = 1;
constexpr const char* kMark = "PLAYBACK, no trial";
constexpr std::size_t kMostSamples = 100'000'000;

std::uint32_t crc_of(const Stimulus& stimulus) {
  std::uint32_t crc = 0;
  for (const auto& sample : stimulus.counts) {
    std::array<std::uint8_t, 6> bytes{};
    for (std::size_t axis = 0; axis < 3; ++axis) {
      const auto word = static_cast<std::uint16_t>(sample[axis]);
      bytes[2 * axis] = static_cast<std::uint8_t>(word & 0xFFU);
      bytes[2 * axis + 1] = static_cast<std::uint8_t>(word >> 8U);
    }
    crc = cs_crc32c(crc, bytes.data(), bytes.size());
  }
  return crc;
}

Json json_of(const PlayedAnswer& answer, const std::optional<analysis::PlaybackAgreement>& agreement) {
  Json out{{"recording", answer.recording},
           {"samples", answer.samples},
           {"counts_crc32c", answer.counts_crc32c},
           {"played_whole", answer.played_whole}};
  if (!answer.played_whole) out["trouble"] = answer.trouble;
  if (answer.played_whole) out["decision_sample"] = answer.decision_sample ? Json(*answer.decision_sample) : Json{};
  if (agreement) out["agrees_with_replay"] = agreement->agrees();
  return out;
}

/// Fails with what is wrong, which the caller turns into a complaint with the file's name.
[[noreturn]] void refuse(const std::string& what) { throw std::runtime_error{what}; }

std::size_t whole_number(const Json& from, const char* key, std::size_t most) {
  const Json& value = from.at(key);
  if (!value.is_number_unsigned() || value.get<std::uint64_t>() > most)
    refuse(std::string{"\""} + key + "\" is no whole number from 0 to " + std::to_string(most));
  return value.get<std::size_t>();
}

PlayedAnswer answer_from(const Json& from) {
  PlayedAnswer out;
  out.recording = from.at("recording").get<std::string>();
  out.samples = whole_number(from, "samples", kMostSamples);
  out.counts_crc32c = static_cast<std::uint32_t>(whole_number(from, "counts_crc32c", 0xFFFFFFFFU));
  out.played_whole = from.at("played_whole").get<bool>();
  if (!out.played_whole) {
    out.trouble = from.at("trouble").get<std::string>();
  } else if (!from.at("decision_sample").is_null()) {
    out.decision_sample = whole_number(from, "decision_sample", kMostSamples);
    if (*out.decision_sample >= out.samples) refuse("\"" + out.recording + "\" is decided after its last sample");
  }
  return out;
}

wire::StreamDescription stream_from(const Json& from) {
  wire::StreamDescription out;
  out.bits = static_cast<std::uint8_t>(whole_number(from, "bits", 255));
  out.period_ns = static_cast<std::uint32_t>(whole_number(from, "period_ns", 1'000'000'000));
  for (const Json& scale : from.at("scale_mps2_per_count")) {
    out.channels.push_back({.scale_hint = scale.get<float>()});
    if (!std::isfinite(out.channels.back().scale_hint) || !(out.channels.back().scale_hint > 0.0F))
      refuse("a scale of the stream is not positive");
  }
  if (out.period_ns == 0 || out.channels.size() != 3) refuse("the stream is none of three axes with a period");
  return out;
}

PlayedAnswers answers_from(const Json& from) {
  if (!from.is_object() || from.value("mark", "") != kMark || !from.contains("answers"))
    refuse("it does not hold the answers of a playback");
  if (const std::size_t version = whole_number(from, "version", 1'000'000); version > kVersion)
    refuse("it is of version " + std::to_string(version) + "; this program reads up to " + std::to_string(kVersion));
  PlayedAnswers out;
  out.claims.identity.firmware_name = from.at("firmware").at("name").get<std::string>();
  out.claims.identity.firmware_version = from.at("firmware").at("version").get<std::string>();
  for (const auto& [key, value] : from.at("settings").items())
    out.claims.settings.push_back({static_cast<std::uint8_t>(out.claims.settings.size()), key, value.get<std::string>()});
  out.claims.stream = stream_from(from.at("stream"));
  for (const Json& answer : from.at("answers")) {
    out.answers.push_back(answer_from(answer));
    const auto& name = out.answers.back().recording;
    if (std::ranges::count(out.answers, name, &PlayedAnswer::recording) > 1) refuse("\"" + name + "\" stands in it twice");
  }
  return out;
}

const PlayedAnswer* find(const PlayedAnswers& side, const std::string& recording) {
  const auto found = std::ranges::find(side.answers, recording, &PlayedAnswer::recording);
  return found == side.answers.end() ? nullptr : &*found;
}

/// Why this recording cannot be compared on this side; empty: it can.
std::string why_left_out(const PlayedAnswer* answer, const Stimulus& sent, const char* side) {
  if (answer == nullptr) return std::string{"it was not played "} + side;
  if (!answer->played_whole) {
    // The trouble is a sentence, and so is what it becomes part of.
    const std::string_view trouble{answer->trouble};
    return std::string{"it was not played whole "} + side + ": " +
           std::string{trouble.substr(0, trouble.size() - (trouble.ends_with('.') ? 1 : 0))};
  }
  if (answer->samples != sent.counts.size() || answer->counts_crc32c != crc_of(sent))
    return std::string{"what was played "} + side + " under this name was another recording than the library's";
  return {};
}

analysis::Axis watched_axis(const BoardClaims& claims) {
  const auto claimed = claimed_detector(claims);
  return claimed ? claimed->axis : analysis::Axis::z;
}

/// What a board was sent, and how it sees a recording.
struct Side {
  std::vector<Stimulus> sent;  ///< in the library's order
  analysis::Axis axis;
  analysis::BoardSampling board;
  /// By the board's own rate.
  [[nodiscard]] analysis::RecordingResult result(const analysis::Recording& recording, const PlayedAnswer& answer) const {
    return judge(prepare_recording(recording, axis, board), board.sample_rate_hz, answer.decision_sample);
  }
};

Result<Side> side_of(std::span<const analysis::Recording> library, const PlayedAnswers& played) {
  const analysis::Axis axis = watched_axis(played.claims);
  if (const auto checked = check_library(library, axis); !checked) return tl::unexpected{checked.error()};
  auto sent = stimuli_of(library, played.claims);
  if (!sent) return tl::unexpected{sent.error()};
  return Side{std::move(*sent), axis, sampling_of(played.claims.stream)};
}

bool same_settings(const BoardClaims& a, const BoardClaims& b) {
  const auto said = [](const BoardClaims& claims) {
    std::vector<std::pair<std::string, std::string>> out;
    for (const auto& setting : claims.settings) out.emplace_back(setting.key, setting.value);
    std::ranges::sort(out);
    return out;
  };
  return a.identity.firmware_name == b.identity.firmware_name && a.identity.firmware_version == b.identity.firmware_version &&
         said(a) == said(b);
}

}  // namespace

std::string PlayedAnswers::firmware() const { return claims.identity.firmware_name + " " + claims.identity.firmware_version; }

PlayedAnswers played_answers(const PlaybackRun& run) {
  PlayedAnswers out{run.claims, {}};
  for (std::size_t i = 0; i < run.answers.size(); ++i) {
    const StimulusAnswer& answer = run.answers[i];
    const Stimulus& stimulus = run.stimuli[i];
    PlayedAnswer kept{stimulus.name, stimulus.counts.size(), crc_of(stimulus), answer.complete, answer.trouble, {}};
    if (answer.complete) kept.decision_sample = analysis::decision_of(answer.changes);
    out.answers.push_back(std::move(kept));
  }
  return out;
}

std::string playback_json(const PlaybackReport& report, const PlaybackRun& run) {
  Json findings = Json::array(), answers = Json::array(), settings = Json::object(), scales = Json::array();
  for (const auto& finding : report.findings)
    findings.push_back({{"kind", finding.kind}, {"stimulus", finding.channel}, {"message", finding.message}});
  const PlayedAnswers kept = played_answers(run);
  for (std::size_t i = 0; i < kept.answers.size(); ++i) answers.push_back(json_of(kept.answers[i], report.lines[i].agreement));
  for (const auto& setting : run.claims.settings) settings[setting.key] = setting.value;
  for (std::size_t axis = 0; axis < std::min<std::size_t>(3, run.claims.stream.channels.size()); ++axis)
    scales.push_back(run.claims.stream.channels[axis].scale_hint);
  const auto& identity = run.claims.identity;
  return Json{{"mark", kMark},
              {"version", kVersion},
              {"sentence", sentence(report)},
              {"stimuli", report.stimuli},
              {"played", report.played},
              {"agreeing", report.agreeing},
              {"decided", report.decided},
              {"samples_sent", report.samples_sent},
              {"samples_played", report.samples_played},
              {"samples_lost", report.samples_lost},
              {"samples_compared", report.samples_compared},
              {"samples_differing", report.samples_differing},
              {"samples_sent_again", report.refused},
              {"ticks_without_sample", report.starved},
              {"resets", report.resets},
              {"elapsed_seconds", run.elapsed_seconds},
              {"firmware", {{"name", identity.firmware_name}, {"version", identity.firmware_version}}},
              {"settings", std::move(settings)},
              {"stream",
               {{"bits", run.claims.stream.bits},
                {"period_ns", run.claims.stream.period_ns},
                {"scale_mps2_per_count", std::move(scales)}}},
              {"answers", std::move(answers)},
              {"findings", std::move(findings)}}
      .dump(1, ' ', false, Json::error_handler_t::replace);
}

Result<PlayedAnswers> read_played_answers(const std::filesystem::path& file) {
  const auto cannot = [&](const std::string& what) {
    return complain("The answers of a playback cannot be read: " + what + ".", file.string(),
                    "Make the file with: coldstroke detector playback ... --json > FILE, or Save on the Playback panel.");
  };
  std::ifstream stream{file, std::ios::binary};
  if (!stream || std::filesystem::is_directory(file)) return cannot("it cannot be opened");
  const Json read = Json::parse(stream, nullptr, false);
  if (read.is_discarded()) return cannot("it is no JSON");
  try {
    return answers_from(read);
  } catch (const std::exception& trouble) {
    return cannot(trouble.what());
  }
}

Result<PlayedComparison> compare_played(std::span<const analysis::Recording> library, const PlayedAnswers& before,
                                        const PlayedAnswers& after) {
  const auto first = side_of(library, before), second = side_of(library, after);
  if (!first) return tl::unexpected{first.error()};
  if (!second) return tl::unexpected{second.error()};
  PlayedComparison out;
  out.axis = second->axis;
  out.rate_before_hz = first->board.sample_rate_hz;
  out.rate_after_hz = second->board.sample_rate_hz;
  std::vector<analysis::BeforeAfterPair> pairs;
  for (std::size_t i = 0; i < library.size(); ++i) {
    const PlayedAnswer *was = find(before, library[i].name), *is = find(after, library[i].name);
    std::string why = why_left_out(was, first->sent[i], "before");
    if (why.empty()) why = why_left_out(is, second->sent[i], "after");
    if (why.empty())
      pairs.push_back({i, library[i].name, library[i].label, first->result(library[i], *was), second->result(library[i], *is)});
    else
      out.findings.push_back({"not_compared", library[i].name, "\"" + library[i].name + "\" is left out: " + why + "."});
  }
  std::size_t strange = 0;
  for (const PlayedAnswers* side : {&before, &after})
    strange += static_cast<std::size_t>(std::ranges::count_if(side->answers, [&](const PlayedAnswer& answer) {
      return std::ranges::find(library, answer.recording, &analysis::Recording::name) == library.end();
    }));
  if (strange > 0)
    out.findings.push_back(
        {"not_compared", "", std::to_string(strange) + " of the answers are to recordings that this library does not hold."});
  if (pairs.empty())
    return complain("No recording was played whole to both boards" +
                        (out.findings.empty() ? std::string{} : "; the first: " + out.findings.front().message),
                    "library of " + std::to_string(library.size()) + " recordings",
                    "Name the library that both playbacks were made of.");
  if (same_settings(before.claims, after.claims))
    out.findings.push_back(
        {"same_firmware", "",
         "Both files name the firmware " + before.firmware() + " with the same settings: this compares a board with itself."});
  out.pairs = analysis::compare_results(std::move(pairs));
  return out;
}

}  // namespace coldstroke::daq
