// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/signal/change_point.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <boost/math/constants/constants.hpp>
#include <cmath>
#include <complex>
#include <vector>

namespace coldstroke::analysis {
namespace {

struct Sensor {
  double natural_frequency, damping_ratio;
};

/// What is known of a cell on a bench before looking: its stated frequency to 5 %; its damping ratio anywhere from that of bare
/// metal to that of a good low-pass filter, 0.15 within a factor of 2.7.
constexpr double kFrequencySpread = 0.05, kDamping = 0.15, kDampingLogSpread = 1.0;

/// The sensor as stated, and how well it is known.
struct Stated {
  Sensor sensor;
  double frequency_spread, damping_log_spread;

  explicit Stated(const ChangePointModel& model)
      : sensor{model.natural_frequency, model.damping_ratio > 0.0 ? model.damping_ratio : kDamping},
        frequency_spread{model.damping_ratio > 0.0 ? kShownFrequencySpread : kFrequencySpread},
        damping_log_spread{model.damping_ratio > 0.0 ? kShownDampingLogSpread : kDampingLogSpread} {}

  [[nodiscard]] double doubt(const Sensor& other) const {
    if (sensor.natural_frequency <= 0.0) return 0.0;
    const double f = (other.natural_frequency / sensor.natural_frequency - 1.0) / frequency_spread;
    const double z = std::log(other.damping_ratio / sensor.damping_ratio) / damping_log_spread;
    return f * f + z * z;
  }
  /// Where to start looking from.
  [[nodiscard]] std::vector<Sensor> starts() const {
    if (sensor.natural_frequency <= 0.0 || damping_log_spread < 0.5) return {sensor};
    return {sensor, {sensor.natural_frequency, 0.04}, {sensor.natural_frequency, 0.6}};
  }
};

/// Sensors around one: both steps relative, in a square of three by three.
std::vector<Sensor> around(const Sensor& middle, double frequency_step, double damping_step) {
  if (middle.natural_frequency <= 0.0) return {middle};
  std::vector<Sensor> out;
  for (const double f : {-1.0, 0.0, 1.0})
    for (const double z : {-1.0, 0.0, 1.0})
      out.push_back({middle.natural_frequency * (1.0 + f * frequency_step),
                     std::clamp(middle.damping_ratio * std::exp(z * damping_step), 0.005, 0.9)});
  return out;
}

struct Fit {
  double squares = 0.0;
  double course_there = 0.0, step_there = 0.0;
};

/// Least squares of everything but the instant.
class Fitter {
 public:
  Fitter(std::span<const double> samples, const ChangePointModel& model)
      : count_(static_cast<Eigen::Index>(samples.size())),
        course_(static_cast<Eigen::Index>(model.course_degree) + 1),
        columns_(course_ + static_cast<Eigen::Index>(model.change_degree) + 1),
        y_(count_),
        basis_(count_, columns_) {
    for (Eigen::Index i = 0; i < count_; ++i) {
      y_(i) = samples[static_cast<std::size_t>(i)];
      for (Eigen::Index c = 0; c < course_; ++c) basis_(i, c) = std::pow(scaled(static_cast<double>(i)), static_cast<double>(c));
    }
  }

  [[nodiscard]] Eigen::Index parameters() const { return columns_ + 1; }

  [[nodiscard]] Fit at(double place, const Sensor& sensor) {
    const double scale = static_cast<double>(count_);
    for (Eigen::Index i = 0; i < count_; ++i)
      for (Eigen::Index c = course_; c < columns_; ++c) {
        const auto degree = static_cast<std::size_t>(c - course_);
        basis_(i, c) =
            second_order_answer(degree, static_cast<double>(i) - place, sensor.natural_frequency, sensor.damping_ratio) /
            std::pow(scale, static_cast<double>(degree));
      }
    // A column may vanish (no sample after the change answers to a parabola yet): the rank-revealing solver copes.
    const Eigen::VectorXd solution = basis_.colPivHouseholderQr().solve(y_);
    Fit fit;
    fit.squares = (y_ - basis_ * solution).squaredNorm();
    for (Eigen::Index c = 0; c < course_; ++c) fit.course_there += solution(c) * std::pow(scaled(place), static_cast<double>(c));
    fit.step_there = solution(course_);
    return fit;
  }

