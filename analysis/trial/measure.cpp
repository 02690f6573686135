// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/trial/measure.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "analysis/pneumatics/stored_energy.hpp"
#include "analysis/pneumatics/stroke_model.hpp"
#include "analysis/signal/clock_exchange.hpp"
#include "analysis/signal/edge.hpp"
#include "analysis/trial/budget.hpp"
#include "analysis/trial/free_fall.hpp"
#include "analysis/trial/speed_agreement.hpp"
#include "analysis/trial/stroke_pulse.hpp"

namespace coldstroke::analysis {
namespace {

// A pressure transducer and its port follow late: 0 to 0.2 ms for good ones (common practice, no source). The middle is taken
// off.
constexpr double kTransducerLagSeconds = 0.1e-3;

/// A number on its way to a metric.
struct Number {
  double value = 0.0;
  Budget budget;
  std::string method;
  bool at_least = false;
};
using Made = Result<Number, Absent>;

tl::unexpected<Absent> absent(std::string reason) { return tl::unexpected<Absent>{Absent{std::move(reason)}}; }

class Measurer {
 public:
  Measurer(const Evidence& evidence, const DetectorRecord& detector, std::optional<double> release, const TrialSetup& setup)
      : e_(evidence), d_(detector), release_(release), s_(setup), mass_(moved_mass_kg(setup)) {
    if (e_.force.usable()) force_ = pulse_of(*e_.force.channel, *e_.force.stroke, "force cell");
    // Its own instants, not the force cell's: whatever lag it has then sits in both the samples and the ends, and cancels.
    if (e_.acceleration.usable()) acceleration_ = pulse_of(*e_.acceleration.channel, *e_.acceleration.stroke, "accelerometer");
  }

  Measures run() {
    using Maker = Made (Measurer::*)() const;
    struct Row {
      const char* unit;
      Maker make;
    };
    // In the order of kMetricNames.
    static constexpr std::array<Row, 17> kRows{{{"s", &Measurer::first_motion},
                                                {"s", &Measurer::stroke_time},
                                                {"N s", &Measurer::impulse},
                                                {"N", &Measurer::peak_force},
                                                {"g", &Measurer::peak_acceleration},
                                                {"g", &Measurer::mean_acceleration},
                                                {"m/s", &Measurer::speed_from_force},
                                                {"m/s", &Measurer::speed_from_acceleration},
                                                {"m/s", &Measurer::speed_from_stroke},
                                                {"Pa", &Measurer::droop},
                                                {"s", &Measurer::latency},
                                                {"N", &Measurer::mean_force},
                                                {"s", &Measurer::rise_time},
                                                {"m/s", &Measurer::speed_from_free_fall},
                                                {"J", &Measurer::energy},
                                                {"1", &Measurer::efficiency},
                                                {"Pa", &Measurer::recovery}}};
    Measures out;
    for (std::size_t i = 0; i < kRows.size(); ++i) {
      const Made made = (this->*kRows[i].make)();
      Metric metric{std::string{kMetricNames[i]}, kRows[i].unit, made ? made->method : "", Absent{}};
      if (!made)
        metric.value = made.error();
      else if (std::isfinite(made->value) && std::isfinite(made->budget.standard_uncertainty()))
        metric.value = made->budget.measured(made->value, made->at_least);
      else
        metric.value = Absent{"the numbers given do not lead to a finite result"};
      out.metrics.push_back(std::move(metric));
    }
    compare_exit_speeds(out);
    note_ring(out);
    return out;
  }

 private:
  [[nodiscard]] const char* cell() const { return s_.force_cell == ForceCell::reaction ? "reaction" : "in-line"; }

  [[nodiscard]] Made no_force() const {
    if (!e_.force.usable()) return absent(e_.force.why_not());
    return absent("the vehicle's mass in the setup is not positive");
  }
  [[nodiscard]] bool force_works() const { return force_ && s_.vehicle_mass_kg > 0.0 && mass_ > 0.0; }

  void add_masses(Budget& budget, double per_vehicle_kg, double per_other_kg) const {
    budget.add("vehicle mass", s_.vehicle_mass_standard_uncertainty_kg, "kg", per_vehicle_kg);
    if (s_.force_cell == ForceCell::reaction)
      budget.add("piston mass", s_.moving_rig_mass_standard_uncertainty_kg, "kg", per_other_kg);
  }

