// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/detector/library_table.hpp"

#include <algorithm>
#include <iterator>

#include "analysis/detector/synthesise.hpp"
#include "daq/record/trace_import.hpp"
#include "daq/setup/table_file.hpp"
#include "daq/setup/table_reader.hpp"

namespace coldstroke::daq {
namespace {

using analysis::Event;
using analysis::Label;
using analysis::Recording;

constexpr std::size_t kMostTables = 2000;
constexpr int kMostCopies = 10000;

enum class From { csv, trial, pulse, handling, mixed, variant };

Event parse_event(TableReader& table, Event fallback) {
  if (!table.has("event")) return fallback;
  return table
      .choice<Event>("event", {{"ejection", Event::ejection},
                               {"pulse", Event::pulse},
                               {"carrying", Event::carrying},
                               {"setting_down", Event::setting_down},
                               {"tube_knock", Event::tube_knock},
                               {"wind_rocking", Event::wind_rocking},
                               {"hand_drop", Event::hand_drop},
                               {"landing", Event::landing},
                               {"line_snag", Event::line_snag},
                               {"transport", Event::transport},
                               {"other", Event::other}})
      .value_or(fallback);
}

std::optional<Label> parse_label(TableReader& table) {
  return table.choice<Label>("label", {{"must_fire", Label::must_fire}, {"must_stay_silent", Label::must_stay_silent}});
}

analysis::Scene parse_scene(TableReader& table) {
  analysis::Scene scene;
  scene.sample_rate_hz = table.number("sample_rate_hz", {10.0, 1.0e6}, 2000.0);
  scene.quiet_seconds = table.number("quiet_seconds", {0.0, 60.0}, scene.quiet_seconds);
  scene.tail_seconds = table.number("tail_seconds", {0.0, 60.0}, scene.tail_seconds);
  scene.noise_rms_g = table.number("noise_rms_g", {0.0, 100.0}, scene.noise_rms_g);
  scene.seed = static_cast<std::uint64_t>(std::max(0, table.whole("seed", 0, 1000000000, 1)));
  scene.sensor_range_g = table.number("sensor_range_g", {0.0, 100000.0}, 0.0);
  return scene;
}

void keep(Result<Recording> made, TableReader& table, std::vector<Recording>& out) {
  if (made)
    out.push_back(std::move(*made));
  else
    table.pass_on("", "cannot be computed", made.error());
}

void parse_pulse(TableReader& table, std::vector<Recording>& out) {
  analysis::PulseParameters p;
  p.shape = table
                .choice<analysis::PulseShape>("shape", {{"rectangular", analysis::PulseShape::rectangular},
                                                        {"half_sine", analysis::PulseShape::half_sine},
                                                        {"ramp", analysis::PulseShape::ramp}})
                .value_or(p.shape);
  const std::string name = table.text("name");
  p.peak_g = table.number("peak_g", {0.0, 10000.0, true});
  p.duration_seconds = table.number("duration_seconds", {0.0, 60.0, true});
  p.deadline_seconds = table.number("deadline_seconds", {0.0, 60.0, true});
  p.fall_seconds = table.number("fall_seconds", {0.0, 600.0}, p.fall_seconds);
  p.landing_peak_g = table.number("landing_peak_g", {0.0, 10000.0}, p.landing_peak_g);
  p.landing_seconds = table.number("landing_seconds", {0.0, 10.0, true}, p.landing_seconds);
  const int copies = table.whole("copies", 1, kMostCopies, 1);
  const double scatter = table.number("peak_scatter_fraction", {0.0, 0.9}, 0.0);
  analysis::Scene scene = parse_scene(table);
  table.refuse_unknown();
  if (name.empty() || !(p.peak_g > 0.0 && p.duration_seconds > 0.0 && p.deadline_seconds > 0.0)) return;
  const double peak_g = p.peak_g;
  for (int i = 0; i < copies; ++i, ++scene.seed) {
    // Evenly over the band: a spread that anybody can work out again.
    if (copies > 1) p.peak_g = peak_g * (1.0 + scatter * (2.0 * i / (copies - 1) - 1.0));
    keep(synthesise_pulse(copies == 1 ? name : name + " " + std::to_string(i + 1), p, scene), table, out);
  }
}

void parse_handling(TableReader& table, std::vector<Recording>& out) {
  const std::string name = table.text("name");
  const Event event = parse_event(table, Event::other);
  if (std::ranges::find(analysis::kSilentEvents, event) == analysis::kSilentEvents.end()) {
    table.complain("event", "is no handling event that can be computed",
                   "carrying, setting_down, tube_knock, wind_rocking, hand_drop, landing, line_snag or transport");
    return;
  }
  analysis::SilentParameters p = analysis::typical(event);
  p.level_g = table.number("level_g", {0.0, 10000.0, true}, p.level_g);
  p.duration_seconds = table.number("duration_seconds", {0.0, 600.0, true}, p.duration_seconds);
  p.frequency_hz = table.number("frequency_hz", {0.0, 100000.0, true}, p.frequency_hz);
  const int copies = table.whole("copies", 1, kMostCopies, 1);
  const double scatter = table.number("level_scatter_fraction", {0.0, 0.9}, 0.0);
  analysis::Scene scene = parse_scene(table);
  table.refuse_unknown();
  if (name.empty()) return;
  const double level_g = p.level_g;
  for (int i = 0; i < copies; ++i, ++scene.seed) {
    if (copies > 1) p.level_g = level_g * (1.0 + scatter * (2.0 * i / (copies - 1) - 1.0));
    keep(synthesise_silent(copies == 1 ? name : name + " " + std::to_string(i + 1), p, scene), table, out);
  }
}

void parse_mixed(TableReader& table, std::vector<Recording>& out) {
  const int fire = table.whole("must_fire", 0, kMostCopies);
  const int silent = table.whole("each_silent", 0, kMostCopies);
  const analysis::Scene scene = parse_scene(table);
  table.refuse_unknown();
  if (fire < 0 || silent < 0) return;
  auto made = analysis::synthetic_library(static_cast<std::size_t>(fire), static_cast<std::size_t>(silent), scene);
  if (!made) return table.pass_on("", "cannot be computed", made.error());
  std::ranges::move(*made, std::back_inserter(out));
}

void set_label(TableReader& table, Recording& recording) {
  if (const auto label = parse_label(table)) recording.label = *label;
  recording.event = parse_event(table, recording.label == Label::must_fire ? Event::ejection : Event::other);
  recording.rest_g[2] = table.number("rest_g", {-100.0, 100.0}, 1.0);
  recording.sensor_range_g = table.number("sensor_range_g", {0.0, 100000.0}, recording.sensor_range_g);
  if (recording.label != Label::must_fire) return;
  recording.first_motion_seconds = table.number("first_motion_seconds", {0.0, 1.0e5});
  recording.deadline_seconds = table.number("deadline_seconds", {0.0, 1.0e4, true});
}

void parse_csv(TableReader& table, const std::filesystem::path& folder, std::vector<Recording>& out) {
  const std::string name = table.text("name");
  const std::string file = table.text("file");
  Recording labelled;
  set_label(table, labelled);
  table.refuse_unknown();
  if (name.empty() || file.empty()) return;
  const auto setup = parse_setup(virtual_setup_text(), "built-in setup");
  if (!setup) return table.pass_on("", "cannot be read", setup.error());
  const auto imported = import_csv(folder / file, {}, *setup);
  if (!imported) return table.pass_on("file", "cannot be imported", imported.error());
  auto made = recording_of_traces(imported->traces, name);
  if (!made) return table.pass_on("file", "cannot serve", made.error());
  labelled.name = name;
  labelled.provenance = analysis::Provenance::imported;
  labelled.source = file;
  labelled.sample_rate_hz = made->sample_rate_hz;
  labelled.axes = std::move(made->axes);
  out.push_back(std::move(labelled));
}

void parse_trial(TableReader& table, const std::filesystem::path& folder, std::vector<Recording>& out) {
  const std::string campaign = table.text("campaign");
  const int number = table.whole("trial", 1, 1000000);
  const std::string name = table.text("name", "");
  const bool relabel = table.has("label");
  Recording labelled;
  if (relabel) set_label(table, labelled);
  table.refuse_unknown();
  if (campaign.empty() || number < 1) return;
  std::vector<std::string> left_out;
  auto made = recordings_of_campaign(folder / campaign, number, left_out);
  if (!made) return table.pass_on("campaign", "cannot be read", made.error());
  if (made->empty())
    return table.complain("trial", "cannot serve: " + (left_out.empty() ? "there is no such trial" : left_out.front()),
                          "another trial");
  Recording recording = std::move(made->front());
  if (!relabel && recording.label != Label::must_fire)
    return table.complain("trial", "shows no first motion, so it says by itself only that nothing was ejected",
                          "label = \"must_stay_silent\" and its event, if the vehicle was handled without gas");
  if (!name.empty()) recording.name = name;
  if (relabel) {
    recording.label = labelled.label;
    recording.event = labelled.event;
    recording.first_motion_seconds = labelled.first_motion_seconds;
    recording.deadline_seconds = labelled.deadline_seconds;
  }
  out.push_back(std::move(recording));
}

/// Of recordings further up in the table: that name, or all its copies.
void parse_variant(TableReader& table, std::vector<Recording>& out) {
  const std::string name = table.text("name"), of = table.text("of");
  analysis::Variation v;
  v.level_factor = table.number("level_factor", {0.0, 100.0, true}, v.level_factor);
  v.time_factor = table.number("time_factor", {0.01, 100.0}, v.time_factor);
  v.offset_g = table.number("offset_g", {-1000.0, 1000.0}, v.offset_g);
  v.noise_rms_g = table.number("noise_rms_g", {0.0, 1000.0}, v.noise_rms_g);
  v.noise_seed = static_cast<std::uint64_t>(std::max(0, table.whole("seed", 0, 1000000000, 1)));
  table.refuse_unknown();
  if (of.empty() || name.empty()) return;
  const auto is_copy = [&of](const std::string& other) {
    return other.starts_with(of + " ") && other.find_first_not_of("0123456789", of.size() + 1) == std::string::npos;
  };
  std::vector<Recording> made;
  for (const Recording& recording : out) {
    if (recording.name != of && !is_copy(recording.name)) continue;
    made.push_back(vary(recording, v));
    made.back().name = recording.name + ", " + name;
    ++v.noise_seed;
  }
  if (made.empty())
    return table.complain("of", "names no recording further up in this table", "the name of one, as it is written there");
  std::ranges::move(made, std::back_inserter(out));
}

}  // namespace

Result<std::vector<Recording>> parse_library_table(std::string_view text, const std::string& source,
                                                   const std::filesystem::path& folder) {
  Problems problems{source, "library table", "docs/detectors.md"};
  const auto document = parse_document(text, problems, "docs/detectors.md shows a whole table");
  if (!document) return tl::unexpected{document.error()};
  TableReader root{&*document, "", problems};
  std::vector<Recording> out;
  for (TableReader& table : root.tables("recording", 1, kMostTables)) {
    const auto from = table.choice<From>("from", {{"csv", From::csv},
                                                  {"trial", From::trial},
                                                  {"pulse", From::pulse},
                                                  {"handling", From::handling},
                                                  {"mixed", From::mixed},
                                                  {"variant", From::variant}});
    if (!from) continue;
    if (*from == From::csv) parse_csv(table, folder, out);
    if (*from == From::trial) parse_trial(table, folder, out);
    if (*from == From::pulse) parse_pulse(table, out);
    if (*from == From::handling) parse_handling(table, out);
    if (*from == From::mixed) parse_mixed(table, out);
    if (*from == From::variant) parse_variant(table, out);
  }
  root.refuse_unknown();
  if (!problems.empty()) return tl::unexpected{problems.complaint()};
  return out;
}

Result<std::vector<Recording>> load_library_table(const std::filesystem::path& file) {
  const auto text = read_table_file(file, "library table", "docs/detectors.md");
  if (!text) return tl::unexpected{text.error()};
  return parse_library_table(*text, file.string(), std::filesystem::absolute(file).parent_path());
}

Result<std::vector<Recording>> load_library(const std::filesystem::path& file, std::vector<std::string>& left_out,
                                            const Progress& progress) {
  if (file.extension() == ".toml") return load_library_table(file);
  return library_of_campaign(file, left_out, progress);
}

}  // namespace coldstroke::daq
