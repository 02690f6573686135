// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/trial/stroke_window.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "analysis/signal/change_point.hpp"
#include "analysis/signal/clock_exchange.hpp"
#include "analysis/signal/edge.hpp"
#include "analysis/trial/reversed_push.hpp"

namespace coldstroke::analysis {
namespace {

constexpr double kSmoothSeconds = 1.0e-3;     // averages over the ring of a cell of a few kilohertz
constexpr double kFallSeconds = 0.3e-3;       // a vehicle leaves within this; a pulse that fades does not
constexpr double kSettleSeconds = 0.2;        // a vehicle stopped in the tube is at rest by then, one that left still flies
constexpr double kLongestPushSeconds = 0.25;  // strokes take tens of milliseconds, flights more than this
constexpr std::size_t kFewestInStroke = 10;
// What the change-point model itself leaves, in sample periods: the true rise is no parabola, the piston's stop no ramp, the
// cell no single spring. With it 95 % intervals hold the truth of 200 simulated ejections (tests/analysis/trial) in 95 % (first
// motion) and 96 % (separation); the generator knows nothing of the virtual rig.
constexpr double kRisePeriods = 0.04, kFallPeriods = 0.04;
// The rise where the sensor's own answer is not modelled.
constexpr double kBareRisePeriods = 0.25;
constexpr std::size_t kFewestInRise = 8;  // to 40 % of the peak: below, a change point's four unknowns have nothing to stand on

/// A sharp fall through a second-order sensor of damping ratio 0.7 (common practice) whose whole lag is `lag_periods`, placed by
/// its area: standard deviation of the place, over all places between two samples, in sample periods. A sensor without lag shows
/// nothing between the samples, 1/sqrt(12); a slower one draws the fall out over several, and their sum tells more.
double spread_of_place_by_area(double lag_periods) {
  constexpr double kDamping = 0.7, kSettledLags = 8.0;
  constexpr int kPlaces = 40;
  const double frequency = lag_periods > 0.0 ? kDamping / (std::numbers::pi * lag_periods) : 0.0;
  const int samples = 2 + static_cast<int>(std::ceil(kSettledLags * std::max(0.0, lag_periods)));
  double sum = 0.0, squares = 0.0;
  for (int i = 0; i < kPlaces; ++i) {
    const double at = (i + 0.5) / kPlaces;
    double error = 0.5 - at;  // less the lag, which is the same everywhere
    for (int k = 1; k <= samples; ++k) error += 1.0 - second_order_answer(0, k - at, frequency, kDamping);
    sum += error / kPlaces;
    squares += error * error / kPlaces;
  }
  return std::sqrt(std::max(0.0, squares - sum * sum));
}

struct Pulse {
  std::size_t first = 0, last = 0;  ///< in the smoothed values
  double area = 0.0;                ///< net, unit of the trace times samples
};

/// One search at work.
class Picker {
 public:
  Picker(const Channel& channel, const StrokeSearch& search)
      : c_(channel),
        q_(search),
        y_(channel.values()),
        smooth_count_(channel.count_in(kSmoothSeconds, 1)),
        // A slow cell draws the fall out: its reading is down after half a period or so.
        fall_count_(channel.count_in(search.natural_frequency_hz > 0.0
                                         ? std::clamp(0.6 / search.natural_frequency_hz, kFallSeconds, kSmoothSeconds)
                                         : kFallSeconds,
                                     1)) {}

  Result<StrokeWindow, Miss> run() {
    if (auto bad = find_pulse()) return tl::unexpected<Miss>{*bad};
    if (auto bad = settle_rest()) return tl::unexpected<Miss>{*bad};
    // Separation first: its strong edge shows the sensor's own frequency and damping, which the soft start does not.
    if (auto bad = pick_separation()) return tl::unexpected<Miss>{*bad};
    if (auto bad = pick_first_motion()) return tl::unexpected<Miss>{*bad};
    if (auto bad = check_it_left()) return tl::unexpected<Miss>{*bad};
    note_other_pulse();
    return w_;
  }