  [[nodiscard]] Made first_motion() const {
    if (!e_.first_motion) return absent(e_.no_stroke);
    Number out{e_.first_motion->seconds,
               {},
               std::string{"change point in the unfiltered "} + (e_.from_acceleration ? "acceleration" : "force"),
               false};
    const Witness& witness = e_.from_acceleration ? e_.acceleration : e_.force;
    out.budget.add(e_.from_acceleration ? "first motion in the accelerometer" : "first motion in the force cell",
                   witness.stroke->first_motion.standard_uncertainty, "s", 1.0, witness.stroke->first_motion.spread);
    out.budget.add("clock alignment", witness.channel->trace().alignment_standard_uncertainty_seconds, "s", 1.0);
    add_lag(out.budget, -1.0);
    return out;
  }

  [[nodiscard]] Made stroke_time() const {
    const auto& pulse = force_ ? force_ : acceleration_;
    if (!pulse) return absent(e_.no_stroke);
    Number out{pulse->duration,
               {},
               "first motion to separation, change points in the unfiltered " + std::string{force_ ? "force" : "acceleration"},
               false};
    out.budget.add("first motion in the " + pulse->name, pulse->first_motion.standard_uncertainty, "s", -1.0,
                   pulse->first_motion.spread);
    out.budget.add("separation in the " + pulse->name, pulse->separation.standard_uncertainty, "s", 1.0,
                   pulse->separation.spread);
    return out;
  }

  [[nodiscard]] Made impulse() const {
    if (!force_works()) return no_force();
    const double share = s_.vehicle_mass_kg / mass_, total = force_->integral.first;
    Number out{share * total, integral_budget(*force_, "N").scaled(share),
               std::string{"force cell ("} + cell() +
                   "), change from rest, trapezoid rule, first motion to separation, the vehicle's share of the moving mass",
               force_->clipped};
    add_masses(out.budget, total * (mass_ - s_.vehicle_mass_kg) / (mass_ * mass_), -total * s_.vehicle_mass_kg / (mass_ * mass_));
    return out;
  }

  [[nodiscard]] Made speed_from_force() const {
    if (!force_works()) return no_force();
    Number out{force_->integral.first / mass_, integral_budget(*force_, "N").scaled(1.0 / mass_),
               "vehicle's net impulse over its mass", force_->clipped};
    add_masses(out.budget, -out.value / mass_, -out.value / mass_);
    return out;
  }

  [[nodiscard]] Made peak_force() const {
    if (!force_works()) return no_force();
    const PeakHeight peak = peak_of(*force_, s_.force_cell_natural_frequency_hz);
    if (peak_may_be_lost(*force_, peak)) return absent("samples were lost next to the peak of the force");
    const double share = s_.vehicle_mass_kg / mass_, weight_g = kStandardGravity * std::cos(s_.tilt_radians);
    Number out{share * peak.height + s_.vehicle_mass_kg * weight_g,
               {},
               s_.force_cell == ForceCell::reaction
                   ? "derived from the reaction cell by total moving mass: the piston's force on the vehicle, weight included; "
                     "parabola over the top"
                   : "in-line cell: the piston's force on the vehicle, weight included; parabola over the top",
               force_->clipped};
    add_peak(out.budget, *force_, peak, share, "N");
    add_masses(out.budget, peak.height * (mass_ - s_.vehicle_mass_kg) / (mass_ * mass_) + weight_g,
               -peak.height * s_.vehicle_mass_kg / (mass_ * mass_));
    return out;
  }

  [[nodiscard]] Made peak_acceleration() const {
    if (!acceleration_) return absent(e_.acceleration.why_not());
    const PeakHeight peak = peak_of(*acceleration_, 0.0);
    if (peak_may_be_lost(*acceleration_, peak)) return absent("samples were lost next to the peak of the acceleration");
    Number out{peak.height / kStandardGravity + std::cos(s_.tilt_radians),
               {},
               "felt: accelerometer's change from rest, plus the rest of cos(tilt); parabola over the top",
               acceleration_->clipped};
    add_peak(out.budget, *acceleration_, peak, 1.0 / kStandardGravity, "m/s2");
    return out;
  }

