// SPDX-License-Identifier: GPL-3.0-or-later
#include <QGuiApplication>
#include <cstdio>
#include <filesystem>
#include <iostream>
#include <memory>

#include "analysis/detector/agreement.hpp"
#include "analysis/detector/recommendation.hpp"
#include "daq/detector/foreign_detector.hpp"
#include "daq/detector/map_job.hpp"
#include "gui/commands/command.hpp"
#include "gui/commands/detector_text.hpp"
#include "gui/report/whole_file.hpp"
#include "gui/window/detector/detector_words.hpp"
#include "gui/window/detector/map_drawing.hpp"

namespace coldstroke::gui {

namespace {

struct Arguments {
  std::string table, library, name, other, played_before, played_after, png, svg, csv, json_file, out;
  double window_low_ms = 2.0, window_high_ms = 60.0, threshold_low = 0.25, threshold_high = 15.0;
  int windows = 60, thresholds = 60;
  std::string rows = "window_seconds=0.002:0.06:60", columns = "threshold=0.25:15:60";
  double igniter_delay_ms = 0.0, ignition_window_ms = 0.0, margin_ms = 2.0;
  bool json = false, tolerances = false;
};

Exit complained(const Complaint& complaint) {
  print_complaint(complaint);
  return Exit::bad_input;
}

/// Detectors of a team's own, each recording judged by the same rules as the family's.
Result<bool> print_foreign(const daq::DetectorTable& table, std::span<const analysis::Recording> library) {
  bool right = true;
  for (const daq::ForeignDetector& foreign : table.foreign) {
    const auto prepared = prepare_library(library, foreign.axis, foreign.board);
    if (!prepared) return tl::unexpected{prepared.error()};
    const auto answers = daq::run_foreign(foreign, prepared->recordings, {}, stop_asked);
    if (!answers) return tl::unexpected{answers.error()};
    right = print_foreign_line(std::cout, foreign.name, *prepared, *answers) && right;
  }
  return right;
}

Exit replay(const Arguments& arguments) {
  const auto table = daq::load_detector_table(arguments.table);
  if (!table) return complained(table.error());
  const auto library = read_library(arguments.library);
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
  if (!foreign) return complained(foreign.error()), stop_asked() ? Exit::not_judged : Exit::bad_input;
  if (!*foreign) exit = Exit::failed;
  if (!arguments.tolerances) return exit;
  const auto printed = print_tolerances(std::cout, *library, table->detectors);
  if (!printed) return complained(printed.error());
  return *printed ? exit : Exit::not_judged;
}

/// "threshold=0.25:15:60": parameter, smallest, largest, how many.
Result<analysis::MapAxis> axis_of(const std::string& text) {
  const auto equals = text.find('=');
  const auto parameter = analysis::map_parameter(text.substr(0, equals));
  double low = 0.0, high = 0.0;
  int count = 0, read = 0;
  const std::string range = equals == std::string::npos ? std::string{} : text.substr(equals + 1);
  if (!parameter || std::sscanf(range.c_str(), "%lf:%lf:%d%n", &low, &high, &count, &read) != 3 ||
      static_cast<std::size_t>(read) != range.size() || count < 1 || count > 2000 || !(low < high || count == 1))
    return complain("this is no axis of a map: " + text, "--rows, --columns",
                    "write PARAMETER=FROM:TO:HOW_MANY, as threshold=0.25:15:60; parameters: window_seconds, window_samples, "
                    "threshold, required_samples, filter_shift, building_g, deadline_seconds, rest_g");
  return analysis::MapAxis{*parameter, analysis::even_values(low, high, static_cast<std::size_t>(count))};
}

/// Letters need a font database, not a display.
struct Letters {
  bool no_display = qputenv("QT_QPA_PLATFORM", "offscreen");  // before the application looks
  int argc = 1;
  std::string name = "coldstroke";
  char* argv[2] = {name.data(), nullptr};
  QGuiApplication application{argc, argv};
};

/// Each file asked for, by its option's form.
template <class Figure>
Result<void> write_files(const Arguments& arguments, const Figure& figure,
                         Result<void> (*write)(const std::filesystem::path&, const Figure&)) {
  std::optional<Letters> letters;
  if (!arguments.png.empty()) letters.emplace();
  for (const std::string& file : {arguments.png, arguments.svg, arguments.csv, arguments.json_file}) {
    if (file.empty()) continue;
    if (const auto written = write(file, figure); !written) return written;
  }
  return {};
}

Exit map(const Arguments& arguments) {
  const auto table = daq::load_detector_table(arguments.table);
  if (!table) return complained(table.error());
  const auto spec = daq::pick_detector(*table, arguments.name, arguments.table);
  if (!spec) return complained(spec.error());
  const auto rows = axis_of(arguments.rows), columns = axis_of(arguments.columns);
  if (!rows) return complained(rows.error());
  if (!columns) return complained(columns.error());
  const auto library = read_library(arguments.library);
  if (!library) return complained(library.error());
  const auto plan = plan_operating_map(*library, *spec, *rows, *columns);
  if (!plan) return complained(plan.error());
  print_findings(std::cerr, plan->library.findings);
  auto map = daq::compute_map(
      *plan, 0,
      [&](std::size_t done) {
        if (done % 20 == 0) std::cerr << done << " of " << rows->values.size() << " rows\n";
      },
      stop_asked);
  if (!map) return Exit::not_judged;
  MapFigure figure{
      std::move(*map), {}, QString::fromStdString(spec->name + ", " + std::to_string(library->size()) + " recordings"), {}, {}};
  complete_figure(figure, *spec);
  std::cout << region_sentence(figure).toStdString() << '\n';
  if (const auto written = write_files(arguments, figure, write_map); !written) return complained(written.error());
  return Exit::done;
}

Exit propose(const Arguments& arguments) {
  const auto table = daq::load_detector_table(arguments.table);
  if (!table) return complained(table.error());
  const auto spec = daq::pick_detector(*table, arguments.name, arguments.table);
  if (!spec) return complained(spec.error());
  const auto library = read_library(arguments.library);
  if (!library) return complained(library.error());
  analysis::RecommendationRequest request;
  request.spec = *spec;
  request.window_seconds = analysis::even_values(arguments.window_low_ms / 1000.0, arguments.window_high_ms / 1000.0,
                                                 static_cast<std::size_t>(arguments.windows));
  request.thresholds =
      analysis::even_values(arguments.threshold_low, arguments.threshold_high, static_cast<std::size_t>(arguments.thresholds));
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
  } else if (const auto written = write_whole(arguments.out, text); !written) {
    return complained(written.error());
  }
  return Exit::done;
}

Exit compared(const Arguments& arguments, const Result<BeforeAfterFigure>& figure) {
  if (!figure) return complained(figure.error());
  if (arguments.json)
    std::cout << before_after_json(*figure) << '\n';
  else
    print_before_after(std::cout, *figure);
  if (const auto written = write_files(arguments, *figure, write_before_after); !written) return complained(written.error());
  return figure->pairs.broken > 0 || figure->pairs.wrong_after > 0 ? Exit::failed : Exit::done;
}

Exit compare(const Arguments& arguments) {
  const auto table = daq::load_detector_table(arguments.table);
  if (!table) return complained(table.error());
  const auto before = daq::pick_detector(*table, arguments.name, arguments.table);
  const auto after = daq::pick_detector(*table, arguments.other, arguments.table);
  if (!before) return complained(before.error());
  if (!after) return complained(after.error());
  const auto library = read_library(arguments.library);
  if (!library) return complained(library.error());
  return compared(arguments, before_after_figure(*library, *before, *after, arguments.margin_ms / 1000.0));
}

Exit compare_played(const Arguments& arguments) {
  const auto before = read_played_side(arguments.played_before), after = read_played_side(arguments.played_after);
  if (!before) return complained(before.error());
  if (!after) return complained(after.error());
  const auto library = read_library(arguments.library);
  if (!library) return complained(library.error());
  return compared(arguments, played_figure(*library, *before, *after, arguments.margin_ms / 1000.0));
}

void common(CLI::App* verb, const std::shared_ptr<Arguments>& arguments) {
  verb->add_option("table", arguments->table, "Detector table, TOML (docs/detectors.md)")->required()->check(CLI::ExistingFile);
  verb->add_option("library", arguments->library, std::string{kLibraryWords})->required()->check(CLI::ExistingFile);
  verb->footer(std::string{kExitCodes});
}

/// Of a file to be written; looked at before the long work.
CLI::Validator ends_in(const std::string& ending) {
  const auto complaint = [ending](const std::string& name) {
    return std::filesystem::path{name}.extension() == ending ? std::string{} : name + ": the name does not end in " + ending;
  };
  return CLI::Validator{complaint, "FILE" + ending};
}

void files(CLI::App* verb, const std::shared_ptr<Arguments>& arguments) {
  verb->add_option("--png", arguments->png, "Write it as a picture")->check(ends_in(".png"));
  verb->add_option("--svg", arguments->svg, "Write it as a drawing")->check(ends_in(".svg"));
  verb->add_option("--csv", arguments->csv, "Write it as a table")->check(ends_in(".csv"));
}

void comparison(CLI::App* verb, const std::shared_ptr<Arguments>& arguments) {
  verb->add_option("--margin", arguments->margin_ms, "A latency shift of at most this is of no consequence, ms")
      ->check(number_within(kSmallest, kLargest))
      ->capture_default_str();
  files(verb, arguments);
  verb->add_flag("--json", arguments->json, "Machine-readable on standard output");
}

void grid(CLI::App* verb, const std::shared_ptr<Arguments>& arguments) {
  verb->add_option("--detector", arguments->name, "Which of the table's detectors; needed if it has several");
  verb->add_option("--window-from", arguments->window_low_ms, "Smallest window, ms")
      ->check(number_within(kSmallest, kLargest))
      ->capture_default_str();
  verb->add_option("--window-to", arguments->window_high_ms, "Largest window, ms")
      ->check(number_within(kSmallest, kLargest))
      ->capture_default_str();
  verb->add_option("--windows", arguments->windows, "Windows")->check(CLI::Range(1, 2000))->capture_default_str();
  verb->add_option("--threshold-from", arguments->threshold_low, "Smallest threshold, g (velocity gain: m/s)")
      ->check(number_within(kSmallest, kLargest))
      ->capture_default_str();
  verb->add_option("--threshold-to", arguments->threshold_high, "Largest threshold")
      ->check(number_within(kSmallest, kLargest))
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
  group->parse_complete_callback(catch_stop_signals);

  CLI::App* replays = group->add_subcommand("replay", "Every detector of a table over a library, side by side");
  common(replays, arguments);
  replays->add_flag("--tolerances", arguments->tolerances, "Also how much weaker, shorter, noisier the recordings may become");
  replays->add_flag("--json", arguments->json, "Machine-readable on standard output");
  replays->callback([arguments, &exit] { exit = replay(*arguments); });

  CLI::App* maps = group->add_subcommand("map", "Outcome over the library for every window and threshold");
  common(maps, arguments);
  maps->add_option("--detector", arguments->name, "Which of the table's detectors; needed if it has several");
  maps->add_option("--rows", arguments->rows, "Parameter upwards, PARAMETER=FROM:TO:HOW_MANY")->capture_default_str();
  maps->add_option("--columns", arguments->columns, "Parameter across, as --rows")->capture_default_str();
  files(maps, arguments);
  maps->add_option("--json", arguments->json_file, "Write it for machines")->check(ends_in(".json"));
  maps->callback([arguments, &exit] { exit = map(*arguments); });

  CLI::App* proposals =
      group->add_subcommand("propose", "Window, threshold and deadline with the largest smallest margin; a person decides");
  common(proposals, arguments);
  grid(proposals, arguments);
  proposals->add_option("--igniter-delay", arguments->igniter_delay_ms, "Decision to thrust, ms")
      ->check(number_within(0.0, kLargest))
      ->required();
  proposals->add_option("--thrust-by", arguments->ignition_window_ms, "Last instant for thrust to begin, ms after first motion")
      ->check(number_within(kSmallest, kLargest))
      ->required();
  proposals->add_option("--out", arguments->out, "Write the proposal as a detector table");
  proposals->callback([arguments, &exit] { exit = propose(*arguments); });

  CLI::App* comparisons =
      group->add_subcommand("compare", "Two detectors on the same recordings: one sentence, the numbers, the worst cases");
  common(comparisons, arguments);
  comparisons->add_option("--before", arguments->name, "Name in the table")->required();
  comparisons->add_option("--after", arguments->other, "Name in the table")->required();
  comparison(comparisons, arguments);
  comparisons->callback([arguments, &exit] { exit = compare(*arguments); });

  CLI::App* played = group->add_subcommand(
      "compare-played",
      "Two boards' answers to a playback of the same recordings, as compare; files of: detector playback --json");
  played->add_option("library", arguments->library, std::string{kLibraryWords})->required()->check(CLI::ExistingFile);
  played->add_option("before", arguments->played_before, "Answers of the firmware before")->required()->check(CLI::ExistingFile);
  played->add_option("after", arguments->played_after, "Answers of the firmware after")->required()->check(CLI::ExistingFile);
  played->footer(std::string{kExitCodes});
  comparison(played, arguments);
  played->callback([arguments, &exit] { exit = compare_played(*arguments); });

  add_detector_playback(*group, exit);
  add_detector_library(*group, exit);
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
