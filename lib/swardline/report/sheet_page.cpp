#include "swardline/report/sheet_page.hpp"

#include <fmt/format.h>

#include "swardline/base/text.hpp"
#include "swardline/report/sheet_layout.hpp"
#include "swardline/report/sheet_map.hpp"

namespace swardline {
namespace {

/// Told again in is_sheets_document.
constexpr std::string_view mark = "<meta name=\"generator\" content=\"swardline site sheets\"/>";

}  // namespace

std::vector<SiteSheet> sheets_of(const SiteWalk& walk, const SheetVisit& visit) {
  std::vector<double> heights, firsts;
  for (const SheetPlot& at : walk.plots) {
    heights.push_back(sheet::plot_height(at, visit, false));
    firsts.push_back(sheet::plot_height(at, visit, true));
  }
  std::vector<std::pair<std::size_t, std::size_t>> loops =
      loops_of(heights, sheet::room_for_plots(visit), firsts);
  if (loops.empty()) loops.emplace_back(0, 0);
  std::vector<SiteSheet> sheets;
  for (const auto& [begin, end] : loops)
    sheets.push_back({&walk, &visit, begin, end, sheets.size(), loops.size()});
  return sheets;
}

std::string sheet_markup(const SiteSheet& sheet, const SheetGround& ground, std::size_t page,
                         std::size_t pages) {
  const SheetVisit& visit = *sheet.visit;
  return fmt::format("<section class=\"sheet\" aria-label=\"{}\">\n",
                     xml_escape(fmt::format("{}, visit {}, page {}", sheet.walk->code, visit.number, page))) +
         sheet::head_markup(sheet, page, pages) + "<div class=\"top\">\n" + sheet_map(sheet, ground) +
         sheet::side_markup(sheet) + "</div>\n" + sheet::below_markup(visit) + sheet::rules_markup(visit) +
         sheet::species_markup(visit) + sheet::plots_markup(sheet) + sheet::form_markup(sheet) +
         sheet::foot_markup(sheet) + "</section>\n";
}

std::string sheets_document(const std::string& title, const std::vector<std::string>& sheets) {
  std::string out = fmt::format(
      "<!DOCTYPE html>\n<html lang=\"en\" xmlns=\"http://www.w3.org/1999/xhtml\">\n<head>\n"
      "<meta charset=\"utf-8\"/>\n<meta name=\"viewport\" content=\"width=device-width, "
      "initial-scale=1\"/>\n{}\n"
      "<title>{}</title>\n<link rel=\"icon\" "
      "href=\"data:,\"/>\n<style>{}</style>\n</head>\n<body>\n{}<main>\n<h1>{}</h1>\n",
      mark, xml_escape(title), sheet::style(), sheet_patterns(), xml_escape(title));
  for (const std::string& one : sheets) out += one;
  return out + "</main>\n</body>\n</html>\n";
}

bool is_sheets_document(std::string_view content) {
  return content.substr(0, 1000).find(mark) != std::string_view::npos;
}

}  // namespace swardline
