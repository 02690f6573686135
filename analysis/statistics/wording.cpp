// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/statistics/wording.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

namespace coldstroke::analysis::statistics {

namespace {

constexpr int kMostDecimals = 12;

/// Shortest decimal that reads back as the same number, or with `decimals` places if that is not negative.
std::string written(double value, std::chars_format format, int decimals) {
  std::array<char, 400> buffer{};  // the largest double has 309 digits before the point
  const auto end = decimals < 0 ? std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, format)
                                : std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, format, decimals);
  return {buffer.data(), end.ptr};
}

}  // namespace

std::string fixed(double value, int decimals, Rounding rounding) {
  if (!std::isfinite(value)) return "infinite";
  decimals = std::clamp(decimals, 0, kMostDecimals);
  if (rounding != Rounding::nearest) {
    // 0.9 * 1000 may come out a hair beside 900, and that is not a reason to write 0.899.
    const double scale = std::pow(10.0, decimals), scaled = value * scale, whole = std::round(scaled);
    if (std::abs(scaled - whole) > 1.0e-9 * std::max(1.0, std::abs(scaled)))
      value = (rounding == Rounding::down ? std::floor(scaled) : std::ceil(scaled)) / scale;
  }
  const std::string text = written(value, std::chars_format::fixed, decimals);
  // "-0.00" says nothing that "0.00" does not.
  return text.find_first_of("123456789") == std::string::npos && text.starts_with('-') ? text.substr(1) : text;
}

std::string significant(double value, int digits, Rounding rounding) {
  if (!std::isfinite(value) || value == 0.0) return fixed(value, 0);
  const double size = std::abs(value);
  if (size < 1.0e-6 || size >= 1.0e9) return written(value, std::chars_format::scientific, digits - 1);
  return fixed(value, digits - 1 - static_cast<int>(std::floor(std::log10(size))), rounding);
}

std::string share(double value) {
  const std::string two = fixed(value, 2), shortest = written(value, std::chars_format::fixed, -1);
  return shortest.size() > two.size() ? shortest : two;
}

std::string percent(double share_of_one) {
  std::string text = fixed(100.0 * share_of_one, 3);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.ends_with('.')) text.pop_back();
  return text + " %";
}

std::string probability(double p) { return p < 0.001 ? "p < 0.001" : "p = " + significant(p, 2); }

std::string counted(std::int64_t count, const std::string& noun) {
  return std::to_string(count) + " " + noun + (count == 1 ? "" : "s");
}

}  // namespace coldstroke::analysis::statistics