  [[nodiscard]] Made mean_acceleration() const {
    if (!acceleration_) return absent(e_.acceleration.why_not());
    const Pulse& a = *acceleration_;
    const double time = force_ ? force_->duration : a.duration, mean = a.integral.first / time;
    Number out{mean / kStandardGravity + std::cos(s_.tilt_radians),
               integral_budget(a, "m/s2").scaled(1.0 / (time * kStandardGravity)),
               "felt: accelerometer's change from rest over the stroke, by its duration, plus the rest of cos(tilt)", a.clipped};
    const Pulse& timed = force_ ? *force_ : a;
    const double per_second = mean / (time * kStandardGravity);
    out.budget.add("stroke time: first motion", timed.first_motion.standard_uncertainty, "s", per_second,
                   timed.first_motion.spread);
    out.budget.add("stroke time: separation", timed.separation.standard_uncertainty, "s", -per_second, timed.separation.spread);
    return out;
  }

  [[nodiscard]] Made speed_from_acceleration() const {
    if (!acceleration_) return absent(e_.acceleration.why_not());
    return Number{acceleration_->integral.first, integral_budget(*acceleration_, "m/s2"),
                  "accelerometer's change from rest, trapezoid rule, first motion to separation", acceleration_->clipped};
  }

  [[nodiscard]] Made speed_from_stroke() const {
    const auto& pulse = force_ ? force_ : acceleration_;
    if (!pulse) return absent(e_.no_stroke);
    if (!(s_.stroke_metres > 0.0)) return absent("the stroke length in the setup is not positive");
    if (pulse->clipped) return absent("the pulse is clipped, so its shape is not known");
    const double i1 = pulse->integral.first, i2 = pulse->integral.second, t = pulse->duration;
    if (!(i1 > 0.0) || !(i2 > 0.0)) return absent("the pulse does not add up to a forward travel");
    const double v = s_.stroke_metres * i1 / i2;
    Number out{
        v,
        {},
        std::string{"stroke length and the shape of the "} + (force_ ? "force" : "acceleration") + " pulse; its gain cancels",
        false};
    out.budget.add("stroke length", s_.stroke_standard_uncertainty_metres, "m", i1 / i2);
    out.budget.add("separation in the " + pulse->name, pulse->separation.standard_uncertainty, "s",
                   v * (pulse->end_value / i1 - i1 / i2), pulse->separation.spread);
    out.budget.add("first motion in the " + pulse->name, pulse->first_motion.standard_uncertainty, "s",
                   v * pulse->start_value * (t / i2 - 1.0 / i1), pulse->first_motion.spread);
    // The lag taken out of the samples is that of one fitted spring: its damping ratio is known to 10 %, its frequency to 1 %.
    out.budget.add("lag of the " + pulse->name, std::hypot(0.1, 0.01) * pulse->window->lag_seconds, "s",
                   v * (i1 / i2 - pulse->end_value / i1));
    const char* unit = force_ ? "N" : "m/s2";
    out.budget.add(pulse->name + " reading at rest", pulse->window->rest_standard_uncertainty, unit,
                   v * (t / i1 - 0.5 * t * t / i2));
    const double weighting = t / (i1 * i1) - t * t / (i1 * i2) + t * t * t / (3.0 * i2 * i2);
    out.budget.add(pulse->name + " sample noise", pulse->window->noise, unit,
                   v * std::sqrt(std::max(0.0, pulse->channel->period() * weighting)));
    out.budget.add(pulse->name + " lost samples", pulse->bridged, std::string{unit} + " s", v / i1);
    return out;
  }

