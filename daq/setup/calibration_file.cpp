// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/setup/calibration_file.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cmath>
#include <cstring>

#include "daq/setup/table_reader.hpp"

namespace coldstroke::daq {
namespace {

void line(std::string& out, std::string_view key, const std::string& value) { (out += key) += " = " + value + "\n"; }

Complaint disk(const std::string& what, const std::filesystem::path& file) {
  return {"The calibration was not kept: " + what + ": " + std::strerror(errno) + ".", file.string(),
          "Nothing was changed. Free the disk or the file's rights, then save again."};
}

/// Closes, and with that unlocks, whatever happens.
struct Descriptor {
  int number = -1;
  explicit Descriptor(int opened) : number{opened} {}
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  ~Descriptor() {
    if (number >= 0) close(number);
  }
};

Result<void> append_locked(const std::filesystem::path& file, const std::string& text) {
  const Descriptor opened{open(file.c_str(), O_WRONLY | O_APPEND | O_CLOEXEC)};
  if (opened.number < 0) return tl::unexpected{disk("the file cannot be opened", file)};
  while (flock(opened.number, LOCK_EX) != 0)
    if (errno != EINTR) return tl::unexpected{disk("the file cannot be locked", file)};
  const off_t before = lseek(opened.number, 0, SEEK_END);
  const ssize_t written = write(opened.number, text.data(), text.size());
  if (written == static_cast<ssize_t>(text.size()) && fsync(opened.number) == 0) return {};
  const Complaint said = disk(written < 0 ? "the disk refuses it" : "the disk takes no more", file);
  // Half a record would keep the setup from loading. Nothing older is touched: only we wrote behind `before`.
  if (before < 0 || ftruncate(opened.number, before) != 0)
    return complain(said.what, said.where, "The end of the file may hold half a record: remove that by hand.");
  return tl::unexpected{said};
}

}  // namespace

double Calibration::si(double counts) const {
  const double u = (counts - zero_counts) * scale;
  if (curvature == 0.0) return u;
  const double root = 1.0 + 4.0 * curvature * u;
  return root < 0.0 ? -0.5 / curvature : 2.0 * u / (1.0 + std::sqrt(root));
}

double Calibration::counts(double si) const { return zero_counts + (si + curvature * si * si) / scale; }

analysis::WireState ChannelSetup::wire(double si) const {
  if (!transducer) return analysis::WireState::good;
  return analysis::scale(transducer->signal, transducer->signal_at(calibration.counts(si)), transducer->span).wire;
}

Result<CalibrationRecord> fit_record(CalibrationRecord record, analysis::CalibrationForm form) {
  auto curve =
      analysis::CalibrationCurve::fit(record.points, form, {record.reading_resolution, record.reference_standard_uncertainty});
  if (!curve) return tl::unexpected{curve.error()};
  record.curve = std::move(*curve);
  record.loading = analysis::compare_loading(record.points, record.curve);
  return record;
}

Calibration calibration_of(const CalibrationRecord& record) {
  const analysis::CalibrationCurve& curve = record.curve;
  const auto& c = curve.coefficients();
  Calibration out;
  out.scale = 1.0 / c[1];
  out.zero_counts = c[0];
  out.curvature = c[2] / c[1];
  // A trial's budget takes every input for normal. So that its 95 % interval is that of Student's t, few points count for more.
  const auto as_normal = [&](double part, double total) {
    const double freedom = analysis::combined_freedom(part, curve.doubt().degrees_of_freedom, total);
    return total * analysis::factor_95(freedom) / analysis::factor_95(analysis::kExactlyKnown);
  };
  const double slope = curve.mean_slope_relative_uncertainty();
  out.gain_standard_uncertainty = as_normal(slope, std::hypot(slope, record.reference_standard_uncertainty));
  const double zero = std::hypot(curve.reading_standard_uncertainty_at(0.0), curve.doubt().standard_deviation) / std::abs(c[1]);
  out.zero_standard_uncertainty = as_normal(zero, zero);
  out.reference = record.reference + "; " + record.who + ", " + record.when;
  out.valid_until = record.valid_until;
  out.span = {curve.applied_low(), curve.applied_high()};
  return out;
}

std::vector<StatedNumber> stated_numbers(const CalibrationRecord& record) {
  const analysis::CalibrationCurve& curve = record.curve;
  double reading = 0.0;
  for (const analysis::CalibrationPoint& p : record.points) reading = std::max(reading, std::abs(p.reading));
  const double load = std::max(std::abs(curve.applied_low()), std::abs(curve.applied_high()));
  constexpr double kRounding = 1e-6;  // of the readings: below this a number is no more than the fit's own rounding
  const std::array<double, 3> size{reading, reading / load, reading / (load * load)};
  std::vector<StatedNumber> out;
  for (std::size_t i = 0; i < 3; ++i) out.push_back({"coefficient_" + std::to_string(i), curve.coefficients()[i], size[i]});
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t k = i; k < 3; ++k)
      out.push_back({"covariance_" + std::to_string(i) + std::to_string(k), curve.covariance()[i][k],
                     kRounding * kRounding * size[i] * size[k]});
  out.push_back({"residual_standard_deviation_counts", curve.residual_standard_deviation(), kRounding * reading});
  out.push_back({"lower_limit_factor_si", curve.scatter_limit(), kRounding * load});
  if (record.loading.zero_return) out.push_back({"zero_return_si", *record.loading.zero_return, kRounding * load});
  if (record.loading.hysteresis) out.push_back({"hysteresis_si", *record.loading.hysteresis, kRounding * load});
  return out;
}

