// SPDX-License-Identifier: GPL-3.0-or-later
//
// Lays a sheet out on pages. Everything is drawn, nothing is a picture. Lengths are points (1/72 inch).
#include <QBuffer>
#include <QFile>
#include <QFontMetricsF>
#include <QGuiApplication>
#include <QPainter>
#include <QPdfWriter>
#include <QSaveFile>
#include <QTextLayout>
#include <cmath>
#include <numeric>

#include "gui/report/figure_painter.hpp"
#include "gui/report/sheet.hpp"
#include "gui/report/whole_file.hpp"

namespace coldstroke::gui {
namespace {

constexpr double kMargin = 45.0, kHead = 22.0, kFoot = 26.0, kGap = 5.0, kCell = 3.0, kSignatureHeight = 44.0;
constexpr int kResolution = 1200;

QString text(const std::string& words) { return QString::fromStdString(words); }

QColor tone_colour(const std::string& verdict) {
  if (verdict == "pass") return {0x1A, 0x7A, 0x3A};
  if (verdict == "fail") return {0xB3, 0x23, 0x1B};
  if (verdict == "void") return {0xF3, 0xC3, 0x00};
  return {};
}

class Pages {
 public:
  Pages(QIODevice& device, const Sheet& sheet, PaperSize paper, int total) : writer_{&device}, sheet_{sheet}, total_{total} {
    writer_.setResolution(kResolution);
    writer_.setPageSize(QPageSize{paper == PaperSize::a4 ? QPageSize::A4 : QPageSize::Letter});
    writer_.setPageMargins(QMarginsF{});
    writer_.setTitle(text(sheet.title));
    writer_.setCreator("coldstroke");
    const QSizeF points = writer_.pageLayout().pageSize().size(QPageSize::Point);
    width_ = points.width() - 2.0 * kMargin;
    bottom_ = points.height() - kMargin - kFoot;
    page_height_ = points.height();
  }

  /// Number of pages, or 0 if the writer could not begin.
  int draw() {
    if (!painter_.begin(&writer_)) return 0;
    // From here on in points; a font of n points is n of these units high whatever the device's resolution.
    painter_.scale(kResolution / 72.0, kResolution / 72.0);
    begin_page();
    words(sheet_.title, 15.0, true, 0.0);
    words(sheet_.subtitle, 8.5, false, 4.0, QColor{colour(Ink::muted)});
    for (std::size_t k = 0; k < sheet_.blocks.size(); ++k) {
      next_ = k + 1;
      std::visit([&](const auto& block) { put(block); }, sheet_.blocks[k]);
    }
    painter_.end();
    return page_;
  }

 private:
  /// Broken between words, inside one only where it is longer than the line.
  static double lay_out(QTextLayout& layout, double width) {
    QTextOption option;
    option.setWrapMode(QTextOption::WrapAtWordBoundaryOrAnywhere);
    layout.setTextOption(option);
    double height = 0.0;
    layout.beginLayout();
    for (QTextLine line = layout.createLine(); line.isValid(); line = layout.createLine()) {
      line.setLineWidth(width * kWordScale);
      line.setPosition({0.0, height});
      height += line.height();
    }
    layout.endLayout();
    return height / kWordScale;
  }
  static double measured(const QString& words, double size, bool bold, double width) {
    QTextLayout layout{words, word_font(size, bold)};
    return lay_out(layout, width);
  }
  void draw_words(const QPointF& place, double width, const QString& words, double size, bool bold, const QColor& ink) {
    QTextLayout layout{words, word_font(size, bold)};
    lay_out(layout, width);
    painter_.save();
    painter_.translate(place);
    painter_.scale(1.0 / kWordScale, 1.0 / kWordScale);
    painter_.setPen(ink);
    layout.draw(&painter_, QPointF{});
    painter_.restore();
  }

