// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <set>
#include <tuple>

#include "analysis/signal/cfc.hpp"
#include "daq/setup/parse_parts.hpp"
#include "daq/setup/units.hpp"

namespace coldstroke::daq {
namespace {

using analysis::Quantity;
using analysis::Role;

constexpr double kHuge = 1e12;  // no channel of this trade reads more; keeps every product finite
constexpr int kLastIndex = 7;   // a stream has at most 8 channels (docs/wire.md)

Quantity quantity_of(Role role) {
  switch (role) {
    case Role::force:
      return Quantity::force;
    case Role::supply_pressure:
    case Role::chamber_pressure:
      return Quantity::gauge_pressure;
    case Role::vehicle_acceleration:
      return Quantity::acceleration;
    case Role::dummy_load_current:
      return Quantity::current;
    case Role::lateral_acceleration:
    case Role::second_lateral_acceleration:
      return Quantity::acceleration;
    case Role::tilt_rate:
    case Role::second_tilt_rate:
      return Quantity::angular_rate;
    case Role::temperature:
      return Quantity::temperature;
    case Role::other:
      break;
  }
  return Quantity::other;
}

constexpr Bounds kAnyValue{-kHuge, kHuge}, kAnyCounts{-4294967296.0, 4294967296.0};

TransducerSetup parse_transducer(TableReader table, double factor) {
  using analysis::TransducerSignal;
  TransducerSetup out;
  out.signal = table
                   .choice<TransducerSignal>("signal", {{"ratiometric", TransducerSignal::ratiometric},
                                                        {"current_loop", TransducerSignal::current_loop}})
                   .value_or(TransducerSignal::current_loop);
  const Bounds above_zero{0.0, kHuge, true};
  out.signal_per_count = out.signal == TransducerSignal::ratiometric
                             ? 1.0 / table.number("counts_at_supply", above_zero)
                             : 1.0e-3 / table.number("counts_per_milliampere", above_zero);
  out.no_signal_counts = table.number("no_signal_counts", kAnyCounts, 0.0);
  out.span = {table.number("span_low", kAnyValue) * factor, table.number("span_high", kAnyValue) * factor};
  if (out.span.low >= out.span.high) table.complain("span_high", "is not above span_low", "a number above span_low");
  table.refuse_unknown();
  return out;
}

/// By the transducer's nameplate.
void scale_by(const TransducerSetup& transducer, Calibration& result) {
  const analysis::SignalEnds& ends = analysis::ends_of(transducer.signal);
  const double at_low = transducer.counts_at(ends.span_low), at_high = transducer.counts_at(ends.span_high);
  result.scale = (transducer.span.high - transducer.span.low) / (at_high - at_low);
  result.zero_counts = at_low - transducer.span.low / result.scale;
  result.span = {transducer.span.low, transducer.span.high};
}

Calibration parse_calibration(TableReader calibration, double factor, const std::optional<TransducerSetup>& transducer) {
  Calibration result;
  if (transducer && !calibration.has("scale_per_count") && !calibration.has("zero_counts")) {
    scale_by(*transducer, result);
  } else {
    result.scale = calibration.number("scale_per_count", kAnyValue) * factor;
    result.zero_counts = calibration.number("zero_counts", kAnyCounts);
  }
  if (calibration.has("calibrated_low") || calibration.has("calibrated_high")) {
    result.span = {calibration.number("calibrated_low", kAnyValue) * factor,
                   calibration.number("calibrated_high", kAnyValue) * factor};
    if (result.span->low >= result.span->high)
      calibration.complain("calibrated_high", "is not above calibrated_low", "a number above calibrated_low");
  }
  result.gain_standard_uncertainty = calibration.number("gain_standard_uncertainty", {0.0, 1.0});
  result.zero_standard_uncertainty = calibration.number("zero_standard_uncertainty", {0.0, kHuge}) * factor;
  result.reference = calibration.text("reference", "");
  result.valid_until = calibration.text("valid_until", "");
  if (result.scale == 0.0) calibration.complain("scale_per_count", "is 0", "any number but 0");
  if (!result.valid_until.empty() && !is_date(result.valid_until)) {
    calibration.complain("valid_until", "is \"" + result.valid_until + "\"", "an existing date as YYYY-MM-DD (ISO 8601)");
  }
  calibration.refuse_unknown();
  return result;
}

std::optional<Quantity> parse_quantity(TableReader& table) {
  return table.choice<Quantity>("quantity", {{"force", Quantity::force},
                                             {"gauge_pressure", Quantity::gauge_pressure},
                                             {"acceleration", Quantity::acceleration},
                                             {"current", Quantity::current},
                                             {"angular_rate", Quantity::angular_rate},
                                             {"temperature", Quantity::temperature},
                                             {"other", Quantity::other}});
}

Role parse_role(TableReader& table, std::optional<Quantity> quantity) {
  const auto role = table.choice<Role>("role", {{"force", Role::force},
                                                {"supply_pressure", Role::supply_pressure},
                                                {"chamber_pressure", Role::chamber_pressure},
                                                {"vehicle_acceleration", Role::vehicle_acceleration},
                                                {"dummy_load_current", Role::dummy_load_current},
                                                {"lateral_acceleration", Role::lateral_acceleration},
                                                {"second_lateral_acceleration", Role::second_lateral_acceleration},
                                                {"tilt_rate", Role::tilt_rate},
                                                {"second_tilt_rate", Role::second_tilt_rate},
                                                {"temperature", Role::temperature},
                                                {"other", Role::other}});
  if (role && quantity && *role != Role::other && quantity_of(*role) != *quantity) {
    table.complain("role", "does not fit the quantity", "a role that is measured by this quantity (docs/setup.md)");
  }
  return role.value_or(Role::other);
}

/// A transducer measures no further than its signal does, whatever range is written for it.
void narrow(ChannelSetup& channel) {
  const analysis::SignalEnds& ends = analysis::ends_of(channel.transducer->signal);
  const auto [low, high] = std::minmax({channel.calibration.si(channel.transducer->counts_at(ends.low)),
                                        channel.calibration.si(channel.transducer->counts_at(ends.high))});
  channel.range_low = std::max(channel.range_low, low);
  channel.range_high = std::min(channel.range_high, high);
}

ChannelSetup parse_channel(TableReader& table) {
  ChannelSetup channel;
  channel.name = table.text("name");
  channel.node = table.choice<Node>("node", {{"rig", Node::rig}, {"flight", Node::flight}}).value_or(Node::rig);
  channel.stream = static_cast<std::uint8_t>(table.whole("stream", 0, 255));
  channel.index = static_cast<std::uint8_t>(table.whole("index", 0, kLastIndex));
  const auto quantity = parse_quantity(table);
  channel.quantity = quantity.value_or(Quantity::other);
  channel.role = parse_role(table, quantity);
  const std::string unit = table.text("unit");
  const double factor = to_si_factor(dimension(channel.quantity), unit).value_or(std::numeric_limits<double>::quiet_NaN());
  if (std::isnan(factor) && !unit.empty()) {
    table.complain("unit", "is \"" + unit + "\"", "for this quantity one of " + unit_words(dimension(channel.quantity)));
  }
  channel.range_low = table.number("range_low", {-kHuge, kHuge}) * factor;
  channel.range_high = table.number("range_high", {-kHuge, kHuge}) * factor;
  if (channel.range_low >= channel.range_high) {
    table.complain("range_high", "is not above range_low", "a number above range_low");
  }
  const auto in_unit = [&](const char* key) -> std::optional<double> {
    const auto value = table.optional_number(key, {-kHuge, kHuge});
    return value ? std::optional{*value * factor} : std::nullopt;
  };
  channel.rest_low = in_unit("rest_low");
  channel.rest_high = in_unit("rest_high");
  if (channel.rest_low && channel.rest_high && *channel.rest_low >= *channel.rest_high) {
    table.complain("rest_high", "is not above rest_low", "a number above rest_low");
  }
  if (const auto noise = table.optional_number("noise_max", {0.0, kHuge, true})) channel.noise_max = *noise * factor;
  if (table.has("standing_still"))
    channel.may_stand_still = table.choice<bool>("standing_still", {{"fault", false}, {"expected", true}}).value_or(false);
  // Whether gas is where it should be, whether a firing line is dead and whether the vehicle moved is judged by these.
  if (channel.may_stand_still && (channel.quantity == Quantity::gauge_pressure || channel.quantity == Quantity::force ||
                                  channel.quantity == Quantity::current))
    table.complain("standing_still", "is \"expected\" for a quantity that interlocks judge by", "\"fault\", or left out");
  channel.frequency_class = table.whole("frequency_class", 0, 1000, 0);
  if (channel.frequency_class != 0 && !analysis::cfc_class(channel.frequency_class))
    table.complain("frequency_class", "is " + std::to_string(channel.frequency_class) + ", which is none",
                   "60, 180, 600 or 1000 (SAE J211-1); 0 for unfiltered");
  if (table.has("transducer")) channel.transducer = parse_transducer(table.table("transducer"), factor);
  channel.calibration = parse_calibration(table.table("calibration"), factor, channel.transducer);
  if (channel.transducer) narrow(channel);
  table.refuse_unknown();
  return channel;
}

}  // namespace

std::vector<ChannelSetup> parse_channels(TableReader& root) {
  std::vector<ChannelSetup> channels;
  std::set<std::string> names;
  std::map<Role, std::string> roles;
  std::map<std::tuple<Node, int, int>, std::string> places;
  for (TableReader& table : root.tables("channel", 1, 64)) {
    ChannelSetup channel = parse_channel(table);
    if (!channel.name.empty() && !names.insert(channel.name).second) {
      table.complain("name", "\"" + channel.name + "\" is the name of another channel", "a name used once");
    }
    if (const auto [other, fresh] = roles.emplace(channel.role, channel.name); !fresh && channel.role != Role::other) {
      table.complain("role", "is already the role of channel \"" + other->second + "\"", "one channel a role, or \"other\"");
    }
    const std::tuple<Node, int, int> place{channel.node, channel.stream, channel.index};
    if (const auto [other, fresh] = places.emplace(place, channel.name); !fresh && channel.index <= kLastIndex) {
      table.complain("index", "this channel of the stream is already \"" + other->second + "\"", "each channel of a stream once");
    }
    channels.push_back(std::move(channel));
  }
  return channels;
}

}  // namespace coldstroke::daq