  [[nodiscard]] Made droop() const {
    if (!e_.supply) return absent(e_.supply.error().reason);
    if (!e_.separation || !e_.first_motion) return absent(e_.no_stroke);
    const Channel& c = *e_.supply;
    // Without the command, before a valve of ordinary dead time can have opened.
    const double until = release_ && *release_ <= e_.first_motion->seconds ? *release_ : e_.first_motion->seconds - 20.0e-3;
    const Level before = c.level_between(until - 50.0e-3, until);
    if (before.count < 3) return absent("no supply pressure was recorded before the release");
    // The last 1.5 ms before separation, as a straight line to it.
    const double end = e_.separation->seconds;
    std::vector<double> x, y;
    const std::size_t stop = c.at_or_after(end), least = c.count_in(1.5e-3, 4);
    for (std::size_t i = stop > least ? stop - least : 0; i < stop; ++i) {
      x.push_back(c.seconds(static_cast<double>(i)) - end);
      y.push_back(c.values()[i]);
    }
    const auto line = fit_line(x, y);
    if (!line || x.back() < -2.0 * c.period()) return absent("no supply pressure was recorded at separation");
    if (c.lost_between(end - 3.0e-3, end) > 0) return absent("samples of the supply pressure were lost at separation");
    const double value = before.mean - (line->intercept + line->slope * kTransducerLagSeconds),
                 noise = c.noise(before.standard_deviation);
    Number out{value,
               {},
               release_ ? "supply pressure before the release command less that at separation"
                        : "supply pressure 20 to 70 ms before first motion less that at separation",
               c.saturated_between(until - 50.0e-3, end) > 0};
    out.budget.add("supply pressure gain", c.trace().gain_standard_uncertainty, "1", value);
    out.budget.add("supply pressure before the release", noise / std::sqrt(static_cast<double>(before.count)), "Pa", 1.0);
    const auto n = static_cast<double>(x.size());
    out.budget.add("supply pressure at separation", std::max(line->intercept_standard_error, 2.0 * noise / std::sqrt(n)), "Pa",
                   -1.0);
    out.budget.add("separation instant", e_.separation->standard_uncertainty, "s", -line->slope);
    out.budget.add("lag of the pressure transducer", kTransducerLagSeconds / std::sqrt(3.0), "s", -line->slope,
                   Spread::rectangular);
    return out;
  }

  [[nodiscard]] Made latency() const {
    if (d_.source == DecisionSource::none) return absent("the flight board's record is not there");
    if (d_.decisions_seconds.empty()) return absent("the detector decided nothing to the end of its record");
    if (!e_.first_motion) return absent(e_.no_stroke);
    const double polling = std::max(0.0, d_.polling_period_seconds);
    Number out{d_.decisions_seconds.front() - 0.5 * polling - e_.first_motion->seconds,
               {},
               "first decision less first motion, on the bench clock",
               false};
    const Witness& witness = e_.from_acceleration ? e_.acceleration : e_.force;
    out.budget.add(e_.from_acceleration ? "first motion in the accelerometer" : "first motion in the force cell",
                   witness.stroke->first_motion.standard_uncertainty, "s", -1.0, witness.stroke->first_motion.spread);
    // Both instants from the flight board's own clock: its place on the bench clock cancels.
    add_lag(out.budget, 1.0);
    if (!e_.from_acceleration) out.budget.add("clock alignment", d_.alignment_standard_uncertainty_seconds, "s", 1.0);
    out.budget.add("polling of the detector", polling / std::sqrt(12.0), "s", 1.0, Spread::rectangular);
    return out;
  }

  [[nodiscard]] double weight_per_kg() const { return kStandardGravity * std::cos(s_.tilt_radians); }

  void add_lag(Budget& budget, double sensitivity) const {
    if (!e_.from_acceleration) return;
    const AccelerometerLag lag = accelerometer_lag(s_);
    budget.add("lag of the accelerometer", lag.standard_uncertainty, "s", sensitivity, lag.spread);
  }

  [[nodiscard]] Made mean_force() const {
    if (!force_works()) return no_force();
    const double share = s_.vehicle_mass_kg / mass_, time = force_->duration, total = force_->integral.first;
    const double net = share * total / time;
    Number out{net + s_.vehicle_mass_kg * weight_per_kg(), integral_budget(*force_, "N").scaled(share / time),
               "the piston's force on the vehicle, weight included: impulse over stroke time, plus the weight", force_->clipped};
    out.budget.add("stroke time: first motion", force_->first_motion.standard_uncertainty, "s", net / time,
                   force_->first_motion.spread);
    out.budget.add("stroke time: separation", force_->separation.standard_uncertainty, "s", -net / time,
                   force_->separation.spread);
    add_masses(out.budget, total / time * (mass_ - s_.vehicle_mass_kg) / (mass_ * mass_) + weight_per_kg(),
               -total / time * s_.vehicle_mass_kg / (mass_ * mass_));
    return out;
  }

