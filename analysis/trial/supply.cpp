// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/trial/supply.hpp"

#include <cmath>

#include "analysis/pneumatics/stored_energy.hpp"
#include "analysis/signal/clock_exchange.hpp"

namespace coldstroke::analysis {
namespace {

constexpr double kMeanSeconds = 50.0e-3;  // of the recovery

double noise_of(const Level& level, const Channel& channel) {
  return channel.noise(level.standard_deviation) / std::sqrt(static_cast<double>(level.count));
}

void add_reading(Budget& budget, const Trace& trace, double pascals, double sensitivity) {
  budget.add("supply pressure gain", trace.gain_standard_uncertainty, "1", sensitivity * pascals);
  budget.add("supply pressure zero", trace.zero_standard_uncertainty, "Pa", sensitivity);
}

}  // namespace

double quiet_until_seconds(const Evidence& e, std::optional<double> release) {
  if (release && (!e.first_motion || *release <= e.first_motion->seconds)) return *release;
  return e.first_motion->seconds - 20.0e-3;
}

Result<SupplyBefore, Absent> supply_before_release(const Evidence& e, std::optional<double> release) {
  if (!e.supply) return absent(e.supply.error().reason);
  if (!release && !e.first_motion) return absent(e.no_stroke);
  const double until = quiet_until_seconds(e, release);
  const Level before = e.supply->level_between(until - kBeforeReleaseSeconds, until);
  if (before.count < 3) return absent("no supply pressure was recorded before the release");
  return SupplyBefore{before, until};
}

Made release_pressure_of(const Evidence& e, std::optional<double> release) {
  const auto before = supply_before_release(e, release);
  if (!before) return tl::unexpected<Absent>{before.error()};
  Number out{before->level.mean, {}, "supply pressure, mean of the 50 ms up to the release", false};
  add_reading(out.budget, e.supply->trace(), out.value, 1.0);
  out.budget.add("supply pressure before the release", noise_of(before->level, *e.supply), "Pa", 1.0);
  return out;
}

Made droop_of(const Evidence& e, std::optional<double> release) {
  const auto before = supply_before_release(e, release);
  if (!before) return tl::unexpected<Absent>{before.error()};
  if (!e.separation) return absent(e.no_stroke);
  const Channel& c = *e.supply;
  // The last 1.5 ms before separation, as a straight line to it.
  const double end = e.separation->seconds;
  std::vector<double> x, y;
  const std::size_t stop = c.at_or_after(end), least = c.count_in(1.5e-3, 4);
  for (std::size_t i = stop > least ? stop - least : 0; i < stop; ++i) {
    x.push_back(c.seconds(static_cast<double>(i)) - end);
    y.push_back(c.values()[i]);
  }
  const auto line = fit_line(x, y);
  if (!line || x.back() < -2.0 * c.period()) return absent("no supply pressure was recorded at separation");
  if (c.lost_between(end - 3.0e-3, end) > 0) return absent("samples of the supply pressure were lost at separation");
  Number out{before->level.mean - (line->intercept + line->slope * kTransducerLagSeconds),
             {},
             release ? "supply pressure before the release command less that at separation"
                     : "supply pressure 20 to 70 ms before first motion less that at separation",
             c.saturated_between(before->until_seconds - kBeforeReleaseSeconds, end) > 0};
  out.budget.add("supply pressure gain", c.trace().gain_standard_uncertainty, "1", out.value);
  out.budget.add("supply pressure before the release", noise_of(before->level, c), "Pa", 1.0);
  const double noise = c.noise(before->level.standard_deviation);
  out.budget.add("supply pressure at separation",
                 std::max(line->intercept_standard_error, 2.0 * noise / std::sqrt(static_cast<double>(x.size()))), "Pa", -1.0);
  out.budget.add("separation instant", e.separation->standard_uncertainty, "s", -line->slope);
  out.budget.add("lag of the pressure transducer", kTransducerLagSeconds / std::sqrt(3.0), "s", -line->slope,
                 Spread::rectangular);
  return out;
}

Made recovery_of(const Evidence& e, std::optional<double> release) {
  if (!e.supply) return absent(e.supply.error().reason);
  if (!e.separation) return absent(e.no_stroke);
  const Channel& c = *e.supply;
  const std::size_t count = c.count_in(kMeanSeconds, 3), first = c.at_or_after(e.separation->seconds);
  if (c.size() < first + 4 * count) return absent("the supply pressure was not recorded long enough after separation");
  const auto values = c.values().subspan(first);
  double sum = 0.0, least = INFINITY, rise = 0.0;
  std::size_t least_at = 0, from = 0, to = 0;
  for (std::size_t i = 0; i < values.size(); ++i) {
    sum += values[i] - (i >= count ? values[i - count] : 0.0);
    if (i + 1 < count) continue;
    const double mean = sum / static_cast<double>(count);
    if (mean < least) least = mean, least_at = i + 1 - count;
    if (mean - least > rise) rise = mean - least, from = least_at, to = i + 1 - count;
  }
  const Level lowest = level(values.subspan(from, count)), highest = level(values.subspan(to, count));
  Number out{highest.mean - lowest.mean,
             {},
             "largest rise of the supply pressure above its lowest until then, means over 50 ms",
             c.saturated_between(e.separation->seconds, c.seconds(static_cast<double>(c.size()))) > 0};
  out.budget.add("supply pressure gain", c.trace().gain_standard_uncertainty, "1", out.value);
  // The pressure itself moves within a mean; before the release it stands still and shows the noise.
  const auto still = supply_before_release(e, release);
  const double scatter = c.noise(still ? still->level.standard_deviation : highest.standard_deviation);
  out.budget.add("supply pressure means", scatter * std::sqrt(2.0 / static_cast<double>(count)), "Pa", 1.0);
  return out;
}

Made efficiency_of(const Number& work, const Evidence& e, std::optional<double> release, double reservoir_volume_m3) {
  if (!(reservoir_volume_m3 > 0.0)) return absent("the setup states no reservoir volume");
  const auto before = supply_before_release(e, release);
  if (!before) return tl::unexpected<Absent>{before.error()};
  // Of the charge only the pressure above the air's counts, and that is what a gauge transducer reads: the air's own pressure,
  // high or low that day, cancels, and no line of the budget is its.
  constexpr double kAirPascals = 101325.0;
  const double charge = stored_energy_brode_joules(before->level.mean + kAirPascals, reservoir_volume_m3, kAirPascals);
  if (!(charge > 0.0)) return absent("the reservoir held no charge");
  Number out{work.value / charge, work.budget.scaled(1.0 / charge),
             "work on the vehicle over the charge's energy (p - p_a) V / (k - 1) before the release", work.at_least};
  add_reading(out.budget, e.supply->trace(), before->level.mean, -out.value / before->level.mean);
  return out;
}

}  // namespace coldstroke::analysis
