#include "swardline/design/site.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>

#include "swardline/base/text.hpp"
#include "swardline/base/workers.hpp"
#include "swardline/design/site_parts.hpp"
#include "swardline/geo/earth.hpp"
#include "swardline/geo/vectors.hpp"

namespace swardline {
namespace {

using namespace site_parts;

/// Parts of one site drawn to the same line in two systems may miss by some centimetres.
constexpr double closed_gap_m = 0.1;

/// One feature of a site source, mended.
struct Part {
  std::string code;
  std::string name;
  std::map<std::string, std::string> attributes;
  Geometry drawn;
  Geometry as_drawn;
  Place place;
};

/// Does `work` for every index, shared between threads; findings come in the order of the indices.
void each_with_flags(std::size_t count, int threads, Flags& flags,
                     const std::function<void(std::size_t, Flags&)>& work) {
  std::vector<Flags> found(count);
  in_runs(count, threads, [&](int, std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) work(i, found[i]);
  });
  for (const Flags& part : found) {
    for (const Flag& flag : part.all()) flags.add(flag);
  }
}

void add_parts(const Plan& plan, const SourceSpec& source, const VectorLayer& layer, int threads,
               std::vector<Part>& parts, Flags& flags) {
  if (!has_code_attribute(plan.sites, source, layer, flags)) return;
  std::vector<Part> read(layer.features.size());
  each_with_flags(read.size(), threads, flags, [&](std::size_t i, Flags& found) {
    const Feature& feature = layer.features[i];
    Part& part = read[i];
    part.code = code_of(plan.sites, feature, found);
    if (part.code.empty()) return;
    part.name = field(feature, plan.sites.name);
    part.attributes = open_attributes(plan.sites, feature);
    part.as_drawn = feature.geometry;
    part.drawn = mended_polygons(feature, "site " + part.code, found);
    part.place = feature.place;
    if (part.drawn.empty())
      found.add(
          Severity::stop, "site without an area", feature.place,
          fmt::format("{} holds no polygon, so it has no area to draw plots in.", part.code),
          "Draw its boundary as a polygon, or name the file under [sites.linear] where the site is a line.");
  });
  for (Part& part : read) {
    if (!part.code.empty() && !part.drawn.empty()) parts.push_back(std::move(part));
  }
}

/// Slivers of up to closed_gap_m between two parts of one site, which are drawing error and not edge.
Geometry gap_between(const Geometry& a, const Geometry& b) {
  const double half = closed_gap_m / 2;
  const Geometry both = united({a, b});
  const Geometry closed = buffered(buffered(both, half), -half);
  const Geometry beside = intersection(buffered(a, closed_gap_m), buffered(b, closed_gap_m));
  return polygons_of(intersection(difference(closed, both), beside));
}

void say_names_differ(const Site& site, const Part& part, Flags& flags) {
  if (part.name.empty() || part.name == site.name) return;
  const bool spelling = !nearest_word(part.name, {site.name}).empty();
  flags.add(spelling ? Severity::ask : Severity::stop, "one code, two names", part.place,
            fmt::format("code {} is \"{}\" here and \"{}\" in {}.", site.code, part.name, site.name,
                        site.place.text()),
            spelling ? "Settle on one spelling." : "Give one of the two sites another code.");
}

/// Puts one more part to a site that has been met before.
void join(Site& site, const Part& part, Flags& flags) {
  say_names_differ(site, part, flags);
  const double away = distance(site.drawn, part.drawn);
  const double twice = away > 0 ? 0 : intersection(site.drawn, part.drawn).area();
  std::string how = "they touch";
  std::vector<Geometry> all = {site.drawn, part.drawn};
  if (twice >= 0.01) {
    how = fmt::format("{} that both hold counts once", hectares_plain(twice));
  } else if (away > closed_gap_m) {
    how = fmt::format("they lie {:.1f} m apart", away);
  } else {
    const Geometry gap = gap_between(site.drawn, part.drawn);
    if (gap.area() > 1e-6) {
      all.push_back(gap);
      how = fmt::format("a gap of {:.3f} m² between them is closed", gap.area());
    }
  }
  std::vector<std::string> differing;
  for (const auto& [key, value] : part.attributes) {
    const auto [kept, is_new] = site.attributes.emplace(key, value);
    if (!is_new && kept->second != value) differing.push_back(key);
  }
  if (!differing.empty()) how += "; where attributes differ (" + in_words(differing) + ") the first is kept";
  flags.add(Severity::note, "parts joined", part.place,
            fmt::format("{} is also in {}: the parts are joined into one site; {}.", site.code,
                        site.place.text(), how),
            "If these are two sites, give one of them another code.");
  site.drawn = polygons_of(snapped_mm(united(all)));
  site.as_drawn = united({polygons_of(site.as_drawn), polygons_of(made_valid(part.as_drawn).geometry)});
}

std::vector<Site> joined_sites(const std::vector<Part>& parts, Flags& flags) {
  std::map<std::string, Site> by_code;
  for (const Part& part : parts) {
    const auto [found, is_new] = by_code.try_emplace(part.code);
    Site& site = found->second;
    if (!is_new) {
      join(site, part, flags);
      continue;
    }
    site.code = part.code;
    site.name = part.name.empty() ? part.code : part.name;
    site.attributes = part.attributes;
    site.drawn = part.drawn;
    site.as_drawn = part.as_drawn;
    site.place = part.place;
  }
  std::vector<Site> sites;
  for (auto& [code, site] : by_code) sites.push_back(std::move(site));
  return sites;
}

void keep_only(const Plan& plan, std::vector<Site>& sites, Flags& flags) {
  if (plan.sites.only.empty()) return;
  std::vector<std::string> codes;
  for (const Site& site : sites) codes.push_back(site.code);
  for (const std::string& code : plan.sites.only) {
    if (std::find(codes.begin(), codes.end(), code) != codes.end()) continue;
    const std::string near = nearest_word(code, codes);
    flags.add(Severity::stop, "unknown site", plan.sites.place,
              fmt::format("only names {}, and no site has that code.", code),
              near.empty() ? fmt::format("The codes are {}.", in_words(codes))
                           : fmt::format("Did you mean {}?", near));
  }
  std::erase_if(sites, [&](const Site& site) {
    return std::find(plan.sites.only.begin(), plan.sites.only.end(), site.code) == plan.sites.only.end();
  });
}

void measure(const Plan& plan, const Crs& crs, Site& site, Flags& flags) {
  site.drawn_m2 = site.drawn.area();
  site.survey_m2 = site.survey.area();
  site.excluded_m2 = 0;
  for (const ExcludedPiece& piece : site.excluded) site.excluded_m2 += piece.area.area();
  if (site.survey.empty() || site.survey_m2 <= 0) {
    flags.add(Severity::stop, "nothing left to survey", site.place,
              fmt::format("{}: all of its {} are excluded.", site.code, hectares_plain(site.drawn_m2)),
              "Check the exclusions' buffers, or take the site off the list.");
    return;
  }
  const double plot = plan.sample.unit_area_m2();
  if (!site.verge && site.survey_m2 < plot) {
    flags.add(Severity::ask, "holds less than one plot", site.place,
              fmt::format("{}: {:.1f} m² will be surveyed and one plot is {:.1f} m².", site.code,
                          site.survey_m2, plot),
              "Is it a sliver? Remove it, or make the plots smaller.");
  }
  const Box box = site.drawn.box();
  const double across =
      std::sqrt((box.x1 - box.x0) * (box.x1 - box.x0) + (box.y1 - box.y0) * (box.y1 - box.y0));
  if (!site.verge && plan.sample.apart_m > across) {
    flags.add(Severity::ask, "spacing wider than the site", plan.sample.place,
              fmt::format(
                  "apart_m = {} is more than {} is across ({:.0f} m from corner to corner): one plot fits in "
                  "a stratum of it, whatever is asked.",
                  shortest(plan.sample.apart_m), site.code, across),
              "Is it in metres? Make it smaller; draw says what distance would fit.");
  }
  site.geodesic_ratio = geodesic_ratio(site.survey, Route(crs, Crs::wgs84(), site.survey.box()));
}

}  // namespace