  /// How the samples run where a level is crossed: rise a sample, and the largest second difference beside it.
  struct Crossing {
    double slope, bend;
  };
  static Crossing crossing_of(const std::vector<double>& y, double place) {
    const std::size_t i = std::min(static_cast<std::size_t>(place), y.size() - 2);
    Crossing out{y[i + 1] - y[i], 0.0};
    for (const std::size_t k : {i, i + 1})
      if (k > 0 && k + 1 < y.size()) out.bend = std::max(out.bend, std::abs(y[k - 1] - 2.0 * y[k] + y[k + 1]));
    return out;
  }

  /// IEEE 181's reference levels, with the reading at rest and the peak as the two states.
  [[nodiscard]] Made rise_time() const {
    if (!force_works()) return no_force();
    if (force_->clipped) return absent("the pulse is clipped, so its peak is not known");
    const Channel& c = *force_->channel;
    const PeakHeight peak = peak_of(*force_, s_.force_cell_natural_frequency_hz);
    const std::size_t first = c.at_or_after(force_->first_motion.seconds), last = std::min(force_->window->fall_index, c.size());
    if (last <= first + 3) return absent("too few samples in the stroke");
    std::vector<double> net;
    for (std::size_t i = first > 0 ? first - 1 : 0; i < last; ++i) net.push_back(c.values()[i] - force_->window->rest);
    const auto low = rising_crossing(net, 0.1 * peak.height), high = rising_crossing(net, 0.9 * peak.height);
    if (!low || !high || !(*high > *low)) return absent("the force does not rise through 10 and 90 % of its peak");
    if (c.lost_between(force_->first_motion.seconds, c.seconds(static_cast<double>(first) + *high)) > 0)
      return absent("samples were lost in the rise");
    Number out{
        (*high - *low) * c.period(), {}, "10 to 90 % of the net peak force, first crossings in the unfiltered samples", false};
    const Crossing at_low = crossing_of(net, *low), at_high = crossing_of(net, *high);
    const double per_low = c.period() / at_low.slope, per_high = c.period() / at_high.slope;
    // A value between two samples has two thirds of a sample's variance, as the mean over all places between them.
    out.budget.add("force cell sample noise", force_->window->noise, "N", std::sqrt(2.0 / 3.0) * std::hypot(per_low, per_high));
    // A straight line between samples misses a parabola by up to an eighth of the second difference.
    out.budget.add("course between samples, at 10 %", at_low.bend / 8.0 / std::sqrt(3.0), "N", per_low, Spread::rectangular);
    out.budget.add("course between samples, at 90 %", at_high.bend / 8.0 / std::sqrt(3.0), "N", per_high, Spread::rectangular);
    const double per_peak = 0.9 * per_high - 0.1 * per_low;
    out.budget.add("force cell noise at the peak", peak.noise_uncertainty, "N", per_peak);
    out.budget.add("force cell ring and shape at the peak", peak.shape_uncertainty, "N", per_peak);
    out.budget.add("force cell reading at rest", force_->window->rest_standard_uncertainty, "N", 0.1 * per_high - 0.9 * per_low);
    return out;
  }

