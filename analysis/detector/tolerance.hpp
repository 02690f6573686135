// SPDX-License-Identifier: GPL-3.0-or-later
//
// How far the recordings of a library may change before one detector gets one wrong: found by changing them (recording.hpp,
// vary) in small steps and replaying every one, not from a formula.
#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "analysis/detector/detector_spec.hpp"
#include "analysis/detector/recording.hpp"

namespace coldstroke::analysis {

/// In which way the recordings change.
enum class Change : std::uint8_t {
  weaker_pulse,     ///< must_fire: net level down by a fraction
  shorter_stroke,   ///< must_fire: time after first motion shortened by a fraction, deadline kept
  longer_stroke,    ///< must_fire: lengthened by a fraction, deadline kept
  stronger_silent,  ///< must_stay_silent: net level up by a fraction
  longer_silent,    ///< must_stay_silent: lengthened by a fraction
  offset_up,        ///< all: g added
  offset_down,      ///< all: g taken off
  noise             ///< all: g rms of white noise added, one seeded draw a step
};
inline constexpr std::size_t kChangeCount = 8;
[[nodiscard]] const char* word(Change change);  ///< "weaker_pulse" ...

/// The largest change all recordings stand, and every smaller step of it: a fraction, or g for offset and noise.
struct Tolerance {
  Change change = Change::weaker_pulse;
  double tolerated = 0.0;                        ///< last step at which every recording came out right
  std::optional<double> fails_at;                ///< the next step, where one does not; absent: none up to the largest tried
  std::optional<std::size_t> binding_recording;  ///< index of one that fails there
  bool operator==(const Tolerance&) const = default;
};

struct Tolerances {
  std::vector<std::size_t> wrong_as_recorded;  ///< recordings that come out wrong unchanged; if any, `each` is empty
  std::vector<Tolerance> each;                 ///< one a Change that has recordings, in order
};

struct ToleranceSteps {
  double fraction_step = 0.01, fraction_max = 0.9;  ///< stronger and longer go up to ten times fraction_max
  double level_step_g = 0.05, level_max_g = 5.0;    ///< offset and noise
  std::uint64_t noise_seed = 1;
};

/// What a search works on; `library` and `spec` must outlive it.
struct ToleranceSearch {
  std::span<const Recording> library;
  const DetectorSpec* spec = nullptr;
  DetectorSettings settings;
  ToleranceSteps steps;
  std::vector<std::size_t> wrong_as_recorded;  ///< if any, nothing is tolerated and there is nothing to search
};
/// Complaints: of the library, the detector, or steps that are not positive.
[[nodiscard]] Result<ToleranceSearch> plan_tolerances(std::span<const Recording> library, const DetectorSpec& spec,
                                                      const ToleranceSteps& steps = {});
/// Whether the change is one for this label.
[[nodiscard]] bool concerns(Change change, Label label);
/// How many steps the change is tried for.
[[nodiscard]] std::size_t step_count(const ToleranceSearch& search, Change change);

/// A step from 1 to `up_to` at which the recording comes out wrong, found in a few looks; nothing if it comes out right at the
/// last. Not the smallest: it tells the other recordings how far they need not be tried. Independent of any other call.
[[nodiscard]] std::optional<std::size_t> any_wrong_step(const ToleranceSearch& search, Change change, std::size_t recording,
                                                        std::size_t up_to);
/// The smallest such step: every one below it is tried. Stops with nothing when cancelled. Independent of any other call.
[[nodiscard]] std::optional<std::size_t> first_wrong_step(const ToleranceSearch& search, Change change, std::size_t recording,
                                                          std::size_t up_to, const std::function<bool()>& cancelled = {});
/// Every recording comes out right up to and including step `last_right`, and one wrong at the next if there is one.
[[nodiscard]] Tolerance tolerance_at(const ToleranceSearch& search, Change change, std::size_t last_right);

/// The whole search, one recording after the other: the smallest of all first wrong steps. nullopt: cancelled (asked once a
/// recording and step). On several threads: daq/detector/tolerance_job.hpp.
[[nodiscard]] std::optional<Tolerances> tolerances(const ToleranceSearch& search, const std::function<bool()>& cancelled = {});

/// "tolerates a 23 % weaker pulse, a 31 % shorter stroke, 0.4 g offset": one sentence for a reader, without the names.
[[nodiscard]] std::string sentence(const Tolerances& tolerances);

}  // namespace coldstroke::analysis