Sites read_sites(const Plan& plan, const Crs& crs, Flags& flags, int threads) {
  Sites result;
  if (!plan_system_is_usable(plan, crs, flags)) return result;
  std::vector<Part> parts;
  for (const SourceSpec& source : plan.sites.sources) {
    const VectorRequest request{source.file, source.layer, source.crs, plan.sites.private_attributes,
                                source.place};
    const VectorLayer layer = read_vectors(request, crs, flags);
    add_parts(plan, source, layer, threads, parts, flags);
    if (!layer.route.empty() &&
        std::find(result.routes.begin(), result.routes.end(), layer.route) == result.routes.end()) {
      result.routes.push_back(layer.route);
    }
  }
  result.sites = joined_sites(parts, flags);
  add_linear_sites(plan, crs, result, flags);
  keep_only(plan, result.sites, flags);
  check_register(result.sites, flags);
  cut_out_exclusions(plan, crs, threads, result, flags);
  each_with_flags(result.sites.size(), threads, flags,
                  [&](std::size_t i, Flags& found) { measure(plan, crs, result.sites[i], found); });
  keep_segments(plan, result, flags);
  check_overlaps(result.sites, flags);
  check_stretch(plan, crs, result.sites, threads, flags);
  return result;
}

std::string in_words(const Site& site) {
  std::string text = fmt::format("{}: {} drawn", site.name, hectares_plain(site.drawn_m2));
  for (const ExcludedPiece& piece : site.excluded) {
    text += fmt::format(", {} {}", hectares_plain(piece.area.area()), piece.reason);
  }
  text += fmt::format("; {} will be surveyed.", hectares_plain(site.survey_m2));
  if (site.verge) text += fmt::format(" {}: {}", site.code, in_words(*site.verge));
  return text;
}

std::vector<NamedArea> survey_areas(const Sites& sites) {
  std::vector<NamedArea> areas;
  for (const Site& site : sites.sites) areas.push_back({site.code, site.name, site.survey});
  return areas;
}

}  // namespace swardline
