// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/detector/detector_table.hpp"

#include <set>

#include "daq/setup/table_file.hpp"
#include "daq/setup/table_reader.hpp"
#include "daq/setup/units.hpp"

namespace coldstroke::daq {
namespace {

using analysis::Axis;
using analysis::BoardSampling;
using analysis::DetectorKind;
using analysis::DetectorSpec;

constexpr std::size_t kMostDetectors = 100;

enum class Kind { moving_mean, sustained, velocity_gain, k_of_n, foreign };

BoardSampling parse_board(TableReader table) {
  BoardSampling board;
  board.sample_rate_hz = table.number("sample_rate_hz", {1.0, 1.0e6});
  board.bits = table.whole("bits", 8, 24, 16);
  board.range_g = table.number("range_g", {0.0, 100000.0, true});
  table.refuse_unknown();
  return board;
}

void parse_window(TableReader& table, DetectorSpec& spec) {
  spec.window_seconds = table.optional_number("window_seconds", {0.0, 100.0});
  if (table.has("window_samples"))
    spec.window_samples = static_cast<std::uint32_t>(
        std::max(0, table.whole("window_samples", 0, static_cast<int>(analysis::kDetectorWindowMaxSamples))));
  if (spec.window_seconds.has_value() == spec.window_samples.has_value())
    table.complain("window_seconds",
                   spec.window_seconds ? "is given together with window_samples" : "is missing, and so is window_samples",
                   "exactly one of window_seconds and window_samples");
}

DetectorSpec parse_family(TableReader& table, DetectorKind kind, std::string name, Axis axis) {
  const Bounds level{0.0, 100000.0, true};
  DetectorSpec spec;
  spec.name = std::move(name);
  spec.kind = kind;
  spec.axis = axis;
  parse_window(table, spec);
  if (kind == DetectorKind::velocity_gain)
    spec.velocity_gain_mps = table.number("velocity_gain_mps", {0.0, 10000.0, true});
  else
    spec.threshold_g = table.number("threshold_g", level);
  if (kind == DetectorKind::k_of_n)
    spec.required_samples = static_cast<std::uint32_t>(
        std::max(0, table.whole("required_samples", 1, static_cast<int>(analysis::kDetectorWindowMaxSamples))));
  spec.building_g = table.number("building_g", level);
  spec.deadline_seconds = table.optional_number("deadline_seconds", {0.0, 3600.0, true});
  spec.filter_shift = table.whole("filter_shift", 0, analysis::kDetectorFilterShiftMax, 0);
  spec.rest_g = table.number("rest_g", {-100.0, 100.0}, 1.0);
  spec.board = parse_board(table.table("board"));
  return spec;
}

void parse_one(TableReader& table, DetectorTable& out, const Problems& problems, std::set<std::string>& names) {
  std::string name = table.text("name");
  if (!name.empty() && !names.insert(name).second)
    table.complain("name", "\"" + name + "\" is the name of another detector", "a name used once");
  const auto kind = table.choice<Kind>("kind", {{"moving_mean", Kind::moving_mean},
                                                {"sustained", Kind::sustained},
                                                {"velocity_gain", Kind::velocity_gain},
                                                {"k_of_n", Kind::k_of_n},
                                                {"foreign", Kind::foreign}});
  if (!kind) return;  // without a kind no other key has a meaning
  const Axis axis = table.has("axis")
                        ? table.choice<Axis>("axis", {{"x", Axis::x}, {"y", Axis::y}, {"z", Axis::z}}).value_or(Axis::z)
                        : Axis::z;
  if (*kind == Kind::foreign) {
    ForeignDetector foreign{std::move(name), table.text("library"), axis, parse_board(table.table("board"))};
    table.refuse_unknown();
    out.foreign.push_back(std::move(foreign));
    return;
  }
  const auto family = static_cast<DetectorKind>(static_cast<int>(*kind) + 1);
  DetectorSpec spec = parse_family(table, family, std::move(name), axis);
  table.refuse_unknown();
  if (problems.empty()) {  // numbers that are each allowed may still not go together
    if (const auto settings = settings_of(spec); !settings)
      table.pass_on("", "describes no detector a board can run", settings.error());
  }
  out.detectors.push_back(std::move(spec));
}

}  // namespace

Result<DetectorTable> parse_detector_table(std::string_view text, const std::string& source) {
  Problems problems{source, "detector table", "docs/detectors.md"};
  const auto document = parse_document(text, problems, "docs/detectors.md shows a whole table");
  if (!document) return tl::unexpected{document.error()};
  TableReader root{&*document, "", problems};
  DetectorTable out;
  std::set<std::string> names;
  for (TableReader& table : root.tables("detector", 1, kMostDetectors)) parse_one(table, out, problems, names);
  root.refuse_unknown();
  if (!problems.empty()) return tl::unexpected{problems.complaint()};
  return out;
}

Result<DetectorTable> load_detector_table(const std::filesystem::path& file) {
  const auto text = read_table_file(file, "detector table", "docs/detectors.md");
  if (!text) return tl::unexpected{text.error()};
  auto table = parse_detector_table(*text, file.string());
  if (!table) return table;
  for (ForeignDetector& foreign : table->foreign)
    if (foreign.library.is_relative()) foreign.library = std::filesystem::absolute(file).parent_path() / foreign.library;
  return table;
}

std::string detector_table_text(const DetectorSpec& spec) {
  std::string out = "[[detector]]\nname = " + toml_quoted(spec.name) + "\nkind = \"" + word(spec.kind) + "\"\naxis = \"" +
                    word(spec.axis) + "\"\n";
  if (spec.window_seconds) out += "window_seconds = " + toml_number(*spec.window_seconds) + "\n";
  if (spec.window_samples) out += "window_samples = " + std::to_string(*spec.window_samples) + "\n";
  if (spec.kind == DetectorKind::velocity_gain)
    out += "velocity_gain_mps = " + toml_number(spec.velocity_gain_mps) + "\n";
  else
    out += "threshold_g = " + toml_number(spec.threshold_g) + "\n";
  if (spec.kind == DetectorKind::k_of_n) out += "required_samples = " + std::to_string(spec.required_samples) + "\n";
  out += "building_g = " + toml_number(spec.building_g) + "\n";
  if (spec.deadline_seconds) out += "deadline_seconds = " + toml_number(*spec.deadline_seconds) + "\n";
  out +=
      "filter_shift = " + std::to_string(spec.filter_shift) + "\nrest_g = " + toml_number(spec.rest_g) + "\n\n[detector.board]\n";
  out += "sample_rate_hz = " + toml_number(spec.board.sample_rate_hz) + "\nbits = " + std::to_string(spec.board.bits) +
         "\nrange_g = " + toml_number(spec.board.range_g) + "\n";
  return out;
}

Result<DetectorSpec> pick_detector(const DetectorTable& table, const std::string& name, const std::string& source) {
  std::string names;
  for (const DetectorSpec& spec : table.detectors) {
    if (spec.name == name || (name.empty() && table.detectors.size() == 1)) return spec;
    names += (names.empty() ? "\"" : ", \"") + spec.name + "\"";
  }
  return complain(name.empty() ? "the table holds several detectors, or none of the reference family"
                               : "the table has no detector \"" + name + "\"",
                  source, names.empty() ? "describe one (docs/detectors.md)" : "name one of " + names);
}

}  // namespace coldstroke::daq
