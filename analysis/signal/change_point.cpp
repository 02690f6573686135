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

std::vector<Sensor> candidates(double natural_frequency) {
  if (natural_frequency <= 0.0) return {{0.0, 0.0}};
  std::vector<Sensor> out;
  for (const double factor : {0.9, 0.95, 1.0, 1.05, 1.1})
    for (const double damping : {0.02, 0.06, 0.12}) out.push_back({factor * natural_frequency, damping});
  return out;
}

struct Fit {
  double squares = 0.0;
  double course_there = 0.0;
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
  Fit fit;
};

std::vector<Candidate> scan(Fitter& fitter, double from, double to, int steps, const std::vector<Sensor>& sensors) {
  std::vector<Candidate> out;
  for (const Sensor& sensor : sensors)
    for (int i = 0; i <= steps; ++i) {
      const double place = from + (to - from) * static_cast<double>(i) / static_cast<double>(steps);
      out.push_back({place, fitter.at(place, sensor)});
    }
  return out;
}

double least_squares(const std::vector<Candidate>& all) {
  return std::min_element(all.begin(), all.end(),
                          [](const Candidate& a, const Candidate& b) { return a.fit.squares < b.fit.squares; })
      ->fit.squares;
}

/// Range of places that are not hopeless, one grid step wider.
std::pair<double, double> worth_a_look(const std::vector<Candidate>& all, double least, double variance, double step) {
  double low = INFINITY, high = -INFINITY;
  for (const Candidate& c : all)
    if (c.fit.squares - least <= 24.0 * variance) low = std::min(low, c.place), high = std::max(high, c.place);
  return {low - step, high + step};
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
  Fitter fitter{samples, model};
  const auto count = static_cast<double>(samples.size());
  if (static_cast<Eigen::Index>(samples.size()) <= fitter.parameters() || !(earliest < latest) || earliest < 0.0 ||
      latest > count - 1.0)
    return complain("The instant of the change cannot be found.", std::to_string(samples.size()) + " samples around it",
                    "Record at a higher rate, or with more time before and after the stroke.");
  const std::vector<Sensor> sensors = candidates(model.natural_frequency);
  const double free = count - static_cast<double>(fitter.parameters());
  const auto [lowest, highest] = std::minmax_element(samples.begin(), samples.end());
  const double floor = 1.0e-9 * (*highest - *lowest) + 1.0e-300;
  const auto variance_of = [&](double least) { return std::max({model.noise * model.noise, least / free, floor * floor}); };

  constexpr int kCoarse = 4, kFine = 120;  // grid steps: coarse a sample, fine in all
  const int steps = std::max(8, static_cast<int>(std::ceil((latest - earliest) * kCoarse)));
  const std::vector<Candidate> coarse = scan(fitter, earliest, latest, steps, sensors);
  const double rough = least_squares(coarse);
  auto [from, to] = worth_a_look(coarse, rough, variance_of(rough), (latest - earliest) / steps);
  from = std::max(from, earliest);
  to = std::min(to, latest);
  const std::vector<Candidate> fine = scan(fitter, from, to, kFine, sensors);
  const double least = least_squares(fine), variance = variance_of(least);

  ChangePoint out;
  double weights = 0.0;
  for (const Candidate& c : fine) {
    const double weight = std::exp(-0.5 * (c.fit.squares - least) / variance);
    weights += weight;
    out.place += weight * c.place;
    out.course_there += weight * c.fit.course_there;
  }
  out.place /= weights;
  out.course_there /= weights;
  double spread = 0.0;
  for (const Candidate& c : fine)
    spread += std::exp(-0.5 * (c.fit.squares - least) / variance) * (c.place - out.place) * (c.place - out.place);
  const double grid = (to - from) / kFine;
  out.standard_uncertainty = std::sqrt(spread / weights + grid * grid / 12.0);
  out.residual_standard_deviation = std::sqrt(least / free);
  return out;
}

}  // namespace coldstroke::analysis
