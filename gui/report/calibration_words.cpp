// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/calibration_words.hpp"

#include <cmath>

#include "gui/report/figures.hpp"

namespace coldstroke::gui {
namespace {

using analysis::DoubtSource;

constexpr double kLikeNormal = 200.0;  // degrees of freedom from which Student's t is 1.96 to half a percent

const char* phrase(DoubtSource source) {
  switch (source) {
    case DoubtSource::scatter:
      return "the scatter of the points about the curve";
    case DoubtSource::readings:
      return "noise and resolution of the points' readings";
    case DoubtSource::reference:
      return "the reference";
    case DoubtSource::this_reading:
      return "this reading";
    case DoubtSource::unknown:
      break;
  }
  return "what is not known";
}

}  // namespace

const char* word(DoubtSource source) {
  switch (source) {
    case DoubtSource::scatter:
      return "scatter";
    case DoubtSource::readings:
      return "readings";
    case DoubtSource::reference:
      return "reference";
    case DoubtSource::this_reading:
      return "this_reading";
    case DoubtSource::unknown:
      break;
  }
  return "unknown";
}

std::string doubt_words(const analysis::CalibrationCurve& curve) {
  const analysis::ReadingDoubt& doubt = curve.doubt();
  if (doubt.source == DoubtSource::unknown)
    return "The uncertainty is unknown from these points: they lie on the curve exactly, and neither noise nor resolution of "
           "their readings is stated.";
  std::string out = std::string{"The uncertainty stands on "} + phrase(doubt.source);
  if (doubt.source == DoubtSource::readings) out += ", since the points scatter less than these leave";
  if (doubt.degrees_of_freedom < kLikeNormal)
    out += " (Student's t, " + decimal(std::floor(doubt.degrees_of_freedom), 0) +
           (doubt.degrees_of_freedom < 2.0 ? " degree" : " degrees") + " of freedom)";
  const double reference = curve.reference_standard_uncertainty();
  return out + (reference > 0.0 ? " and on the reference's " + significant(100.0 * reference, 2) + " %."
                                : ". That of the reference is not stated, and not in it.");
}

std::string applied_words(const analysis::Applied& applied, double per_si, const std::string& unit) {
  const auto half = applied.half_width_95();
  const std::string after = unit.empty() ? "" : ' ' + unit;
  std::string out = half ? with_uncertainty(applied.value * per_si, *half * per_si) + after + " (95 %, mostly from " +
                               phrase(applied.largest()) + ")"
                         : significant(applied.value * per_si, 4) + after + " (uncertainty unknown from these points)";
  return applied.beyond_points ? out + ", beyond the points: extrapolated" : out;
}

}  // namespace coldstroke::gui
