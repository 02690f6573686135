// SPDX-License-Identifier: GPL-3.0-or-later
//
// The host's side of stimulus playback (docs/wire.md, section 7): plays a list of stimuli to one flight board, one after the
// other, unattended. A value without port, thread or clock: messages and times go in, messages come out.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "analysis/detector/detector_model.hpp"
#include "analysis/result.hpp"
#include "daq/playback/board_claims.hpp"
#include "protocol/wire/message.hpp"

namespace coldstroke::daq {

struct Stimulus {
  std::string name;
  std::vector<std::array<std::int16_t, 3>> counts;  ///< x, y, z as the board's converter would deliver them
};

/// What came of one stimulus.
struct StimulusAnswer {
  bool complete = false;                             ///< the board played every sample and told every change of state
  int attempts = 0;                                  ///< playbacks of it that the board began
  int resets = 0;                                    ///< the board reset while it was played; it was then played again
  std::uint32_t sent = 0, received = 0, played = 0;  ///< samples: of the stimulus; taken by the board; fed to its detector
  std::uint32_t refused = 0;                         ///< came out of order after a loss on the line, and were sent again
  std::uint32_t starved = 0;                         ///< ticks that waited for the host
  std::vector<analysis::StateChange> changes;        ///< of the board's detector, by sample of the stimulus
  std::vector<std::uint64_t> change_times_us;        ///< on the board's clock, one a change
  std::string trouble;                               ///< one sentence if not complete
};

class PlaybackSession {
 public:
  static constexpr int kMostAttempts = 3;
  static constexpr std::int64_t kSilenceUs = 3'000'000;  ///< a board not heard for so long is gone

  /// `session` as in a hello, drawn afresh.
  explicit PlaybackSession(std::uint32_t session);
  /// Stimuli may be given once the claims are known, since they depend on the board's rate and range. Called once.
  void play(std::vector<Stimulus> stimuli);

  void receive(const wire::Message& message, std::int64_t now_us);
  /// What to send now; to be asked every few milliseconds.
  [[nodiscard]] std::vector<wire::Message> due(std::int64_t now_us);
  /// Known once the board has introduced itself whole.
  [[nodiscard]] const std::optional<BoardClaims>& claims() const { return claims_; }
  [[nodiscard]] bool finished() const { return complaint_.has_value() || (playing_ && at_ >= stimuli_.size()); }
  /// Why it ended early: no board, one without playback, a firing channel that is not safe, a board that fell silent.
  [[nodiscard]] const std::optional<Complaint>& complaint() const { return complaint_; }
  /// One a stimulus, in order; those not reached are not complete and say so.
  [[nodiscard]] const std::vector<StimulusAnswer>& answers() const { return answers_; }
  [[nodiscard]] std::size_t at() const { return at_; }
  /// The newest state of the board's pins, if one came.
  [[nodiscard]] const std::optional<wire::FlightState>& flight_state() const { return flight_state_; }

 private:
  enum class Step { introducing, beginning, streaming, ending };
  void hear(const wire::Identity& identity, std::int64_t now_us);
  void hear(const wire::PlaybackState& state, std::int64_t now_us);
  void hear(const wire::Acknowledgement& answer, std::int64_t now_us);
  void begin_refused(wire::Reason reason, std::int64_t now_us);
  void board_reset(std::int64_t now_us);
  void try_again(const std::string& why, std::int64_t now_us);
  void take_answer(const wire::PlaybackState& state);
  void go_on(std::int64_t now_us);
  void give_up(Complaint complaint);
  void introduce(std::vector<wire::Message>& out, std::int64_t now_us);
  void command(std::vector<wire::Message>& out, wire::CommandCode code, std::uint32_t argument, std::int64_t now_us);
  void stream(std::vector<wire::Message>& out, std::int64_t now_us);
  void to(Step step) { step_ = step, asked_us_.reset(); }

  std::uint32_t session_;
  std::vector<Stimulus> stimuli_;
  std::vector<StimulusAnswer> answers_;
  bool playing_ = false;
  std::size_t at_ = 0;
  Step step_ = Step::introducing;
  std::optional<wire::Identity> identity_;
  std::optional<wire::StreamDescription> stream_;
  std::vector<wire::DetectorSetting> settings_;
  std::optional<BoardClaims> claims_;
  std::optional<Complaint> complaint_;
  std::optional<wire::FlightState> flight_state_;
  std::uint16_t next_id_ = 1, asked_id_ = 0;
  std::optional<std::int64_t> asked_us_;  ///< when the question of this step was last put
  std::optional<std::int64_t> heard_us_, started_us_;
  std::uint32_t number_ = 0;  ///< of the playback in progress, 0: not known yet
  bool accepted_ = false;
  int asks_ = 0;  ///< begins put for this stimulus since the last accepted one
  std::uint32_t next_ = 0, received_ = 0, accepted_to_ = 0, refused_ = 0;
  std::int64_t progress_us_ = 0;
};

}  // namespace coldstroke::daq