  void begin_page() {
    if (page_ > 0) writer_.newPage();
    ++page_;
    y_ = kMargin + kHead;
    const QColor muted{colour(Ink::muted)};
    draw_words({kMargin, kMargin - 6.0}, width_ - 80.0, text(sheet_.title), 7.5, true, muted);
    const QString of = QString{"page %1 of %2"}.arg(page_).arg(total_);
    const double wide = QFontMetricsF{word_font(7.5, false)}.horizontalAdvance(of) / kWordScale;
    draw_words({kMargin + width_ - wide, kMargin - 6.0}, wide + 4.0, of, 7.5, false, muted);
    painter_.setPen(QPen{QColor{colour(Ink::grid)}, 0.6});
    painter_.drawLine(QPointF{kMargin, kMargin + 8.0}, QPointF{kMargin + width_, kMargin + 8.0});
    painter_.drawLine(QPointF{kMargin, page_height_ - kMargin - 14.0}, QPointF{kMargin + width_, page_height_ - kMargin - 14.0});
    draw_words({kMargin, page_height_ - kMargin - 11.0}, width_, text(sheet_.foot), 6.8, false, muted);
  }
  void need(double height) {
    if (y_ + height > bottom_ && y_ > kMargin + kHead + 1.0) begin_page();
  }
  void words(const std::string& what, double points, bool bold, double before, QColor ink = QColor{colour(Ink::ink)},
             double indent = 0.0) {
    if (what.empty()) return;
    const QString line = text(what);
    const double height = measured(line, points, bold, width_ - indent);
    need(height + before);
    y_ += before;
    draw_words({kMargin + indent, y_}, width_ - indent, line, points, bold, ink);
    y_ += height;
  }

  /// Texts right before a figure or the signatures stay on its page.
  bool leads_into_whole(std::size_t block) const {
    if (!std::holds_alternative<SheetText>(sheet_.blocks[block]) || block + 1 >= sheet_.blocks.size()) return false;
    const SheetBlock& next = sheet_.blocks[block + 1];
    return std::holds_alternative<Figure>(next) || std::holds_alternative<SheetSignatures>(next) || leads_into_whole(block + 1);
  }
  /// Room that the start of a block wants, so that no heading is left alone at the foot of a page, nor with one line of text.
  double room_of(std::size_t block) const {
    if (block >= sheet_.blocks.size()) return 0.0;
    if (const auto* figure = std::get_if<Figure>(&sheet_.blocks[block])) return figure->height * width_ / figure->width + kGap;
    if (const auto* fields = std::get_if<SheetSignatures>(&sheet_.blocks[block]))
      return kSignatureHeight * static_cast<double>(fields->roles.size());
    return leads_into_whole(block) ? 24.0 + room_of(block + 1) : 44.0;
  }
  void put(const SheetHeading& heading) {
    need(24.0 + room_of(next_));
    words(heading.text, 11.0, true, 12.0);
    painter_.setPen(QPen{QColor{colour(Ink::grid)}, 0.6});
    painter_.drawLine(QPointF{kMargin, y_ + 2.0}, QPointF{kMargin + width_, y_ + 2.0});
    y_ += 4.0;
  }
  void put(const SheetText& block) {
    if (block.tone != TextTone::banner)
      return words(block.text, block.tone == TextTone::strong ? 10.5 : 8.5, block.tone == TextTone::strong, kGap,
                   QColor{colour(block.tone == TextTone::muted ? Ink::muted : Ink::ink)});
    const QString line = text(block.text);
    const double height = measured(line, 8.5, true, width_ - 16.0);
    need(height + 22.0);
    y_ += kGap + 2.0;
    painter_.setPen(QPen{QColor{colour(Ink::ink)}, 1.2, Qt::DashLine});
    painter_.setBrush(Qt::NoBrush);
    painter_.drawRect(QRectF{kMargin, y_, width_, height + 10.0});
    draw_words({kMargin + 8.0, y_ + 5.0}, width_ - 16.0, line, 8.5, true, QColor{colour(Ink::ink)});
    y_ += height + 12.0;
  }
  void put(const SheetList& list) {
    for (const std::string& line : list.lines) {
      const double before = y_;
      const int page = page_;
      words(line, 8.0, false, 3.0, QColor{colour(Ink::ink)}, 10.0);
      const double top = page == page_ ? before + 3.0 : kMargin + kHead + 3.0;
      draw_words({kMargin + 1.0, top}, 8.0, "•", 8.0, false, QColor{colour(Ink::muted)});
    }
  }