 private:
  [[nodiscard]] double scaled(double place) const { return 2.0 * place / static_cast<double>(count_) - 1.0; }
  Eigen::Index count_, course_, columns_;
  Eigen::VectorXd y_;
  Eigen::MatrixXd basis_;
};

struct Candidate {
  double place;
  Sensor sensor;
  Fit fit;
  double cost;  ///< squares over variance, and the doubt about the sensor: -2 log of its probability
};

/// One search: the fitter, the noise it weighs by, the sensor as stated.
class Search {
 public:
  Search(std::span<const double> samples, const ChangePointModel& model)
      : fitter_{samples, model}, stated_{model}, step_low_{model.step_low}, step_high_{model.step_high} {
    const auto [lowest, highest] = std::minmax_element(samples.begin(), samples.end());
    const double floor = 1.0e-9 * (*highest - *lowest) + 1.0e-300;
    variance_ = std::max(model.noise * model.noise, floor * floor);
    free_ = static_cast<double>(samples.size()) - static_cast<double>(fitter_.parameters());
  }

  [[nodiscard]] Candidate look(double place, const Sensor& sensor) {
    const Fit fit = fitter_.at(place, sensor);
    const double outside = std::max({0.0, step_low_ - fit.step_there, fit.step_there - step_high_});
    return {place, sensor, fit, (fit.squares + outside * outside) / variance_ + stated_.doubt(sensor)};
  }

  [[nodiscard]] std::vector<Candidate> scan(double from, double to, int steps, const std::vector<Sensor>& sensors) {
    std::vector<Candidate> out;
    for (const Sensor& sensor : sensors)
      for (int i = 0; i <= steps; ++i)
        out.push_back(look(from + (to - from) * static_cast<double>(i) / static_cast<double>(steps), sensor));
    return out;
  }

  /// Downhill from a grid point over place and sensor together, by halving steps: an instant and a frequency that are a little
  /// off hide behind each other on a coarse grid.
  [[nodiscard]] Candidate descend(Candidate best, double earliest, double latest, double step) {
    double part = 1.0;
    for (int i = 0; i < 60 && part > 0.01; ++i) {
      const Candidate before = best;
      for (const double p : {-1.0, 0.0, 1.0}) {
        const double place = std::clamp(before.place + p * part * step, earliest, latest);
        for (const Sensor& sensor : around(before.sensor, 0.03 * part, 0.4 * part)) {
          const Candidate next = look(place, sensor);
          if (next.cost < best.cost) best = next;
        }
      }
      if (!(best.cost < before.cost)) part *= 0.5;
    }
    return best;
  }

  /// Residuals larger than the stated noise widen everything.
  void widen(const Candidate& best) { variance_ = std::max(variance_, best.fit.squares / free_); }
  [[nodiscard]] double residual(const Candidate& best) const { return std::sqrt(best.fit.squares / free_); }

