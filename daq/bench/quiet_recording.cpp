// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/bench/quiet_recording.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <random>

#include "analysis/pneumatics/stroke_model.hpp"
#include "daq/detector/campaign_library.hpp"
#include "daq/playback/board_talk.hpp"
#include "daq/record/flight_placing.hpp"
#include "daq/stream/node_session.hpp"

namespace coldstroke::daq {
namespace {

constexpr std::int64_t kHelloEveryUs = 200'000, kTellEveryUs = 100'000;
constexpr std::int64_t kSilenceUs = 3'000'000;  ///< a board not heard for so long is gone

class QuietTalk : public BoardTalk {
 public:
  QuietTalk(const QuietRequest& request, const ChannelSetup& channel, const QuietProgress& progress)
      : request_{request}, channel_{channel}, progress_{progress} {
    session_ = std::max(std::random_device{}(), 1U);  // 0 would take any board's answer for its own
    board_.opened(session_);
  }

  void receive(std::span<const std::byte> bytes, std::int64_t now_us) override {
    if (bytes.empty() || complaint_) return;
    const auto messages = board_.receive(at_us<HostTime>(now_us), bytes);
    if (!messages.empty()) heard_us_ = now_us;
    for (const wire::Message& message : messages) hear(message);
  }

  Result<std::vector<std::byte>> turn(std::int64_t now_us) override {
    std::vector<std::byte> out;
    if (now_us - heard_us_ > kSilenceUs)
      give_up(samples_ ? "the board fell silent" : "no board answers", "check cable, power, port name and baud rate");
    if (!board_.trouble().empty()) give_up(board_.trouble(), "name the flight board's port");
    if (!board_.compatible() && now_us >= hello_due_us_) {
      encoder_.append(wire::Hello{.session = session_}, out);
      hello_due_us_ = now_us + kHelloEveryUs;
    }
    if (progress_ && now_us >= tell_due_us_) {
      tell_due_us_ = now_us + kTellEveryUs;
      if (!progress_(std::min(recorded_seconds(), request_.seconds))) give_up("stopped by the person", "start again when ready");
    }
    if (complaint_) return tl::unexpected{*complaint_};
    return out;
  }

  [[nodiscard]] bool over() const override { return complaint_ || (samples_ && recorded_seconds() >= request_.seconds); }

  Result<analysis::Recording> result() const {
    if (complaint_) return tl::unexpected{*complaint_};
    const StreamCollector::Segment& segment = samples_->segments().front();
    const double period = samples_->period_us() * 1.0e-6;
    const auto count = std::min(segment.size(), static_cast<std::size_t>(std::ceil(request_.seconds / period - 1.0e-6)));
    analysis::TraceSet traces;
    traces.traces.push_back(make_trace(segment, 0, count, channel_, {0.0, period, 0.0}));
    auto made = recording_of_traces(traces, request_.name);
    if (!made) return made;
    made->event = request_.event;
    made->sensor_range_g = channel_.range_high / analysis::kStandardGravity;
    made->source = "recorded without gas from " + board_.identity_sentence();
    return made;
  }

 private:
  [[nodiscard]] double recorded_seconds() const {
    return samples_ && !samples_->segments().empty()
               ? static_cast<double>(samples_->segments().front().size()) * samples_->period_us() * 1.0e-6
               : 0.0;
  }
  void give_up(std::string what, std::string remedy) {
    if (!complaint_) complaint_ = Complaint{std::move(what), "flight board's port", std::move(remedy)};
  }
  void hear(const wire::Message& message) {
    if (const auto* state = std::get_if<wire::FlightState>(&message)) {
      if (state->armed_switch)
        give_up("the arm switch is closed: nobody handles a vehicle that is armed",
                "open it and take every igniter off, then record again");
      if (state->playback != 0) give_up("the board is being played recordings", "end the playback first");
    }
    const auto* event = std::get_if<wire::Event>(&message);
    if (event != nullptr && event->code == wire::EventCode::power_up && samples_) reset_midway();
    const auto* block = std::get_if<wire::SampleBlock>(&message);
    if (block == nullptr || !board_.compatible() || block->stream != channel_.stream) return;
    const auto* described = board_.stream(channel_.stream);
    if (described == nullptr || channel_.index >= block->channels)
      return give_up("the board describes no such channel: " + channel_.name, "name its stream and index in the setup");
    if (!samples_) samples_.emplace(described->period_ns);
    samples_->add(*block);
    if (samples_->segments().size() > 1) reset_midway();
  }
  void reset_midway() { give_up("the board reset, or counted its samples anew, midway", "record it again"); }

  const QuietRequest& request_;
  const ChannelSetup& channel_;
  const QuietProgress& progress_;
  NodeSession board_{Node::flight};
  wire::Encoder encoder_;
  std::optional<StreamCollector> samples_;
  std::optional<Complaint> complaint_;
  std::uint32_t session_ = 0;
  std::int64_t heard_us_ = 0, hello_due_us_ = 0, tell_due_us_ = 0;
};

/// `talk`: how the conversation is held.
template <class Talk>
Result<analysis::Recording> record(const Setup& setup, const QuietRequest& request, const QuietProgress& progress,
                                   const Talk& talk) {
  const ChannelSetup* channel = setup.channel(analysis::Role::vehicle_acceleration);
  if (channel == nullptr || channel->node != Node::flight)
    return complain("no channel of the flight board is the vehicle's acceleration", "setup",
                    "give it a channel with the role acceleration (docs/setup.md)");
  if (!(request.seconds > 0.0) || request.seconds > kLongestQuietSeconds || request.name.empty())
    return complain("a recording needs a name and a length", "recording without gas",
                    "give a name, and above 0 up to " + std::to_string(static_cast<int>(kLongestQuietSeconds)) + " seconds");
  QuietTalk told{request, *channel, progress};
  const Result<TalkEnd> end = talk(told);
  if (!end) return tl::unexpected{end.error()};
  auto made = told.result();
  if (!made && !end->port_lost.empty())
    return complain(end->port_lost, "flight board's port", "check cable, power and port name");
  return made;
}

}  // namespace

Result<analysis::Recording> record_quietly(const Setup& setup, const QuietRequest& request, const QuietProgress& progress) {
  auto made = record(setup, request, progress, [&](BoardTalk& talk) { return talk_over_port(setup.flight_port, talk); });
  if (made) made->provenance = analysis::Provenance::bench;
  return made;
}

Result<analysis::Recording> record_quietly(const Setup& setup, const VirtualRigOptions& options, bool simulated_time,
                                           const QuietRequest& request, const QuietProgress& progress,
                                           const VirtualRigProgram& program) {
  auto made = record(setup, request, progress,
                     [&](BoardTalk& talk) { return talk_to_virtual_board(options, simulated_time, talk, program); });
  if (made) {
    made->provenance = analysis::Provenance::synthesised;
    made->source += ", virtual rig";
  }
  return made;
}

}  // namespace coldstroke::daq