  [[nodiscard]] Made speed_from_free_fall() const {
    if (!s_.landing_height_metres) return absent("the setup states no landing height");
    // Left out, drag would bias the speed by about 1 % with nothing to say so.
    if (!s_.coast) return absent("the setup states no drag (its coast table)");
    if (!(s_.vehicle_mass_kg > 0.0)) return absent("the vehicle's mass in the setup is not positive");
    if (!acceleration_) return absent(e_.acceleration.why_not());
    // Both ends on the accelerometer's own time: its lag and its place on the bench clock cancel.
    const double up = std::cos(s_.tilt_radians);
    const auto landing = find_landing(*acceleration_->channel, *acceleration_->window, -weight_per_kg());
    if (!landing) return absent("no landing is seen in the acceleration");
    FreeFall fall;
    fall.mass_kg = s_.vehicle_mass_kg;
    fall.landing_height_metres = *s_.landing_height_metres;
    fall.drag_area_m2 = s_.coast->drag_area_m2;
    fall.air_density_kg_per_m3 = s_.coast->air_density_kg_per_m3;
    const double seconds = landing->seconds - acceleration_->separation.seconds;
    const auto rise = speed_of_flight(fall, seconds);
    if (!rise || !(up > 0.0)) return absent("no speed leads from separation to this landing");
    const auto change = [&](FreeFall other, double time) { return (speed_of_flight(other, time).value_or(*rise) - *rise) / up; };
    Number out{*rise / up, {}, "flight time from separation to landing at the setup's height, quadratic drag", false};
    constexpr double kStepSeconds = 1.0e-3, kStepMetres = 1.0e-2, kStepShare = 0.05;
    const double per_second = change(fall, seconds + kStepSeconds) / kStepSeconds;
    out.budget.add("landing in the accelerometer", landing->standard_uncertainty, "s", per_second, landing->spread);
    out.budget.add("separation in the accelerometer", acceleration_->separation.standard_uncertainty, "s", -per_second,
                   acceleration_->separation.spread);
    FreeFall higher = fall, draggier = fall;
    higher.landing_height_metres += kStepMetres;
    out.budget.add("landing height", s_.landing_height_standard_uncertainty_metres, "m", change(higher, seconds) / kStepMetres);
    draggier.drag_area_m2 *= 1.0 + kStepShare;
    const double per_share = change(draggier, seconds) / kStepShare;
    out.budget.add("drag area", s_.coast->drag_area_relative_standard_uncertainty, "1", per_share);
    out.budget.add("air density", kAirRelativeStandardUncertainty, "1", per_share);
    return out;
  }

  [[nodiscard]] Made energy() const {
    const Made speed = speed_from_force();
    if (!speed) return speed;
    if (!(s_.stroke_metres > 0.0)) return absent("the stroke length in the setup is not positive");
    const double m = s_.vehicle_mass_kg, v = speed->value;
    Number out{0.5 * m * v * v + m * weight_per_kg() * s_.stroke_metres, speed->budget.scaled(m * v),
               "work on the vehicle: kinetic energy at separation, exit speed from force, and the lift over the stroke",
               speed->at_least};
    out.budget.add("vehicle mass, in the energy itself", s_.vehicle_mass_standard_uncertainty_kg, "kg",
                   0.5 * v * v + weight_per_kg() * s_.stroke_metres);
    out.budget.add("stroke length", s_.stroke_standard_uncertainty_metres, "m", m * weight_per_kg());
    return out;
  }

  /// Of the reservoir's pressure before the release: level, and where it is read.
  [[nodiscard]] Result<Level, Absent> supply_before_release() const {
    if (!e_.supply) return absent(e_.supply.error().reason);
    if (!e_.first_motion) return absent(e_.no_stroke);
    const double until = release_ && *release_ <= e_.first_motion->seconds ? *release_ : e_.first_motion->seconds - 20.0e-3;
    const Level before = e_.supply->level_between(until - 50.0e-3, until);
    if (before.count < 3) return absent("no supply pressure was recorded before the release");
    return before;
  }

  [[nodiscard]] Made efficiency() const {
    const Made work = energy();
    if (!work) return work;
    if (!(s_.reservoir_volume_m3 > 0.0)) return absent("the setup states no reservoir volume");
    const auto before = supply_before_release();
    if (!before) return tl::unexpected<Absent>{before.error()};
    constexpr double kAirPascals = 101325.0, kAirStandardUncertainty = 3000.0, kStepPascals = 100.0;
    const auto stored = [&](double gauge) { return stored_energy_brode_joules(gauge + kAirPascals, s_.reservoir_volume_m3); };
    const double charge = stored(before->mean);
    if (!(charge > 0.0)) return absent("the reservoir held no charge");
    const double ratio = work->value / charge;
    Number out{ratio, work->budget.scaled(1.0 / charge),
               "work on the vehicle over the charge's energy (p - p_a) V / (k - 1) before the release", work->at_least};
    const double per_pascal = -ratio / charge * (stored(before->mean + kStepPascals) - charge) / kStepPascals;
    const Trace& trace = e_.supply->trace();
    out.budget.add("supply pressure gain", trace.gain_standard_uncertainty, "1", per_pascal * before->mean);
    out.budget.add("supply pressure zero", trace.zero_standard_uncertainty, "Pa", per_pascal);
    const auto of_air = [&](double air) {
      return stored_energy_brode_joules(before->mean + kAirPascals, s_.reservoir_volume_m3, air);
    };
    out.budget.add("air pressure", kAirStandardUncertainty, "Pa",
                   -ratio / charge * (of_air(kAirPascals + kStepPascals) - charge) / kStepPascals);
    return out;
  }

