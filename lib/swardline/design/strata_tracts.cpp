// Which ground keeps its strata of record, and which is new.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/design/site_parts.hpp"
#include "swardline/design/strata_inside.hpp"

namespace swardline::strata_parts {
namespace {

using site_parts::hectares_plain;

/// Up to this (m²) a difference between a site's recorded ground and its survey area is rounding: where an
/// outline is drawn on, new corners on old edges lie up to a millimetre beside them. Half of what strata may
/// be off from the survey area.
double rounding_m2(const Geometry& survey) {
  constexpr double least = 5e-5, of_area = 5e-7;
  return least + of_area * survey.area();
}

std::string versions_in_words(const StrataRecord& record) {
  const RecordedVersion& first = record.versions.front();
  return record.versions.size() == 1
             ? fmt::format("version {} of {}", first.version, first.made)
             : fmt::format("versions {} to {}", first.version, record.versions.back().version);
}

std::string rule_in_words(const std::vector<std::string>& by, const std::string& score_of,
                          const std::vector<double>& bands) {
  std::string text = "by " + in_words(by);
  if (std::find(by.begin(), by.end(), "score") == by.end()) return text;
  std::vector<std::string> edges;
  for (const double edge : bands) edges.push_back(shortest(edge));
  return text + fmt::format(", score_of {}, bands {}", score_of, fmt::join(edges, " "));
}

void check_same_rule(const StrataRecord& record, const StrataSpec& spec) {
  const RecordedVersion& v = record.versions.front();
  const std::string theirs = rule_in_words(v.by, v.score_of, v.bands);
  const std::string ours = rule_in_words(spec.by, spec.score_of, spec.bands);
  if (theirs == ours) return;
  throw InputError(
      spec.place,
      fmt::format("the strata of record ({}) were made {}, and the plan now says {}.",
                  versions_in_words(record), theirs, ours),
      "Put [strata] back; or draw with --new-strata: then plots of earlier seasons change stratum.");
}

bool whole_number(double value) { return std::abs(value - std::round(value)) < 1e-9; }

void check_same_grid(const StrataRecord& record, const Plan& plan, const Grid& grid, Flags& flags) {
  const RecordedVersion& v = record.versions.front();
  if (!Crs::from_text(v.wkt).same_as(Crs::from_text(plan.crs, plan.crs_place)))
    throw InputError(
        plan.crs_place,
        fmt::format("the strata of record ({}) are in {}, and the plan is in {}.", versions_in_words(record),
                    Crs::from_text(v.wkt).name(), Crs::from_text(plan.crs).name()),
        "Put crs back, or draw with --new-strata.");
  const Grid& old = v.grid;
  if (old.cell_m == grid.cell_m && old.origin_x == grid.origin_x && old.origin_y == grid.origin_y) return;
  const bool nested = whole_number(old.cell_m / grid.cell_m) &&
                      whole_number((old.origin_x - grid.origin_x) / grid.cell_m) &&
                      whole_number((old.origin_y - grid.origin_y) / grid.cell_m);
  flags.add(nested ? Severity::note : Severity::ask, "other cells than the strata of record",
            plan.strata.place,
            nested ? fmt::format("cells are {} m now, {} m in the strata of record: they nest, and every "
                                 "stratum keeps its ground.",
                                 shortest(grid.cell_m), shortest(old.cell_m))
                   : fmt::format("cells are {} m now, {} m in the strata of record, and do not nest: the "
                                 "edges between strata move by up to half a cell.",
                                 shortest(grid.cell_m), shortest(old.cell_m)),
            nested ? ""
                   : fmt::format("Set [grid] cell_m = {} and keep the layer the old cells came from.",
                                 shortest(old.cell_m)));
}

Geometry without(const Geometry& area, const std::vector<const Geometry*>& parts) {
  std::vector<Geometry> all;
  for (const Geometry* part : parts) all.push_back(*part);
  return all.empty() ? area : polygons_of(difference(area, united(all)));
}

/// One site's part of a version, as recorded and as far as it is still survey area.
struct Kept {
  std::size_t source;
  const RecordedSite* site;
  Geometry ground;
};

class SiteTracts {
 public:
  SiteTracts(SeasonStrata::Inside& inside, const Plan& plan, const Site& site, std::size_t index,
             Flags& flags)
      : inside_(inside),
        plan_(plan),
        site_(site),
        index_(index),
        flags_(flags),
        nothing_m2_(rounding_m2(site.survey)) {}

