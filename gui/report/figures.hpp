// SPDX-License-Identifier: GPL-3.0-or-later
//
// How numbers are written for people: people's units, and only the digits that the uncertainty supports.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>

#include "analysis/trial/trace.hpp"

namespace coldstroke::gui {

/// A unit as shown, and how many of it make one SI unit of the quantity.
struct ScreenUnit {
  std::string_view symbol;
  double per_si = 1.0;
};
/// N, bar (gauge), g, A; "" for other quantities (shown in the channel's own SI numbers).
[[nodiscard]] ScreenUnit screen_unit(analysis::Quantity quantity);

/// "force", "supply pressure", ...; `name` itself for a channel that has no role.
[[nodiscard]] std::string channel_title(analysis::Role role, std::string_view name);
/// Of a plot: title, unit, and how it is shown if the setup names a channel frequency class: "CFC 180" or "unfiltered".
[[nodiscard]] std::string trace_legend(const analysis::Trace& trace, bool filtered);

/// What people call a metric, in which unit they read it, and what it means.
struct MetricWords {
  std::string_view name;     ///< as in kMetricNames
  std::string_view title;    ///< "Impulse"
  std::string_view unit;     ///< "N s"
  double per_unit = 1.0;     ///< shown value = metric value * per_unit
  std::string_view meaning;  ///< one or two sentences, for a tooltip
};
/// nullptr for a metric this program version does not know.
[[nodiscard]] const MetricWords* metric_words(std::string_view name);

/// Fixed number of decimals (0..9), never "-0.00".
[[nodiscard]] std::string decimal(double value, int decimals);
/// Decimals that give `value` `digits` significant digits, 0..9.
[[nodiscard]] int decimals_for(double value, int digits);
/// As `decimal`, with the decimals that give `digits` significant ones.
[[nodiscard]] std::string significant(double value, int digits);
/// Four decimals, rounded down: a lower bound is never flattered.
[[nodiscard]] std::string bound_text(double bound);
/// "12.34 ± 0.05": the uncertainty to two significant digits and the value to the same place (JCGM 100:2008, 7.2.6).
/// An uncertainty of zero or one that is not finite gives four significant digits and no "±".
[[nodiscard]] std::string with_uncertainty(double value, double uncertainty);
/// "12 ms", "3.2 s", "4 min", "2 h"; "never" if not finite. Rounds away from fresh: an age is never understated.
[[nodiscard]] std::string age(double seconds);
/// 1234567 -> "1 234 567" (narrow groups by U+202F, SI Brochure 5.4.4).
[[nodiscard]] std::string grouped(unsigned long long count);
/// {3, 8, 9, 10, 44} -> "3, 8 to 10, 44": three and more numbers one after the other are named by their ends. In rising order.
[[nodiscard]] std::string number_stretches(std::span<const std::int64_t> numbers);

}  // namespace coldstroke::gui