 private:
  using Bad = std::optional<Miss>;
  [[nodiscard]] double net(std::size_t i) const { return y_[i] - w_.rest; }

  /// Mean of smooth_count_ samples from i on, net.
  [[nodiscard]] std::vector<double> smoothed() const {
    std::vector<double> out;
    if (y_.size() < smooth_count_) return out;
    out.reserve(y_.size() - smooth_count_ + 1);
    for (std::size_t i = 0; i + smooth_count_ <= y_.size(); ++i) {
      double sum = 0.0;  // summed afresh each time: a running sum would carry rounding along the record
      for (std::size_t k = 0; k < smooth_count_; ++k) sum += net(i + k);
      out.push_back(sum / static_cast<double>(smooth_count_));
    }
    return out;
  }

  void rest_from(std::size_t first, std::size_t last) {
    const Level rest = level(y_.subspan(first, last - first));
    w_.rest = rest.mean;
    w_.noise = c_.noise(rest.standard_deviation);
    w_.rest_count = rest.count;
    w_.rest_standard_uncertainty = rest.count > 0 ? w_.noise / std::sqrt(static_cast<double>(rest.count)) : 0.0;
  }

  std::vector<Pulse> pulses(const std::vector<double>& m, double on) const {
    std::vector<Pulse> out;
    for (const Edge& edge : hysteresis(m, on, 0.5 * on)) {
      if (edge.on) out.push_back({edge.index, m.size(), 0.0});
      if (!edge.on) out.back().last = edge.index;
    }
    for (Pulse& pulse : out)
      for (std::size_t i = pulse.first; i < pulse.last; ++i) pulse.area += m[i];
    return out;
  }

  /// Before anything rises, a dip of twice its height, deeper than a vehicle taken off its seat leaves.
  [[nodiscard]] Bad upside_down(const std::vector<double>& m, std::size_t rise, double top, double clear) const {
    const double depth = std::max({clear, q_.least_net_peak, 2.0 * top, -1.5 * q_.flight_level});
    if (!pushes_downwards(m, rise, depth, c_.count_in(kLongestPushSeconds, 8))) return {};
    return Miss{"reversed_scale", "the push reads downwards: the sign of this channel's scale (calibration, wiring) is reversed"};
  }

  /// The first pulse that carries weight. Its rest level comes from the first samples of the record, fewer and fewer until
  /// they end before it.
  Bad find_pulse() {
    std::size_t seed = std::min(y_.size() / 4, c_.count_in(5.0e-3, 8));
    for (;; seed /= 2) {
      if (seed < 3) return Miss{"no_baseline", "the record begins in the stroke, so its reading at rest is unknown"};
      rest_from(0, seed);
      const std::vector<double> m = smoothed();
      if (m.empty()) return Miss{"record_too_short", "the record is shorter than a millisecond"};
      const double top = *std::max_element(m.begin(), m.end());
      const double clear = 8.0 * w_.noise / std::sqrt(static_cast<double>(smooth_count_));
      if (!(top >= std::max(clear, q_.least_net_peak)))
        return upside_down(m, m.size(), top, clear)
            .value_or(Miss{"no_motion", "nothing in this trace rises clear of its reading at rest"});
      on_level_ = std::max({clear, 0.02 * top, 0.5 * q_.least_net_peak});
      all_ = pulses(m, on_level_);
      double largest = 0.0;
      for (const Pulse& pulse : all_) largest = std::max(largest, pulse.area);
      main_ = static_cast<std::size_t>(
          std::find_if(all_.begin(), all_.end(), [&](const Pulse& p) { return p.area >= 0.25 * largest; }) - all_.begin());
      if (auto bad = upside_down(m, all_[main_].first, top, clear)) return bad;
      if (all_[main_].first + smooth_count_ / 2 >= seed) break;
    }
    const Pulse& pulse = all_[main_];
    if (pulse.last + smooth_count_ >= y_.size() && net(y_.size() - 1) >= 0.5 * on_level_)
      return Miss{"record_too_short", "the record ends before the stroke does"};
    return {};
  }

