// SPDX-License-Identifier: GPL-3.0-or-later
#include <QGuiApplication>
#include <QImage>
#include <fstream>
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>

#include "analysis/detector/agreement.hpp"
#include "analysis/detector/recommendation.hpp"
#include "analysis/detector/tolerance.hpp"
#include "daq/detector/foreign_detector.hpp"
#include "daq/detector/library_table.hpp"
#include "daq/detector/map_job.hpp"
#include "gui/commands/command.hpp"
#include "gui/commands/detector_text.hpp"
#include "gui/window/detector/map_drawing.hpp"

namespace coldstroke::gui {

namespace {

struct Arguments {
  std::string table, library, name, other, png, svg, csv, json_file, out;
  double window_low_ms = 2.0, window_high_ms = 60.0, threshold_low = 0.25, threshold_high = 15.0;
  int windows = 60, thresholds = 60;
  double igniter_delay_ms = 0.0, ignition_window_ms = 0.0, margin_ms = 2.0;
  bool json = false, tolerances = false;
};

Exit complained(const Complaint& complaint) {
  print_complaint(complaint);
  return Exit::bad_input;
}

Result<std::vector<analysis::Recording>> library_of(const Arguments& arguments) {
  std::vector<std::string> left_out;
  auto library = daq::load_library(arguments.library, left_out);
  for (const std::string& line : left_out) std::cerr << "left out: " << line << '\n';
  return library;
}

/// Detectors of a team's own, each recording judged by the same rules as the family's.
Result<bool> print_foreign(const daq::DetectorTable& table, std::span<const analysis::Recording> library) {
  bool right = true;
  for (const daq::ForeignDetector& foreign : table.foreign) {
    const auto prepared = prepare_library(library, foreign.axis, foreign.board);
    if (!prepared) return tl::unexpected{prepared.error()};
    const auto answers = daq::run_foreign(foreign, prepared->recordings);
    if (!answers) return tl::unexpected{answers.error()};
    right = print_foreign_line(std::cout, foreign.name, *prepared, *answers) && right;
  }
  return right;
}

Exit replay(const Arguments& arguments) {
  const auto table = daq::load_detector_table(arguments.table);
  if (!table) return complained(table.error());
  const auto library = library_of(arguments);
  if (!library) return complained(library.error());
  Exit exit = Exit::done;
  if (!table->detectors.empty()) {
    const auto lines = side_by_side(*library, table->detectors);
    if (!lines) return complained(lines.error());
    if (arguments.json)
      std::cout << side_by_side_json(*lines, *library).dump(1) << '\n';
    else
      print_side_by_side(std::cout, *lines, *library);
    for (const auto& line : *lines)
      if (line.summary.outcome != analysis::CellOutcome::always_in_time) exit = Exit::failed;
  }
  const auto foreign = print_foreign(*table, *library);
  if (!foreign) return complained(foreign.error());
  if (!*foreign) exit = Exit::failed;
  if (!arguments.tolerances) return exit;
  for (const auto& spec : table->detectors) {
    const auto found = tolerances(*library, spec, {}, stop_asked);
    if (!found) return complained(found.error());
    if (!*found) return Exit::not_judged;
    std::cout << spec.name << ": " << sentence(**found) << '\n';
  }
  return exit;
}

std::vector<double> steps(double low, double high, int count) {
  std::vector<double> out;
  for (int i = 0; i < count; ++i) out.push_back(count == 1 ? low : low + (high - low) * i / (count - 1));
  return out;
}

Result<void> write(const std::string& file, const std::string& text) {
  std::ofstream out{file, std::ios::binary};
  out << text;
  if (!out.flush()) return complain("the file cannot be written", file, "choose another place or free some room");
  return {};
}

Result<void> write_figures(const Arguments& arguments, const MapFigure& figure) {
  const QSizeF size{1000.0, 720.0};
  if (!arguments.csv.empty())
    if (const auto written = write(arguments.csv, map_csv(figure.map)); !written) return written;
  if (!arguments.json_file.empty())
    if (const auto written = write(arguments.json_file, map_json(figure)); !written) return written;
  const auto shapes = map_shapes(figure, size, light_look());
  if (!arguments.svg.empty())
    if (const auto written = write(arguments.svg, svg(shapes, size, light_look())); !written) return written;
  if (arguments.png.empty()) return {};
  qputenv("QT_QPA_PLATFORM", "offscreen");  // letters need a font database, not a display
  int argc = 1;
  char name[] = "coldstroke";
  char* argv[] = {name, nullptr};
  const QGuiApplication application{argc, argv};
  QImage image{size.toSize(), QImage::Format_RGB32};
  QPainter painter{&image};
  paint(painter, shapes);
  painter.end();
  if (!image.save(QString::fromStdString(arguments.png), "PNG"))
    return complain("the picture cannot be written", arguments.png, "choose another place");
  return {};
}

Exit map(const Arguments& arguments) {
  const auto table = daq::load_detector_table(arguments.table);
  if (!table) return complained(table.error());
  const auto spec = daq::pick_detector(*table, arguments.name, arguments.table);
  if (!spec) return complained(spec.error());
  const auto library = library_of(arguments);
  if (!library) return complained(library.error());
  const auto plan = plan_operating_map(
      *library, *spec,
      {analysis::MapParameter::window_seconds,
       steps(arguments.window_low_ms / 1000.0, arguments.window_high_ms / 1000.0, arguments.windows)},
      {analysis::MapParameter::threshold, steps(arguments.threshold_low, arguments.threshold_high, arguments.thresholds)});
  if (!plan) return complained(plan.error());
  print_findings(std::cerr, plan->library.findings);
  auto map = daq::compute_map(*plan, 0, {}, stop_asked);
  if (!map) return Exit::not_judged;
  MapFigure figure{
      std::move(*map), {}, QString::fromStdString(spec->name + ", " + std::to_string(library->size()) + " recordings"), {}, {}};
  figure.region = find_robust_region(figure.map);
  const double window = spec->window_seconds.value_or(spec->window_samples.value_or(0) / spec->board.sample_rate_hz);
  const double threshold = spec->kind == analysis::DetectorKind::velocity_gain ? spec->velocity_gain_mps : spec->threshold_g;
  figure.present = nearest_place(figure.map, window, threshold);
  if (figure.region) figure.proposed = figure.region->core;
  std::cout << region_sentence(figure).toStdString() << '\n';
  if (const auto written = write_figures(arguments, figure); !written) return complained(written.error());
  return Exit::done;
}

Exit propose(const Arguments& arguments) {
  const auto table = daq::load_detector_table(arguments.table);
  if (!table) return complained(table.error());
  const auto spec = daq::pick_detector(*table, arguments.name, arguments.table);
  if (!spec) return complained(spec.error());
  const auto library = library_of(arguments);
  if (!library) return complained(library.error());
  analysis::RecommendationRequest request;
  request.spec = *spec;
  request.window_seconds = steps(arguments.window_low_ms / 1000.0, arguments.window_high_ms / 1000.0, arguments.windows);
  request.thresholds = steps(arguments.threshold_low, arguments.threshold_high, arguments.thresholds);
  request.igniter_delay_seconds = arguments.igniter_delay_ms / 1000.0;
  request.ignition_window_end_seconds = arguments.ignition_window_ms / 1000.0;
  const auto made = recommend(*library, request, stop_asked);
  if (!made) return complained(made.error());
  if (!*made) return Exit::not_judged;
  print_recommendation(std::cout, **made);
  if (!(*made)->proposal) return Exit::failed;
  const std::string text = daq::detector_table_text((*made)->proposal->spec);
  if (arguments.out.empty()) {
    std::cout << '\n' << text;
  } else if (const auto written = write(arguments.out, text); !written) {
    return complained(written.error());
  }
  return Exit::done;
}

Exit compare(const Arguments& arguments) {
  const auto table = daq::load_detector_table(arguments.table);
  if (!table) return complained(table.error());
  const auto before = daq::pick_detector(*table, arguments.name, arguments.table);
  const auto after = daq::pick_detector(*table, arguments.other, arguments.table);
  if (!before) return complained(before.error());
  if (!after) return complained(after.error());
  const auto library = library_of(arguments);
  if (!library) return complained(library.error());
  const auto pairs = compare_detectors(*library, *before, *after);
  if (!pairs) return complained(pairs.error());
  const auto printed =
      print_before_after(std::cout, *pairs, before->name, after->name, arguments.margin_ms / 1000.0, arguments.json);
  if (!printed) return complained(printed.error());
  return pairs->broken > 0 || pairs->wrong_after > 0 ? Exit::failed : Exit::done;
}

void common(CLI::App* verb, const std::shared_ptr<Arguments>& arguments) {
  verb->add_option("table", arguments->table, "Detector table, TOML (docs/detectors.md)")->required()->check(CLI::ExistingFile);
  verb->add_option("library", arguments->library, "Library table (.toml), or a campaign file: its trials must fire")
      ->required()
      ->check(CLI::ExistingFile);
  verb->footer(std::string{kExitCodes});
}

void grid(CLI::App* verb, const std::shared_ptr<Arguments>& arguments) {
  verb->add_option("--detector", arguments->name, "Which of the table's detectors; needed if it has several");
  verb->add_option("--window-from", arguments->window_low_ms, "Smallest window, ms")
      ->check(CLI::PositiveNumber)
      ->capture_default_str();
  verb->add_option("--window-to", arguments->window_high_ms, "Largest window, ms")
      ->check(CLI::PositiveNumber)
      ->capture_default_str();
  verb->add_option("--windows", arguments->windows, "Windows")->check(CLI::Range(1, 2000))->capture_default_str();
  verb->add_option("--threshold-from", arguments->threshold_low, "Smallest threshold, g (velocity gain: m/s)")
      ->check(CLI::PositiveNumber)
      ->capture_default_str();
  verb->add_option("--threshold-to", arguments->threshold_high, "Largest threshold")
      ->check(CLI::PositiveNumber)
      ->capture_default_str();
  verb->add_option("--thresholds", arguments->thresholds, "Thresholds")->check(CLI::Range(1, 2000))->capture_default_str();
}

}  // namespace

void add_detector(CLI::App& app, Exit& exit) {
  CLI::App* group =
      app.add_subcommand("detector", "Would this launch detector have fired, every time, in time, and never otherwise");
  group->require_subcommand(1);
  group->footer(std::string{kExitCodes});
  auto arguments = std::make_shared<Arguments>();

  CLI::App* replays = group->add_subcommand("replay", "Every detector of a table over a library, side by side");
  common(replays, arguments);
  replays->add_flag("--tolerances", arguments->tolerances, "Also how much weaker, shorter, noisier the recordings may become");
  replays->add_flag("--json", arguments->json, "Machine-readable on standard output");
  replays->callback([arguments, &exit] { exit = replay(*arguments); });

  CLI::App* maps = group->add_subcommand("map", "Outcome over the library for every window and threshold");
  common(maps, arguments);
  grid(maps, arguments);
  maps->add_option("--png", arguments->png, "Write the map as a picture");
  maps->add_option("--svg", arguments->svg, "Write the map as SVG");
  maps->add_option("--csv", arguments->csv, "Write one line a cell");
  maps->add_option("--json", arguments->json_file, "Write the map for machines");
  maps->callback([arguments, &exit] { exit = map(*arguments); });

  CLI::App* proposals =
      group->add_subcommand("propose", "Window, threshold and deadline with the largest smallest margin; a person decides");
  common(proposals, arguments);
  grid(proposals, arguments);
  proposals->add_option("--igniter-delay", arguments->igniter_delay_ms, "Decision to thrust, ms")
      ->check(CLI::NonNegativeNumber)
      ->required();
  proposals->add_option("--thrust-by", arguments->ignition_window_ms, "Last instant for thrust to begin, ms after first motion")
      ->check(CLI::PositiveNumber)
      ->required();
  proposals->add_option("--out", arguments->out, "Write the proposal as a detector table");
  proposals->callback([arguments, &exit] { exit = propose(*arguments); });

  CLI::App* comparisons =
      group->add_subcommand("compare", "Two detectors on the same recordings: one sentence, the numbers, the worst cases");
  common(comparisons, arguments);
  comparisons->add_option("--before", arguments->name, "Name in the table")->required();
  comparisons->add_option("--after", arguments->other, "Name in the table")->required();
  comparisons->add_option("--margin", arguments->margin_ms, "A latency shift of at most this is of no consequence, ms")
      ->check(CLI::PositiveNumber)
      ->capture_default_str();
  comparisons->add_flag("--json", arguments->json, "Machine-readable on standard output");
  comparisons->callback([arguments, &exit] { exit = compare(*arguments); });

  add_detector_playback(*group, exit);
}

void add_foreign_detector(CLI::App& app, Exit& exit) {
  struct Child {
    std::string library;
    double sample_rate_hz = 0.0, counts_per_g = 0.0;
  };
  auto child = std::make_shared<Child>();
  CLI::App* verb = app.add_subcommand("foreign-detector", "The child process in which a detector of your own runs")->group("");
  verb->add_option("library", child->library)->required();
  verb->add_option("rate", child->sample_rate_hz)->required();
  verb->add_option("counts-per-g", child->counts_per_g)->required();
  verb->callback([child, &exit] {
    exit = static_cast<Exit>(daq::serve_foreign(child->library, child->sample_rate_hz, child->counts_per_g));
  });
}

}  // namespace coldstroke::gui
