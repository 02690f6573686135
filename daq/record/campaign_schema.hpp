// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <string_view>

namespace coldstroke::daq {

/// "CoST" in ASCII, big-endian, at byte 68 of the file: marks a SQLite file as a campaign.
inline constexpr std::int32_t kCampaignApplicationId = 0x436F5354;

/// All statements that make the tables of schema version kCampaignSchemaVersion. Explained in docs/campaign-file.md.
[[nodiscard]] std::string_view campaign_schema();

}  // namespace coldstroke::daq
