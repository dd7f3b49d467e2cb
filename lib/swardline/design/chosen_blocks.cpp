// The draw held to blocks that somebody chose.
#include <fmt/format.h>

#include <algorithm>

#include "swardline/base/text.hpp"
#include "swardline/design/blocks.hpp"
#include "swardline/design/site_parts.hpp"
#include "swardline/geo/earth.hpp"

namespace swardline {
namespace {

constexpr const char* outside = "outside the chosen blocks";

/// A site's blocks by name.
class Named {
 public:
  Named(const BlockGrid& grid, const Site& site) {
    for (auto& [number, ground] : grid.cut(site.survey)) {
      names_.push_back(grid.name(site.code, number));
      pieces_.push_back(std::move(ground));
    }
  }
  [[nodiscard]] const Geometry* find(const std::string& name) const {
    const auto at = std::find(names_.begin(), names_.end(), name);
    return at == names_.end() ? nullptr : &pieces_[std::size_t(at - names_.begin())];
  }
  [[nodiscard]] const std::vector<std::string>& names() const { return names_; }

 private:
  std::vector<std::string> names_;
  std::vector<Geometry> pieces_;
};

std::string site_of(const std::string& block) { return block.substr(0, block.rfind(' ')); }

void check_sites(const Plan& plan, const Sites& sites, Flags& flags) {
  std::vector<std::string> codes;
  for (const Site& site : sites.sites) codes.push_back(site.code);
  for (const std::string& block : plan.blocks.chosen) {
    const std::string site = site_of(block);
    if (const auto at = std::find(codes.begin(), codes.end(), site); at != codes.end()) {
      if (sites.sites[std::size_t(at - codes.begin())].verge)
        flags.add(Severity::stop, "chosen block of a linear site", plan.blocks.chosen_place,
                  fmt::format("chosen names {}, and {} is drawn by segments along its line.", block, site),
                  "Take it out.");
      continue;
    }
    const std::string near = nearest_word(site, codes);
    flags.add(Severity::stop, "chosen block of no site", plan.blocks.chosen_place,
              fmt::format("chosen names {}, and no site here has the code {}.", block, site),
              near.empty() ? "swardline blocks lists the blocks of every site."
                           : fmt::format("Did you mean {}?", near));
  }
}

/// What of the site lies in its chosen blocks; STOPs for names without ground.
std::vector<Geometry> pieces_of(const Plan& plan, const BlockGrid& grid, const Site& site,
                                std::vector<std::string>& names, Flags& flags) {
  std::vector<Geometry> pieces;
  const Named blocks(grid, site);
  for (const std::string& name : plan.blocks.chosen) {
    if (site_of(name) != site.code) continue;
    if (const Geometry* piece = blocks.find(name)) {
      pieces.push_back(snapped_mm(*piece));
      names.push_back(name);
      continue;
    }
    const std::string near = nearest_word(name, blocks.names());
    flags.add(Severity::stop, "chosen block without ground", plan.blocks.chosen_place,
              fmt::format("{} holds no survey area of {} (blocks of {} m).", name, site.code,
                          shortest(plan.blocks.side_m)),
              near.empty() ? fmt::format("Its blocks run from {} to {}; swardline blocks lists them.",
                                         blocks.names().front(), blocks.names().back())
                           : fmt::format("Did you mean {}? swardline blocks lists them.", near));
  }
  return pieces;
}

void keep(const Crs& crs, const std::vector<Geometry>& pieces, std::vector<std::string> names, Sites& sites,
          Site& site) {
  ChosenGround chosen;
  chosen.site = site.code;
  chosen.blocks = std::move(names);
  chosen.of_m2 = site.survey_m2;
  const Geometry kept = polygons_of(snapped_mm(united(pieces)));
  ExcludedPiece rest{outside, polygons_of(difference(site.survey, kept))};
  site.survey = kept;
  site.survey_m2 = kept.area();
  if (!rest.area.empty()) {
    site.excluded_m2 += rest.area.area();
    site.excluded.push_back(std::move(rest));
  }
  site.geodesic_ratio = geodesic_ratio(kept, Route(crs, Crs::wgs84(), kept.box()));
  chosen.chosen_m2 = site.survey_m2;
  sites.chosen.push_back(std::move(chosen));
}

}  // namespace

std::string in_words(const ChosenGround& chosen) {
  const bool one = chosen.blocks.size() == 1;
  return fmt::format(
      "{}: plots lie at random in the chosen {} {} alone, {} of {} ({:.1f} % of its survey area): estimates "
      "speak "
      "for that ground, never for the site.",
      chosen.site, one ? "block" : "blocks", in_words(chosen.blocks),
      site_parts::hectares_plain(chosen.chosen_m2), site_parts::hectares_plain(chosen.of_m2),
      100 * chosen.share());
}

void keep_chosen_blocks(const Plan& plan, const Crs& crs, const Grid& grid, Sites& sites, Flags& flags) {
  if (plan.blocks.chosen.empty()) return;
  const BlockGrid blocks(grid, plan.blocks.side_m, plan.blocks.place);
  const int stops = flags.count(Severity::stop);
  check_sites(plan, sites, flags);
  std::vector<std::pair<Site*, std::vector<Geometry>>> found;
  std::vector<std::vector<std::string>> names;
  for (Site& site : sites.sites) {
    if (site.survey.empty()) continue;
    std::vector<std::string> here;
    std::vector<Geometry> pieces = pieces_of(plan, blocks, site, here, flags);
    if (pieces.empty()) continue;
    found.emplace_back(&site, std::move(pieces));
    names.push_back(std::move(here));
  }
  if (flags.count(Severity::stop) != stops) return;
  for (std::size_t i = 0; i < found.size(); ++i) {
    keep(crs, found[i].second, names[i], sites, *found[i].first);
    flags.add(Severity::note, "chosen blocks", plan.blocks.chosen_place, in_words(sites.chosen.back()));
  }
}

}  // namespace swardline