 private:
  Fitter fitter_;
  Stated stated_;
  double step_low_, step_high_;
  double variance_ = 0.0, free_ = 0.0;
};

const Candidate& cheapest(const std::vector<Candidate>& all) {
  return *std::min_element(all.begin(), all.end(), [](const Candidate& a, const Candidate& b) { return a.cost < b.cost; });
}

/// Range of places that are not hopeless, one grid step wider.
std::pair<double, double> worth_a_look(const std::vector<Candidate>& all, double least, double step) {
  double low = INFINITY, high = -INFINITY;
  for (const Candidate& c : all)
    if (c.cost - least <= 24.0) low = std::min(low, c.place), high = std::max(high, c.place);
  return {low - step, high + step};
}

/// Mean and standard deviation over the candidates, each by its probability.
ChangePoint weigh(const std::vector<Candidate>& all) {
  const double least = cheapest(all).cost;
  ChangePoint out;
  double weights = 0.0, spread = 0.0;
  for (const Candidate& c : all) {
    const double weight = std::exp(-0.5 * (c.cost - least));
    weights += weight;
    out.place += weight * c.place;
    out.course_there += weight * c.fit.course_there;
    out.step_there += weight * c.fit.step_there;
  }
  out.place /= weights;
  out.course_there /= weights;
  out.step_there /= weights;
  for (const Candidate& c : all) spread += std::exp(-0.5 * (c.cost - least)) * (c.place - out.place) * (c.place - out.place);
  out.standard_uncertainty = std::sqrt(spread / weights);
  return out;
}

}  // namespace

double second_order_answer(std::size_t degree, double tau, double natural_frequency, double damping_ratio) {
  if (tau <= 0.0) return 0.0;
  if (natural_frequency <= 0.0) return degree == 0 ? 1.0 : degree == 1 ? tau : tau * tau;
  const double w = 2.0 * boost::math::constants::pi<double>() * natural_frequency;
  const double wd = w * std::sqrt(1.0 - damping_ratio * damping_ratio);
  const std::complex<double> p{-damping_ratio * w, wd}, grown = (std::exp(p * tau) - 1.0) / p;
  const double gain = w * w / wd;
  if (degree == 0) return gain * grown.imag();
  if (degree == 1) return gain * ((grown - tau) / p).imag();
  return 2.0 * gain * (((grown - tau) / p - 0.5 * tau * tau) / p).imag();
}

Result<ChangePoint> find_change_point(std::span<const double> samples, double earliest, double latest,
                                      const ChangePointModel& model) {
  const std::size_t parameters = model.course_degree + model.change_degree + 3;
  if (samples.size() <= parameters || !(earliest < latest) || earliest < 0.0 ||
      latest > static_cast<double>(samples.size()) - 1.0)
    return complain("The instant of the change cannot be found.", std::to_string(samples.size()) + " samples around it",
                    "Record at a higher rate, or with more time before and after the stroke.");
  Search search{samples, model};
  constexpr int kCoarse = 4, kFine = 60;  // grid steps: coarse a sample, fine in all
  const std::vector<Sensor> starts = Stated{model}.starts();
  const int steps = std::max(8, static_cast<int>(std::ceil((latest - earliest) * kCoarse)));
  const double step = (latest - earliest) / steps;
  std::vector<Candidate> coarse = search.scan(earliest, latest, steps, starts);
  Candidate best = search.descend(cheapest(coarse), earliest, latest, step);
  search.widen(best);
  const std::vector<Sensor> sensors = around(best.sensor, model.damping_ratio > 0.0 ? kShownFrequencySpread : 0.02,
                                             model.damping_ratio > 0.0 ? kShownDampingLogSpread : 0.2);
  coarse = search.scan(earliest, latest, steps, sensors);
  coarse.push_back(search.look(best.place, best.sensor));
  auto [from, to] = worth_a_look(coarse, cheapest(coarse).cost, step);
  from = std::max(from, earliest);
  to = std::min(to, latest);
  const std::vector<Candidate> fine = search.scan(from, to, kFine, sensors);
  ChangePoint out = weigh(fine);
  const double grid = (to - from) / kFine;
  out.standard_uncertainty = std::sqrt(out.standard_uncertainty * out.standard_uncertainty + grid * grid / 12.0);
  out.natural_frequency = best.sensor.natural_frequency;
  out.damping_ratio = best.sensor.natural_frequency > 0.0 ? best.sensor.damping_ratio : 0.0;
  if (best.sensor.natural_frequency > 0.0)
    out.lag = best.sensor.damping_ratio / (boost::math::constants::pi<double>() * best.sensor.natural_frequency);
  out.residual_standard_deviation = search.residual(best);
  return out;
}

}  // namespace coldstroke::analysis
