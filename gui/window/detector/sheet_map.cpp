// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/detector/sheet_map.hpp"

#include <algorithm>

#include "analysis/detector/axis_around.hpp"
#include "daq/detector/campaign_library.hpp"
#include "daq/detector/map_job.hpp"
#include "daq/playback/board_claims.hpp"
#include "gui/window/detector/map_drawing.hpp"

namespace coldstroke::gui {
namespace {

constexpr std::size_t kSteps = 24, kMostFindings = 12;
const QSizeF kSize{1000.0, 600.0};

std::string counted_words(std::span<const analysis::Recording> library) {
  const auto fire = std::ranges::count(library, analysis::Label::must_fire, &analysis::Recording::label);
  const auto silent = static_cast<std::ptrdiff_t>(library.size()) - fire;
  return std::to_string(fire) + (fire == 1 ? " recording" : " recordings") + " must fire, " + std::to_string(silent) +
         " must stay silent";
}

/// Findings of the same kind are one line: the first, and how many more.
std::vector<std::string> short_findings(const std::vector<analysis::Finding>& findings,
                                        const std::vector<std::string>& left_out) {
  std::vector<std::string> lines;
  std::vector<std::string> kinds;
  for (const analysis::Finding& finding : findings) {
    if (std::ranges::find(kinds, finding.kind) != kinds.end()) continue;
    kinds.push_back(finding.kind);
    const auto alike = std::ranges::count(findings, finding.kind, &analysis::Finding::kind);
    lines.push_back((finding.channel.empty() ? "" : finding.channel + ": ") + finding.message +
                    (alike > 1 ? " (and " + std::to_string(alike - 1) + " more of this kind)" : ""));
  }
  for (const std::string& line : left_out) lines.push_back("Left out: " + line);
  if (lines.size() > kMostFindings) {
    const std::size_t more = lines.size() - kMostFindings;
    lines.resize(kMostFindings);
    lines.push_back("and " + std::to_string(more) + " more");
  }
  return lines;
}

/// Fills in figure and sentences.
Result<void> draw(std::span<const analysis::Recording> library, const std::string& flight_identity,
                  const std::vector<std::string>& left_out, SheetMap& out) {
  const auto claims = daq::archived_claims(flight_identity);
  if (!claims) return tl::unexpected{claims.error()};
  auto spec = daq::claimed_detector(*claims);
  if (!spec) return tl::unexpected{spec.error()};
  const auto plan = plan_operating_map(library, *spec, axis_around(*spec, analysis::MapParameter::window_seconds, kSteps),
                                       axis_around(*spec, analysis::MapParameter::threshold, kSteps));
  if (!plan) return tl::unexpected{plan.error()};
  const auto settings = settings_of(*spec);
  if (!settings) return tl::unexpected{settings.error()};
  auto map = daq::compute_map(*plan);
  MapFigure figure{std::move(*map), {}, QString::fromStdString(word(spec->kind)) + ", as the flight board says", {}, {}};
  complete_figure(figure, *spec);
  figure.proposed.reset();  // the sheet states, it does not propose
  const analysis::MapCell now = map_cell(plan->library, *settings);
  out.present = "Under the setting in force: " + words_of(now.outcome).toStdString() + ". In time " +
                std::to_string(now.in_time) + ", late " + std::to_string(now.late) + ", missed " + std::to_string(now.missed) +
                ", early " + std::to_string(now.early) + ", false decisions " + std::to_string(now.false_decisions) +
                ", silent " + std::to_string(now.silent) + ".";
  out.region = region_sentence(figure).toStdString();
  out.figure = figure_of(map_shapes(figure, kSize, light_look()), kSize);
  out.figure->label = "operating map of the board's own detector, window by threshold";
  out.findings = short_findings(plan->library.findings, left_out);
  return {};
}

}  // namespace

Result<std::optional<SheetMap>> read_sheet_map(const std::filesystem::path& campaign, const std::string& flight_identity,
                                               const daq::Progress& progress) {
  std::vector<std::string> left_out;
  const auto library = daq::library_of_campaign(campaign, left_out, progress);
  if (!library) return tl::unexpected{library.error()};
  if (library->empty()) return std::optional<SheetMap>{};
  SheetMap out;
  out.library = counted_words(*library);
  if (const auto drawn = draw(*library, flight_identity, left_out, out); !drawn)
    out.why_not = drawn.error().what + " (" + drawn.error().where + ")";
  return std::optional{std::move(out)};
}

Result<SheetInput> read_mapped_sheet(const std::filesystem::path& campaign, const SheetRequest& request,
                                     const daq::Progress& progress) {
  auto input = read_sheet(campaign, request, progress);
  if (!input) return input;
  auto map = read_sheet_map(campaign, input->flight_identity, progress);
  if (!map) return tl::unexpected{map.error()};
  input->map = std::move(*map);
  return input;
}

}  // namespace coldstroke::gui
