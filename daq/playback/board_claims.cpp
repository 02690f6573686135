// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/playback/board_claims.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <nlohmann/json.hpp>
#include <optional>

#include "analysis/pneumatics/stroke_model.hpp"

namespace coldstroke::daq {
namespace {

using analysis::DetectorKind;
using analysis::DetectorSpec;

/// Reads keys; the first that cannot be read is kept as the complaint.
class Claims {
 public:
  explicit Claims(const BoardClaims& claims) : claims_{claims} {}

  const std::string* text(const char* key) const {
    for (const auto& setting : claims_.settings)
      if (setting.key == key) return &setting.value;
    return nullptr;
  }
  std::optional<double> number(const char* key) {
    const std::string* value = text(key);
    if (value == nullptr) return std::nullopt;
    double out = 0.0;
    const auto [end, error] = std::from_chars(value->data(), value->data() + value->size(), out);
    if (error != std::errc{} || end != value->data() + value->size() || !std::isfinite(out))
      fault(std::string{"the board says "} + key + " is \"" + *value + "\", which is no number");
    return out;
  }
  double needed(const char* key) {
    const auto value = number(key);
    if (!value) fault(std::string{"the board does not say its "} + key);
    return value.value_or(0.0);
  }
  void fault(const std::string& what) {
    if (!fault_)
      fault_ = Complaint{what, "detector settings of " + claims_.identity.firmware_name,
                         "describe the board's detector in a table and name it (docs/detectors.md)"};
  }
  [[nodiscard]] const std::optional<Complaint>& fault() const { return fault_; }

