// SPDX-License-Identifier: GPL-3.0-or-later
//
// The signal methods against closed forms and published values (tests/published/data/signals.json names each source).
#include <gtest/gtest.h>

#include <boost/math/constants/constants.hpp>
#include <cmath>
#include <functional>

#include "analysis/signal/clock_exchange.hpp"
#include "analysis/signal/delay.hpp"
#include "analysis/signal/edge.hpp"
#include "analysis/signal/envelope.hpp"
#include "analysis/signal/integrate.hpp"
#include "analysis/signal/level.hpp"
#include "analysis/signal/saturation.hpp"
#include "tests/published/check_values.hpp"

namespace coldstroke::analysis {
namespace {

using nlohmann::json;
using published::check;
using published::expect_near;

constexpr double kPi = boost::math::constants::pi<double>();
constexpr double kGravity = 9.80665;

const json& file() { return published::loaded("signals.json"); }

std::vector<double> sampled(const std::function<double(double)>& f, std::size_t count, double step) {
  std::vector<double> out(count);
  for (std::size_t i = 0; i < count; ++i) out[i] = f(static_cast<double>(i) * step);
  return out;
}

double half_sine(double t, double d) { return t > 0.0 && t < d ? std::sin(kPi * t / d) : 0.0; }
double sawtooth(double t, double d) { return t > 0.0 && t <= d ? t / d : 0.0; }
double trapezoid_pulse(double t, double d) { return std::clamp(std::min(t, d - t) / (0.1 * d), 0.0, 1.0); }

/// Velocity change of `shape` of peak g and duration ms, integrated at 1 us.
double velocity_change(const std::function<double(double, double)>& shape, double g, double ms) {
  const double d = ms * 1.0e-3, step = 1.0e-6;
  return trapezoid(
      sampled([&](double t) { return g * kGravity * shape(t, d); }, static_cast<std::size_t>(std::lround(d / step)) + 1, step),
      step);
}

constexpr std::array kShapes{"half-sine", "sawtooth", "trapezoid"};

TEST(PulseVelocity, ClassicalPulsesGiveThePrintedChanges) {
  const json item = check(file(), "dv-classical-iec");
  for (std::size_t i = 0; i < item.at("inputs").at("g").size(); ++i) {
    const double g = item.at("inputs").at("g")[i], ms = item.at("inputs").at("D_ms")[i];
    const std::array<double, 3> got{velocity_change(half_sine, g, ms), velocity_change(sawtooth, g, ms),
                                    velocity_change(trapezoid_pulse, g, ms)};
    for (std::size_t k = 0; k < 3; ++k) {
      // The sawtooth's end is a jump: its place within one step is worth up to half the last sample.
      EXPECT_NEAR(got[k], item.at("expected").at("dv_m_s")[i][k].get<double>(), 1.0e-4 + (k == 1 ? 1.0e-6 * g * kGravity : 0.0));
      expect_near(item, std::to_string(std::lround(g)) + " g " + std::to_string(std::lround(ms)) + " ms " + kShapes[k] + ", m/s",
                  got[k], item.at("expected").at("printed")[i][k], 0.0501);
    }
  }
}

TEST(PulseVelocity, ComponentTestConditionsGiveThePrintedChanges) {
  const json item = check(file(), "dv-mil202-213"), &in = item.at("inputs");
  for (std::size_t i = 0; i < in.at("cond").size(); ++i) {
    const bool sine = in.at("shape")[i] == "half-sine";
    const double dv = velocity_change(sine ? half_sine : sawtooth, in.at("g")[i], in.at("D_ms")[i]) / 0.3048;
    EXPECT_NEAR(dv, item.at("expected").at("dv_ft_s")[i].get<double>(), 0.02) << in.at("cond")[i];
    expect_near(item, "condition " + in.at("cond")[i].get<std::string>() + ", ft/s", dv, item.at("expected").at("printed")[i],
                0.0751);
  }
}

TEST(PulseVelocity, FunctionalSawteethGiveTheTabulatedChanges) {
  const json item = check(file(), "dv-810h-tps"), &in = item.at("inputs");
  for (std::size_t i = 0; i < in.at("A_g").size(); ++i) {
    const double g = in.at("A_g")[i], ms = in.at("D_ms"), dv = velocity_change(sawtooth, g, ms);
    const std::string name = std::to_string(std::lround(g)) + " g";
    // The sawtooth's end is a jump: its place within one step is worth up to half the last sample.
    expect_near(item, name + ", m/s", dv, item.at("expected").at("dv_m_s")[i], 1.0e-4 + 0.5e-6 * g * kGravity);
    const double half_sine_g = g * dv / velocity_change(half_sine, g, ms);
    expect_near(item, name + ", half-sine of equal change, g", half_sine_g, item.at("expected").at("halfsine_peak_g")[i], 2.0e-3);
  }
}

TEST(PulseVelocity, TrapezoidRuleOnAHalfSineHasItsClosedFormRatio) {
  const json item = check(file(), "integ-halfsine-ratio");
  for (std::size_t i = 0; i < item.at("inputs").at("n").size(); ++i) {
    const auto n = item.at("inputs").at("n")[i].get<std::size_t>();
    const double step = 1.0 / static_cast<double>(n);
    const double area = trapezoid(sampled([](double t) { return std::sin(kPi * t); }, n + 1, step), step);
    expect_near(item, "trapezoid ratio, row " + std::to_string(i), area / (2.0 / kPi),
                item.at("expected").at("trapezoid_ratio")[i], 1.0e-9);
  }
  const json coarse = check(file(), "integ-50g-11ms-1k");
  const double dv = trapezoid(sampled([](double t) { return 50.0 * kGravity * half_sine(t, 0.011); }, 20, 0.001), 0.001);
  EXPECT_NEAR(dv, coarse.at("expected").at("dv_m_s").get<double>(), 1.0e-5);
}

TEST(PulseVelocity, AConstantErrorGrowsInSpeedAndTravel) {
  const json item = check(file(), "integ-offset");
  for (std::size_t i = 0; i < 3; ++i) {
    const double b = item.at("inputs").at("b_g")[i].get<double>() * kGravity, t = item.at("inputs").at("T_s")[i];
    const std::array<Knot, 2> knots{Knot{0.0, b}, Knot{t, b}};
    const WindowIntegral got = integrate(knots);
    EXPECT_NEAR(got.first, item.at("expected").at("dv_err_m_s")[i].get<double>(), 1.0e-6);
    EXPECT_NEAR(got.second, item.at("expected").at("dx_err_m")[i].get<double>(), 1.0e-6);
  }
}

TEST(PulseVelocity, ShapeFactorsFollowFromFirstAndSecondIntegral) {
  // v = k s / t with k = t * first / second.
  const json want = check(file(), "kinematic-shape-factor").at("expected").at("k");
  const std::array<std::function<double(double)>, 4> shapes{[](double) { return 1.0; },
                                                            [](double t) { return std::sin(kPi * t); },
                                                            [](double t) { return t; }, [](double t) { return 1.0 - t; }};
  for (std::size_t i = 0; i < shapes.size(); ++i) {
    std::vector<Knot> knots;
    for (int k = 0; k <= 20000; ++k) knots.push_back({k / 20000.0, shapes[i](k / 20000.0)});
    const WindowIntegral got = integrate(knots);
    EXPECT_NEAR(got.first / got.second, want[i].get<double>(), 1.0e-7);
  }
}

TEST(Onset, HysteresisFindsTheStatedEvents) {
  const json item = check(file(), "onset-hysteresis");
  const auto x = item.at("inputs").at("x").get<std::vector<double>>();
  const auto events = [](const std::vector<Edge>& edges) {
    json out = json::array();
    for (const Edge& e : edges) out.push_back({e.on ? "on" : "off", e.index});
    return out;
  };
  EXPECT_EQ(events(hysteresis(x, 0.5, 0.2)), item.at("expected").at("events"));
  EXPECT_EQ(events(hysteresis(x, 0.5, 0.5)), item.at("expected").at("events_without_hysteresis_off_below_0_5"));
}

TEST(Onset, BackExtrapolationHasTheStatedBias) {
  const json item = check(file(), "onset-backextrap");
  const std::array<std::function<double(double)>, 4> shapes{
      [](double t) { return t; }, [](double t) { return std::sin(kPi * t); }, [](double t) { return t * t; },
      [](double t) { return 0.5 * (1.0 - std::cos(kPi * t)); }};
  constexpr double step = 1.0e-5;
  for (std::size_t l = 0; l < 3; ++l)
    for (std::size_t s = 0; s < shapes.size(); ++s) {
      const auto pulse = sampled([&](double t) { return t < 0.1 ? 0.0 : shapes[s](t - 0.1); }, 110001, step);
      const auto got =
          back_extrapolated_start(pulse, 1.0, item.at("inputs").at("levels")[l][0], item.at("inputs").at("levels")[l][1]);
      ASSERT_TRUE(got);
      EXPECT_NEAR(*got * step - 0.1, item.at("expected").at("onset_over_T")[l][s].get<double>(), 1.1e-5) << l << ' ' << s;
    }
}

TEST(Delay, ParabolaHasTheStatedVertexAndBias) {
  const json item = check(file(), "delay-parabola-exact");
  for (std::size_t i = 0; i < 3; ++i) {
    const auto abc = item.at("inputs").at("abc")[i].get<std::vector<double>>();
    const Vertex got = parabola_vertex(abc[0], abc[1], abc[2]);
    EXPECT_NEAR(got.place, item.at("expected").at("p")[i].get<double>(), 1.0e-6);
    EXPECT_NEAR(got.height, item.at("expected").at("peak")[i].get<double>(), 1.0e-6);
  }
  const json bias = check(file(), "delay-parabola-bias-cosine");
  for (std::size_t i = 0; i < 4; ++i)
    for (std::size_t k = 0; k < 4; ++k) {
      const double w = 2.0 * kPi / bias.at("inputs").at("samples_per_period")[i].get<double>(), d = bias.at("inputs").at("d")[k];
      EXPECT_NEAR(parabola_vertex(std::cos(w * (-1.0 - d)), std::cos(w * d), std::cos(w * (1.0 - d))).place - d,
                  bias.at("expected").at("bias")[i][k].get<double>(), 1.0e-5);
    }
}

TEST(Delay, CorrelationFindsFractionsOfASample) {
  const json item = check(file(), "delay-xcorr-pulses");
  const std::function<double(double)> gaussian = [](double t) { return std::exp(-0.5 * (t - 186.0) * (t - 186.0) / 144.0); };
  const std::function<double(double)> sine = [](double t) { return half_sine(t - 150.0, 80.0); };
  for (std::size_t i = 0; i < 3; ++i) {
    const double d = item.at("inputs").at("d_true")[i];
    for (const auto& [name, shape] : {std::pair{"gaussian", gaussian}, std::pair{"half_sine", sine}}) {
      const auto first = sampled(shape, 400, 1.0);
      const auto second = sampled([&, s = shape](double t) { return s(t - d); }, 400, 1.0);
      const auto got = correlation_lag(first, second, 60);
      ASSERT_TRUE(got);
      EXPECT_NEAR(*got, item.at("expected").at(name)[i].get<double>(), 0.002) << name << ' ' << d;
    }
  }
}

TEST(Clock, FourTimestampsGiveOffsetDelayAndBound) {
  const json item = check(file(), "clock-ntp-4ts");
  for (std::size_t i = 0; i < 4; ++i) {
    const auto t = item.at("inputs").at("T1_T2_T3_T4")[i].get<std::vector<double>>();
    const ClockReading got = read_clock({t[0], t[1], t[2], t[3]});
    expect_near(item, "offset, row " + std::to_string(i), got.offset_seconds, item.at("expected").at("theta_s")[i], 1.0e-9);
    EXPECT_NEAR(got.delay_seconds, item.at("expected").at("delta_s")[i].get<double>(), 1.0e-9);
    EXPECT_NEAR(0.5 * got.delay_seconds, item.at("expected").at("bound_s")[i].get<double>(), 1.0e-9);
  }
}

TEST(Clock, ADelayBelowZeroIsSetToThePrecision) {
  // 100 ppm over 64 s looks like a delay of -6.4 ms (RFC 5905 section 8).
  const ClockReading got =
      read_clock({0.0, 0.0, 64.0 * (1.0 + 100.0e-6), 64.0}, {.near_precision_seconds = 1.0e-6, .far_precision_seconds = 2.0e-6});
  EXPECT_EQ(got.delay_seconds, 2.0e-6);
}

TEST(Clock, FilterTakesTheSmallestDelayNotTheMean) {
  const json item = check(file(), "clock-filter-mindelay"), &want = item.at("expected");
  std::vector<ClockReading> readings;
  for (const json& pair : item.at("inputs").at("theta_delta_s"))
    readings.push_back({.offset_seconds = pair[0], .delay_seconds = pair[1]});
  const auto best = minimum_delay(readings);
  ASSERT_TRUE(best);
  EXPECT_EQ(*best, want.at("selected_index").get<std::size_t>());
  EXPECT_NEAR(jitter_seconds(readings, *best), want.at("jitter_s").get<double>(), 1.0e-9);
  const double rho = std::ldexp(1.0, -20);
  const ClockReading chosen =
      read_clock({0.0, 12.0018, 12.0018, 0.002}, {.near_precision_seconds = rho, .far_precision_seconds = rho});
  EXPECT_NEAR(chosen.offset_seconds, want.at("theta_s").get<double>(), 1.0e-9);
  EXPECT_NEAR(chosen.distance_seconds, want.at("lambda_s").get<double>(), 1.0e-9);
}

TEST(Clock, DriftFitReturnsTheStatedLineAndUncertainty) {
  const json item = check(file(), "clock-drift-fit"), &in = item.at("inputs"), &want = item.at("expected");
  const auto t = in.at("t_s").get<std::vector<double>>();
  std::vector<double> exact, noisy;
  for (std::size_t i = 0; i < t.size(); ++i) {
    exact.push_back(in.at("theta0_s").get<double>() + in.at("s").get<double>() * t[i]);
    noisy.push_back(exact.back() + in.at("residual_ms")[i].get<double>() * 1.0e-3);
  }
  const auto line = fit_line(t, exact), fit = fit_line(t, noisy);
  ASSERT_TRUE(line && fit);
  const auto near = [&](double value, const char* name) {
    expect_near(item, name, value, want.at(name), 1.0e-5 * std::abs(want.at(name).get<double>()));
  };
  near(line->slope, "exact_slope");
  near(line->intercept, "exact_intercept");
  near(fit->slope, "noisy_slope");
  near(fit->intercept, "noisy_intercept");
  near(fit->slope_standard_error, "slope_se");
  near(fit->intercept_standard_error, "intercept_se");
  near(fit->standard_error_at(30.0), "u_theta_at_30s");
  near(fit->standard_error_at(90.0), "u_theta_at_90s");
}

TEST(Clipping, ThreeInARowAreARun) {
  const json item = check(file(), "adc-saturation-run");
  for (std::size_t i = 0; i < 4; ++i)
    EXPECT_EQ(!saturated_runs(item.at("inputs").at("x")[i].get<std::vector<double>>(), -32768.0, 32767.0, 1.0).empty(),
              item.at("expected").at("flag")[i].get<bool>());
}

TEST(Envelope, DecimationKeepsTheStatedSamples) {
  for (const char* id : {"minmax-12", "minmax-10-uneven"}) {
    const json item = check(file(), id);
    const auto got = decimate(item.at("inputs").at("x").get<std::vector<double>>(), item.at("inputs").at("bins"));
    json points = json::array();
    for (const EnvelopePoint& p : got) points.push_back({p.index, static_cast<int>(p.value)});
    EXPECT_EQ(points, item.at("expected").at("out")) << id;
  }
  const json item = check(file(), "minmax-spike");
  auto x = sampled([](double i) { return std::sin(2.0 * kPi * i / 97.0); }, 1000, 1.0);
  x[537] = 9.9;
  x[538] = -7.7;
  const auto got = decimate(x, 50);
  EXPECT_EQ(got.size(), item.at("expected").at("n_out").get<std::size_t>());
  EXPECT_NE(std::find(got.begin(), got.end(), EnvelopePoint{537, 9.9}), got.end());
  EXPECT_NE(std::find(got.begin(), got.end(), EnvelopePoint{538, -7.7}), got.end());
}

TEST(Level, KeepsItsDigitsOnALargeMean) {
  // NIST Statistical Reference Datasets, univariate, NumAcc4: certified mean 10000000.2, standard deviation 0.1.
  std::vector<double> x{10000000.2};
  for (int i = 0; i < 500; ++i) x.insert(x.end(), {10000000.1, 10000000.3});
  const Level got = level(x);
  EXPECT_NEAR(got.mean, 10000000.2, 2.0e-8);
  EXPECT_NEAR(got.standard_deviation, 0.1, 1.0e-7);
  const json item = check(file(), "welford-offset");
  const Level offset = level(item.at("inputs").at("x").get<std::vector<double>>());
  EXPECT_NEAR(offset.standard_deviation * offset.standard_deviation, item.at("expected").at("var").get<double>(), 1.0e-9);
}

}  // namespace
}  // namespace coldstroke::analysis