  [[nodiscard]] std::size_t pulse_end() const { return std::min(all_[main_].last + smooth_count_, y_.size()); }

  void find_peak() {
    const auto begin = y_.begin() + static_cast<std::ptrdiff_t>(all_[main_].first);
    const auto end = y_.begin() + static_cast<std::ptrdiff_t>(pulse_end());
    w_.peak_index = static_cast<std::size_t>(std::max_element(begin, end) - y_.begin());
    w_.peak = net(w_.peak_index);
  }

  /// First sample of the rise that is clear of the rest level, found backwards from where the pulse is beyond doubt.
  void find_first_clear() {
    clear_level_ = std::max(5.0 * w_.noise, 0.005 * w_.peak);
    std::size_t i = all_[main_].first;
    while (i < w_.peak_index && net(i) < on_level_) ++i;
    while (i > 0 && net(i - 1) >= clear_level_) --i;
    first_clear_ = i;
  }

  /// The reading at rest again, from up to half a second that ends just before the rise.
  Bad settle_rest() {
    find_peak();
    find_first_clear();
    const std::size_t guard = c_.count_in(1.0e-3, 2);
    std::size_t last = first_clear_ > guard ? first_clear_ - guard : 0;
    if (q_.quiet_until_seconds) {
      const std::size_t released = c_.at_or_after(*q_.quiet_until_seconds);
      if (released >= c_.count_in(2.0e-3, 8)) last = std::min(last, released);
    }
    const std::size_t reach = c_.count_in(0.5, 8), first = last > reach ? last - reach : 0;
    if (last < first + 3) last = std::min(first_clear_, first + 3);
    if (last < first + 2) return Miss{"no_baseline", "the record begins in the stroke, so its reading at rest is unknown"};
    rest_from(first, last);
    find_peak();
    find_first_clear();
    return {};
  }

  [[nodiscard]] bool gap_between(double from_place, double to_place) const {
    return c_.lost_between(c_.seconds(from_place), c_.seconds(to_place)) > 0;
  }

  [[nodiscard]] Instant instant(const ChangePoint& point, std::size_t offset, double model_periods) const {
    const double own = std::hypot(point.standard_uncertainty, model_periods) * c_.period();
    return {c_.seconds(static_cast<double>(offset) + point.place), std::hypot(own, q_.lag_standard_uncertainty_seconds),
            Spread::normal};
  }

  [[nodiscard]] ChangePointModel model(std::size_t course, std::size_t change) const {
    // One noise-free count of rounding keeps a perfect record from claiming perfect instants.
    return {.course_degree = course,
            .change_degree = change,
            .natural_frequency = q_.natural_frequency_hz * c_.period() < 0.5 ? q_.natural_frequency_hz * c_.period() : 0.0,
            .noise = std::max(w_.noise, 1.0e-4 * w_.peak)};
  }

