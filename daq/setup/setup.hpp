// SPDX-License-Identifier: GPL-3.0-or-later
//
// The setup file: what this rig, vehicle, charge and campaign are. TOML, documented in docs/setup.md.
// Everything a trial is judged by stands in it; the exact text used is stored with every trial.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "analysis/calibration/calibration.hpp"
#include "analysis/calibration/scaling.hpp"
#include "analysis/result.hpp"
#include "analysis/trial/trace.hpp"
#include "analysis/trial/trial_setup.hpp"

namespace coldstroke::daq {

enum class Node : std::uint8_t { rig = 0, flight = 1 };
[[nodiscard]] const char* word(Node node);  ///< "rig board", "flight board"

struct PortSetup {
  std::string name;  ///< device name or a path to it; empty: none given
  int baud = 0;
  bool uart = false;  ///< a true serial line: each byte takes ten bits of `baud`. false: USB all the way, or not known
  /// Of half the difference between the ways to and from the board, as measured; absent: not known (docs/methods.md, clocks).
  std::optional<double> asymmetry_standard_uncertainty_seconds = std::nullopt;
  bool operator==(const PortSetup&) const = default;
};

/// Counts to SI, the calibration in force for a channel: u = (counts - zero_counts) * scale is the value of a straight line; of a
/// quadratic it is value + curvature * value^2.
struct Calibration {
  double scale = 1.0;  ///< SI unit a count
  double zero_counts = 0.0;
  double gain_standard_uncertainty = 0.0;  ///< relative
  double zero_standard_uncertainty = 0.0;  ///< SI
  std::string reference;                   ///< what it was calibrated against, who, when: free text
  std::string valid_until;                 ///< ISO 8601 date, empty: not stated
  double curvature = 0.0;                  ///< 1/SI; 0: a straight line
  /// What was put on the sensor, least and most; absent: not stated, and no trial is held against it.
  std::optional<analysis::CalibratedSpan> span = std::nullopt;
  /// Counts that a quadratic never gives come out as the value at its turning point, which lies outside the channel's range.
  [[nodiscard]] double si(double counts) const;
  [[nodiscard]] double counts(double si) const;
  bool operator==(const Calibration&) const = default;
};

/// One calibration of one channel as it was taken. Never edited: a later record of the channel supersedes it.
struct CalibrationRecord {
  std::string channel;
  std::vector<analysis::CalibrationPoint> points;  ///< applied in SI, reading in counts
  analysis::CalibrationCurve curve;                ///< through the points, counts over SI
  analysis::LoadingCheck loading;
  std::optional<analysis::ShuntCheck> shunt;    ///< counts
  std::string who, when, reference, reason;     ///< when: UTC, ISO 8601 with seconds and Z
  double reference_standard_uncertainty = 0.0;  ///< relative; 0: not stated
  std::string valid_until;                      ///< ISO 8601 date
  double reading_resolution = 1.0;              ///< one count; other for readings that are no counts, 0: not known
};

/// A transducer that the channel's converter reads, and how its counts come to the signal.
struct TransducerSetup {
  analysis::TransducerSignal signal = analysis::TransducerSignal::current_loop;
  double signal_per_count = 0.0;  ///< ratiometric: part of the supply; current loop: A
  double no_signal_counts = 0.0;
  analysis::TransducerSpan span;  ///< SI, as on its nameplate
  [[nodiscard]] double signal_at(double counts) const { return (counts - no_signal_counts) * signal_per_count; }
  [[nodiscard]] double counts_at(double signal_now) const { return no_signal_counts + signal_now / signal_per_count; }
  bool operator==(const TransducerSetup&) const = default;
};

struct ChannelSetup {
  std::string name;  ///< unique; trace and column name
  Node node = Node::rig;
  std::uint8_t stream = 1, index = 0;  ///< which channel of which stream of the node
  analysis::Quantity quantity = analysis::Quantity::other;
  analysis::Role role = analysis::Role::other;
  double range_low = 0.0, range_high = 0.0;  ///< SI: at or beyond these the channel is saturated
  std::optional<TransducerSetup> transducer;
  /// SI: what the mean over half a second must read before a charge, with the reservoir vented and the vehicle seated.
  std::optional<double> rest_low, rest_high;
  int frequency_class = 0;          ///< channel frequency class to show it through, 0: none
  std::optional<double> noise_max;  ///< SI: standard deviation over half a second at rest, at most
  bool may_stand_still = false;     ///< its noise, behind a filter, is below one count: the same count all the time is no fault
  Calibration calibration;
  /// What a value says of the wire; good for a channel without a transducer.
  [[nodiscard]] analysis::WireState wire(double si) const;
  bool operator==(const ChannelSetup&) const = default;
};

struct ChargeSetup {
  double target_pascals = 0.0;                   ///< gauge; no default, a person types it
  double low_pascals = 0.0, high_pascals = 0.0;  ///< charge window, gauge
  double maximum_pascals = 0.0;                  ///< never above, gauge
  double relief_pascals = 0.0;                   ///< gauge: where the relief valve is set
  double settle_seconds = 0.0;
  double steady_pascals_per_second = 0.0;
  bool operator==(const ChargeSetup&) const = default;
};

struct SequenceSetup {
  double countdown_seconds = 0.0;
  double open_seconds = 0.0;          ///< fast valves open time
  double hang_seconds = 0.0;          ///< commanded, no motion within this: hang
  double keep_clear_seconds = 0.0;    ///< wait after a hang
  double vented_below_pascals = 0.0;  ///< gauge; proven low below this
  double vent_limit_seconds = 0.0;    ///< longer than this: keep clear
  double charge_limit_seconds = 0.0;  ///< charging longer than this aborts
  double record_before_seconds = 0.0, record_after_seconds = 0.0;
  double readback_limit_seconds = 0.0;  ///< wait this long for the flight board to come back and be read
  double history_seconds = 0.0;         ///< live ring buffers
  bool operator==(const SequenceSetup&) const = default;
};

/// How the firing channels of the flight board end for this trial.
struct FiringChannel {
  bool dummy_load = false;  ///< false: must be open-circuit
  double ohms = 0.0;        ///< registered resistance of the dummy load
  bool operator==(const FiringChannel&) const = default;
};

/// How charge and vent valve are moved.
enum class ChargeValves : std::uint8_t {
  driven,  ///< by the rig board
  hand     ///< by a person; the board drives the fast valves only
};

/// The open vent valve, ISO 6358: what the vent-down is measured against.
struct VentSetup {
  double conductance_m3_per_s_pa = 0.0;
  double critical_ratio = 0.0;
  bool operator==(const VentSetup&) const = default;
};

/// The fast valves and what the charge plan starts from. Conductance, opening and frictions are first guesses that trials
/// correct.
struct FastValvesSetup {
  int count = 0;
  double conductance_m3_per_s_pa = 0.0;  ///< each, with its hoses
  double critical_ratio = 0.0;
  double opening_seconds = 0.0;
  double dead_volume_m3 = 0.0;  ///< chamber with the piston on its seat
  double running_friction_newtons = 0.0, seal_friction_fraction = 0.0;
  bool operator==(const FastValvesSetup&) const = default;
};

/// A lid over the tube, driven and with a switch at each end. Absent in the setup: the tube has none.
struct LidSetup {
  double shut_after_seconds = 0.0;            ///< from first motion to the command to shut; the vent opens with it
  std::optional<double> shut_within_seconds;  ///< slower than this is a failed trial; absent: measured only
  bool operator==(const LidSetup&) const = default;
};

/// A part that the charge can reach and the gauge pressure it may bear with gas in it.
struct PressurePart {
  std::string name;
  double limit_pascals = 0.0;
  bool operator==(const PressurePart&) const = default;
};

struct KeepOutSetup {
  double distance_metres = 0.0;  ///< where the line is drawn on the ground
  double margin_metres = 0.0;    ///< beyond the projectile's reach
  double scaled_distance = 0.0;  ///< m/kg^(1/3)
  double tnt_factor = 0.0;
  std::string edition;  ///< of the standard that scaled_distance and tnt_factor are taken from
  /// The bottle or tank that feeds the regulator, if it stands inside the line: gauge pressure and volume.
  std::optional<double> supply_pascals, supply_volume_m3;
  bool operator==(const KeepOutSetup&) const = default;
};

/// What two people sign before each trial.
struct ChecklistSetup {
  std::vector<std::string> roles;  ///< at least two, each signed by another person
  std::vector<std::string> items;
  bool operator==(const ChecklistSetup&) const = default;
};
[[nodiscard]] ChecklistSetup default_checklist();

/// What the campaign says about the boards; what is left out is not compared.
struct DeclaredSetup {
  std::string rig_firmware, flight_firmware;  ///< "NAME VERSION" as the identity frame gives them; empty: not declared
  std::vector<std::pair<std::string, std::string>> detector_settings;  ///< key and value as the board reports them
  bool operator==(const DeclaredSetup&) const = default;
};

struct Setup {
  std::string text;            ///< the exact text parsed, the calibration file's behind the setup's own
  std::string source;          ///< file name for messages
  std::filesystem::path file;  ///< where it was loaded from, empty: from no file
  std::string campaign_name, purpose;
  PortSetup rig_port, flight_port;
  std::string rig_name;
  double reservoir_volume_m3 = 0.0;
  ChargeValves charge_valves = ChargeValves::driven;
  VentSetup vent;
  std::optional<FastValvesSetup> fast_valves;  ///< absent: no charge plan
  std::optional<LidSetup> lid;
  std::vector<PressurePart> parts;
  KeepOutSetup keep_out;
  ChecklistSetup checklist;
  DeclaredSetup declared;
  std::string vehicle_name;
  std::vector<FiringChannel> firing_channels;
  /// The board's link carries its state only, no samples and no clock replies; its own record is imported afterwards.
  bool flight_records_by_itself = false;
  double link_fresh_seconds = 0.5;       ///< readings older than this block and abort
  double alignment_limit_seconds = 0.0;  ///< clock alignment uncertainty the live bench warns above
  std::vector<ChannelSetup> channels;
  /// Where calibration records are appended; empty: the setup names no such file. Already in force in `channels`.
  std::filesystem::path calibration_file;
  std::vector<CalibrationRecord> calibrations;  ///< in the order of the file: the last one of a channel is in force
  ChargeSetup charge;
  SequenceSetup sequence;
  analysis::TrialSetup trial;

