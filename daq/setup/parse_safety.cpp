// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <set>

#include "daq/setup/parse_parts.hpp"

namespace coldstroke::daq {
namespace {

constexpr double kPascalsPerBar = 1.0e5;

LidSetup parse_lid(TableReader table) {
  LidSetup lid;
  lid.shut_after_seconds = table.number("shut_after_milliseconds", {0.0, 60000.0}) / 1000.0;
  lid.shut_within_seconds = table.optional_number("shut_within_seconds", {0.0, 600.0, true});
  table.refuse_unknown();
  return lid;
}

std::vector<PressurePart> parse_parts(TableReader& root) {
  std::vector<PressurePart> parts;
  std::set<std::string> names;
  for (TableReader& table : root.tables("pressure_part", 1, 50)) {
    PressurePart part;
    part.name = table.text("name");
    part.limit_pascals = table.number("limit_bar", {0.0, 1000.0, true}) * kPascalsPerBar;
    if (!part.name.empty() && !names.insert(part.name).second)
      table.complain("name", "\"" + part.name + "\" is the name of another part", "a name used once");
    table.refuse_unknown();
    parts.push_back(std::move(part));
  }
  return parts;
}

KeepOutSetup parse_keep_out(TableReader table) {
  KeepOutSetup out;
  out.distance_metres = table.number("distance_metres", {0.0, 10000.0, true});
  out.margin_metres = table.number("margin_metres", {0.0, 1000.0});
  out.scaled_distance = table.number("scaled_distance", {20.0, 1000.0}, 20.0);
  out.tnt_factor = table.number("tnt_factor", {1.0, 10.0}, 1.0);
  out.edition = table.text("edition", "ASME PCC-2-2008, Article 5.1, Mandatory Appendices II and III");
  if (const auto bar = table.optional_number("supply_bar", {0.0, 1000.0, true})) out.supply_pascals = *bar * kPascalsPerBar;
  if (const auto litres = table.optional_number("supply_volume_litres", {0.0, 1000.0, true}))
    out.supply_volume_m3 = *litres / 1000.0;
  if (out.supply_pascals.has_value() != out.supply_volume_m3.has_value())
    table.complain("", "has only one of supply_bar and supply_volume_litres", "both or neither");
  table.refuse_unknown();
  return out;
}

ChecklistSetup parse_checklist(TableReader table) {
  ChecklistSetup out;
  out.roles = table.texts("roles", 2, 5);
  out.items = table.texts("items", 1, 40);
  table.refuse_unknown();
  return out;
}

DeclaredSetup parse_declared(TableReader table) {
  DeclaredSetup out;
  out.rig_firmware = table.text("rig_firmware", "");
  out.flight_firmware = table.text("flight_firmware", "");
  if (table.has("detector")) out.detector_settings = table.table("detector").text_pairs();
  table.refuse_unknown();
  return out;
}

/// The lowest rating rules: no charge can be written down that some part is not rated for.
void check_ratings(TableReader& root, const Setup& setup) {
  if (setup.parts.empty()) return;
  const PressurePart& weakest = setup.weakest_part();
  const std::string rating = "at most the rating of \"" + weakest.name + "\", the lowest of all parts";
  TableReader charge = root.table("charge");
  if (setup.charge.maximum_pascals > weakest.limit_pascals) charge.complain("maximum_bar", "is above a part's limit", rating);
  if (setup.charge.relief_pascals > weakest.limit_pascals)
    charge.complain("relief_bar", "is above a part's limit: the relief valve would protect nothing", rating);
}

}  // namespace

ChecklistSetup default_checklist() {
  return {{"operator", "range officer"},
          {"motor is out of the vehicle, seen by two people", "igniter is out, leads shunted or capped",
           "lines and hoses dressed and restrained", "everyone is behind the line and counted", "eye and ear protection is on",
           "fire extinguisher and water are at hand", "catch area and overhead are clear", "wind is within limits",
           "range officer gives the word"}};
}

const PressurePart& Setup::weakest_part() const { return *std::ranges::min_element(parts, {}, &PressurePart::limit_pascals); }

void parse_safety(TableReader& root, Setup& setup) {
  if (root.has("lid")) setup.lid = parse_lid(root.table("lid"));
  setup.parts = parse_parts(root);
  setup.keep_out = parse_keep_out(root.table("keep_out"));
  setup.checklist = root.has("checklist") ? parse_checklist(root.table("checklist")) : default_checklist();
  if (root.has("declared")) setup.declared = parse_declared(root.table("declared"));
  check_ratings(root, setup);
}

}  // namespace coldstroke::daq
