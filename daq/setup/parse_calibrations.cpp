// SPDX-License-Identifier: GPL-3.0-or-later
//
// Calibration records as they are read back: what is stated must follow from the points that stand beside it.
#include <algorithm>
#include <cmath>

#include "daq/setup/calibration_file.hpp"
#include "daq/setup/parse_parts.hpp"

namespace coldstroke::daq {
namespace {

constexpr double kHuge = 1e12, kMostCounts = 4294967296.0;
constexpr double kSameRelative = 1e-6;  // a fit over the same points differs by rounding only

analysis::CalibrationPoint parse_point(TableReader& table) {
  analysis::CalibrationPoint point;
  point.applied = table.number("applied_si", {-kHuge, kHuge});
  point.reading = table.number("reading_mean_counts", {-kMostCounts, kMostCounts});
  point.reading_standard_deviation = table.number("reading_standard_deviation_counts", {0.0, kMostCounts});
  point.samples = table.whole("samples", 1, 1'000'000'000);
  point.unloading = table.choice<bool>("direction", {{"loading", false}, {"unloading", true}}).value_or(false);
  table.refuse_unknown();
  return point;
}

bool is_instant(const std::string& text) {
  return (text.size() == 20 || text.size() == 24) && is_date(text.substr(0, 10)) && text[10] == 'T' && text[13] == ':' &&
         text[16] == ':' && text.back() == 'Z';
}

/// What was written down must be what the points give, or somebody has edited the record.
void compare(TableReader& table, const std::string& key, double computed, double scale) {
  const double stated = table.number(key, {-1e30, 1e30});
  if (!(std::abs(stated - computed) > kSameRelative * std::max(std::abs(computed), scale))) return;
  table.complain(key, "does not follow from the record's own points: the record was edited",
                 "records as they were appended; add a new one that supersedes it");
}

void compare_curve(TableReader& table, const CalibrationRecord& record) {
  for (const auto& [key, value, scale] : stated_numbers(record)) compare(table, key, value, scale);
}

CalibrationRecord parse_papers(TableReader& table) {
  CalibrationRecord record;
  record.channel = table.text("channel");
  record.who = table.text("who");
  record.when = table.text("when");
  record.reference = table.text("reference");
  record.reference_standard_uncertainty = table.number("reference_standard_uncertainty", {0.0, 1.0});
  record.valid_until = table.text("valid_until");
  record.reason = table.text("reason");
  if (!record.when.empty() && !is_instant(record.when))
    table.complain("when", "is \"" + record.when + "\"", "a UTC instant as YYYY-MM-DDThh:mm:ssZ (ISO 8601)");
  if (!record.valid_until.empty() && !is_date(record.valid_until))
    table.complain("valid_until", "is \"" + record.valid_until + "\"", "an existing date as YYYY-MM-DD (ISO 8601)");
  if (table.has("shunt_expected_counts")) {
    const double expected = table.number("shunt_expected_counts", {-kMostCounts, kMostCounts});
    const double seen = table.number("shunt_seen_counts", {-kMostCounts, kMostCounts});
    record.shunt = analysis::check_shunt(0.0, seen, expected, table.number("shunt_tolerance", {0.0, 1.0, true}));
  }
  return record;
}

void put_in_force(TableReader& table, const CalibrationRecord& record, std::vector<ChannelSetup>& channels) {
  const auto channel = std::ranges::find(channels, record.channel, &ChannelSetup::name);
  if (channel == channels.end()) {
    if (!record.channel.empty())
      table.complain("channel", "\"" + record.channel + "\" is no channel of the setup", "one of " + channel_names(channels));
    return;
  }
  channel->calibration = calibration_of(record);
  // Past its turning point a quadratic gives one reading for two loads.
  const double turning = -0.5 / channel->calibration.curvature;
  if (channel->calibration.curvature != 0.0 && turning >= channel->range_low && turning <= channel->range_high)
    table.complain("model", "is a quadratic that turns inside the channel's range", "a line, or points over the whole range");
}

}  // namespace

std::vector<CalibrationRecord> parse_calibrations(TableReader& root, std::vector<ChannelSetup>& channels) {
  std::vector<CalibrationRecord> records;
  if (!root.has("calibration")) return records;
  for (TableReader& table : root.tables("calibration", 0, 10'000)) {
    CalibrationRecord record = parse_papers(table);
    const auto form = table.choice<analysis::CalibrationForm>(
        "model", {{"line", analysis::CalibrationForm::line}, {"quadratic", analysis::CalibrationForm::quadratic}});
    for (TableReader& point : table.tables("point", 1, 1000)) record.points.push_back(parse_point(point));
    if (const auto fitted = fit_record(std::move(record), form.value_or(analysis::CalibrationForm::line)); !fitted) {
      table.pass_on("point", "gives no curve", fitted.error());
    } else {
      compare_curve(table, *fitted);
      table.refuse_unknown();
      put_in_force(table, *fitted, channels);
      records.push_back(*fitted);
    }
  }
  return records;
}

}  // namespace coldstroke::daq
