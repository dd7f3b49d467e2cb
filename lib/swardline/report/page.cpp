#include "swardline/report/page.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "swardline/base/text.hpp"
#include "swardline/report/page_script.hpp"

namespace swardline {
namespace {

// Text on white is dark enough for AAA contrast (WCAG 2.1, 1.4.6: at least 7 to 1). Nothing depends on a
// fill: browsers leave fills out when they print.
constexpr const char* style = R"(
:root{--ink:#14212b;--hue:#24557f;--mist:#f0f6fb;--line:#b3c9dd}
*{box-sizing:border-box}
body{margin:0;color:var(--ink);background:#fff;overflow-wrap:anywhere;font:16px/1.5 "Source Sans 3","Noto Sans","Liberation Sans",Arial,sans-serif}
header,nav,main{max-width:76rem;margin:0 auto;padding:0 1.5rem}
header{padding-top:1.6rem}
header svg{display:block;width:100%;height:26px}
h1{font-size:1.9rem;line-height:1.2;margin:.7rem 0 .2rem}
header p{margin:0 0 1rem}
nav ol{list-style:none;display:flex;flex-wrap:wrap;gap:.2rem 1.2rem;margin:0;padding:.6rem 0;border-top:1px solid var(--line);border-bottom:1px solid var(--line)}
a{color:var(--hue)}
h2{font-size:1.25rem;color:var(--hue);margin:2.2rem 0 .5rem;padding-left:.7rem;border-left:4px solid var(--hue)}
p,li,dd{max-width:48rem}
dl{display:grid;grid-template-columns:max-content 1fr;gap:.25rem 1.2rem;margin:.6rem 0}
dt{font-weight:600}
dd{margin:0;overflow-wrap:anywhere}
.wide{overflow-x:auto;margin:.8rem 0}
table{border-collapse:collapse;font-size:.9rem;min-width:100%}
caption{text-align:left;font-weight:600;padding:.3rem 0}
th,td{overflow-wrap:normal;padding:.28rem .6rem;text-align:left;vertical-align:top;border-bottom:1px solid var(--line)}
thead th{vertical-align:bottom;border-bottom:2px solid var(--hue);background:var(--mist)}
tbody th{font-weight:600;white-space:nowrap}
tfoot th,tfoot td{border-top:2px solid var(--hue);font-weight:600}
.number{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}
thead .number{white-space:normal}
tbody td:nth-child(2):not(.number){min-width:15rem}
.notes{font-size:.85rem;columns:2;column-gap:2.5rem}
.notes li{break-inside:avoid}
.short{border:2px solid var(--ink);padding:.2rem 1.2rem;max-width:50rem}
.working{border-left:1px solid var(--line);padding:.1rem 1rem;font-variant-numeric:tabular-nums}
figure{margin:1rem 0}
figcaption{font-size:.9rem}
.maps{display:grid;grid-template-columns:repeat(auto-fill,minmax(26rem,1fr));gap:1rem}
.maps img{width:100%;height:auto;border:1px solid var(--line)}
.chart{width:100%;max-width:48rem;height:auto;font:12px "Liberation Sans",Arial,sans-serif;fill:var(--ink)}
.chart .first{fill:#fff;stroke:var(--ink);stroke-width:1}
.chart .second{fill:var(--hue);stroke:var(--ink);stroke-width:1}
.chart .value{font-size:10px}
main{padding-bottom:2.5rem}
@page{margin:15mm}
@media print{
body{font-size:9.5pt;line-height:1.35}
header,nav,main{max-width:none;padding:0}
nav{display:none}
h1{font-size:18pt}h2{font-size:12pt;margin-top:14pt;color:#000;border-color:#000}
a{color:#000;text-decoration:none}
.wide{overflow:visible}
table{font-size:7.5pt}th,td{padding:1.5pt 3pt}tbody td:nth-child(2):not(.number){min-width:6.5em}
thead{display:table-header-group}tfoot{display:table-row-group}
tr,figure,.short{break-inside:avoid}h2,caption{break-after:avoid}
.maps{grid-template-columns:1fr 1fr}
}
)";

/// A strip of blades: ornament only.
std::string sward() {
  constexpr int blades = 120;
  std::string path;
  unsigned turn = 7;  // any fixed start: the page must not differ from run to run
  for (int i = 0; i < blades; ++i) {
    turn = turn * 1103515245U + 12345U;
    const unsigned height = 6 + (turn >> 16U) % 17;
    const int lean = int((turn >> 8U) % 7) - 3;
    path += fmt::format("M{} 26q0 -{} {} -{}", 4 + i * 10, height / 2, lean, height);
  }
  return fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 1200 26\" preserveAspectRatio=\"none\" "
      "aria-hidden=\"true\"><path d=\"{}\" fill=\"none\" stroke=\"#24557f\" stroke-width=\"1.6\"/></svg>\n",
      path);
}

std::string policy() {
  return fmt::format(
      "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; "
      "script-src 'sha256-{}'; img-src data:; base-uri 'none'; form-action 'none'\"/>\n",
      page_script_sha256);
}

}  // namespace

std::string html_page(const PageHead& head, const std::vector<PageSection>& sections) {
  std::string out = fmt::format(
      "<!DOCTYPE html>\n<html lang=\"en\" xmlns=\"http://www.w3.org/1999/xhtml\">\n<head>\n"
      "<meta charset=\"utf-8\"/>\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n"
      "{4}<title>{0}</title>\n<link rel=\"icon\" href=\"data:,\"/>\n<style>{1}{5}</style>\n</head>\n<body>\n"
      "<header>\n{2}<h1>{0}</h1>\n<p>{3}</p>\n{6}</header>\n<nav aria-label=\"Sections\"><ol>\n",
      xml_escape(head.title), style, sward(), xml_escape(head.line), head.script ? policy() : "", head.style,
      head.notice.empty() ? "" : "<p class=\"notice\">" + xml_escape(head.notice) + "</p>\n");
  for (const PageSection& section : sections)
    out += fmt::format("<li><a href=\"#{}\">{}</a></li>\n", section.id, xml_escape(section.title));
  out += "</ol></nav>\n" + head.drawing + "<main>\n";
  for (const PageSection& section : sections)
    out += fmt::format(
        "<section id=\"{0}\" aria-labelledby=\"{0}-head\">\n<h2 id=\"{0}-head\">{1}</h2>\n{2}"
        "</section>\n",
        section.id, xml_escape(section.title), section.body);
  out += "</main>\n";
  if (head.script) out += fmt::format("<script>{}</script>\n", page_script);
  return out + "</body>\n</html>\n";
}

std::string html_cell(std::string_view text) {
  constexpr std::size_t longest_word = 40, piece = 20;
  std::string out;
  while (!text.empty()) {
    const std::size_t blank = std::min(text.find(' '), text.size() - 1);
    std::string_view word = text.substr(0, blank + 1);
    text.remove_prefix(blank + 1);
    if (word.size() > longest_word) {
      while (word.size() > piece) {
        std::size_t end = piece;  // between characters, not inside one
        while (end < word.size() && (static_cast<unsigned char>(word[end]) & 0xC0U) == 0x80U) ++end;
        out += xml_escape(word.substr(0, end)) + "<wbr/>";
        word.remove_prefix(end);
      }
    }
    out += xml_escape(word);
  }
  return out;
}

std::string html_paragraph(const std::string& text) { return "<p>" + xml_escape(text) + "</p>\n"; }

std::string html_list(const std::vector<std::string>& items, bool small) {
  if (items.empty()) return {};
  std::string out = small ? "<ul class=\"notes\">\n" : "<ul>\n";
  for (const std::string& item : items) out += "<li>" + xml_escape(item) + "</li>\n";
  return out + "</ul>\n";
}

std::string html_terms(const std::vector<Term>& terms) {
  std::string out = "<dl>\n";
  for (const Term& term : terms)
    out += fmt::format("<dt>{}</dt><dd>{}</dd>\n", xml_escape(term.name), xml_escape(term.meaning));
  return out + "</dl>\n";
}

}  // namespace swardline