  /// Too few samples in the rise for its shape. What is known: the sensor shows the clear level between the place where a
  /// straight line from the last sample that is not clear to the first one that is crosses it (a foot is hollow, so the line is
  /// above it) and that first one; and it does so between a quarter of its lag after first motion, where a well-damped
  /// second-order sensor (damping ratio 0.7) shows a twentieth of a step (friction falls far), and the whole lag and the time
  /// that a parabola needs to come to that level with the slope that follows, twice a ramp's (friction does not fall at all, and
  /// a chamber fills through an opening valve).
  Bad bracket_first_motion() {
    if (gap_between(static_cast<double>(first_clear_) - 3.0, static_cast<double>(first_clear_)))
      return Miss{"lost_samples", "samples were lost at first motion"};
    constexpr double kSoonest = 0.25;  // of the lag
    const std::size_t on = std::min(first_clear_ + 2, y_.size() - 1);
    const double rise = (net(on) - net(first_clear_)) / std::max(1.0, static_cast<double>(on - first_clear_));
    const double slope = std::max(rise, w_.noise);  // a sample; what rises slower is not told from noise
    const double climb = slope > 0.0 ? 2.0 * clear_level_ / slope * c_.period() : 0.0;
    const double soonest = kSoonest * q_.lag_seconds, latest = q_.lag_seconds + climb;
    const double before = net(first_clear_ > 0 ? first_clear_ - 1 : 0), clear = net(first_clear_);
    const double open = clear > before ? std::clamp((clear - clear_level_) / (clear - before), 0.0, 1.0) : 1.0;
    // The caller takes the whole lag off.
    w_.first_motion = {c_.seconds(static_cast<double>(first_clear_) - 0.5 * open) + q_.lag_seconds - 0.5 * (soonest + latest),
                       std::hypot(open * c_.period() / std::sqrt(12.0), (latest - soonest) / std::sqrt(12.0),
                                  q_.lag_standard_uncertainty_seconds),
                       Spread::rectangular};
    w_.start_value = 0.5 * std::max(0.0, net(first_clear_));
    return {};
  }

  Bad pick_first_motion() {
    std::size_t risen = first_clear_;
    while (risen < w_.peak_index && net(risen) < 0.4 * w_.peak) ++risen;
    if (q_.natural_frequency_hz <= 0.0 && risen - first_clear_ < kFewestInRise) return bracket_first_motion();
    const std::size_t after = std::clamp<std::size_t>(risen - first_clear_, 8, c_.count_in(2.0e-3, 8));
    const std::size_t before = std::min(first_clear_, c_.count_in(2.0e-3, 10));
    const std::size_t begin = first_clear_ - before, end = std::min(first_clear_ + after, y_.size());
    if (gap_between(static_cast<double>(first_clear_) - 3.0, static_cast<double>(end)))
      return Miss{"lost_samples", "samples were lost at first motion"};
    std::vector<double> part(y_.begin() + static_cast<std::ptrdiff_t>(begin), y_.begin() + static_cast<std::ptrdiff_t>(end));
    const auto at = static_cast<double>(before);
    const double reach = static_cast<double>(std::clamp<std::size_t>(after / 2, 3, 10));
    ChangePointModel rise = model(0, after > 8 ? 2 : 1);
    rise.step_low = 0.0;  // friction only ever lets go
    if (shown_damping_ > 0.0) rise.natural_frequency = shown_frequency_, rise.damping_ratio = shown_damping_;
    const auto point = find_change_point(part, std::max(1.0, at - reach), at, rise);
    if (!point) return Miss{"rate_too_low", "too few samples around first motion to place it"};
    w_.first_motion = instant(*point, begin, rise.natural_frequency > 0.0 ? kRisePeriods : kBareRisePeriods);
    w_.start_value = std::clamp(point->step_there, 0.0, std::max(0.0, net(first_clear_)));
    return {};
  }

  /// How far sample i + n falls short of where i - n and i were heading.
  [[nodiscard]] double fall_at(std::size_t i) const { return 2.0 * net(i) - net(i - fall_count_) - net(i + fall_count_); }

  [[nodiscard]] bool quiet_after(std::size_t i) const {
    const std::size_t first = i + fall_count_, last = std::min(first + smooth_count_, y_.size());
    double sum = 0.0;
    for (std::size_t k = first; k < last; ++k) sum += net(k);
    return last > first && sum / static_cast<double>(last - first) <= 0.15 * w_.peak;
  }