 private:
  const BoardClaims& claims_;
  std::optional<Complaint> fault_;
};

void read_kind(Claims& claims, DetectorSpec& spec) {
  const std::string* kind = claims.text("detector");
  for (const DetectorKind known :
       {DetectorKind::moving_mean, DetectorKind::sustained, DetectorKind::velocity_gain, DetectorKind::k_of_n}) {
    if (kind == nullptr || *kind != word(known)) continue;
    spec.kind = known;
    return;
  }
  claims.fault(kind == nullptr ? "the board does not say which detector it runs"
                               : "the board claims a detector that this program does not know: \"" + *kind + "\"");
}

void read_axis(Claims& claims, DetectorSpec& spec) {
  const std::string* axis = claims.text("axis");
  if (axis == nullptr || *axis == "z") return;
  if (*axis == "x" || *axis == "y")
    spec.axis = *axis == "x" ? analysis::Axis::x : analysis::Axis::y;
  else
    claims.fault("the board claims an axis that is none: \"" + *axis + "\"");
}

/// A scale sent as a 32-bit number is a power-of-two part of a round range: within its rounding, the round one is meant.
double range_g(const wire::StreamDescription& stream) {
  const double exact =
      std::ldexp(static_cast<double>(stream.channels.front().scale_hint), stream.bits - 1) / analysis::kStandardGravity;
  const double round = std::round(exact * 1000.0) / 1000.0;
  return std::abs(exact - round) <= 1.0e-6 * exact ? round : exact;
}

}  // namespace

analysis::BoardSampling sampling_of(const wire::StreamDescription& stream) {
  return {1.0e9 / stream.period_ns, stream.bits, range_g(stream)};
}

Result<BoardClaims> archived_claims(const std::string& identity_json) {
  using Json = nlohmann::json;
  const Json read = Json::parse(identity_json, nullptr, false);
  const auto part = [](const Json& from, const char* key) { return from.is_object() ? from.value(key, Json{}) : Json{}; };
  BoardClaims out;
  if (const Json name = part(read, "firmware_name"); name.is_string()) out.identity.firmware_name = name.get<std::string>();
  if (const Json settings = part(read, "detector"); settings.is_object()) {
    for (const auto& [key, value] : settings.items())
      if (value.is_string())
        out.settings.push_back({static_cast<std::uint8_t>(out.settings.size()), key, value.get<std::string>()});
  }
  const Json streams = part(read, "streams");
  for (const Json& stream : streams) {
    const Json channels = part(stream, "channels"), bits = part(stream, "bits"), period = part(stream, "period_ns");
    if (!channels.is_array() || channels.size() < 3 || !bits.is_number_unsigned() || !period.is_number_unsigned()) continue;
    out.stream.bits = static_cast<std::uint8_t>(std::min(bits.get<std::uint64_t>(), std::uint64_t{255}));
    out.stream.period_ns = static_cast<std::uint32_t>(std::min(period.get<std::uint64_t>(), std::uint64_t{0xFFFFFFFF}));
    for (const Json& channel : channels) {
      const Json scale = part(channel, "scale_hint");
      out.stream.channels.push_back({.scale_hint = scale.is_number() ? scale.get<float>() : 0.0F});
    }
    break;
  }
  if (out.settings.empty() || out.stream.channels.empty() || out.stream.period_ns == 0)
    return complain("the flight board did not say which detector it runs, or on which samples", "identity of the flight board",
                    "use firmware that describes its detector and its stream (docs/wire.md)");
  return out;
}

Result<DetectorSpec> claimed_detector(const BoardClaims& board) {
  Claims claims{board};
  DetectorSpec spec;
  spec.name = "as the board says";
  if (board.stream.channels.size() < 3) claims.fault("the board describes no stream of three axes");
  read_kind(claims, spec);
  read_axis(claims, spec);
  if (const auto samples = claims.number("window_samples"))
    spec.window_samples = static_cast<std::uint32_t>(std::clamp(*samples, 0.0, 1.0e6));
  else
    spec.window_seconds = claims.needed("window_ms") / 1000.0;
  if (spec.kind == DetectorKind::velocity_gain)
    spec.velocity_gain_mps = claims.needed("speed_mps");
  else
    spec.threshold_g = claims.needed("threshold_g");
  if (spec.kind == DetectorKind::k_of_n)
    spec.required_samples = static_cast<std::uint32_t>(std::clamp(claims.needed("required_samples"), 0.0, 1.0e6));
  spec.building_g = claims.needed("building_g");
  if (const double deadline = claims.number("deadline_ms").value_or(0.0); deadline > 0.0)
    spec.deadline_seconds = deadline / 1000.0;
  spec.filter_shift = static_cast<int>(std::clamp(claims.number("filter_shift").value_or(0.0), -1.0, 100.0));
  spec.rest_g = claims.number("rest_g").value_or(spec.axis == analysis::Axis::z ? 1.0 : 0.0);
  if (claims.fault()) return tl::unexpected{*claims.fault()};
  spec.board = sampling_of(board.stream);
  if (const auto settings = settings_of(spec); !settings) return tl::unexpected{settings.error()};
  return spec;
}

std::vector<analysis::Finding> compare_claims(const DetectorSpec& claimed, const DetectorSpec& expected) {
  std::vector<analysis::Finding> out;
  const auto differ = [&out](const std::string& what, const std::string& says, const std::string& wanted) {
    if (says != wanted)
      out.push_back({"claim_differs", "", "The board says " + what + " " + says + "; the table says " + wanted + "."});
  };
  const auto a = settings_of(claimed), b = settings_of(expected);
  if (!a || !b) return out;
  differ("detector", word(a->kind), word(b->kind));
  differ("axis", word(claimed.axis), word(expected.axis));
  differ("sample rate, Hz", std::to_string(claimed.board.sample_rate_hz), std::to_string(expected.board.sample_rate_hz));
  differ("window, samples", std::to_string(a->window_samples), std::to_string(b->window_samples));
  differ("threshold, counts", std::to_string(a->threshold_counts), std::to_string(b->threshold_counts));
  differ("velocity gain, count samples", std::to_string(a->sum_threshold), std::to_string(b->sum_threshold));
  differ("building level, counts", std::to_string(a->building_counts), std::to_string(b->building_counts));
  differ("deadline, samples", std::to_string(a->deadline_samples), std::to_string(b->deadline_samples));
  differ("samples required", std::to_string(a->required_samples), std::to_string(b->required_samples));
  differ("filter shift", std::to_string(a->filter_shift), std::to_string(b->filter_shift));
  differ("rest, counts", std::to_string(a->rest_counts), std::to_string(b->rest_counts));
  return out;
}

}  // namespace coldstroke::daq