  [[nodiscard]] const ChannelSetup* channel(analysis::Role role) const;
  /// Place in `channels`. Complains of a name that none has, and lists those there are.
  [[nodiscard]] Result<std::size_t> channel_index(const std::string& name) const;
  [[nodiscard]] const PressurePart& weakest_part() const;  ///< the lowest limit rules
};

/// Parses setup text. `source` is the file name used in complaints: "FILE, line 12, key charge.target_bar", with what is allowed.
/// Unknown keys, wrong types, values out of range, minimum above maximum and duplicate names are refused, all at once if
/// possible.
[[nodiscard]] Result<Setup> parse_setup(std::string_view text, const std::string& source);
/// Reads the setup and, if it names one, the calibration file beside it; the records in force stand for the channels' own
/// calibrations. Complaints name the file that is at fault.
[[nodiscard]] Result<Setup> load_setup(const std::filesystem::path& file);
/// "force, supply, chamber"
[[nodiscard]] std::string channel_names(const std::vector<ChannelSetup>& channels);
/// What load_setup would parse now: whether a setup in force is still what lies on the disk.
[[nodiscard]] Result<std::string> setup_text_on_disk(const std::filesystem::path& file);

/// The setup that matches the built-in virtual rig, complete and commented: what `coldstroke eject --virtual` uses when no
/// --setup is given.
[[nodiscard]] std::string_view virtual_setup_text();

}  // namespace coldstroke::daq
