// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/look.hpp"

#include <QApplication>
#include <QProxyStyle>
#include <QStyleOption>
#include <QWidget>
#include <cmath>

namespace coldstroke::gui {
namespace {

Look make_look(bool dark) {
  Look look;
  look.dark = dark;
  look.paper = dark ? 0x14181D : 0xF5F4F0;
  look.sheet = dark ? 0x1C2229 : 0xFFFFFF;
  look.line = dark ? 0x39424D : 0xCFCBC2;
  look.ink = dark ? 0xE9EAEC : 0x1E2329;
  look.muted = dark ? 0xA3ABB5 : 0x565C66;
  look.safe = 0x1A7A3A;
  look.abnormal = 0xF3C300;
  look.danger = 0xB3231B;
  look.danger_line = dark ? 0xFF8A80 : 0xB3231B;
  look.mandatory = 0x1D5DB8;
  look.unknown = 0x646B76;
  look.force = dark ? 0x4DA6DB : 0x0072B2;
  look.supply = dark ? 0xE69F00 : 0xA86E00;
  look.chamber = dark ? 0x8CD0F5 : 0x2A83B8;
  look.acceleration = dark ? 0xDE9CC1 : 0xA8457F;
  look.current = look.ink;
  return look;
}

// Fusion's own edge of a text field is fainter than 3:1 in the dark look, and its focus hard to see in sunlight.
class LookStyle : public QProxyStyle {
 public:
  LookStyle() : QProxyStyle{QStringLiteral("fusion")} {}
  void drawPrimitive(PrimitiveElement element, const QStyleOption* option, QPainter* painter,
                     const QWidget* widget) const override {
    if (element != PE_FrameLineEdit) return QProxyStyle::drawPrimitive(element, option, painter, widget);
    const bool focus = (option->state & State_HasFocus) != 0;
    const double wide = focus ? 2.0 : 1.0;
    painter->save();
    painter->setBrush(Qt::NoBrush);
    painter->setPen(QPen{option->palette.color(focus ? QPalette::Text : QPalette::PlaceholderText), wide, Qt::SolidLine,
                         Qt::SquareCap, Qt::MiterJoin});
    painter->drawRect(QRectF{option->rect}.adjusted(0.5 * wide, 0.5 * wide, -0.5 * wide, -0.5 * wide));
    painter->restore();
  }
};

}  // namespace

QColor Look::fill(Meaning meaning) const {
  switch (meaning) {
    case Meaning::safe:
      return safe;
    case Meaning::abnormal:
      return abnormal;
    case Meaning::danger:
      return danger;
    case Meaning::mandatory:
      return mandatory;
    case Meaning::unknown:
      return unknown;
    case Meaning::none:
      break;
  }
  return sheet;
}

QColor Look::text_on(Meaning meaning) const {
  if (meaning == Meaning::none) return ink;
  return meaning == Meaning::abnormal ? QColor{0x1E2329} : QColor{Qt::white};
}

QColor Look::trace(analysis::Role role) const {
  switch (role) {
    case analysis::Role::force:
      return force;
    case analysis::Role::supply_pressure:
      return supply;
    case analysis::Role::chamber_pressure:
      return chamber;
    case analysis::Role::vehicle_acceleration:
      return acceleration;
    case analysis::Role::lateral_acceleration:
    case analysis::Role::second_lateral_acceleration:
    case analysis::Role::tilt_rate:
    case analysis::Role::second_tilt_rate:
    case analysis::Role::dummy_load_current:
    case analysis::Role::other:
      break;
  }
  return current;
}

QPalette Look::palette() const {
  QPalette all;
  all.setColor(QPalette::Window, paper);
  all.setColor(QPalette::WindowText, ink);
  all.setColor(QPalette::Base, sheet);
  all.setColor(QPalette::AlternateBase, paper);
  all.setColor(QPalette::Text, ink);
  all.setColor(QPalette::Button, dark ? QColor{0x2A323B} : QColor{0xEAE7E0});
  all.setColor(QPalette::ButtonText, ink);
  all.setColor(QPalette::ToolTipBase, sheet);
  all.setColor(QPalette::ToolTipText, ink);
  all.setColor(QPalette::PlaceholderText, muted);
  all.setColor(QPalette::Highlight, mandatory);
  all.setColor(QPalette::HighlightedText, Qt::white);
  all.setColor(QPalette::Link, dark ? chamber : mandatory);
  all.setColor(QPalette::Mid, line);
  all.setColor(QPalette::Dark, line);
  all.setColor(QPalette::Light, sheet);
  for (const auto role : {QPalette::WindowText, QPalette::Text, QPalette::ButtonText})
    all.setColor(QPalette::Disabled, role, muted);
  return all;
}

const Look& light_look() {
  static const Look look = make_look(false);
  return look;
}

const Look& dark_look() {
  static const Look look = make_look(true);
  return look;
}

const Look& look_for(const QPalette& desktop) {
  const bool dark = desktop.color(QPalette::Window).lightness() < desktop.color(QPalette::WindowText).lightness();
  return dark ? dark_look() : light_look();
}

const Look& look_of(const QWidget* widget) { return look_for(widget->palette()); }

void apply_look(QApplication& application) {
  QApplication::setStyle(new LookStyle);
  application.setFont(type(kBodyPt));
}

QFont type(double points, bool bold) {
  QFont font{"DejaVu Sans"};
  font.setPointSizeF(points);
  font.setBold(bold);
  return font;
}

void paint_hatch(QPainter& painter, const QRectF& field, const QColor& colour) {
  painter.save();
  painter.setClipRect(field, Qt::IntersectClip);
  painter.setPen(QPen{colour, 1.0});
  const double height = field.height();
  for (double x = field.left() - height; x < field.right(); x += 8.0)
    painter.drawLine(QPointF{x, field.bottom()}, QPointF{x + height, field.top()});
  painter.restore();
}

void paint_field(QPainter& painter, const QRectF& field, Meaning meaning, const Look& look) {
  painter.fillRect(field, look.fill(meaning));
  if (meaning == Meaning::unknown) paint_hatch(painter, field, QColor{255, 255, 255, 40});
  if (look.dark && meaning != Meaning::none) {
    painter.setPen(QPen{look.ink, 1.0});
    painter.setBrush(Qt::NoBrush);
    painter.drawRect(field.adjusted(0.5, 0.5, -0.5, -0.5));
  }
}

void paint_chip(QPainter& painter, const QRectF& field, Meaning meaning, const Look& look, const QString& words,
                const QFont& font) {
  painter.save();
  paint_field(painter, field, meaning, look);
  painter.setFont(font);
  painter.setPen(look.text_on(meaning));
  painter.drawText(field, Qt::AlignCenter, words);
  painter.restore();
}

Meaning verdict_meaning(std::string_view word) {
  if (word == "pass") return Meaning::safe;
  if (word == "fail") return Meaning::danger;
  if (word == "void") return Meaning::abnormal;
  return Meaning::unknown;
}

QString verdict_label(std::string_view word) {
  const char* shape = word == "pass" ? "✓ " : word == "fail" ? "✗ " : word == "void" ? "□ " : "– ";
  return QString::fromUtf8(shape) + text(word);
}

QString text_lines(const std::vector<std::string>& lines) {
  QStringList all;
  for (const std::string& line : lines) all << text(line);
  return all.join('\n');
}

}  // namespace coldstroke::gui