  /// The largest rise above the lowest until then, means over 50 ms: what heat from the wall and the feed give back. A vent that
  /// empties the reservoir later takes nothing from it.
  [[nodiscard]] Made recovery() const {
    if (!e_.supply) return absent(e_.supply.error().reason);
    if (!e_.separation) return absent(e_.no_stroke);
    const Channel& c = *e_.supply;
    constexpr double kMeanSeconds = 50.0e-3;
    const std::size_t count = c.count_in(kMeanSeconds, 3), first = c.at_or_after(e_.separation->seconds);
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
               c.saturated_between(e_.separation->seconds, c.seconds(static_cast<double>(c.size()))) > 0};
    out.budget.add("supply pressure gain", c.trace().gain_standard_uncertainty, "1", out.value);
    // The pressure itself moves within a mean; before the release it stands still and shows the noise.
    const auto still = supply_before_release();
    const double scatter = still ? c.noise(still->standard_deviation) : c.noise(highest.standard_deviation);
    out.budget.add("supply pressure means", scatter * std::sqrt(2.0 / static_cast<double>(count)), "Pa", 1.0);
    return out;
  }

  void compare_exit_speeds(Measures& out) const {
    struct Way {
      Made made;
      const char *from, *culprit;
    };
    const std::array<Way, 4> ways{
        {{speed_from_force(), "force", "the calibration of the force cell and the moving mass"},
         {speed_from_acceleration(), "acceleration", "the calibration of the accelerometer and its axis"},
         {speed_from_stroke(), "stroke", "the stroke length, and friction or a stop that cut the stroke short"},
         {speed_from_free_fall(), "free fall", "the landing height and the drag area"}}};
    std::vector<SpeedWitness> speeds;
    double best = INFINITY;
    for (const Way& way : ways) {
      if (!way.made || !std::isfinite(way.made->value)) continue;
      if (way.made->budget.standard_uncertainty() < best)
        best = way.made->budget.standard_uncertainty(), out.exit_speed_mps = way.made->value;
      if (!way.made->at_least) speeds.push_back({way.from, way.culprit, way.made->value, way.made->budget});
    }
    out.findings = compare_speeds(speeds);
  }

  /// A cell rings on a fast rise; within 5 % only if natural frequency times rise time is at least 6.4.
  void note_ring(Measures& out) const {
    if (!force_ || !(s_.force_cell_natural_frequency_hz > 0.0)) return;
    const Channel& c = *force_->channel;
    std::size_t i = force_->window->peak_index;
    const auto net = [&](std::size_t k) { return c.values()[k] - force_->window->rest; };
    while (i > 0 && net(i) > 0.9 * force_->window->peak) --i;
    const double high = c.seconds(static_cast<double>(i));
    while (i > 0 && net(i) > 0.1 * force_->window->peak) --i;
    const double rise = (high - c.seconds(static_cast<double>(i))) / 0.8, product = rise * s_.force_cell_natural_frequency_hz;
    if (product >= 6.4) return;
    char text[200];
    std::snprintf(
        text, sizeof text,
        "Natural frequency times rise time is %.2g, below 6.4: the cell's ring may raise the peak force by more than 5 %%.",
        product);
    out.findings.push_back({"peak_may_ring", c.trace().name, text});
  }

  const Evidence& e_;
  const DetectorRecord& d_;
  std::optional<double> release_;
  const TrialSetup& s_;
  double mass_;
  std::optional<Pulse> force_, acceleration_;
};

}  // namespace

Measures measure(const Evidence& evidence, const DetectorRecord& detector, std::optional<double> release_commanded_seconds,
                 const TrialSetup& setup) {
  return Measurer{evidence, detector, release_commanded_seconds, setup}.run();
}

}  // namespace coldstroke::analysis
