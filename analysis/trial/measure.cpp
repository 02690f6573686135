// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/trial/measure.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "analysis/pneumatics/stroke_model.hpp"
#include "analysis/signal/clock_exchange.hpp"
#include "analysis/trial/budget.hpp"
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
    static constexpr std::array<Row, 11> kRows{{{"s", &Measurer::first_motion},
                                                {"s", &Measurer::stroke_time},
                                                {"N s", &Measurer::impulse},
                                                {"N", &Measurer::peak_force},
                                                {"g", &Measurer::peak_acceleration},
                                                {"g", &Measurer::mean_acceleration},
                                                {"m/s", &Measurer::speed_from_force},
                                                {"m/s", &Measurer::speed_from_acceleration},
                                                {"m/s", &Measurer::speed_from_stroke},
                                                {"Pa", &Measurer::droop},
                                                {"s", &Measurer::latency}}};
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
    compare_speeds(out);
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
    if (e_.from_acceleration) out.budget.add("lag of the accelerometer", kAccelerometerLagSeconds, "s", -1.0);
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
    // The lag taken out of the samples is that of one fitted spring; a fifth of it is open.
    out.budget.add("lag of the " + pulse->name, 0.2 * pulse->window->lag_seconds, "s", v * (i1 / i2 - pulse->end_value / i1));
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
    if (e_.from_acceleration) out.budget.add("lag of the accelerometer", kAccelerometerLagSeconds, "s", 1.0);
    if (!e_.from_acceleration) out.budget.add("clock alignment", d_.alignment_standard_uncertainty_seconds, "s", 1.0);
    out.budget.add("polling of the detector", polling / std::sqrt(12.0), "s", 1.0, Spread::rectangular);
    return out;
  }

  void compare_speeds(Measures& out) const {
    const std::array<Made, 3> speeds{speed_from_force(), speed_from_acceleration(), speed_from_stroke()};
    static constexpr std::array<const char*, 3> kFrom{"force", "acceleration", "stroke"};
    double best = INFINITY;
    for (const Made& speed : speeds)
      if (speed && std::isfinite(speed->value) && speed->budget.standard_uncertainty() < best)
        best = speed->budget.standard_uncertainty(), out.exit_speed_mps = speed->value;
    for (std::size_t i = 0; i < 3; ++i)
      for (std::size_t k = i + 1; k < 3; ++k) {
        if (!speeds[i] || !speeds[k] || speeds[i]->at_least || speeds[k]->at_least) continue;
        const double apart = speeds[i]->value - speeds[k]->value;
        const double allowed = 3.0 * Budget::of_difference(speeds[i]->budget, speeds[k]->budget);
        if (!(std::abs(apart) > allowed)) continue;
        char text[240];
        std::snprintf(
            text, sizeof text,
            "Exit speed from %s (%.4g m/s) and from %s (%.4g m/s) differ by %.3g m/s, more than the %.3g m/s that their "
            "uncertainties allow: look at calibration, masses and stroke length.",
            kFrom[i], speeds[i]->value, kFrom[k], speeds[k]->value, std::abs(apart), allowed);
        out.findings.push_back({"exit_speeds_disagree", "", text});
      }
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
