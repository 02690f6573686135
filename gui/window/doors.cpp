// SPDX-License-Identifier: GPL-3.0-or-later
//
// From the window to the world: which files lie where, and what is started.
#include <QDir>
#include <QStandardPaths>

#include "daq/bench/live_bench.hpp"
#include "daq/record/campaign.hpp"
#include "daq/setup/setup.hpp"
#include "gui/report/campaign_file_source.hpp"
#include "gui/window/live_bench_source.hpp"
#include "gui/window/main_window.hpp"

namespace coldstroke::gui {
namespace {

std::filesystem::path documents() {
  const QString folder = QStandardPaths::writableLocation(QStandardPaths::DocumentsLocation);
  return std::filesystem::path{folder.isEmpty() ? QDir::homePath().toStdString() : folder.toStdString()};
}

Result<OpenedBench> start(daq::LiveBench::Options options) {
  const std::filesystem::path campaign = options.campaign;
  std::error_code failed;
  std::filesystem::create_directories(campaign.parent_path(), failed);
  if (failed)
    return complain("The folder for the campaign file cannot be made: " + failed.message() + ".", campaign.parent_path().string(),
                    "Make it, or free the name.");
  auto bench = daq::LiveBench::start(std::move(options));
  if (!bench) return tl::unexpected{bench.error()};
  return OpenedBench{std::make_unique<LiveBenchSource>(std::move(*bench)), campaign};
}

Result<OpenedBench> start_virtual() {
  auto setup = daq::parse_setup(daq::virtual_setup_text(), "built-in setup of the virtual rig");
  if (!setup) return tl::unexpected{setup.error()};
  return start({.setup = std::move(*setup), .campaign = documents() / "virtual-rig.coldstroke", .virtual_rig = true});
}

Result<OpenedBench> start_setup(const std::filesystem::path& given) {
  std::error_code failed;
  const std::filesystem::path whole = std::filesystem::absolute(given, failed);
  const std::filesystem::path& file = failed ? given : whole;  // a bare name has no folder for the campaign beside it
  auto setup = daq::load_setup(file);
  if (!setup) return tl::unexpected{setup.error()};
  return start({.setup = std::move(*setup), .campaign = std::filesystem::path{file}.replace_extension(".coldstroke")});
}

Result<std::shared_ptr<const TrialSource>> open_campaign(const std::filesystem::path& file) {
  auto campaign = daq::Campaign::open_read_only(file);
  if (!campaign) return tl::unexpected{campaign.error()};
  return std::shared_ptr<const TrialSource>{std::make_shared<CampaignFileSource>(file)};
}

Result<void> add_note(const std::filesystem::path& file, std::int64_t trial, const std::string& author,
                      const std::string& words) {
  auto campaign = daq::Campaign::open_or_create(file, {});
  if (!campaign) return tl::unexpected{campaign.error()};
  return campaign->add_note(trial, author, words);
}

Result<void> void_trial(const std::filesystem::path& file, std::int64_t trial, const std::string& person,
                        const std::string& reason) {
  auto campaign = daq::Campaign::open_or_create(file, {});
  if (!campaign) return tl::unexpected{campaign.error()};
  return campaign->void_by_hand(trial, person, reason);
}

}  // namespace

WindowDoors real_doors() {
  return {start_virtual, start_setup, [](const auto& file) { return daq::load_setup(file); }, open_campaign, add_note,
          void_trial,    sound};
}

}  // namespace coldstroke::gui