std::string toml_text(const CalibrationRecord& record) {
  std::string out = "\n[[calibration]]\n";
  line(out, "channel", toml_quoted(record.channel));
  line(out, "when", toml_quoted(record.when));
  line(out, "who", toml_quoted(record.who));
  line(out, "reference", toml_quoted(record.reference));
  line(out, "reference_standard_uncertainty", toml_number(record.reference_standard_uncertainty));
  line(out, "valid_until", toml_quoted(record.valid_until));
  line(out, "reason", toml_quoted(record.reason));
  line(out, "model", record.curve.form() == analysis::CalibrationForm::line ? "\"line\"" : "\"quadratic\"");
  for (const StatedNumber& number : stated_numbers(record)) line(out, number.key, toml_number(number.value));
  if (record.shunt) {
    line(out, "shunt_expected_counts", toml_number(record.shunt->expected));
    line(out, "shunt_seen_counts", toml_number(record.shunt->seen));
    line(out, "shunt_tolerance", toml_number(record.shunt->tolerance));
  }
  for (const analysis::CalibrationPoint& p : record.points) {
    out += "[[calibration.point]]\n";
    line(out, "applied_si", toml_number(p.applied));
    line(out, "reading_mean_counts", toml_number(p.reading));
    line(out, "reading_standard_deviation_counts", toml_number(p.reading_standard_deviation));
    line(out, "samples", std::to_string(p.samples));
    line(out, "direction", p.unloading ? "\"unloading\"" : "\"loading\"");
  }
  return out;
}

Result<void> append_calibration(const Setup& setup, const CalibrationRecord& record) {
  if (setup.file.empty())
    return complain("This setup comes from no file, so there is no place to keep a calibration.", setup.source,
                    "Copy it to a file of your own, name a calibration_file in its [rig], and open that.");
  if (setup.calibration_file.empty())
    return complain("The setup names no calibration file.", setup.source + ", key rig.calibration_file",
                    "Add to [rig]: calibration_file = \"calibrations.toml\", make that file, empty, beside the setup, and open "
                    "the setup again.");
  const auto on_disk = setup_text_on_disk(setup.file);
  if (!on_disk) return tl::unexpected{on_disk.error()};
  const std::string text = toml_text(record);
  if (auto loads = parse_setup(*on_disk + "\n" + text, "the setup with the new calibration"); !loads)
    return tl::unexpected{loads.error()};
  return append_locked(setup.calibration_file, text);
}

}  // namespace coldstroke::daq
