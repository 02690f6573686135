// SPDX-License-Identifier: GPL-3.0-or-later
#include <charconv>
#include <cmath>
#include <fstream>
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>

#include "analysis/calibration/scaling.hpp"
#include "daq/record/campaign_file.hpp"
#include "daq/setup/calibration_file.hpp"
#include "daq/setup/units.hpp"
#include "gui/commands/command.hpp"
#include "gui/report/calibration_words.hpp"
#include "gui/report/figures.hpp"

namespace coldstroke::gui {
namespace {

using analysis::CalibrationForm;
using analysis::CalibrationPoint;
using Json = nlohmann::ordered_json;

struct Arguments {
  std::string points_file, setup, unit, model = "line", signal = "counts";
  std::vector<std::string> points;
  std::vector<double> readings;
  std::optional<double> shunt_expected, shunt_seen;
  std::optional<double> resolution;
  double shunt_tolerance = 0.01;
  daq::CalibrationRecord papers;
  bool save = false, json = false;
};

std::vector<std::string> cells_of(const std::string& line) {
  std::vector<std::string> out(1);
  for (const char c : line)
    if (c == ',' || c == ';')
      out.emplace_back();
    else if (c != ' ' && c != '\t' && c != '\r')
      out.back() += c;
  return out;
}

std::optional<double> number(const std::string& cell) {
  double value = 0.0;
  const auto [end, error] = std::from_chars(cell.data(), cell.data() + cell.size(), value);
  return error == std::errc{} && end == cell.data() + cell.size() ? std::optional{value} : std::nullopt;
}

/// The wire as the transducer's own signal shows it: mA of a current loop, or part of the supply of a ratiometric one.
analysis::WireState wire(const std::string& signal, double reading) {
  using analysis::TransducerSignal;
  if (signal == "current_loop") return analysis::scale(TransducerSignal::current_loop, reading * 1.0e-3, {0.0, 1.0}).wire;
  if (signal == "ratiometric") return analysis::scale(TransducerSignal::ratiometric, reading, {0.0, 1.0}).wire;
  return analysis::WireState::good;
}

Result<CalibrationPoint> point_of(const std::string& line, const std::string& where, const std::string& signal) {
  const std::vector<std::string> cells = cells_of(line);
  const auto cell = [&](std::size_t k) { return k < cells.size() ? cells[k] : std::string{}; };
  const auto applied = number(cell(0)), reading = number(cell(1));
  const auto deviation = cell(2).empty() ? std::optional{0.0} : number(cell(2));
  const auto samples = cell(3).empty() ? std::optional{1.0} : number(cell(3));
  const bool known = cell(4).empty() || cell(4) == "loading" || cell(4) == "unloading";
  if (cells.size() > 5 || !applied || !reading || !deviation || !(*deviation >= 0.0) || !samples || !(*samples >= 1.0) ||
      *samples > 1.0e9 || !known)
    return complain("This is no calibration point: " + line.substr(0, 80), where,
                    "Give APPLIED,READING and, if wanted, standard deviation, number of samples, loading or unloading.");
  if (const auto state = wire(signal, *reading); state != analysis::WireState::good)
    return complain("The reading says of the wire: " + std::string{word(state)} + ".", where,
                    "A current loop measures from 3.8 to 20.5 mA, a ratiometric signal from 0.09 to 0.91 of its supply: look at "
                    "wire, supply and load, and take the point again.");
  return CalibrationPoint{*applied, *reading, *deviation, static_cast<int>(*samples), cell(4) == "unloading"};
}

Result<std::vector<CalibrationPoint>> read_points(const Arguments& arguments) {
  std::vector<CalibrationPoint> out;
  const auto take = [&](const std::string& line, const std::string& where) -> Result<void> {
    auto point = point_of(line, where, arguments.signal);
    if (!point) return tl::unexpected{point.error()};
    out.push_back(*point);
    return {};
  };
  std::ifstream file;
  if (!arguments.points_file.empty()) file.open(arguments.points_file);
  std::string line;
  for (int k = 1; file.is_open() && std::getline(file, line); ++k) {
    if (line.empty() || line == "\r" || line.starts_with('#') || (k == 1 && line.starts_with("applied"))) continue;
    if (auto taken = take(line, arguments.points_file + ", line " + std::to_string(k)); !taken)
      return tl::unexpected{taken.error()};
  }
  for (const std::string& point : arguments.points)
    if (auto taken = take(point, "--point " + point); !taken) return tl::unexpected{taken.error()};
  return out;
}

/// Whatever unit the loads came in, the record is SI.
Result<void> to_si(const Arguments& arguments, const daq::Setup& setup, daq::CalibrationRecord& record) {
  const auto channel = setup.channel_index(record.channel);
  if (!channel) return tl::unexpected{channel.error()};
  const auto quantity = daq::dimension(setup.channels[*channel].quantity);
  const auto factor = arguments.unit.empty() ? 1.0 : daq::to_si_factor(quantity, arguments.unit);
  if (!factor)
    return complain("The unit is \"" + arguments.unit + "\".", "--unit",
                    "For this channel one of " + daq::unit_words(quantity) + ".");
  for (CalibrationPoint& p : record.points) p.applied *= *factor;
  return {};
}

Result<daq::CalibrationRecord> fit(const Arguments& arguments) {
  daq::CalibrationRecord record = arguments.papers;
  auto points = read_points(arguments);
  if (!points) return tl::unexpected{points.error()};
  record.points = std::move(*points);
  if (arguments.shunt_expected && !(std::abs(*arguments.shunt_expected) > 0.0))
    return complain("A shunt that should give no step checks nothing.", "--shunt-expected", "Give the step it should give.");
  if (arguments.shunt_expected && arguments.shunt_seen)
    record.shunt = analysis::check_shunt(0.0, *arguments.shunt_seen, *arguments.shunt_expected, arguments.shunt_tolerance);
  std::optional<daq::Setup> setup;
  if (!arguments.setup.empty()) {
    auto loaded = daq::load_setup(arguments.setup);
    if (!loaded) return tl::unexpected{loaded.error()};
    setup = std::move(*loaded);
    if (auto si = to_si(arguments, *setup, record); !si) return tl::unexpected{si.error()};
  }
  // Of a channel the readings are counts; elsewhere nobody knows their step unless told.
  record.reading_resolution = arguments.resolution.value_or(setup && arguments.signal == "counts" ? 1.0 : 0.0);
  auto fitted =
      daq::fit_record(std::move(record), arguments.model == "line" ? CalibrationForm::line : CalibrationForm::quadratic);
  if (!fitted || !arguments.save) return fitted;
  if (!setup)
    return complain("There is no setup to keep the calibration with.", "--save", "Name it with --setup, and its --channel.");
  if (arguments.signal != "counts")
    return complain("A channel is calibrated in counts.", "--signal", "Take the points as the board's counts, then save.");
  fitted->when = daq::utc_now();
  if (auto kept = daq::append_calibration(*setup, *fitted); !kept) return tl::unexpected{kept.error()};
  return fitted;
}

/// Why a reading stands for no load at all, or nothing.
std::string dead_wire(const std::string& signal, double reading) {
  const auto state = wire(signal, reading);
  const bool dead = state == analysis::WireState::broken || state == analysis::WireState::shorted;
  return dead ? std::string{"means nothing: the signal is that of a wire that is "} + word(state) : std::string{};
}

Json or_null(std::optional<double> value) { return value && std::isfinite(*value) ? Json(*value) : Json{}; }

Json json_of(const analysis::Applied& back, double reading) {
  Json out{{"reading", reading},
           {"value", back.value},
           {"standard_uncertainty", or_null(back.standard_uncertainty())},
           {"degrees_of_freedom", or_null(back.degrees_of_freedom())},
           {"interval_95", {}},
           {"mostly_from", word(back.largest())},
           {"beyond_points", back.beyond_points}};
  if (const auto half = back.half_width_95()) out["interval_95"] = {back.value - *half, back.value + *half};
  return out;
}

Json json_of(const daq::CalibrationRecord& record, const std::vector<double>& readings, const std::string& signal) {
  const analysis::CalibrationCurve& curve = record.curve;
  Json out{{"channel", record.channel},
           {"model", curve.form() == CalibrationForm::line ? "line" : "quadratic"},
           {"coefficients", curve.coefficients()},
           {"standard_errors", curve.standard_errors()},
           {"covariance", curve.covariance()},
           {"residual_standard_deviation", curve.residual_standard_deviation()},
           {"residuals", curve.residuals()},
           {"lower_limit_factor", curve.lower_limit_factor()},
           {"uncertainty_stands_on", word(curve.doubt().source)},
           {"degrees_of_freedom", or_null(curve.doubt().degrees_of_freedom)}};
  for (const double reading : readings)
    if (const std::string dead = dead_wire(signal, reading); !dead.empty())
      out["applied"].push_back({{"reading", reading}, {"absent", dead}});
    else if (const auto back = curve.applied_for(reading))
      out["applied"].push_back(json_of(*back, reading));
    else
      out["applied"].push_back({{"reading", reading}, {"absent", back.error().what}});
  if (record.loading.hysteresis) out["hysteresis"] = *record.loading.hysteresis;
  if (record.loading.zero_return) out["zero_return"] = *record.loading.zero_return;
  if (record.shunt) out["shunt_relative_error"] = record.shunt->relative_error, out["shunt_within"] = record.shunt->within;
  return out;
}

void print_back(const analysis::CalibrationCurve& curve, const std::vector<double>& readings, const std::string& signal) {
  for (const double reading : readings) {
    if (const std::string dead = dead_wire(signal, reading); !dead.empty()) {
      std::cout << "reading " << reading << ' ' << dead << '\n';
      continue;
    }
    const auto back = curve.applied_for(reading);
    std::cout << "reading " << reading << (back ? " means " + applied_words(*back, 1.0, "") : ": " + back.error().what) << '\n';
  }
}

void print(const daq::CalibrationRecord& record, const std::vector<double>& readings, const std::string& signal) {
  const analysis::CalibrationCurve& curve = record.curve;
  std::cout << "reading = c0 + c1 applied" << (curve.form() == CalibrationForm::line ? "" : " + c2 applied^2") << '\n';
  for (std::size_t i = 0; i <= static_cast<std::size_t>(curve.form()); ++i)
    std::cout << "  c" << i << "  " << curve.coefficients()[i] << "  standard error of the scatter " << curve.standard_errors()[i]
              << '\n';
  std::cout << "\n   applied        reading       residual\n";
  for (std::size_t i = 0; i < record.points.size(); ++i)
    std::cout << "  " << record.points[i].applied << "  " << record.points[i].reading << "  " << curve.residuals()[i]
              << (record.points[i].unloading ? "  unloading\n" : "\n");
  std::cout
      << "\nresidual standard deviation " << curve.residual_standard_deviation() << " (reading)\nlower limit factor "
      << curve.lower_limit_factor()
      << " (applied; ASTM E74 practice, 2.4 residual standard deviations: it bounds STATIC force only and says nothing of a "
         "pulse)\n"
      << doubt_words(curve) << '\n';
  if (curve.doubt().source == analysis::DoubtSource::unknown)
    std::cout << "State it: --resolution, or with each point its standard deviation and number of samples.\n";
  if (record.loading.hysteresis) std::cout << "hysteresis " << *record.loading.hysteresis << " (applied)\n";
  if (record.loading.zero_return) std::cout << "zero return " << *record.loading.zero_return << " (applied)\n";
  print_back(curve, readings, signal);
  if (record.shunt)
    std::cout << "shunt check: off by " << decimal(100.0 * record.shunt->relative_error, 2) << " %, "
              << (record.shunt->within ? "within" : "NOT within") << " its tolerance\n";
}

Exit run(const Arguments& arguments) {
  const auto record = fit(arguments);
  if (!record) {
    print_complaint(record.error());
    return Exit::bad_input;
  }
  if (arguments.json)
    std::cout << json_of(*record, arguments.readings, arguments.signal).dump(2) << '\n';
  else
    print(*record, arguments.readings, arguments.signal);
  if (arguments.save && !arguments.json) std::cout << "kept; it supersedes the channel's older calibrations\n";
  return record->shunt && !record->shunt->within ? Exit::failed : Exit::done;
}

}  // namespace

void add_fit(CLI::App& app, Exit& exit) {
  auto arguments = std::make_shared<Arguments>();
  daq::CalibrationRecord& papers = arguments->papers;
  CLI::App* verb =
      app.add_subcommand("fit", "Fit a calibration through points: curve, residuals, hysteresis, lower limit factor");
  verb->add_option("--points", arguments->points_file, "CSV: applied,reading[,standard deviation,samples,loading|unloading]")
      ->check(CLI::ExistingFile);
  verb->add_option("--point", arguments->points, "One point, written as a line of that file; may be repeated");
  verb->add_option("--reading", arguments->readings,
                   "Bring this reading back to the load, with its uncertainty; may be repeated");
  verb->add_option("--model", arguments->model, "line or quadratic")->check(CLI::IsMember({"line", "quadratic"}));
  verb->add_option("--signal", arguments->signal, "What the readings are: counts, current_loop (mA), ratiometric (of the supply)")
      ->check(CLI::IsMember({"counts", "current_loop", "ratiometric"}));
  verb->add_option("--setup", arguments->setup, "Setup file whose channel this is")->check(CLI::ExistingFile);
  verb->add_option("--channel", papers.channel, "Channel, as named in the setup");
  verb->add_option("--unit", arguments->unit, "Of the loads; else SI");
  CLI::Option* expected = verb->add_option("--shunt-expected", arguments->shunt_expected, "Step a shunt should give");
  verb->add_option("--shunt-seen", arguments->shunt_seen, "Step it gave")->needs(expected);
  verb->add_option("--shunt-tolerance", arguments->shunt_tolerance, "Relative")->check(number_within(1.0e-6, 1.0));
  CLI::Option* resolution =
      verb->add_option("--resolution", arguments->resolution, "Smallest step of a reading; with --setup one count unless given")
          ->check(number_within(0.0, 1.0e9));
  CLI::Option* save =
      verb->add_flag("--save", arguments->save, "Append it to the setup's calibration file")->excludes(resolution);
  verb->add_option("--who", papers.who, "Who calibrated")->needs(save);
  verb->add_option("--reference", papers.reference, "Reference used, with its certificate")->needs(save);
  verb->add_option("--reference-standard-uncertainty", papers.reference_standard_uncertainty, "Relative")
      ->check(number_within(0.0, 1.0));
  verb->add_option("--valid-until", papers.valid_until, "ISO 8601 date")->needs(save);
  verb->add_option("--reason", papers.reason, "Why now")->needs(save);
  verb->add_flag("--json", arguments->json, "Machine-readable on standard output");
  verb->footer(std::string{kExitCodes});
  verb->callback([arguments, &exit] { exit = run(*arguments); });
}

}  // namespace coldstroke::gui
