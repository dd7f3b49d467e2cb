#include "swardline/estimate/change_ground.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <set>

#include "swardline/base/text.hpp"

namespace swardline::change_parts {
namespace {

/// Below it a difference of areas is rounding.
constexpr double same_ground_m2 = 0.5;

double survey_m2(const EvaluatedSeason& season, const std::string& site) {
  for (const EvaluatedSite& one : season.sites)
    if (one.code == site) return one.survey_m2;
  return 0;
}

/// `margin`: nothing is said of the margin that no pin may fall in.
void add(const EvaluatedSeason& season, double SharedGround::*area, bool margin, TwoGrounds& grounds) {
  for (const EvaluatedStratum& stratum : season.strata) {
    if (stratum.kind == "excluded") continue;  // no plant is looked for there, so it holds no change
    const auto [place, fresh] = grounds.index.emplace(stratum.id, grounds.ground.size());
    if (fresh) grounds.ground.push_back({stratum.id, stratum.site, 0, 0, 0, 1});
    SharedGround& ground = grounds.ground[place->second];
    ground.*area += margin ? estimated_m2(season, stratum) : stratum.area_m2;
    ground.geodesic_ratio = stratum.geodesic_ratio;  // the later season's, where it stands in both
  }
}

/// The strata of one site, or of those that lie in several.
class SiteStrata {
 public:
  SiteStrata(std::vector<std::size_t> strata, TwoGrounds& grounds)
      : strata_(std::move(strata)), grounds_(grounds) {
    for (const std::size_t h : strata_) {
      const SharedGround& ground = grounds.ground[h];
      then_ += ground.then_m2;
      now_ += ground.now_m2;
      stands_ = stands_ || (ground.then_m2 > 0 && ground.now_m2 > 0);
    }
  }

  /// `survey_then`, `survey_now`: survey areas of the site; 0: as the strata say.
  void share(double survey_then, double survey_now, const std::string& site) {
    if (!(then_ > 0 && now_ > 0)) return;  // all of it lost, or gained
    if (stands_) {
      for (const std::size_t h : strata_)
        grounds_.ground[h].shared_m2 = std::min(grounds_.ground[h].then_m2, grounds_.ground[h].now_m2);
      return;
    }
    grounds_.anew.push_back(site.empty() ? "all sites" : site);
    const bool known = survey_then > 0 && survey_now > 0;
    made_anew(known ? survey_now / survey_then : now_ / then_);
  }

 private:
  /// New strata on the same ground: what is gained or lost is only what the survey area gained or lost.
  void made_anew(double times) {
    for (const std::size_t h : strata_) {
      SharedGround& ground = grounds_.ground[h];
      if (ground.then_m2 > 0)
        ground.shared_m2 = ground.now_m2 = ground.then_m2 * std::min(1.0, times);
      else
        ground.now_m2 *= std::max(0.0, times - 1) * then_ / now_;
    }
  }

  std::vector<std::size_t> strata_;
  TwoGrounds& grounds_;
  double then_ = 0, now_ = 0;
  bool stands_ = false;  ///< a stratum of record is in both seasons
};

}  // namespace

std::size_t TwoGrounds::of(const std::string& stratum) const {
  const auto found = index.find(stratum);
  return found == index.end() ? nowhere : found->second;
}

TwoGrounds two_grounds(const EvaluatedSeason& earlier, const EvaluatedSeason& later) {
  TwoGrounds grounds;
  // Ground inside one season's margin alone is neither gained nor lost.
  const bool margin = earlier.edge == EdgeRule::inner_margin && later.edge == EdgeRule::inner_margin;
  add(earlier, &SharedGround::then_m2, margin, grounds);
  add(later, &SharedGround::now_m2, margin, grounds);
  std::map<std::string, std::vector<std::size_t>> by_site;
  for (std::size_t h = 0; h < grounds.ground.size(); ++h) by_site[grounds.ground[h].site].push_back(h);
  for (const auto& [site, strata] : by_site)
    SiteStrata(strata, grounds).share(survey_m2(earlier, site), survey_m2(later, site), site);
  for (SharedGround& ground : grounds.ground)
    if (std::abs(ground.then_m2 - ground.now_m2) < same_ground_m2 && ground.shared_m2 > 0)
      ground.then_m2 = ground.now_m2 = ground.shared_m2;
  return grounds;
}

double stems_of(const UnitCount& count, bool with_not_certain) {
  return with_not_certain ? count.sure + count.not_certain : count.sure;
}

namespace {

Domain everything(const TwoGrounds& grounds) {
  Domain all{"all sites", {}, {}, {}, DomainCut::whole_strata};
  all.strata.resize(grounds.ground.size());
  std::iota(all.strata.begin(), all.strata.end(), std::size_t{0});
  return all;
}

/// Two domains of the same shared strata say the same.
std::vector<std::size_t> shared_strata(const Domain& domain, const TwoGrounds& grounds) {
  std::vector<std::size_t> strata = domain.strata;
  std::erase_if(strata, [&](std::size_t h) { return !(grounds.ground[h].shared_m2 > 0); });
  return strata;
}

Domain of_sites(std::string where, std::map<std::string, bool> sites, const TwoGrounds& grounds) {
  Domain domain{std::move(where), {}, {}, std::move(sites), DomainCut::whole_strata};
  for (std::size_t h = 0; h < grounds.ground.size(); ++h)
    if (domain.sites.count(grounds.ground[h].site) > 0) domain.strata.push_back(h);
  return domain;
}

}  // namespace

std::vector<Domain> domains_of(const EvaluatedSeason& later, const TwoGrounds& grounds,
                               const std::vector<std::string>& by) {
  std::vector<Domain> domains = {everything(grounds)};
  std::set<std::string> codes;
  for (const EvaluatedSite& site : later.sites) codes.insert(site.code);
  // Strata that belong to no one site are cut by every domain of sites.
  const bool across = std::any_of(grounds.ground.begin(), grounds.ground.end(),
                                  [&](const SharedGround& g) { return codes.count(g.site) == 0; });
  std::set<std::vector<std::size_t>> told = {shared_strata(domains.front(), grounds)};
  const auto add = [&](Domain domain) {
    if (across && domain.stratum.empty()) {
      domain.cut = DomainCut::across_strata;
      domains.push_back(std::move(domain));
    } else if (const auto strata = shared_strata(domain, grounds);
               !strata.empty() && told.insert(strata).second) {
      domains.push_back(std::move(domain));
    }
  };
  for (const std::string& attribute : by) {
    std::map<std::string, std::map<std::string, bool>> of_value;
    for (const EvaluatedSite& site : later.sites) {
      const auto value = site.attributes.find(attribute);
      if (value != site.attributes.end()) of_value[value->second][site.code] = true;
    }
    for (auto& [value, sites] : of_value) {
      std::string where = attribute;
      where += " = ";
      where += value;
      add(of_sites(std::move(where), std::move(sites), grounds));
    }
  }
  if (later.sites.size() > 1)
    for (const EvaluatedSite& site : later.sites) add(of_sites(site.code, {{site.code, true}}, grounds));
  for (std::size_t h = 0; h < grounds.ground.size(); ++h) {
    const SharedGround& ground = grounds.ground[h];
    add({codes.count(ground.site) > 0 ? ground.site : "all sites",
         ground.stratum,
         {h},
         {},
         DomainCut::whole_strata});
  }
  return domains;
}

}  // namespace swardline::change_parts
