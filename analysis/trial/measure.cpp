// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/trial/measure.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "analysis/pneumatics/stroke_model.hpp"
#include "analysis/signal/change_point.hpp"
#include "analysis/trial/free_fall.hpp"
#include "analysis/trial/pressure_edges.hpp"
#include "analysis/trial/speed_agreement.hpp"
#include "analysis/trial/stroke_pulse.hpp"
#include "analysis/trial/supply.hpp"

namespace coldstroke::analysis {
namespace {

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
    static constexpr std::array<Row, 20> kRows{{{"s", &Measurer::first_motion},
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
                                                {"Pa", &Measurer::recovery},
                                                {"s", &Measurer::supply_fall},
                                                {"s", &Measurer::chamber_rise},
                                                {"s", &Measurer::valve_delay}}};
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
    // The lag taken out of the samples is that of one fitted spring, 2 damping / frequency.
    out.budget.add("lag of the " + pulse->name,
                   std::hypot(kShownDampingLogSpread, kShownFrequencySpread) * pulse->window->lag_seconds, "s",
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

  [[nodiscard]] Made energy() const {
    const Made speed = speed_from_force();
    if (!speed) return speed;
    if (!(s_.stroke_metres > 0.0)) return absent("the stroke length in the setup is not positive");
    const double m = s_.vehicle_mass_kg, v = speed->value;
    Number out{0.5 * m * v * v + m * weight_per_kg() * s_.stroke_metres, speed->budget.scaled(m * v),
               "work on the vehicle: kinetic energy at separation, exit speed from force, and the lift over the stroke",
               speed->at_least};
    out.budget.add("vehicle mass", s_.vehicle_mass_standard_uncertainty_kg, "kg",
                   0.5 * v * v + weight_per_kg() * s_.stroke_metres);
    out.budget.add("stroke length", s_.stroke_standard_uncertainty_metres, "m", m * weight_per_kg());
    return out;
  }

  [[nodiscard]] Made rise_time() const {
    return force_works() ? rise_time_of(*force_, s_.force_cell_natural_frequency_hz) : no_force();
  }

  [[nodiscard]] Made speed_from_free_fall() const {
    if (!acceleration_) return absent(e_.acceleration.why_not());
    return speed_from_flight(*acceleration_, s_);
  }

  [[nodiscard]] Made droop() const { return droop_of(e_, release_); }
  [[nodiscard]] Made recovery() const { return recovery_of(e_, release_); }
  [[nodiscard]] Made supply_fall() const { return supply_fall_of(e_, release_); }
  [[nodiscard]] Made chamber_rise() const { return chamber_rise_of(e_, release_); }
  [[nodiscard]] Made valve_delay() const { return valve_delay_of(e_, release_); }
  [[nodiscard]] Made efficiency() const {
    const Made work = energy();
    return work ? efficiency_of(*work, e_, release_, s_.reservoir_volume_m3) : work;
  }

  void compare_exit_speeds(Measures& out) const {
    struct Way {
      Made made;
      const char *from, *culprit;
    };
    const std::array<Way, 4> ways{
        {{speed_from_force(), "force", "the calibration of the force cell and the moving mass"},
         {speed_from_acceleration(), "acceleration",
          "the calibration of the accelerometer and the alignment of its axis with the tube"},
         {speed_from_stroke(), "stroke", "the stroke length, and friction or a stop that cut the stroke short"},
         {speed_from_free_fall(), "free fall", "the landing height and the drag area"}}};
    std::vector<SpeedWitness> speeds;
    for (const Way& way : ways) {
      if (way.made && std::isfinite(way.made->value) && !way.made->at_least)
        speeds.push_back({way.from, way.culprit, way.made->value, way.made->budget});
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