  std::vector<double> columns(const SheetTable& table) const {
    const double sum = std::accumulate(table.widths.begin(), table.widths.end(), 0.0);
    std::vector<double> widths;
    for (const double part : table.widths) widths.push_back(width_ * part / sum);
    return widths;
  }
  static double row_height(const std::vector<std::string>& row, const std::vector<double>& widths, bool head) {
    double height = 8.0;
    for (std::size_t c = 0; c < row.size(); ++c)
      height = std::max(height, measured(text(row[c]), 7.2, head, widths[c] - 2.0 * kCell));
    return height + 4.0;
  }
  void draw_row(const std::vector<std::string>& row, const std::vector<double>& widths, double height, bool head) {
    double x = kMargin;
    for (std::size_t c = 0; c < row.size(); ++c) {
      const QColor chip = head ? QColor{} : tone_colour(row[c]);
      QColor ink{colour(head ? Ink::muted : Ink::ink)};
      if (chip.isValid()) {
        painter_.fillRect(QRectF{x + 1.0, y_ + 1.0, widths[c] - 4.0, height - 2.5}, chip);
        ink = row[c] == "void" ? QColor{colour(Ink::ink)} : QColor{Qt::white};
      }
      draw_words({x + kCell, y_ + 1.5}, widths[c] - 2.0 * kCell, text(row[c]), 7.2, head || chip.isValid(), ink);
      x += widths[c];
    }
    y_ += height;
    painter_.setPen(QPen{QColor{colour(Ink::grid)}, 0.5});
    painter_.drawLine(QPointF{kMargin, y_}, QPointF{kMargin + width_, y_});
  }
  void put(const SheetTable& table) {
    const auto widths = columns(table);
    const double head = row_height(table.head, widths, true);
    y_ += kGap;
    need(head + (table.rows.empty() ? 0.0 : row_height(table.rows.front(), widths, false)));
    draw_row(table.head, widths, head, true);
    for (const auto& row : table.rows) {
      const double height = row_height(row, widths, false);
      const int page = page_;
      need(height);
      if (page_ != page) draw_row(table.head, widths, head, true);
      draw_row(row, widths, height, false);
    }
  }

  void put(const Figure& figure) {
    const double scale = width_ / figure.width;
    need(figure.height * scale + kGap);
    y_ += kGap;
    painter_.save();
    painter_.translate(kMargin, y_);
    painter_.scale(scale, scale);
    paint_figure(painter_, figure);
    painter_.restore();
    y_ += figure.height * scale;
  }
  void put(const SheetSignatures& signatures) {
    need(room_of(next_ - 1));
    for (const std::string& role : signatures.roles) {
      y_ += 30.0;
      painter_.setPen(QPen{QColor{colour(Ink::ink)}, 0.6});
      const double third = width_ / 3.0;
      for (int k = 0; k < 3; ++k)
        painter_.drawLine(QPointF{kMargin + third * k, y_}, QPointF{kMargin + third * (k + 1) - 12.0, y_});
      const QColor muted{colour(Ink::muted)};
      draw_words({kMargin, y_ + 2.0}, third - 12.0, text(role) + ": name", 7.2, false, muted);
      draw_words({kMargin + third, y_ + 2.0}, third - 12.0, "signature", 7.2, false, muted);
      draw_words({kMargin + 2.0 * third, y_ + 2.0}, third - 12.0, "date", 7.2, false, muted);
      y_ += kSignatureHeight - 30.0;
    }
  }

  QPdfWriter writer_;
  QPainter painter_;
  const Sheet& sheet_;
  std::size_t next_ = 0;  ///< place of the block after the one being drawn
  int total_ = 0, page_ = 0;
  double width_ = 0.0, bottom_ = 0.0, page_height_ = 0.0, y_ = 0.0;
};

}  // namespace

Result<int> write_sheet_pdf(const std::filesystem::path& file, const Sheet& sheet, PaperSize paper) {
  if (auto ordinary = check_ordinary(file); !ordinary) return tl::unexpected{ordinary.error()};
  // Once to count the pages, once with their number on each.
  QBuffer nowhere;
  nowhere.open(QIODevice::WriteOnly);
  const int total = Pages{nowhere, sheet, paper, 0}.draw();
  QSaveFile out{QString::fromStdString(file.string())};
  const auto refuse = [&](const QString& why) {
    return complain("The sheet could not be written: " + why.toStdString() + ".", file.string(),
                    "Check that the folder can be written and has room, or name another file.");
  };
  if (total == 0 || !out.open(QIODevice::WriteOnly)) return refuse(out.errorString());
  const int pages = Pages{out, sheet, paper, total}.draw();
  if (!out.commit()) return refuse(out.errorString());
  return pages;
}

}  // namespace coldstroke::gui
