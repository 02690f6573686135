// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/record/recalibration.hpp"

#include <cmath>
#include <nlohmann/json.hpp>
#include <span>

#include "daq/setup/table_reader.hpp"

namespace coldstroke::daq {

namespace {

constexpr std::string_view kPrefix = "calibration/";  // of the attachment's name; docs/campaign-file.md

nlohmann::ordered_json json_of(const Recalibration& r) {
  const Calibration& c = r.calibration;
  nlohmann::ordered_json out{{"channel", r.channel},
                             {"scale", c.scale},
                             {"zero_counts", c.zero_counts},
                             {"gain_standard_uncertainty", c.gain_standard_uncertainty},
                             {"zero_standard_uncertainty", c.zero_standard_uncertainty},
                             {"reference", c.reference},
                             {"valid_until", c.valid_until},
                             {"curvature", c.curvature}};
  if (c.span) out["calibrated"] = {c.span->low, c.span->high};
  out["author"] = r.author;
  out["reason"] = r.reason;
  return out;
}

Result<Recalibration> read(const std::string& text, std::int64_t trial) {
  try {
    const auto json = nlohmann::json::parse(text);
    Recalibration r{
        json.at("channel").get<std::string>(), {}, json.at("author").get<std::string>(), json.at("reason").get<std::string>()};
    r.calibration = {json.at("scale").get<double>(),
                     json.at("zero_counts").get<double>(),
                     json.at("gain_standard_uncertainty").get<double>(),
                     json.at("zero_standard_uncertainty").get<double>(),
                     json.at("reference").get<std::string>(),
                     json.at("valid_until").get<std::string>(),
                     json.value("curvature", 0.0),  // files of before there were quadratics have none
                     std::nullopt};
    if (json.contains("calibrated"))
      r.calibration.span = {json.at("calibrated").at(0).get<double>(), json.at("calibrated").at(1).get<double>()};
    return r;
  } catch (const nlohmann::json::exception&) {
    return complain("A corrected calibration in the file cannot be understood.", "trial " + std::to_string(trial),
                    "The campaign file was changed by another program; check it with: coldstroke verify");
  }
}

Result<void> sound(const Recalibration& r) {
  const Calibration& c = r.calibration;
  const bool numbers = std::isfinite(c.scale) && c.scale != 0.0 && std::isfinite(c.zero_counts) &&
                       std::isfinite(c.gain_standard_uncertainty) && c.gain_standard_uncertainty >= 0.0 &&
                       std::isfinite(c.zero_standard_uncertainty) && c.zero_standard_uncertainty >= 0.0 &&
                       std::isfinite(c.curvature);
  if (!numbers)
    return complain("A calibration needs a scale that is not 0 and uncertainties that are not negative.",
                    "channel '" + r.channel + "'", "Give the numbers again.");
  if (!c.valid_until.empty() && !is_date(c.valid_until))
    return complain("valid_until is \"" + c.valid_until + "\", which is no date.", "channel '" + r.channel + "'",
                    "Give an existing date as YYYY-MM-DD (ISO 8601), or none.");
  if (r.author.empty() || r.reason.empty())
    return complain("Nobody, or no reason, is given for the correction.", "channel '" + r.channel + "'",
                    "Say who corrects the calibration and why: it stands beside the old one for good.");
  return {};
}

}  // namespace

Result<std::vector<Recalibration>> recalibrations(const Campaign& campaign, std::int64_t trial) {
  const auto attachments = campaign.attachments(trial);
  if (!attachments) return tl::unexpected{attachments.error()};
  std::vector<Recalibration> out;
  for (const Campaign::Attachment& attachment : *attachments) {
    if (!attachment.name.starts_with(kPrefix)) continue;
    auto correction = read({reinterpret_cast<const char*>(attachment.bytes.data()), attachment.bytes.size()}, trial);
    if (!correction) return tl::unexpected{correction.error()};
    out.push_back(std::move(*correction));
  }
  return out;
}

Result<void> keep_recalibration(Campaign& campaign, std::int64_t trial, const Recalibration& correction) {
  if (auto good = sound(correction); !good) return good;
  const std::string text = json_of(correction).dump(2);
  return campaign.add_attachment(trial, std::string{kPrefix} + correction.channel,
                                 std::as_bytes(std::span{text.data(), text.size()}));
}

Result<Setup> corrected(Setup setup, const std::vector<Recalibration>& corrections) {
  for (const Recalibration& correction : corrections) {
    if (auto good = sound(correction); !good) return tl::unexpected{good.error()};
    const auto channel = setup.channel_index(correction.channel);
    if (!channel) return tl::unexpected{channel.error()};
    setup.channels[*channel].calibration = correction.calibration;
  }
  return setup;
}

std::string sentence(const Recalibration& r) {
  return "channel '" + r.channel + "': calibration corrected by " + r.author + ": " + r.reason;
}

}  // namespace coldstroke::daq