  Bad pick_separation() {
    const std::size_t end = std::min(pulse_end() + 1, y_.size() - fall_count_);
    const std::size_t begin = first_clear_ + fall_count_;
    double largest = 0.0;
    for (std::size_t i = begin; i < end; ++i)
      if (quiet_after(i)) largest = std::max(largest, fall_at(i));
    if (largest < std::max(10.0 * w_.noise, 0.04 * w_.peak)) return fade_out();
    // The first of its kind: a piston that hits its stop goes on falling, and a cell let go swings through larger ones.
    std::size_t start = begin;
    while (!(fall_at(start) >= 0.3 * largest && quiet_after(start))) ++start;
    return fit_separation(start);
  }

  /// The fall may run into the end of the range: what is beyond says nothing of its shape.
  [[nodiscard]] std::size_t first_clipped(std::size_t from, std::size_t to) const {
    for (const IndexRun& run : c_.trace().saturated)
      if (run.first > from && run.first < to) return run.first;
    return to;
  }

  Bad fit_separation(std::size_t start) {
    const std::size_t room = start - std::min(start, first_clear_);
    const std::size_t before = std::min(room, c_.count_in(3.0e-3, 8) + fall_count_);
    const std::size_t begin = start - before, end = first_clipped(start, std::min(start + 2 * fall_count_ + 3, y_.size()));
    if (gap_between(static_cast<double>(start) - 4.0, static_cast<double>(end)))
      return Miss{"lost_samples", "samples were lost at separation"};
    std::vector<double> part;
    for (std::size_t i = begin; i < end; ++i) part.push_back(net(i));
    const auto at = static_cast<double>(before), reach = static_cast<double>(fall_count_);
    const std::size_t course = before > 12 ? 2 : before > 5 ? 1 : 0;
    ChangePointModel fall = model(course, fall_count_ > 2 ? 2 : 0);
    // What pushed the vehicle is gone at once; the piston's stop only adds to that, and takes its time.
    fall.step_high = -0.7 * (net(start) - q_.flight_level);
    const auto point = find_change_point(part, std::max(1.0, at - 2.0 * reach),
                                         std::min(at + reach + 1.0, static_cast<double>(part.size()) - 2.0), fall);
    if (!point) return Miss{"rate_too_low", "too few samples around separation to place it"};
    if (fall_count_ <= 2) {
      place_by_area(begin, *point);
      return {};
    }
    w_.separation = instant(*point, begin, kFallPeriods);
    w_.end_value = point->course_there;
    w_.fall_index = c_.at_or_after(w_.separation.seconds);
    w_.lag_seconds = point->lag * c_.period();
    shown_frequency_ = point->natural_frequency;
    shown_damping_ = point->damping_ratio;
    return {};
  }

  /// At a few samples a fall, and with a filter of its own on the way, an edge has no foot to be found. The fall is placed where
  /// a sharp one of the same area would be: samples on the way down count by how far they still stand up to the course that the
  /// samples before were on. The one next to the change may be falling already and says nothing of that course.
  void place_by_area(std::size_t begin, const ChangePoint& point) {
    const std::size_t near = begin + static_cast<std::size_t>(point.place), last = std::max(near, begin + 1) - 1;
    const std::size_t settled = std::min(near + c_.count_in(2.0e-3, 3), y_.size() - 1);
    const std::size_t end = std::min(settled + c_.count_in(4.0e-3, 4), y_.size());
    const double low = level(y_.subspan(settled, end - settled)).mean - w_.rest;
    std::vector<double> x, y;
    for (std::size_t i = std::max(begin, last - std::min(last, c_.count_in(3.0e-3, 4))); i <= last; ++i) {
      x.push_back(static_cast<double>(i) - static_cast<double>(last));
      y.push_back(net(i));
    }
    const auto line = fit_line(x, y);
    const auto height = [&](double from_last) { return (line ? line->at(from_last) : net(last)) - low; };
    double from_last = 0.5;
    for (std::size_t i = last + 1; i < settled; ++i)
      if (const double whole = height(static_cast<double>(i - last)); whole > 0.0)
        from_last += std::clamp((net(i) - low) / whole, -0.5, 1.5);
    const double whole = height(from_last), count = static_cast<double>(settled - last);
    const double noise = whole > 0.0 ? w_.noise / whole * std::sqrt(count) : 0.0;
    const double own = std::hypot(spread_of_place_by_area(q_.shortest_lag_seconds / c_.period()), noise) * c_.period();
    w_.separation = {c_.seconds(static_cast<double>(last) + from_last), std::hypot(own, q_.lag_standard_uncertainty_seconds),
                     Spread::rectangular};
    w_.end_value = whole + low;
    w_.fall_index = last + 1;
  }

