// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/playback/playback_session.hpp"

#include <algorithm>
#include <utility>
#include <variant>

namespace coldstroke::daq {
namespace {

constexpr std::int64_t kAskAgainUs = 300'000;
/// Begins asked for one stimulus before the board is taken for one that does not begin: a bad line loses some, and their answers.
constexpr int kMostAsks = 20;
/// Samples on their way that the board has not taken after this long are sent again. A state comes every 20 ms.
constexpr std::int64_t kStuckUs = 150'000;

std::string channels_text(const std::optional<wire::FlightState>& state) {
  if (!state) return "the board's firing channels are not known";
  std::string out = state->armed_switch ? "arm switch closed" : "arm switch open";
  for (std::size_t i = 0; i < state->milliohms.size(); ++i) {
    out += ", channel " + std::to_string(i + 1) + " ";
    out += state->milliohms[i] == wire::kOpenCircuit ? "open" : std::to_string(state->milliohms[i]) + " milliohm";
  }
  return out;
}

}  // namespace

PlaybackSession::PlaybackSession(std::uint32_t session) : session_{session} {}

void PlaybackSession::play(std::vector<Stimulus> stimuli) {
  stimuli_ = std::move(stimuli);
  answers_.assign(stimuli_.size(), {});
  for (std::size_t i = 0; i < stimuli_.size(); ++i) {
    answers_[i].sent = static_cast<std::uint32_t>(stimuli_[i].counts.size());
    answers_[i].trouble = "It was not reached.";
  }
  playing_ = true;
  while (at_ < stimuli_.size() && stimuli_[at_].counts.empty()) answers_[at_++].trouble = "It has no sample.";
  to(claims_ ? Step::beginning : Step::introducing);
}

void PlaybackSession::give_up(Complaint complaint) {
  if (!complaint_) complaint_ = std::move(complaint);
}

void PlaybackSession::receive(const wire::Message& message, std::int64_t now_us) {
  if (complaint_) return;
  heard_us_ = now_us;
  if (const auto* identity = std::get_if<wire::Identity>(&message)) hear(*identity, now_us);
  if (const auto* stream = std::get_if<wire::StreamDescription>(&message)) stream_ = *stream;
  if (const auto* setting = std::get_if<wire::DetectorSetting>(&message)) {
    if (std::ranges::none_of(settings_, [&](const auto& known) { return known.index == setting->index; }))
      settings_.push_back(*setting);
  }
  if (const auto* state = std::get_if<wire::FlightState>(&message)) flight_state_ = *state;
  if (const auto* event = std::get_if<wire::Event>(&message); event != nullptr && event->code == wire::EventCode::power_up)
    board_reset(now_us);
  if (const auto* answer = std::get_if<wire::Acknowledgement>(&message)) hear(*answer, now_us);
  if (const auto* state = std::get_if<wire::PlaybackState>(&message)) hear(*state, now_us);
  if (!claims_ && identity_ && stream_ && settings_.size() >= identity_->setting_count) {
    std::ranges::sort(settings_, {}, &wire::DetectorSetting::index);
    claims_ = BoardClaims{*identity_, *stream_, settings_};
    to(Step::beginning);
  }
}

void PlaybackSession::hear(const wire::Identity& identity, std::int64_t now_us) {
  if (identity.session != session_) return;
  if (identity.protocol_major != wire::kProtocolMajor)
    return give_up({"the board speaks version " + std::to_string(identity.protocol_major) + " of the protocol",
                    "flight board's port", "use a board of version " + std::to_string(wire::kProtocolMajor)});
  if (identity.kind != wire::NodeKind::flight_board)
    return give_up({"this is not a flight board", "board \"" + identity.firmware_name + "\"", "name the flight board's port"});
  if (identity_ && identity_->boot_count != identity.boot_count) board_reset(now_us);
  identity_ = identity;
}

/// Its buffer, its detector and its number are gone; only its name may still be the same.
void PlaybackSession::board_reset(std::int64_t now_us) {
  if (!claims_) return;
  if (playing_ && at_ < stimuli_.size() && step_ != Step::beginning) {
    ++answers_[at_].resets;
    try_again("The board reset while it was played.", now_us);
  }
  identity_.reset(), stream_.reset(), settings_.clear(), claims_.reset();
  to(Step::introducing);
}

void PlaybackSession::try_again(const std::string& why, std::int64_t now_us) {
  StimulusAnswer& answer = answers_[at_];
  answer.trouble = why;
  number_ = 0;
  accepted_ = false;
  to(Step::beginning);
  if (answer.attempts >= kMostAttempts) go_on(now_us);
}

void PlaybackSession::go_on(std::int64_t now_us) {
  ++at_;
  asks_ = 0;
  while (at_ < stimuli_.size() && stimuli_[at_].counts.empty()) answers_[at_++].trouble = "It has no sample.";
  number_ = 0;
  accepted_ = false;
  progress_us_ = now_us;
  to(Step::beginning);
}

void PlaybackSession::hear(const wire::Acknowledgement& answer, std::int64_t now_us) {
  if (answer.id != asked_id_ || !asked_us_) return;
  if (step_ == Step::beginning && answer.code == wire::CommandCode::begin_playback) {
    if (answer.reason == wire::Reason::done) {
      accepted_ = true;
      asks_ = 0;
      ++answers_[at_].attempts;
    } else
      begin_refused(answer.reason, now_us);
  }
  // Not in progress any more is as good as ended.
  if (step_ == Step::ending && answer.code == wire::CommandCode::end_playback) {
    if (answers_[at_].complete)
      go_on(now_us);
    else
      to(Step::beginning);
  }
}

void PlaybackSession::begin_refused(wire::Reason reason, std::int64_t) {
  switch (reason) {
    case wire::Reason::duplicate:
      return;
    case wire::Reason::wrong_step:  // one of an earlier host, or our own whose answer was lost
      if (asks_ >= kMostAsks)
        return give_up({"the board is busy with a record and takes no playback", "flight board", "end the trial first"});
      return to(Step::ending);
    case wire::Reason::unknown_command:
      return give_up({"this board has no playback input", "board \"" + identity_->firmware_name + "\"",
                      "flash firmware that speaks protocol 1.1 (docs/wire.md, section 7)"});
    case wire::Reason::firing_channel:
      return give_up(
          {"the board refuses playback: " + channels_text(flight_state_), "firing channels of the flight board",
           "take every igniter off, open the arm switch, and leave the channels open or on their registered dummy loads"});
    case wire::Reason::no_compatible_hello:
      claims_.reset();
      return to(Step::introducing);
    default:
      return give_up(
          {"the board refuses playback, reason " + std::to_string(static_cast<int>(reason)), "flight board", "see docs/wire.md"});
  }
}

void PlaybackSession::hear(const wire::PlaybackState& state, std::int64_t now_us) {
  const bool active = state.phase == wire::PlaybackPhase::filling || state.phase == wire::PlaybackPhase::running ||
                      state.phase == wire::PlaybackPhase::over;
  if (!playing_ || at_ >= stimuli_.size()) return;
  if (step_ == Step::beginning && accepted_ && active && state.received == 0) {
    number_ = state.number;
    next_ = received_ = refused_ = 0;
    accepted_to_ = state.accepted_to;
    progress_us_ = now_us;
    to(Step::streaming);
    return;
  }
  if (step_ != Step::streaming || state.number != number_) return;
  if (state.phase == wire::PlaybackPhase::stopped) {
    if (state.stop == wire::PlaybackStop::firing_channel)
      return give_up(
          {"the board stopped the playback: " + channels_text(flight_state_), "firing channels of the flight board",
           "take every igniter off, open the arm switch, and leave the channels open or on their registered dummy loads"});
    return try_again(
        state.stop == wire::PlaybackStop::host_silent ? "The board did not hear the host for 2 s." : "Another host ended it.",
        now_us);
  }
  if (state.received < received_ || !active) return;  // came late
  if (state.received > received_) progress_us_ = now_us;
  received_ = state.received;
  accepted_to_ = state.accepted_to;
  // The board refused a piece: what lay before it was lost on the line. It says itself where to go on.
  if (state.refused > refused_) next_ = received_;
  refused_ = state.refused;
  next_ = std::max(next_, received_);
  if (state.phase == wire::PlaybackPhase::over) take_answer(state);
}

void PlaybackSession::take_answer(const wire::PlaybackState& state) {
  StimulusAnswer& answer = answers_[at_];
  answer.received = state.received;
  answer.played = state.played;
  answer.refused += state.refused;
  answer.starved += state.starved;
  answer.changes.clear();
  answer.change_times_us.clear();
  for (const wire::PlaybackChange& change : state.changes) {
    answer.changes.push_back({change.sample, static_cast<analysis::DetectorState>(change.state)});
    answer.change_times_us.push_back(change.node_time_us);
  }
  answer.complete = state.played == answer.sent && state.received == answer.sent;
  answer.trouble = answer.complete
                       ? ""
                       : "The board played " + std::to_string(state.played) + " of " + std::to_string(answer.sent) + " samples.";
  to(Step::ending);
}

std::vector<wire::Message> PlaybackSession::due(std::int64_t now_us) {
  std::vector<wire::Message> out;
  if (finished()) return out;
  if (!started_us_) started_us_ = now_us;
  if (now_us - heard_us_.value_or(*started_us_) > kSilenceUs) {
    give_up({heard_us_ ? "the board fell silent" : "no board answers", "flight board's port",
             "check cable, power, port name and baud rate"});
    return out;
  }
  const bool ask = !asked_us_ || now_us - *asked_us_ >= kAskAgainUs;
  switch (step_) {
    case Step::introducing:
      if (ask) introduce(out, now_us);
      break;
    case Step::beginning:
      if (!playing_ || !ask) break;
      // Asked again without an answer to the last one: it may have begun all the same.
      accepted_ = false;
      if (++asks_ > kMostAsks) {
        answers_[at_].trouble = "The board does not begin.";
        go_on(now_us);
        break;
      }
      command(out, wire::CommandCode::begin_playback, static_cast<std::uint32_t>(stimuli_[at_].counts.size()), now_us);
      break;
    case Step::streaming:
      stream(out, now_us);
      break;
    case Step::ending:
      if (ask) command(out, wire::CommandCode::end_playback, 0, now_us);
      break;
  }
  return out;
}

void PlaybackSession::introduce(std::vector<wire::Message>& out, std::int64_t now_us) {
  stream_.reset(), settings_.clear(), identity_.reset();
  out.emplace_back(wire::Hello{.session = session_});
  asked_us_ = now_us;
}

void PlaybackSession::command(std::vector<wire::Message>& out, wire::CommandCode code, std::uint32_t argument,
                              std::int64_t now_us) {
  asked_id_ = next_id_++;
  asked_us_ = now_us;
  out.emplace_back(wire::Command{asked_id_, code, 0, argument});
}

void PlaybackSession::stream(std::vector<wire::Message>& out, std::int64_t now_us) {
  const auto& counts = stimuli_[at_].counts;
  if (next_ > received_ && now_us - progress_us_ > kStuckUs) {
    next_ = received_;
    progress_us_ = now_us;
  }
  while (next_ < accepted_to_ && next_ < counts.size()) {
    const std::uint32_t end = std::min({next_ + static_cast<std::uint32_t>(wire::PlaybackSamples::kMost), accepted_to_,
                                        static_cast<std::uint32_t>(counts.size())});
    // Whole frames unless it is the end: credit that trickles in must not make frames of a few samples.
    if (end - next_ < wire::PlaybackSamples::kMost && end != counts.size()) break;
    out.emplace_back(wire::PlaybackSamples{number_, next_, {counts.begin() + next_, counts.begin() + end}});
    next_ = end;
  }
}

}  // namespace coldstroke::daq
