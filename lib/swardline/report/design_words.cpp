// Parts of the design page that are mostly words and pictures.
#include <cpl_conv.h>
#include <cpl_string.h>
#include <fmt/format.h>

#include <memory>

#include "swardline/base/text.hpp"
#include "swardline/design/blocks.hpp"
#include "swardline/report/design_sections.hpp"
#include "swardline/report/page.hpp"

namespace swardline {
namespace {

struct FreedByGdal {
  void operator()(char* text) const { CPLFree(text); }
};

/// As an address of its own: the map's styles and patterns must not mix with the page's or other maps'.
std::string as_data(const std::string& svg) {
  const std::unique_ptr<char, FreedByGdal> text(
      CPLBase64Encode(int(svg.size()), reinterpret_cast<const GByte*>(svg.data())));
  return std::string("data:image/svg+xml;base64,") + text.get();
}

std::string finding_text(const Flag& flag) {
  const std::string place = flag.place.text();
  return fmt::format("{} {}{}{}{}{}", word(flag.severity), place, place.empty() ? "" : ": ", flag.meaning,
                     flag.remedy.empty() ? "" : " ", flag.remedy);
}

std::string plots_text(const MapFigure& map) {
  return fmt::format("{} plots, {} spares", map.planned, map.spares);
}

}  // namespace

std::string shortfalls_part(const DesignFacts& facts) {
  const auto& shortfalls = facts.certificate.shortfalls;
  int drawn = 0;
  for (const StratumCertificate& c : facts.certificate.strata) drawn += c.stratum.drawn;
  if (drawn == 0)
    return "<div class=\"short\">\n" + html_paragraph("No stratum gave a plot.") + html_list(shortfalls) +
           "</div>\n";
  if (shortfalls.empty()) return html_paragraph("Nothing: all plots asked for were drawn.");
  return "<div class=\"short\">\n" + html_list(shortfalls) + "</div>\n";
}

std::string speaks_part(const DesignFacts& facts) {
  std::vector<std::string> lines;
  for (const ChosenGround& chosen : facts.certificate.chosen) lines.push_back(swardline::in_words(chosen));
  return html_list(lines);
}

std::string merged_part(const DesignFacts& facts) {
  const auto& merged = facts.certificate.merged;
  return merged.empty() ? html_paragraph("No stratum was small enough to join another.") : html_list(merged);
}

std::string findings_part(const DesignFacts& facts) {
  std::vector<std::string> lines;
  for (const Severity severity : {Severity::stop, Severity::ask, Severity::note})
    for (const Flag& flag : facts.findings.all())
      if (flag.severity == severity) lines.push_back(finding_text(flag));
  return html_list(lines);
}

std::string maps_part(const DesignFacts& facts) {
  if (facts.maps.empty()) return {};
  std::string out = html_paragraph(
      "Light to dark: the score's bands. Hatched: cut out or excluded. Dotted: no score. Full marks: plots; "
      "open marks: spares.");
  std::string linked;
  out += "<div class=\"maps\">\n";
  for (const MapFigure& map : facts.maps) {
    const std::string title = xml_escape(fmt::format("{} {}", map.site, map.name));
    const std::string link = fmt::format("<a href=\"{}\">{}</a>", xml_escape(map.link), title);
    if (map.svg.empty()) {
      linked += fmt::format("<li>{}: {}</li>\n", link, plots_text(map));
      continue;
    }
    out += fmt::format(
        "<figure><img src=\"{}\" alt=\"Map of {}: score by band, ground cut out, {}; the store's table plots "
        "has their positions.\"/>\n<figcaption>{}: {}</figcaption></figure>\n",
        as_data(map.svg), title, plots_text(map), link, plots_text(map));
  }
  out += "</div>\n";
  return linked.empty() ? out : out + "<ul>\n" + linked + "</ul>\n";
}

std::string inputs_part(const DesignFacts& facts) {
  const Certificate& c = facts.certificate;
  return html_paragraph(
             "The same inputs and seed give the same plots on any machine. Ways from the inputs' coordinate "
             "systems to the plan's and to WGS84:") +
         (c.routes.empty() ? html_paragraph("None was needed.") : html_list(c.routes));
}

std::string methods_part(const DesignFacts& facts) { return html_list(facts.certificate.methods); }

std::string care_part(const DesignFacts& /*facts*/) {
  return html_paragraph(
      "Random places can be dangerous places. Look at every map first, cut unsafe ground out, and let teams "
      "turn back: \"unsafe\" and \"not reached\" are honest results. Landowners' permission, local rules, "
      "protected-plant law and licensed practice come before anything written here. Maps hold exact "
      "positions: "
      "those of rare plants should not leave the programme.");
}

}  // namespace swardline
