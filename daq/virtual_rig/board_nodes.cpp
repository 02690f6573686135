// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/virtual_rig/board_nodes.hpp"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <sstream>

#include "analysis/pneumatics/stroke_model.hpp"
#include "daq/virtual_rig/random.hpp"

namespace coldstroke::daq {
namespace {

constexpr const char* kRigFirmware = "rig-reference";
constexpr const char* kFlightFirmware = "flight-reference";
constexpr std::uint16_t kSupplyLowMillivolts = 10500;

void set_id(cs_identity& identity, const char (&text)[13]) { std::memcpy(identity.unique_id, text, 12); }

std::string plain(double value) {
  std::ostringstream out;
  out << value;
  return out.str();
}

}  // namespace

RigNode::RigNode(const Scenario& scenario, std::uint64_t seed, const std::array<double, 4>& scales)
    : hardware{scenario.boards.rig_baud, scenario.boards.rig_rate_hz, scenario.line, seed, 20},
      version_{scenario.rig_firmware_version} {
  set_id(config_.identity, "virtual-rig1");
  config_.identity.firmware_name = kRigFirmware;
  config_.sample_period_ns = static_cast<std::uint32_t>(hardware.period_ns);
  config_.sample_bits = 24;
  for (std::size_t i = 0; i < scales.size(); ++i) config_.scale_hint[i] = static_cast<float>(scales[i]);
  config_.over_pressure_counts = static_cast<std::int32_t>(scenario.boards.over_pressure_pascals / scales[1]);
  config_.supply_low_mv = kSupplyLowMillivolts;
  config_.entropy = Random{seed, 25}.bits();
}

void RigNode::power_up(std::int64_t now_ns, std::int64_t offset_us, double drift_ppm) {
  hardware.clock = NodeClock{offset_us, drift_ppm, now_ns};
  hardware.next_sample = 0;
  hardware.off_until_ns.reset();
  hardware.to_board.drop_all();
  config_.identity.firmware_version = version_.c_str();
  config_.identity.boot_count = hardware.boot_count;
  cs_rig_init(&board_, &config_, hardware.clock.read(now_ns));
}

void RigNode::receive(std::int64_t now_ns, const std::vector<std::uint8_t>& bytes) {
  cs_rig_receive(&board_, hardware.clock.read(now_ns), bytes.data(), bytes.size());
}

void RigNode::sample(const std::array<std::int32_t, 4>& counts) {
  cs_rig_sample(&board_, hardware.clock.read_at_sample(hardware.next_sample++, hardware.period_ns), counts.data());
}

void RigNode::step(std::int64_t now_ns, const cs_rig_inputs& inputs) {
  cs_rig_step(&board_, hardware.clock.read(now_ns), &inputs);
}

void RigNode::set_firmware_version(const std::string& version) {
  if (version == version_) return;
  version_ = version;
  board_.config.identity.firmware_version = config_.identity.firmware_version = version_.c_str();
}

std::uint16_t RigNode::outputs() const { return hardware.powered() ? board_.outputs : static_cast<std::uint16_t>(CS_VALVE_VENT); }

cs_detector_config DetectorSettings::config() const {
  constexpr double kG = analysis::kStandardGravity;
  cs_detector_config out{};
  out.kind = detector.kind == "sustained"       ? static_cast<std::uint8_t>(CS_DETECTOR_SUSTAINED)
             : detector.kind == "velocity_gain" ? static_cast<std::uint8_t>(CS_DETECTOR_VELOCITY_GAIN)
                                                : static_cast<std::uint8_t>(CS_DETECTOR_MOVING_MEAN);
  const double rest = detector.axis == 2 ? std::cos(tilt_radians) : detector.axis == 0 ? std::sin(tilt_radians) : 0.0;
  const auto counts = [&](double mps2) { return static_cast<std::int32_t>(std::lround(mps2 / scale)); };
  out.rest_counts = counts(rest * kG);
  out.threshold_counts = std::max(1, counts(detector.threshold_g * kG));
  out.sum_threshold = std::llround(detector.speed_mps * rate_hz / scale);
  out.window_samples = static_cast<std::uint32_t>(std::lround(detector.window_seconds * rate_hz));
  out.building_counts = std::max(1, counts(detector.building_g * kG));
  out.deadline_samples = static_cast<std::uint32_t>(std::lround(detector.board_deadline_seconds * rate_hz));
  return out;
}

std::vector<std::pair<std::string, std::string>> DetectorSettings::texts() const {
  std::vector<std::pair<std::string, std::string>> out;
  out.emplace_back("detector", detector.kind);
  out.emplace_back("axis", std::string(1, static_cast<char>('x' + detector.axis)));
  out.emplace_back("window_ms", plain(detector.window_seconds * 1000.0));
  if (detector.kind == "velocity_gain")
    out.emplace_back("speed_mps", plain(detector.speed_mps));
  else
    out.emplace_back("threshold_g", plain(detector.threshold_g));
  out.emplace_back("building_g", plain(detector.building_g));
  out.emplace_back("deadline_ms", plain(detector.board_deadline_seconds * 1000.0));
  out.emplace_back("filter_ms", plain(detector.filter_seconds * 1000.0));
  const double rest = detector.axis == 2 ? std::cos(tilt_radians) : detector.axis == 0 ? std::sin(tilt_radians) : 0.0;
  out.emplace_back("rest_g", plain(rest));
  return out;
}

FlightNode::FlightNode(const Scenario& scenario, std::uint64_t seed, double scale)
    : hardware{scenario.boards.flight_baud, scenario.boards.flight_rate_hz, scenario.line, seed, 30},
      scenario_{scenario},
      settings_{scenario.detector, scenario.boards.flight_rate_hz, scale, scenario.tube.tilt_radians},
      version_{scenario.flight_firmware_version} {
  set_id(config_.identity, "virtual-fly1");
  config_.identity.firmware_name = kFlightFirmware;
  config_.sample_period_ns = static_cast<std::uint32_t>(hardware.period_ns);
  config_.scale_hint = static_cast<float>(scale);
  if (scenario.firing.dummy_load) {  // the board's registered dummy loads: as marked on the box, +-20 %
    for (std::size_t i = 0; i < CS_FLIGHT_FIRING_CHANNELS; ++i) {
      config_.dummy_low_milliohms[i] = static_cast<std::uint32_t>(std::lround(scenario.firing.load_ohms * 800.0));
      config_.dummy_high_milliohms[i] = static_cast<std::uint32_t>(std::lround(scenario.firing.load_ohms * 1200.0));
    }
  }
  const double before = scenario.detector.memory_before_seconds * scenario.boards.flight_rate_hz;
  config_.memory_before_samples = static_cast<std::uint32_t>(std::min(before, CS_FLIGHT_MEMORY - 1.0));
  write_config();
}

void FlightNode::write_config() {
  config_.axis = settings_.detector.axis;
  config_.detector = settings_.config();
  texts_ = settings_.texts();
  setting_rows_.clear();
  for (const auto& [key, value] : texts_) setting_rows_.push_back({key.c_str(), value.c_str()});
  config_.settings = setting_rows_.data();
  config_.setting_count = static_cast<std::uint8_t>(setting_rows_.size());
}

void FlightNode::power_up(std::int64_t now_ns, std::int64_t offset_us, double drift_ppm) {
  hardware.clock = NodeClock{offset_us, drift_ppm, now_ns};
  hardware.next_sample = 0;
  hardware.off_until_ns.reset();
  hardware.to_board.drop_all();
  config_.identity.firmware_version = version_.c_str();
  config_.identity.boot_count = hardware.boot_count;
  cs_flight_init(&board_, &config_, hardware.clock.read(now_ns));
}

void FlightNode::receive(std::int64_t now_ns, const std::vector<std::uint8_t>& bytes) {
  cs_flight_receive(&board_, hardware.clock.read(now_ns), bytes.data(), bytes.size());
}

bool FlightNode::sample(const std::array<std::int16_t, 3>& counts) {
  const std::uint32_t before = board_.decision_count;
  cs_flight_sample(&board_, hardware.clock.read_at_sample(hardware.next_sample++, hardware.period_ns), counts.data());
  return board_.decision_count > before;
}

void FlightNode::step(std::int64_t now_ns, const cs_flight_inputs& inputs) {
  cs_flight_step(&board_, hardware.clock.read(now_ns), &inputs);
}

void FlightNode::set_firmware_version(const std::string& version) {
  if (version == version_) return;
  version_ = version;
  board_.config.identity.firmware_version = config_.identity.firmware_version = version_.c_str();
}

void FlightNode::set_detector(const Scenario::Detector& detector) {
  if (detector == settings_.detector) return;
  settings_.detector = detector;
  write_config();
  board_.config.axis = config_.axis;
  board_.config.detector = config_.detector;
  board_.config.settings = config_.settings;
  board_.config.setting_count = config_.setting_count;
  cs_detector_init(&board_.detector, &config_.detector);
}

}  // namespace coldstroke::daq
