// The part of the design page about sites that are lines.
#include <fmt/format.h>

#include "swardline/base/text.hpp"
#include "swardline/report/design_sections.hpp"
#include "swardline/report/html_table.hpp"
#include "swardline/report/page.hpp"

namespace swardline {

std::string lines_part(const DesignFacts& facts) {
  HtmlTable table;
  table.caption = "Chances of segments";
  table.columns = {{"Stratum", false}, {"Segments", true}, {"Drawn", true}, {"Chance of each", true}};
  std::string working;
  for (const StratumCertificate& c : facts.certificate.strata) {
    if (c.stratum.kind != StratumKind::line) continue;
    const std::string drawn = grouped(c.stratum.drawn), there = grouped(c.draw.candidates);
    const std::string chance =
        c.draw.candidates > 0 ? six_figures(double(c.stratum.drawn) / double(c.draw.candidates)) : "0";
    table.rows.push_back({c.stratum.id, there, drawn, chance});
    if (working.empty() && c.stratum.drawn > 0)
      working = fmt::format("By hand, {}: {} ÷ {} = {}", c.stratum.id, drawn, there, chance);
  }
  if (table.rows.empty()) return {};
  return html_paragraph(
             "Every segment of a line has the same chance, whatever its area, and a plant has that of the "
             "segment it stands on. In the store chance_per_m2 is that chance over the segment's own area "
             "(inside_m2), and weight_m2 one over it.") +
         html_table(table) + "<div class=\"working\">\n" + html_paragraph(working) + "</div>\n";
}

}  // namespace swardline