  void lay_out() {
    for (std::size_t v = 0; v < inside_.record.versions.size(); ++v) {
      for (const RecordedSite& recorded : inside_.record.versions[v].sites) {
        if (recorded.code == site_.code) keep(v, recorded);
      }
    }
    std::vector<const Geometry*> known;
    for (const Kept& kept : kept_) known.push_back(&kept.site->ground);
    Geometry fresh = without(site_.survey, known);
    const double fresh_m2 = fresh.area();
    const double least = std::max(plan_.strata.smallest_m2, plan_.sample.unit_area_m2());
    if (kept_.empty()) {
      if (fresh_m2 > 0) add_new(site_.survey, fresh_m2, true);
    } else if (fresh_m2 > nothing_m2_ && fresh_m2 < least) {
      join(fresh_m2);
    } else if (fresh_m2 > nothing_m2_) {
      add_new(std::move(fresh), fresh_m2, false);
    }
    for (Kept& kept : kept_) {
      if (kept.ground.empty()) continue;
      inside_.tracts.push_back({index_, kept.source, kept.site->head, std::move(kept.ground)});
    }
    for (Tract& tract : new_) inside_.tracts.push_back(std::move(tract));
  }

 private:
  void keep(std::size_t source, const RecordedSite& recorded) {
    const double before = recorded.ground.area();
    // Ground that is still all survey area keeps its very vertices, and with them its plots to the
    // millimetre.
    if (rings_of(recorded.ground).rings == rings_of(site_.survey).rings) {
      kept_.push_back({source, &recorded, site_.survey});
      return;
    }
    const double lost = polygons_of(difference(recorded.ground, site_.survey)).area();
    kept_.push_back(
        {source, &recorded,
         lost <= nothing_m2_ ? recorded.ground : polygons_of(intersection(recorded.ground, site_.survey))});
    if (lost < 1) return;
    flags_.add(
        Severity::note, "ground lost since the strata of record", site_.place,
        fmt::format("{}: {} of the {} that strata of version {} were made of is no longer survey area.",
                    site_.code, hectares_plain(lost), hectares_plain(before),
                    inside_.record.versions[source].version));
  }

  /// Slivers of a redrawn outline: they would make strata smaller than any that are kept.
  void join(double fresh_m2) {
    std::vector<const Geometry*> others;
    for (const Kept& kept : kept_) {
      if (&kept != kept_.data()) others.push_back(&kept.site->ground);
    }
    kept_.front().ground = without(site_.survey, others);
    flags_.add(
        Severity::note, "slivers of new ground", site_.place,
        fmt::format("{}: {:.1f} m² of new ground is less than a stratum and joins the strata of version "
                    "{} beside it.",
                    site_.code, fresh_m2, inside_.record.versions[kept_.front().source].version));
  }

  void add_new(Geometry ground, double fresh_m2, bool whole_site) {
    new_.push_back({index_, inside_.now(), inside_.rule.head(site_), std::move(ground)});
    if (inside_.record.empty()) return;
    flags_.add(
        Severity::note, "new ground", site_.place,
        fmt::format("{}: {} of survey area {}, with strata of their own, version {}.", site_.code,
                    hectares_plain(fresh_m2),
                    whole_site ? "are not in the strata of record" : "are new since the strata of record",
                    inside_.rule.version));
  }

  SeasonStrata::Inside& inside_;
  const Plan& plan_;
  const Site& site_;
  std::size_t index_;
  Flags& flags_;
  double nothing_m2_;
  std::vector<Kept> kept_;
  std::vector<Tract> new_;
};

void say_absent_sites(const StrataRecord& record, const Sites& sites, const Place& place, Flags& flags) {
  std::map<std::string, double> absent;
  for (const RecordedVersion& v : record.versions) {
    for (const RecordedSite& site : v.sites) {
      const bool here = std::any_of(sites.sites.begin(), sites.sites.end(),
                                    [&](const Site& s) { return s.code == site.code; });
      if (!here) absent[site.code] += site.ground.area();
    }
  }
  if (absent.empty()) return;
  std::vector<std::string> words;
  for (const auto& [code, m2] : absent) words.push_back(fmt::format("{} ({})", code, hectares_plain(m2)));
  flags.add(Severity::note, "sites of the record not in the plan", place,
            fmt::format("the strata of record also hold {}, not drawn now; the record keeps them.",
                        in_words(words)));
}

}  // namespace

void lay_out_tracts(SeasonStrata::Inside& inside, const Plan& plan, const Sites& sites, Flags& flags) {
  if (!inside.record.empty()) {
    check_same_rule(inside.record, plan.strata);
    check_same_grid(inside.record, plan, inside.grid(), flags);
    say_absent_sites(inside.record, sites, plan.strata.place, flags);
  }
  for (std::size_t i = 0; i < sites.sites.size(); ++i) {
    if (!sites.sites[i].verge) SiteTracts(inside, plan, sites.sites[i], i, flags).lay_out();
  }
}

}  // namespace swardline::strata_parts

namespace swardline {

void check_record(const Plan& plan, const std::filesystem::path& folder, const Grid& grid, Flags& flags) {
  try {
    const StrataRecord record = read_record(folder);
    if (record.empty()) return;
    strata_parts::check_same_rule(record, plan.strata);
    strata_parts::check_same_grid(record, plan, grid, flags);
  } catch (const InputError& error) {
    flags.add(Severity::stop, "strata of record", {}, error.what());
  }
}

}  // namespace swardline
