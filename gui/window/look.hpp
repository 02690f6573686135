// SPDX-License-Identifier: GPL-3.0-or-later
//
// The look in one place: colours by meaning, type sizes, and the few shapes that double every colour.
// Meanings follow IEC 60073; trace hues start from the Okabe-Ito set. Contrast of text is at least 4.5:1 (WCAG 2.2 AA).
#pragma once

#include <QColor>
#include <QFont>
#include <QPainter>
#include <QPalette>
#include <QString>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/trial/trace.hpp"

class QApplication;
class QWidget;

namespace coldstroke::gui {

/// What a coloured field says. `none` is plain.
enum class Meaning { none, safe, abnormal, danger, mandatory, unknown };

struct Look {
  bool dark = false;
  QColor paper, sheet, line, ink, muted;
  QColor safe, abnormal, danger, mandatory, unknown;
  QColor danger_line;  ///< danger as a thin line on the sheet, where the field's own red would be too dark
  QColor force, supply, chamber, acceleration, current;

  [[nodiscard]] QColor fill(Meaning meaning) const;
  [[nodiscard]] QColor text_on(Meaning meaning) const;
  [[nodiscard]] QColor trace(analysis::Role role) const;
  [[nodiscard]] QPalette palette() const;
};
[[nodiscard]] const Look& light_look();
[[nodiscard]] const Look& dark_look();
/// The look that goes with the palette in force on `widget`: dark if its window is darker than its text.
[[nodiscard]] const Look& look_of(const QWidget* widget);
[[nodiscard]] const Look& look_for(const QPalette& desktop);

/// Fusion style and DejaVu Sans 9.5 pt, so that the window is the same on every desktop. Call once, before any window.
void apply_look(QApplication& application);

/// Point sizes: body, heading, readout, headline.
inline constexpr double kBodyPt = 9.5, kHeadingPt = 11.0, kReadoutPt = 15.0, kHeadlinePt = 28.0;
[[nodiscard]] QFont type(double points, bool bold = false);

/// A field with a word in it; `unknown` carries a diagonal hatch, and every field an outline in the dark look.
void paint_field(QPainter& painter, const QRectF& field, Meaning meaning, const Look& look);
void paint_chip(QPainter& painter, const QRectF& field, Meaning meaning, const Look& look, const QString& words,
                const QFont& font);
/// Diagonal lines over `field`: stale, missing or unknown.
void paint_hatch(QPainter& painter, const QRectF& field, const QColor& colour);

/// Colour meaning and shape of a verdict word ("pass", "fail", "void", "aborted", ...).
[[nodiscard]] Meaning verdict_meaning(std::string_view word);
/// "✓ pass", "✗ fail", "□ void", "– aborted".
[[nodiscard]] QString verdict_label(std::string_view word);

[[nodiscard]] inline QString text(std::string_view utf8) {
  return QString::fromUtf8(utf8.data(), static_cast<qsizetype>(utf8.size()));
}
/// One below the other.
[[nodiscard]] QString text_lines(const std::vector<std::string>& lines);

}  // namespace coldstroke::gui
