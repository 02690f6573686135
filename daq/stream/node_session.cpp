// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/stream/node_session.hpp"

#include <algorithm>
#include <chrono>
#include <nlohmann/json.hpp>

namespace coldstroke::daq {

namespace {

/// One exchange every quarter of a second for hours stays small; older ones say nothing about the present drift.
constexpr std::size_t kExchangesKept = 4096;
/// Boards send a state every 20 ms; ten of them missing in a row is a cable, not noise.
constexpr std::chrono::milliseconds kSilence{250};

std::string hex(std::span<const std::uint8_t> bytes) {
  static constexpr std::string_view kDigits = "0123456789abcdef";
  std::string out;
  for (const std::uint8_t byte : bytes) {
    out += kDigits[byte >> 4U];
    out += kDigits[byte & 15U];
  }
  return out;
}

/// Text from a board goes to screens and files: printable ASCII only, anything else is shown as \xNN.
std::string printable(std::string_view text) {
  std::string out;
  for (const char c : text) {
    const auto byte = static_cast<std::uint8_t>(c);
    if (byte >= 0x20 && byte < 0x7F) {
      out += c;
    } else {
      out += "\\x" + hex({&byte, 1});
    }
  }
  return out;
}

template <class Item, class Key>
void put(std::vector<Item>& items, Item item, Key key) {
  const auto same = std::ranges::find(items, std::invoke(key, item), key);
  if (same == items.end()) {
    items.push_back(std::move(item));
  } else {
    *same = std::move(item);
  }
}

}  // namespace

std::span<const wire::Message> NodeSession::receive(HostTime arrival, std::span<const std::byte> bytes) {
  messages_.clear();
  // A board whose cable was off went on numbering its frames: that silence is one gap, seen as such, not a thousand lost frames.
  if (frame_time_ && arrival - *frame_time_ > kSilence) {
    decoder_.restart();
    ++silences_;
  }
  decoder_.feed(bytes, messages_);
  if (!messages_.empty()) frame_time_ = arrival;
  for (const wire::Message& message : messages_) absorb(arrival, message);
  return messages_;
}

void NodeSession::opened(std::uint32_t session) {
  open_ = true;
  session_ = session;
  identity_.reset();
  decoder_.restart();
  state_time_.reset();
  frame_time_.reset();
}

void NodeSession::closed() {
  open_ = false;
  identity_.reset();
  state_time_.reset();
  frame_time_.reset();
}

void NodeSession::absorb(HostTime arrival, const wire::Message& message) {
  if (const auto* identity = std::get_if<wire::Identity>(&message)) {
    // An answer to an earlier opening is stale: the line keeps old bytes (docs/wire.md, start-up dialogue).
    if (identity->session == session_ || session_ == 0) identity_ = *identity;
  } else if (const auto* stream = std::get_if<wire::StreamDescription>(&message)) {
    put(streams_, *stream, &wire::StreamDescription::stream);
  } else if (const auto* setting = std::get_if<wire::DetectorSetting>(&message)) {
    put(settings_, *setting, &wire::DetectorSetting::index);
  } else if (const auto* rig = std::get_if<wire::RigState>(&message)) {
    rig_state_ = *rig;
    state_time_ = arrival;
  } else if (const auto* flight = std::get_if<wire::FlightState>(&message)) {
    flight_state_ = *flight;
    state_time_ = arrival;
  } else if (const auto* reply = std::get_if<wire::ClockReply>(&message)) {
    if (exchanges_.size() == kExchangesKept) exchanges_.erase(exchanges_.begin());
    exchanges_.push_back({reply->t1_us, reply->t2_us, reply->t3_us, us_of(arrival)});
  }
}

bool NodeSession::compatible() const {
  return identity_ && trouble().empty() && streams_.size() >= identity_->stream_count &&
         settings_.size() >= identity_->setting_count;
}

std::string NodeSession::trouble() const {
  if (!identity_) return {};
  const auto kind = expected_ == Node::rig ? wire::NodeKind::rig_board : wire::NodeKind::flight_board;
  if (identity_->kind != kind) {
    const Node other = expected_ == Node::rig ? Node::flight : Node::rig;
    return std::string{"the port given for the "} + word(expected_) + " is answered by a " + word(other) +
           ": swap the two port names in the setup, or the two cables";
  }
  if (identity_->protocol_major != wire::kProtocolMajor)
    return "the board speaks protocol " + std::to_string(identity_->protocol_major) + ", this program speaks " +
           std::to_string(wire::kProtocolMajor) + ": update " +
           (identity_->protocol_major > wire::kProtocolMajor ? "this program" : "the board's firmware");
  return {};
}

const wire::StreamDescription* NodeSession::stream(std::uint8_t id) const {
  const auto found = std::ranges::find(streams_, id, &wire::StreamDescription::stream);
  return found == streams_.end() ? nullptr : &*found;
}

std::string NodeSession::identity_sentence() const {
  if (!identity_) return {};
  return printable(identity_->firmware_name) + " " + printable(identity_->firmware_version) + " (id " +
         hex(identity_->unique_id) + ")";
}

std::string NodeSession::identity_json() const {
  nlohmann::ordered_json out;
  if (!identity_) return "{}";
  out["kind"] = identity_->kind == wire::NodeKind::rig_board ? "rig board" : "flight board";
  out["unique_id"] = hex(identity_->unique_id);
  out["firmware_name"] = printable(identity_->firmware_name);
  out["firmware_version"] = printable(identity_->firmware_version);
  out["protocol"] = std::to_string(identity_->protocol_major) + "." + std::to_string(identity_->protocol_minor);
  out["boot_count"] = identity_->boot_count;
  for (const auto& setting : settings_) out["detector"][printable(setting.key)] = printable(setting.value);
  for (const auto& stream : streams_) {
    nlohmann::ordered_json channels = nlohmann::ordered_json::array();
    for (const auto& channel : stream.channels)
      channels.push_back({{"name", printable(channel.name)}, {"scale_hint", channel.scale_hint}});
    out["streams"].push_back(
        {{"stream", stream.stream}, {"bits", stream.bits}, {"period_ns", stream.period_ns}, {"channels", channels}});
  }
  return out.dump();
}

}  // namespace coldstroke::daq
