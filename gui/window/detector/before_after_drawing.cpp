// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/detector/before_after_drawing.hpp"
#include "gui/report/whole_file.hpp"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <sstream>

#include "analysis/pneumatics/stroke_model.hpp"
#include "analysis/statistics/wording.hpp"
#include "gui/report/figures.hpp"

namespace coldstroke::gui {
namespace {

constexpr std::size_t kMostCases = 6, kAcross = 2;
constexpr double kHead = 30.0, kFoot = 30.0, kGap = 10.0, kStripHead = 20.0, kLeft = 44.0, kUnder = 18.0;

using Case = BeforeAfterFigure::Case;

std::optional<double> decision_seconds(const analysis::RecordingResult& result, double sample_rate_hz) {
  if (!result.decision_index) return std::nullopt;
  return static_cast<double>(*result.decision_index) / sample_rate_hz;
}

/// The axis that is drawn, and the rates by which the decisions' samples are counted.
struct Watched {
  analysis::Axis axis = analysis::Axis::z;
  double rate_before_hz = 0.0, rate_after_hz = 0.0;
};

Case case_of(const analysis::Recording& recording, const analysis::BeforeAfterPair& pair, const Watched& watched) {
  Case out;
  out.words = text(pair.name + ": " + result_words(pair.before) + ", then " + result_words(pair.after));
  out.sample_rate_hz = recording.sample_rate_hz;
  for (const double mps2 : recording.along(watched.axis)) out.felt_g.push_back(mps2 / analysis::kStandardGravity);
  if (recording.label == analysis::Label::must_fire) {
    out.first_motion_seconds = recording.first_motion_seconds;
    out.deadline_seconds = recording.first_motion_seconds + recording.deadline_seconds;
  }
  out.before_seconds = decision_seconds(pair.before, watched.rate_before_hz);
  out.after_seconds = decision_seconds(pair.after, watched.rate_after_hz);
  return out;
}

Result<BeforeAfterFigure> figure_of(std::span<const analysis::Recording> library, analysis::BeforeAfter pairs,
                                    const QString& before, const QString& after, const Watched& watched, double margin_seconds) {
  auto answer = answer_before_after(pairs, before.toStdString(), after.toStdString(), margin_seconds);
  if (!answer) return tl::unexpected{answer.error()};
  BeforeAfterFigure out{before, after, std::move(pairs), std::move(*answer), {}};
  for (const std::size_t i : out.pairs.worst_first) {
    if (out.worst.size() >= kMostCases) break;
    out.worst.push_back(case_of(library[out.pairs.pairs[i].recording], out.pairs.pairs[i], watched));
  }
  return out;
}

/// One strip: time across, felt g upwards. Of a long recording what matters: motion, deadline and decisions.
struct Strip {
  QRectF field;
  double from_seconds = 0.0, to_seconds = 1.0, low_g = 0.0, high_g = 1.0;
  std::size_t first = 0, last = 0;  ///< samples shown
  [[nodiscard]] double x(double seconds) const {
    return field.left() + field.width() * (seconds - from_seconds) / (to_seconds - from_seconds);
  }
  [[nodiscard]] double y(double g) const { return field.bottom() - field.height() * (g - low_g) / (high_g - low_g); }
};

Strip strip_of(const Case& one, const QRectF& field) {
  Strip out;
  out.field = field;
  if (one.felt_g.empty()) return out;
  const double end = static_cast<double>(one.felt_g.size()) / one.sample_rate_hz;
  std::optional<double> low, high;
  for (const auto& instant : {one.first_motion_seconds, one.deadline_seconds, one.before_seconds, one.after_seconds}) {
    if (!instant) continue;
    low = std::min(low.value_or(*instant), *instant);
    high = std::max(high.value_or(*instant), *instant);
  }
  const double room = std::max(0.05, high.value_or(end) - low.value_or(0.0));
  out.from_seconds = std::clamp(low.value_or(0.0) - 0.5 * room, 0.0, end);
  out.to_seconds = std::clamp(high.value_or(end) + room, out.from_seconds, end);
  out.first = static_cast<std::size_t>(out.from_seconds * one.sample_rate_hz);
  out.last = std::clamp(static_cast<std::size_t>(out.to_seconds * one.sample_rate_hz), out.first + 1, one.felt_g.size());
  const auto [least, most] = std::minmax_element(one.felt_g.begin() + static_cast<std::ptrdiff_t>(out.first),
                                                 one.felt_g.begin() + static_cast<std::ptrdiff_t>(out.last));
  out.low_g = std::min(0.0, *least);
  out.high_g = std::max(*least + 1.0, *most) + 0.05 * std::max(1.0, *most - *least);
  return out;
}

/// Least and largest of the samples under each point of the picture, so that no peak is lost, as one upright line.
void add_trace(const Case& one, const Strip& strip, const Look& look, std::vector<FigureShape>& out) {
  const auto points = static_cast<std::size_t>(std::max(1.0, strip.field.width()));
  const std::size_t count = strip.last - strip.first;
  std::optional<double> last;
  for (std::size_t p = 0; p < points; ++p) {
    const std::size_t from = strip.first + p * count / points;
    const std::size_t to = std::min(strip.last, std::max(from + 1, strip.first + (p + 1) * count / points));
    if (from >= to) break;
    const auto [low, high] = std::minmax_element(one.felt_g.begin() + static_cast<std::ptrdiff_t>(from),
                                                 one.felt_g.begin() + static_cast<std::ptrdiff_t>(to));
    const double top = std::max(*high, last.value_or(*high)), bottom = std::min(*low, last.value_or(*low));
    const double x = strip.field.left() + static_cast<double>(p);
    out.push_back(line_shape({x, strip.y(top)}, {x, strip.y(bottom) + 1.0}, look.acceleration, 1.0));
    last = one.felt_g[to - 1];
  }
}

void add_instant(const std::optional<double>& seconds, const QString& letter, const Strip& strip, const QColor& colour,
                 bool dashed, double down, std::vector<FigureShape>& out) {
  if (!seconds || *seconds < strip.from_seconds || *seconds > strip.to_seconds) return;
  const double x = strip.x(*seconds);
  out.push_back(line_shape({x, strip.field.top()}, {x, strip.field.bottom()}, colour, 1.5, dashed));
  const bool left = x + 64.0 > strip.field.right();
  out.push_back(words_shape({left ? x - 63.0 : x + 3.0, strip.field.top() + down, 60.0, 13.0}, letter, colour,
                            static_cast<int>((left ? Qt::AlignRight : Qt::AlignLeft) | Qt::AlignVCenter), 8.0, true));
}

void add_case(const Case& one, const QRectF& box, const Look& look, std::vector<FigureShape>& out) {
  out.push_back(words_shape({box.left(), box.top(), box.width(), kStripHead - 2.0}, one.words, look.ink,
                            Qt::AlignLeft | Qt::AlignVCenter, 8.5, true));
  const Strip strip = strip_of(one, box.adjusted(kLeft, kStripHead, -6.0, -kUnder));
  out.push_back(field_shape(strip.field, look.paper));
  add_trace(one, strip, look, out);
  FigureShape frame = field_shape(strip.field, look.line);
  frame.kind = FigureShape::Kind::outline;
  out.push_back(frame);
  add_instant(one.first_motion_seconds, "motion", strip, look.muted, true, 0.0, out);
  add_instant(one.deadline_seconds, "deadline", strip, look.muted, true, 13.0, out);
  add_instant(one.before_seconds, "before", strip, look.danger_line, false, 26.0, out);
  add_instant(one.after_seconds, "after", strip, look.ink, false, 39.0, out);
  const auto scale = [&](double g, double y) {
    out.push_back(words_shape({box.left(), y, kLeft - 4.0, 14.0}, text(decimal(g, 1) + " g"), look.ink,
                              Qt::AlignRight | Qt::AlignVCenter, 8.0));
  };
  scale(strip.high_g, strip.field.top());
  scale(strip.low_g, strip.field.bottom() - 14.0);
  out.push_back(words_shape({strip.field.left(), strip.field.bottom() + 2.0, 90.0, 14.0},
                            QString::number(strip.from_seconds * 1000.0, 'f', 0) + " ms", look.ink,
                            Qt::AlignLeft | Qt::AlignVCenter, 8.0));
  out.push_back(words_shape({strip.field.right() - 90.0, strip.field.bottom() + 2.0, 90.0, 14.0},
                            QString::number(strip.to_seconds * 1000.0, 'f', 0) + " ms", look.ink,
                            Qt::AlignRight | Qt::AlignVCenter, 8.0));
}

std::string number(const std::optional<double>& value) { return value ? analysis::statistics::fixed(*value, 6) : std::string{}; }

/// A name may hold commas and quotes (RFC 4180).
std::string quoted(const std::string& words) {
  std::string out = "\"";
  for (const char c : words) out += c == '"' ? "\"\"" : std::string(1, c);
  return out + '"';
}

}  // namespace

std::string result_words(const analysis::RecordingResult& result) {
  std::string out = word(result.outcome);
  std::ranges::replace(out, '_', ' ');
  if (result.latency_seconds) out += " (" + analysis::statistics::fixed(*result.latency_seconds * 1000.0, 1) + " ms)";
  return out;
}

Result<BeforeAfterFigure> before_after_figure(std::span<const analysis::Recording> library, const analysis::DetectorSpec& before,
                                              const analysis::DetectorSpec& after, double margin_seconds) {
  auto pairs = compare_detectors(library, before, after);
  if (!pairs) return tl::unexpected{pairs.error()};
  return figure_of(library, std::move(*pairs), text(before.name), text(after.name),
                   {after.axis, before.board.sample_rate_hz, after.board.sample_rate_hz}, margin_seconds);
}

Result<PlayedSide> read_played_side(const std::filesystem::path& file) {
  auto answers = daq::read_played_answers(file);
  if (!answers) return tl::unexpected{answers.error()};
  // Two settings of one firmware bear the same name, so the file's own, which a person chose, stands first.
  const std::string name = file.stem().string() + ", " + answers->firmware();
  return PlayedSide{text(name), std::move(*answers)};
}

Result<BeforeAfterFigure> played_figure(std::span<const analysis::Recording> library, const PlayedSide& before,
                                        const PlayedSide& after, double margin_seconds) {
  auto compared = daq::compare_played(library, before.answers, after.answers);
  if (!compared) return tl::unexpected{compared.error()};
  const Watched watched{compared->axis, compared->rate_before_hz, compared->rate_after_hz};
  auto figure = figure_of(library, std::move(compared->pairs), before.name, after.name, watched, margin_seconds);
  if (figure) figure->findings = std::move(compared->findings);
  return figure;
}

std::vector<FigureShape> before_after_shapes(const BeforeAfterFigure& figure, const QSizeF& size, const Look& look) {
  std::vector<FigureShape> out{field_shape(QRectF{QPointF{0.0, 0.0}, size}, look.sheet)};
  out.push_back(words_shape({4.0, 4.0, size.width() - 8.0, 20.0},
                            QString{"Worst cases: %1 (before), %2 (after)"}.arg(figure.before, figure.after), look.ink,
                            Qt::AlignLeft | Qt::AlignVCenter, kHeadingPt, true));
  const std::size_t down = (figure.worst.size() + kAcross - 1) / kAcross;
  if (down == 0) return out;
  const double width = (size.width() - kGap * (kAcross + 1)) / static_cast<double>(kAcross);
  const double height = (size.height() - kHead - kFoot - kGap * static_cast<double>(down)) / static_cast<double>(down);
  for (std::size_t i = 0; i < figure.worst.size(); ++i) {
    const std::size_t column = i % kAcross, row = i / kAcross;
    add_case(
        figure.worst[i],
        {kGap + static_cast<double>(column) * (width + kGap), kHead + static_cast<double>(row) * (height + kGap), width, height},
        look, out);
  }
  out.push_back(words_shape({kGap, size.height() - 24.0, size.width() - 2.0 * kGap, 18.0},
                            "felt g along the watched axis; red line: decision before, black or white line: decision after",
                            look.muted, Qt::AlignLeft | Qt::AlignVCenter));
  return out;
}

std::string before_after_csv(const BeforeAfterFigure& figure) {
  std::string out =
      "recording,label,before,before_decision_sample,before_latency_seconds,after,after_decision_sample,after_latency_"
      "seconds\r\n";
  for (const auto& pair : figure.pairs.pairs) {
    out += quoted(pair.name) + "," + word(pair.label);
    for (const auto* result : {&pair.before, &pair.after})
      out += std::string{","} + word(result->outcome) + "," +
             (result->decision_index ? std::to_string(*result->decision_index) : std::string{}) + "," +
             number(result->latency_seconds);
    out += "\r\n";
  }
  return out;
}

std::string before_after_json(const BeforeAfterFigure& figure) {
  using Json = nlohmann::ordered_json;
  const auto& pairs = figure.pairs;
  const auto result = [](const analysis::RecordingResult& one) {
    Json out{{"outcome", word(one.outcome)}};
    if (one.decision_index) out["decision_sample"] = *one.decision_index;
    if (one.latency_seconds) out["latency_seconds"] = *one.latency_seconds;
    return out;
  };
  Json recordings = Json::array(), worst = Json::array();
  for (const auto& pair : pairs.pairs)
    recordings.push_back(
        {{"recording", pair.name}, {"label", word(pair.label)}, {"before", result(pair.before)}, {"after", result(pair.after)}});
  for (const std::size_t i : pairs.worst_first) worst.push_back(pairs.pairs[i].name);
  Json findings = Json::array();
  for (const auto& finding : figure.findings)
    findings.push_back({{"kind", finding.kind}, {"recording", finding.channel}, {"message", finding.message}});
  return Json{{"before", figure.before.toStdString()},
              {"after", figure.after.toStdString()},
              {"sentence", figure.answer.sentence},
              {"numbers", figure.answer.numbers},
              {"right_before", pairs.right_before},
              {"wrong_before", pairs.wrong_before},
              {"right_after", pairs.right_after},
              {"wrong_after", pairs.wrong_after},
              {"mended", pairs.mended},
              {"broken", pairs.broken},
              {"recordings", std::move(recordings)},
              {"worst_first", std::move(worst)},
              {"findings", std::move(findings)}}
      .dump(1, ' ', false, Json::error_handler_t::replace);
}

Result<void> write_before_after(const std::filesystem::path& file, const BeforeAfterFigure& figure) {
  if (file.extension() == ".csv") return write_whole(file, before_after_csv(figure));
  if (file.extension() == ".json") return write_whole(file, before_after_json(figure));
  const QSizeF size{1000.0, 760.0};
  return write_figure(file, before_after_shapes(figure, size, light_look()), size);
}

}  // namespace coldstroke::gui
