// Linear sites: lines of one code, joined and cut into segments of verge.
#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/design/site_parts.hpp"
#include "swardline/design/walking_ways.hpp"

namespace swardline::site_parts {
namespace {

/// A thousand kilometres of verge in 20 m segments; more is a slip of the plan.
constexpr double most_segments = 50'000;

/// The lines of one code.
struct Lines {
  Site site;
  std::vector<DrawnLine> drawn;
  double length_m = 0;
};

std::optional<double> metres_in(const std::string& text) {
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  const bool sound = error == std::errc{} && end == text.data() + text.size() && value >= 0 && value <= 100;
  return sound ? std::optional(value) : std::nullopt;
}

bool has_attribute(const std::string& name, const SourceSpec& source, const VectorLayer& layer,
                   Flags& flags) {
  if (name.empty() || layer.features.empty()) return true;
  std::vector<std::string> keys;
  for (const auto& [key, value] : layer.features.front().fields) keys.push_back(key);
  if (std::find(keys.begin(), keys.end(), name) != keys.end()) return true;
  const std::string near = nearest_word(name, keys);
  flags.add(Severity::stop, "no attribute of the verge", {source.file.filename().string(), 0, ""},
            fmt::format("no attribute `{}` holds metres of the verge.", name),
            near.empty() ? fmt::format("Name one of these under [sites.linear]: {}.", in_words(keys))
                         : fmt::format("Did you mean {}?", near));
  return false;
}

bool has_attributes(const LinearSpec& linear, const SourceSpec& source, const VectorLayer& layer,
                    Flags& flags) {
  std::vector<std::string> names;
  for (const LineMeasure* measure : {&linear.width, &linear.offset}) {
    for (const std::string& name : measure->attributes) {
      if (std::find(names.begin(), names.end(), name) == names.end()) names.push_back(name);
    }
  }
  return std::all_of(names.begin(), names.end(),
                     [&](const std::string& name) { return has_attribute(name, source, layer, flags); });
}

/// Nothing, with a STOP, where a feature does not say its metres.
std::optional<std::array<double, 2>> measured(const LineMeasure& measure, const Feature& feature,
                                              const std::string& code, Flags& flags) {
  std::array<double, 2> metres = measure.metres;
  for (std::size_t side = 0; side < 2; ++side) {
    if (measure.attributes[side].empty()) continue;
    const std::string text = field(feature, measure.attributes[side]);
    if (const auto value = metres_in(text)) {
      metres[side] = *value;
      continue;
    }
    flags.add(Severity::stop, "metres of the verge", feature.place,
              fmt::format("{}: attribute `{}` {}, and is needed in metres from 0 to 100.", code,
                          measure.attributes[side], text.empty() ? "is empty" : "holds \"" + text + "\""),
              "Write a number; 0 where there is no verge.");
    return std::nullopt;
  }
  return metres;
}

std::vector<std::vector<Point>> lines_in(const Feature& feature, const std::string& code, Flags& flags) {
  const bool area = !polygons_of(feature.geometry).empty();
  std::vector<std::vector<Point>> lines;
  if (!area) lines = lines_of(feature.geometry);
  if (lines.empty()) {
    flags.add(
        Severity::stop, "linear site without a line", feature.place,
        fmt::format("{} is {} here, and [sites.linear] takes lines.", code, area ? "an area" : "no line"),
        area ? "Name the file as source under [sites], or draw the middle or the edge of the road as a line."
             : "Draw the middle or the edge of the road as a line.");
  }
  return lines;
}

void keep_what_agrees(std::map<std::string, std::string>& kept,
                      const std::map<std::string, std::string>& other) {
  std::erase_if(kept, [&](const auto& entry) {
    const auto found = other.find(entry.first);
    return found == other.end() || found->second != entry.second;
  });
}

void add_feature(const Plan& plan, const Feature& feature, std::map<std::string, Lines>& by_code,
                 Flags& flags) {
  const std::string code = code_of(plan.sites, feature, flags);
  if (code.empty()) return;
  const auto width = measured(plan.sites.linear.width, feature, code, flags);
  const auto offset = measured(plan.sites.linear.offset, feature, code, flags);
  const std::vector<std::vector<Point>> lines = lines_in(feature, code, flags);
  if (!width || !offset || lines.empty()) return;
  const auto [found, is_new] = by_code.try_emplace(code);
  Lines& here = found->second;
  const std::string name = field(feature, plan.sites.name);
  if (is_new) {
    here.site.code = code;
    here.site.name = name.empty() ? code : name;
    here.site.attributes = open_attributes(plan.sites, feature);
    here.site.place = feature.place;
  } else {
    keep_what_agrees(here.site.attributes, open_attributes(plan.sites, feature));
    if (!name.empty() && name != here.site.name) {
      flags.add(Severity::ask, "one code, two names", feature.place,
                fmt::format("code {} is \"{}\" here and \"{}\" in {}.", code, name, here.site.name,
                            here.site.place.text()),
                "Settle on one name, or give one of the two another code.");
    }
  }
  here.length_m += feature.geometry.length();
  for (const std::vector<Point>& points : lines) here.drawn.push_back({points, {*offset, *width}});
}

/// Lays out the verge; false, with a STOP, where there is none.
bool lay_out(const LinearSpec& linear, Lines& lines, Flags& flags) {
  Site& site = lines.site;
  if (lines.length_m / linear.segment_m > most_segments) {
    flags.add(Severity::stop, "too many segments", site.place,
              fmt::format("{}: {:.0f} km give {} segments of {} m; a site may have {}.", site.code,
                          lines.length_m / 1000, grouped(std::llround(lines.length_m / linear.segment_m)),
                          shortest(linear.segment_m), grouped(std::llround(most_segments))),
              "Make segment_m longer, or give parts of the line codes of their own.");
    return false;
  }
  site.verge = make_verge(lines.drawn, linear.segment_m,
                          {linear.sides != LineSides::right, linear.sides != LineSides::left});
  site.drawn = ground_of(*site.verge);
  site.as_drawn = site.drawn;
  if (site.drawn.empty()) {
    flags.add(Severity::stop, "linear site without ground", site.place,
              fmt::format("{}: its {:.1f} m of line have no verge beside them.", site.code, lines.length_m),
              "Look at the line's length and at width_m.");
    return false;
  }
  if (site.verge->turned > 0) {
    flags.add(
        Severity::note, "lines turned", site.place,
        fmt::format("{}: lines that were drawn against those they go on from: {}. They are turned, left "
                    "and right with them.",
                    site.code, site.verge->turned));
  }
  return true;
}

bool drawn_as_area(const Sites& sites, const Site& line, Flags& flags) {
  for (const Site& site : sites.sites) {
    if (site.code != line.code) continue;
    flags.add(Severity::stop, "both an area and a line", line.place,
              fmt::format("{} is a line here and an area in {}: its ground would be drawn twice.", line.code,
                          site.place.text()),
              "Take one of the two out.");
    return true;
  }
  return false;
}

}  // namespace

void add_linear_sites(const Plan& plan, const Crs& crs, Sites& sites, Flags& flags) {
  const LinearSpec& linear = plan.sites.linear;
  std::map<std::string, Lines> by_code;
  for (const SourceSpec& source : linear.sources) {
    const VectorLayer layer = read_vectors(
        {source.file, source.layer, source.crs, plan.sites.private_attributes, source.place}, crs, flags);
    if (!layer.route.empty() &&
        std::find(sites.routes.begin(), sites.routes.end(), layer.route) == sites.routes.end()) {
      sites.routes.push_back(layer.route);
    }
    if (!has_code_attribute(plan.sites, source, layer, flags) ||
        !has_attributes(linear, source, layer, flags))
      continue;
    for (const Feature& feature : layer.features) add_feature(plan, feature, by_code, flags);
  }
  for (auto& [code, lines] : by_code) {
    if (drawn_as_area(sites, lines.site, flags) || !lay_out(linear, lines, flags)) continue;
    sites.sites.push_back(std::move(lines.site));
  }
  std::sort(sites.sites.begin(), sites.sites.end(),
            [](const Site& a, const Site& b) { return a.code < b.code; });
}

void keep_segments(const Plan& plan, Sites& sites, Flags& flags) {
  std::vector<std::string> codes;
  for (Site& site : sites.sites) {
    if (!site.verge) continue;
    keep_ground(*site.verge, site.survey);
    codes.push_back(site.code);
  }
  if (codes.empty()) return;
  flags.add(
      Severity::note, "work beside a road", plan.sites.linear.place,
      fmt::format("where {} {} beside a road or railway, traffic is the danger that counts: nobody works "
                  "there alone, in poor light or where drivers cannot see them in time.",
                  in_words(codes), codes.size() == 1 ? "lies" : "lie"),
      "Get the permit of the road or railway authority first, wear what it asks for, keep off the "
      "carriageway; local rules and licensed practice come before this plan.");
}

}  // namespace swardline::site_parts