  /// No fall: the pulse comes back to rest by itself. Its end is where the line through 30 % and 10 % of the peak meets zero.
  Bad fade_out() {
    std::vector<double> part;
    for (std::size_t i = 0; i < pulse_end(); ++i) part.push_back(net(i));
    const auto high = last_falling_crossing(part, 0.3 * w_.peak, part.size() - 1);
    const auto low = last_falling_crossing(part, 0.1 * w_.peak, part.size() - 1);
    if (!high || !low || !(*low > *high)) return Miss{"record_too_short", "the end of the stroke is not in the record"};
    const double reach = 0.5 * (*low - *high);
    w_.separation = {c_.seconds(*low + reach), c_.period() * (0.29 + reach / 4.0), Spread::normal};
    w_.end_value = 0.0;
    w_.fall_index = c_.at_or_after(w_.separation.seconds);
    w_.abrupt = false;
    return {};
  }

  /// A vehicle that stays in the tube gives the whole pulse back while it is stopped, and then sits there with its weight on;
  /// one that flies takes its weight along.
  Bad check_it_left() {
    const std::size_t end = std::min(c_.at_or_after(w_.separation.seconds + kSettleSeconds), y_.size());
    double given = 0.0, back = 0.0;
    for (std::size_t i = first_clear_; i < end; ++i) (net(i) > 0.0 ? given : back) += std::abs(net(i));
    const std::size_t last = std::min(end + c_.count_in(20.0e-3, 4), y_.size());
    const double settled = level(y_.subspan(end, last - end)).mean - w_.rest;
    if (last > end && back >= q_.returned_share * given && settled > 0.5 * q_.flight_level)
      return Miss{"never_left", "the vehicle moved and was stopped again inside the tube: treat it as a jam"};
    if (c_.place(w_.separation.seconds) - c_.place(w_.first_motion.seconds) < static_cast<double>(kFewestInStroke))
      return Miss{"rate_too_low", "fewer than ten samples in the stroke"};
    return {};
  }

  void note_other_pulse() {
    const Pulse& main = all_[main_];
    const double area = main.area * c_.period();
    const double until = w_.separation.seconds + 0.8 * q_.flight_seconds_per_area * area;
    for (std::size_t i = main_ + 1; i < all_.size(); ++i) {
      const bool like_it = all_[i].area >= 0.2 * main.area && all_[i].last - all_[i].first > c_.count_in(5.0e-3, 4);
      if (like_it && c_.seconds(static_cast<double>(all_[i].first)) < until) {
        w_.other_pulse_seconds = c_.seconds(static_cast<double>(all_[i].first));
        return;
      }
    }
  }

  const Channel& c_;
  const StrokeSearch& q_;
  std::span<const double> y_;
  std::size_t smooth_count_, fall_count_;
  StrokeWindow w_;
  std::vector<Pulse> all_;
  std::size_t main_ = 0, first_clear_ = 0;
  double on_level_ = 0.0, clear_level_ = 0.0;
  double shown_frequency_ = 0.0, shown_damping_ = 0.0;  ///< of the sensor, by its answer to separation; cycles a sample
};

}  // namespace

Result<StrokeWindow, Miss> find_stroke(const Channel& channel, const StrokeSearch& search) {
  return Picker{channel, search}.run();
}

}  // namespace coldstroke::analysis
