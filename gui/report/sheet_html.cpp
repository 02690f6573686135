// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/sheet.hpp"

namespace coldstroke::gui {
namespace {

constexpr const char* kStyle = R"(
:root{color-scheme:light}
body{font:10pt/1.4 "DejaVu Sans",sans-serif;color:#1E2329;background:#fff;max-width:1040px;margin:0 auto;padding:20px;
 font-variant-numeric:tabular-nums}
h1{font-size:15pt;margin:0 0 4px}h2{font-size:12pt;margin:22px 0 6px;border-bottom:1px solid #CFCBC2}
table{border-collapse:collapse;width:100%;margin:8px 0}td,th{text-align:left;padding:3px 8px;border-bottom:1px solid #CFCBC2;
 vertical-align:top;overflow-wrap:anywhere}th{color:#565C66;font-weight:normal}
.pass,.fail,.void{font-weight:bold}.pass{background:#1A7A3A;color:#fff}.fail{background:#B3231B;color:#fff}
.void{background:#F3C300}.strong{font-weight:bold;font-size:12pt}.muted,footer{color:#565C66}
.banner{border:2px dashed #1E2329;padding:6px 10px;font-weight:bold}svg{width:100%;height:auto}
.sign{display:grid;grid-template-columns:1fr 1fr 1fr;gap:24px}.sign div{border-top:1px solid #1E2329;margin-top:44px;color:#565C66}
footer{border-top:1px solid #CFCBC2;margin-top:24px;overflow-wrap:anywhere}
@media print{body{padding:0}tr,svg{break-inside:avoid}}
)";

struct HtmlWriter {
  std::string html;

  void operator()(const SheetHeading& heading) { html += "<h2>" + escaped(heading.text) + "</h2>\n"; }
  void operator()(const SheetText& block) {
    const char* style = block.tone == TextTone::strong   ? " class=\"strong\""
                        : block.tone == TextTone::muted  ? " class=\"muted\""
                        : block.tone == TextTone::banner ? " class=\"banner\""
                                                         : "";
    html += "<p" + std::string{style} + ">" + escaped(block.text) + "</p>\n";
  }
  void operator()(const SheetList& list) {
    if (list.lines.empty()) return;
    html += "<ul>\n";
    for (const std::string& line : list.lines) html += "<li>" + escaped(line) + "</li>\n";
    html += "</ul>\n";
  }
  void operator()(const SheetTable& table) {
    html += "<table><tr>";
    for (const std::string& head : table.head) html += "<th>" + escaped(head) + "</th>";
    html += "</tr>\n";
    for (const auto& row : table.rows) {
      html += "<tr>";
      for (const std::string& cell : row) {
        const bool verdict = cell == "pass" || cell == "fail" || cell == "void";
        html += verdict ? "<td class=\"" + cell + "\">" : std::string{"<td>"};
        html += escaped(cell) + "</td>";
      }
      html += "</tr>\n";
    }
    html += "</table>\n";
  }
  void operator()(const Figure& figure) { html += figure_svg(figure); }
  void operator()(const SheetSignatures& signatures) {
    for (const std::string& role : signatures.roles)
      html += "<div class=\"sign\"><div>" + escaped(role) + ": name</div><div>signature</div><div>date</div></div>\n";
  }
};

}  // namespace

std::string sheet_html(const Sheet& sheet) {
  HtmlWriter writer;
  for (const SheetBlock& block : sheet.blocks) std::visit(writer, block);
  return "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>" + escaped(sheet.title) + "</title><style>" +
         kStyle + "</style></head><body>\n<h1>" + escaped(sheet.title) + "</h1>\n<p class=\"muted\">" + escaped(sheet.subtitle) +
         "</p>\n" + writer.html + "<footer>" + escaped(sheet.foot) + "</footer>\n</body></html>\n";
}

}  // namespace coldstroke::gui
