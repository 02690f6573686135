// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/record/trial_archive.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <iterator>
#include <map>
#include <optional>

#include "daq/record/flight_placing.hpp"
#include "daq/record/stream_collector.hpp"
#include "daq/record/trial_import.hpp"
#include "daq/stream/clock_alignment.hpp"
#include "daq/stream/node_session.hpp"

namespace coldstroke::daq {

namespace {

using analysis::DecisionSource;
using analysis::Trace;

/// Everything one pass over the raw rows finds.
struct Heard {
  NodeSession rig{Node::rig}, flight{Node::flight};
  std::map<std::uint8_t, StreamCollector> rig_streams, flight_streams, memory_streams;
  std::optional<std::uint64_t> release_us;  // rig clock: fast valves told to open
  std::optional<std::uint32_t> record_id;   // what the host asked the flight board to record
  std::optional<wire::MemorySummary> summary;
  std::map<std::uint32_t, wire::MemoryDecision> memory_decisions;
  std::optional<std::uint32_t> decisions_announced;
  std::vector<std::uint64_t> live_decisions_us;  // flight clock, since the detector was reset for this trial
  std::uint64_t newest_flight_us = 0;            // newest live state
  std::uint32_t flight_resets = 0;
  std::optional<std::uint32_t> boot_count;
};

StreamCollector& stream_of(std::map<std::uint8_t, StreamCollector>& streams, const NodeSession& session, std::uint8_t id) {
  const auto* described = session.stream(id);
  return streams.try_emplace(id, described == nullptr ? 0U : described->period_ns).first->second;
}

void hear_rig(Heard& heard, const wire::Message& message) {
  if (const auto* block = std::get_if<wire::SampleBlock>(&message)) {
    if (heard.rig.stream(block->stream) != nullptr) stream_of(heard.rig_streams, heard.rig, block->stream).add(*block);
  } else if (const auto* event = std::get_if<wire::Event>(&message)) {
    if (event->code == wire::EventCode::fast_valves_opened && !heard.release_us) heard.release_us = event->node_time_us;
  }
}

void hear_flight(Heard& heard, const wire::Message& message) {
  if (const auto* block = std::get_if<wire::SampleBlock>(&message)) {
    if (heard.flight.stream(block->stream) != nullptr) stream_of(heard.flight_streams, heard.flight, block->stream).add(*block);
  } else if (const auto* event = std::get_if<wire::Event>(&message)) {
    if (event->code == wire::EventCode::detector_reset) heard.live_decisions_us.clear();
    if (event->code == wire::EventCode::detector_decided) heard.live_decisions_us.push_back(event->node_time_us);
  } else if (const auto* state = std::get_if<wire::FlightState>(&message)) {
    heard.newest_flight_us = state->node_time_us;
    if (heard.boot_count && *heard.boot_count != state->reset_count) ++heard.flight_resets;
    heard.boot_count = state->reset_count;
  } else if (const auto* summary = std::get_if<wire::MemorySummary>(&message)) {
    if (heard.record_id && summary->record_id == *heard.record_id && summary->frozen) heard.summary = *summary;
  } else if (const auto* decision = std::get_if<wire::MemoryDecision>(&message)) {
    if (heard.record_id && decision->record_id == *heard.record_id) heard.memory_decisions[decision->index] = *decision;
  } else if (const auto* samples = std::get_if<wire::MemorySamples>(&message)) {
    if (heard.record_id && samples->record_id == *heard.record_id && heard.summary && samples->block.channels > 0)
      heard.memory_streams.try_emplace(samples->block.stream, heard.summary->period_ns).first->second.add(samples->block);
  }
}

Heard hear(const std::vector<RawRow>& raw) {
  Heard heard;
  wire::Decoder to_flight;
  std::vector<wire::Message> sent;
  for (const RawRow& row : raw) {
    const auto arrival = at_us<HostTime>(row.host_us);
    if (row.direction == Direction::to_board) {
      if (row.node != Node::flight) continue;
      sent.clear();
      to_flight.feed(row.bytes, sent);
      for (const wire::Message& message : sent)
        if (const auto* command = std::get_if<wire::Command>(&message);
            command != nullptr && command->code == wire::CommandCode::begin_record)
          heard.record_id = command->argument;
    } else if (row.node == Node::rig) {
      for (const wire::Message& message : heard.rig.receive(arrival, row.bytes)) hear_rig(heard, message);
    } else {
      for (const wire::Message& message : heard.flight.receive(arrival, row.bytes)) hear_flight(heard, message);
    }
  }
  return heard;
}

/// Samples at which a transducer's signal says that its wire is broken or shorted.
void note_wire(const Trace& trace, const ChannelSetup& channel, std::vector<std::string>& notes) {
  using analysis::WireState;
  for (const WireState state : {WireState::broken, WireState::shorted}) {
    const auto count = std::ranges::count(trace.samples, state, [&](double si) { return channel.wire(si); });
    if (count > 0)
      notes.push_back("channel '" + channel.name + "': " + std::to_string(count) + " samples say of the wire: " + word(state));
  }
}

/// Traces of one board's streams within [from, to] seconds.
void add_traces(const std::map<std::uint8_t, StreamCollector>& streams, Node node, const Setup& setup, double from, double to,
                const std::function<Placement(const StreamCollector&, const StreamCollector::Segment&)>& place,
                DecodedTrial& out) {
  for (const ChannelSetup& channel : setup.channels) {
    if (channel.node != node) continue;
    const auto stream = streams.find(channel.stream);
    const StreamCollector::Segment* segment = stream == streams.end() ? nullptr : stream->second.longest();
    if (segment == nullptr || channel.index >= segment->channels) {
      out.notes.push_back("channel '" + channel.name + "': no samples in the record");
      continue;
    }
    if (stream->second.segments().size() > 1)
      out.notes.push_back("channel '" + channel.name + "': the board counted its samples anew " +
                          std::to_string(stream->second.segments().size() - 1) + " time(s); the longest stretch is used");
    const Placement placed = place(stream->second, *segment);
    const auto index_at = [&](double seconds) {
      const double k = std::ceil((seconds - placed.start_seconds) / placed.period_seconds);
      return static_cast<std::size_t>(std::clamp(k, 0.0, static_cast<double>(segment->size())));
    };
    const std::size_t first = index_at(from), last = index_at(to);
    if (first >= last) continue;
    out.traces.traces.push_back(make_trace(*segment, first, last, channel, placed));
    note_wire(out.traces.traces.back(), channel, out.notes);
  }
}

const std::map<std::uint8_t, StreamCollector>& best_streams(const Heard& heard) {
  const bool memory =
      heard.summary && heard.memory_decisions.size() >= heard.summary->decision_count && !heard.memory_streams.empty();
  return memory ? heard.memory_streams : heard.flight_streams;
}

/// Puts the flight board's traces and decisions on the bench clock.
void add_flight(const Heard& heard, const Setup& setup, const FlightPlacing& placing, double from, double to, DecodedTrial& out) {
  analysis::DetectorRecord& detector = out.traces.detector;
  const auto& streams = best_streams(heard);
  add_traces(streams, Node::flight, setup, from, to, placing.samples, out);
  const auto decided = [&](std::uint64_t us, std::optional<std::uint64_t> index) {
    const AlignedInstant at = placing.instant(static_cast<double>(us), index);
    detector.decisions_seconds.push_back(at.bench_seconds);
    detector.alignment_standard_uncertainty_seconds =
        std::max(detector.alignment_standard_uncertainty_seconds, at.standard_uncertainty_seconds);
  };
  // The board decides at a sample and stamps that sample's instant, in its memory and over the link alike: nothing is polled.
  detector.polling_period_seconds = 0.0;
  if (heard.summary && heard.memory_decisions.size() >= heard.summary->decision_count) {
    detector.source = DecisionSource::memory;
    for (const auto& [number, decision] : heard.memory_decisions) decided(decision.node_time_us, decision.sample_index);
    const double end_us = static_cast<double>(heard.summary->first_time_us) +
                          static_cast<double>(heard.summary->sample_count) * heard.summary->period_ns * 1.0e-3;
    detector.record_end_seconds = placing.instant(end_us, heard.summary->first_index + heard.summary->sample_count).bench_seconds;
    out.notes.push_back("detector decisions from the flight board's own memory");
    return;
  }
  if (heard.flight_resets > 0) {
    out.notes.push_back("the flight board was reset during the trial: what it decided before is not known");
    return;
  }
  const double live_end = heard.newest_flight_us == 0
                              ? -1.0e9
                              : placing.instant(static_cast<double>(heard.newest_flight_us), std::nullopt).bench_seconds;
  if (!heard.live_decisions_us.empty() || live_end >= to) {
    detector.source = DecisionSource::live;
    for (const std::uint64_t us : heard.live_decisions_us) decided(us, std::nullopt);
    detector.record_end_seconds = live_end;
    out.notes.push_back("detector decisions as heard over the link; the board's memory was not read");
    return;
  }
  out.notes.push_back("the flight board's record is not there: its link was lost and its memory was not read");
}

void add_log(const FlightLog& log, PlacedLog&& placed, DecodedTrial& out) {
  std::ranges::move(placed.traces, std::back_inserter(out.traces.traces));
  out.traces.detector = std::move(placed.detector);
  out.alignment_method = out.traces.alignment_method = placed.alignment_method;
  std::ranges::move(placed.notes, std::back_inserter(out.notes));
  out.notes.push_back("the flight board's record is its own log '" + log.name + "', attached later, aligned by " +
                      placed.alignment_method);
}

}  // namespace

Result<DecodedTrial> decode_trial(const std::vector<RawRow>& raw, const Setup& setup, const FlightLog* log) {
  const Heard heard = hear(raw);
  const auto rig_stream = std::ranges::find_if(heard.rig_streams, [](const auto& s) { return s.second.longest() != nullptr; });
  if (rig_stream == heard.rig_streams.end())
    return complain("the record holds no samples of the rig board", "raw bytes of the trial",
                    "check the rig port and record again");
  const StreamCollector::Segment& reference = *rig_stream->second.longest();
  const double first_us = rig_stream->second.start_us(reference);
  const double origin_us = heard.release_us ? static_cast<double>(*heard.release_us) : first_us;

  DecodedTrial out;
  const double from = heard.release_us ? -setup.sequence.record_before_seconds : 0.0;
  const double to = heard.release_us ? setup.sequence.record_after_seconds : 1.0e9;
  if (heard.release_us) out.traces.release_commanded_seconds = 0.0;
  add_traces(
      heard.rig_streams, Node::rig, setup, from, to,
      [&](const StreamCollector& stream, const StreamCollector::Segment& segment) {
        return Placement{(stream.start_us(segment) - origin_us) * 1.0e-6, stream.period_us() * 1.0e-6, 0.0};
      },
      out);
  const auto clocks = ClockAlignment::fit(heard.rig.exchanges(), heard.flight.exchanges(),
                                          at_us<RigTime>(std::llround(origin_us)), line_knowledge(setup));
  if (log != nullptr) {
    const auto* described = heard.flight.stream(setup.channel(analysis::Role::vehicle_acceleration) == nullptr
                                                    ? std::uint8_t{1}
                                                    : setup.channel(analysis::Role::vehicle_acceleration)->stream);
    LoggedTrial known{clocks ? &*clocks : nullptr, find(out.traces, analysis::Role::force), {}, from, to};
    if (described != nullptr) known.board_period_seconds = described->period_ns * 1.0e-9;
    auto placed = place_flight_log(*log, setup, known);
    if (!placed) return tl::unexpected{placed.error()};
    add_log(*log, std::move(*placed), out);
  } else if (clocks) {
    out.alignment_method = out.traces.alignment_method = "clock exchange";
    add_flight(heard, setup, place_by_clocks(*clocks), from, to, out);
  } else {
    out.notes.push_back(clocks.error().what);
    const auto placing = place_by_pulse(best_streams(heard), setup, find(out.traces, analysis::Role::force));
    if (placing) {
      out.alignment_method = out.traces.alignment_method = analysis::kSharedPulse;
      out.notes.push_back("the flight board's record is aligned by the pulse that force and acceleration share");
      add_flight(heard, setup, *placing, from, to, out);
    } else {
      out.notes.push_back("nothing of the flight board can be placed in time: " + placing.error().what);
    }
  }
  for (const auto& [node, session] : {std::pair{Node::rig, &heard.rig}, std::pair{Node::flight, &heard.flight}})
    for (std::size_t kind = 0; kind < wire::kFrameFaultKinds; ++kind)
      if (const auto count = session->counts().faults[kind]; count > 0)
        out.notes.push_back(std::string{word(node)} + ": " + std::to_string(count) + " frames " +
                            wire::word(static_cast<wire::FrameFault>(kind)));
  if (heard.flight.silences() > 0)
    out.notes.push_back("the flight board's link was silent " + std::to_string(heard.flight.silences()) +
                        " time(s), as when its cable stays behind");
  return out;
}

Result<SetupInForce> setup_in_force(const Campaign& campaign, std::int64_t trial, const Recalibration* more) {
  const auto text = campaign.setup_text(trial);
  if (!text) return tl::unexpected{text.error()};
  auto stored = parse_setup(*text, "setup of trial " + std::to_string(trial));
  if (!stored) return tl::unexpected{stored.error()};
  auto corrections = recalibrations(campaign, trial);
  if (!corrections) return tl::unexpected{corrections.error()};
  if (more != nullptr) corrections->push_back(*more);
  auto setup = corrected(std::move(*stored), *corrections);
  if (!setup) return tl::unexpected{setup.error()};
  SetupInForce out{std::move(*setup), {}};
  for (const Recalibration& correction : *corrections) out.corrections.push_back(sentence(correction));
  return out;
}

namespace {

Result<DecodedTrial> traces_with(const Campaign& campaign, std::int64_t trial, const Setup& setup, const FlightLog* log) {
  auto imported = imported_traces(campaign, trial, setup);
  if (!imported) return tl::unexpected{imported.error()};
  if (*imported) return DecodedTrial{std::move((*imported)->traces), std::move((*imported)->notes), "one record"};
  const auto raw = campaign.raw(trial);
  if (!raw) return tl::unexpected{raw.error()};
  return decode_trial(*raw, setup, log);
}

Result<JudgedTrial> judge(const Campaign& campaign, std::int64_t trial, const Setup& setup, const FlightLog* log) {
  auto traces = traces_with(campaign, trial, setup, log);
  if (!traces) return tl::unexpected{traces.error()};
  JudgedTrial out;
  out.setup = setup.trial;
  out.traces = std::move(traces->traces);
  out.notes = std::move(traces->notes);
  out.result = analysis::analyse(out.traces, setup.trial);
  return out;
}

Result<JudgedTrial> noted(Result<JudgedTrial> judged, const std::vector<std::string>& notes) {
  if (judged) judged->notes.insert(judged->notes.end(), notes.begin(), notes.end());
  return judged;
}

}  // namespace

Result<DecodedTrial> archived_traces(const Campaign& campaign, std::int64_t trial, const Setup& setup) {
  const auto log = attached_flight_log(campaign, trial);
  if (!log) return tl::unexpected{log.error()};
  return traces_with(campaign, trial, setup, *log ? &**log : nullptr);
}

Result<JudgedTrial> judge_trial(const Campaign& campaign, std::int64_t trial, const Setup* other) {
  const auto log = attached_flight_log(campaign, trial);
  if (!log) return tl::unexpected{log.error()};
  const FlightLog* attached = *log ? &**log : nullptr;
  if (other != nullptr) return judge(campaign, trial, *other, attached);
  const auto known = setup_in_force(campaign, trial);
  if (!known) return tl::unexpected{known.error()};
  return noted(judge(campaign, trial, known->setup, attached), known->corrections);
}

Result<JudgedTrial> judge_recalibrated(const Campaign& campaign, std::int64_t trial, const Recalibration& correction) {
  const auto log = attached_flight_log(campaign, trial);
  if (!log) return tl::unexpected{log.error()};
  const auto known = setup_in_force(campaign, trial, &correction);
  if (!known) return tl::unexpected{known.error()};
  return noted(judge(campaign, trial, known->setup, *log ? &**log : nullptr), known->corrections);
}

Result<JudgedTrial> attach_flight_log(Campaign& campaign, std::int64_t trial, const FlightLog& log) {
  const auto row = campaign.trial(trial);
  if (!row) return tl::unexpected{row.error()};
  if (row->status == TrialStatus::aborted || row->status == TrialStatus::recording)
    return complain(row->status == TrialStatus::aborted ? "The trial was stopped before motion was seen and is not judged."
                                                        : "The trial is still being recorded.",
                    "trial " + std::to_string(trial),
                    "See the trials with: coldstroke show CAMPAIGN; name one that was recorded.");
  const auto known = setup_in_force(campaign, trial);
  if (!known) return tl::unexpected{known.error()};
  auto judged = noted(judge(campaign, trial, known->setup, &log), known->corrections);
  if (!judged) return judged;
  if (auto kept = keep_flight_log(campaign, trial, log); !kept) return tl::unexpected{kept.error()};
  const auto stored = campaign.add_result(trial, analysis::word(judged->result.verdict), result_json(judged->result));
  if (!stored) return tl::unexpected{stored.error()};
  return judged;
}

}  // namespace coldstroke::daq
