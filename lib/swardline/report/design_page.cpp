#include "swardline/report/design_page.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "swardline/base/file_names.hpp"
#include "swardline/base/files.hpp"
#include "swardline/report/design_sections.hpp"
#include "swardline/report/page.hpp"

namespace swardline {
namespace {

namespace fs = std::filesystem;

// A page of many megabytes opens slowly on old laptops; what is left out is one click away.
constexpr std::size_t most_in_a_map = 200'000, most_in_all_maps = 3'000'000;

std::vector<MapFigure> figures(const Certificate& certificate, const std::vector<fs::path>& maps,
                               const fs::path& page) {
  std::vector<std::string> codes;
  for (const SiteCertificate& site : certificate.sites) codes.push_back(site.code);
  const std::vector<std::string> names = unique_file_names(codes);
  std::vector<MapFigure> all;
  std::size_t inside = 0;
  for (std::size_t i = 0; i < names.size(); ++i) {
    const auto map = std::find_if(maps.begin(), maps.end(),
                                  [&](const fs::path& path) { return path.stem().string() == names[i]; });
    if (map == maps.end()) continue;
    const SiteCertificate& site = certificate.sites[i];
    MapFigure figure{
        site.code, site.name, site.planned, site.spares, map->lexically_relative(page.parent_path()).string(),
        {}};
    std::string svg = read_whole(*map);
    if (svg.size() <= most_in_a_map && inside + svg.size() <= most_in_all_maps) {
      inside += svg.size();
      figure.svg = std::move(svg);
    }
    all.push_back(std::move(figure));
  }
  return all;
}

}  // namespace

const std::vector<DesignSection>& design_sections() {
  static const std::vector<DesignSection> all = {
      {"short", "What falls short", shortfalls_part},
      {"speaks", "What estimates speak for", speaks_part},
      {"drawn", "What was drawn", drawn_part},
      {"allocation", "How the plots were shared out", allocation_part},
      {"expected", "Errors to expect", expected_part},
      {"strata", "Areas, numbers and chances", strata_part},
      {"edges", "The edge of the survey area", edge_part},
      {"lines", "Segments of linear sites", lines_part},
      {"merged", "What was merged", merged_part},
      {"record", "Strata of record and kept plots", record_part},
      {"panels", "Which panels are visited when", panels_part},
      {"spread", "How evenly the plots lie", spread_part},
      {"closeness", "Plots near each other", closeness_part},
      {"by-hand", "One chance checked by hand", by_hand_part},
      {"findings", "Findings of the draw", findings_part},
      {"maps", "Site maps", maps_part},
      {"inputs", "Where it comes from", inputs_part},
      {"methods", "Methods and their sources", methods_part},
      {"care", "Before anyone goes out", care_part},
  };
  return all;
}

std::string design_page(const Certificate& certificate, const Flags& findings,
                        const std::vector<MapFigure>& maps) {
  const DesignFacts facts{certificate, findings, maps};
  std::vector<PageSection> sections;
  for (const DesignSection& section : design_sections()) {
    std::string body = section.body(facts);
    if (!body.empty()) sections.push_back({section.id, section.title, std::move(body)});
  }
  return html_page({fmt::format("Design of {}", certificate.season),
                    fmt::format("The draw's certificate, seed {}. The same numbers are in certificate.json.",
                                certificate.seed)},
                   sections);
}

void write_design_page(const Certificate& certificate, const Flags& findings,
                       const std::vector<fs::path>& maps, const fs::path& file) {
  write_whole(file, design_page(certificate, findings, figures(certificate, maps, file)));
}

}  // namespace swardline
