#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "swardline/base/text.hpp"
#include "swardline/check/check_parts.hpp"

namespace swardline::check_parts {
namespace {

// Parts of attribute names that usually hold something about a person; common practice.
constexpr const char* personal_parts[] = {"owner",   "tenant",  "phone",   "e_mail", "email",  "e-mail",
                                          "address", "contact", "surname", "mobile", "telefon"};
constexpr const char* personal_words[] = {"tel", "mail", "person", "cell"};

bool looks_personal(const std::string& attribute) {
  const std::string name = lower_ascii(attribute);
  for (const char* part : personal_parts)
    if (name.find(part) != std::string::npos) return true;
  return std::find(std::begin(personal_words), std::end(personal_words), name) != std::end(personal_words);
}

int zone_at(double longitude) { return std::clamp(int(std::floor((longitude + 180) / 6)) + 1, 1, 60); }

}  // namespace

void check_attributes(const VectorInputs& inputs, Flags& flags) {
  std::map<std::string, std::set<std::string>> found;  // attribute -> files
  for (const VectorInput* input : inputs.all())
    for (const Feature& feature : input->layer.features)
      for (const auto& [attribute, value] : feature.fields)
        if (looks_personal(attribute)) found[attribute].insert(input->name());
  for (const auto& [attribute, files] : found)
    flags.add(Severity::ask, "looks private", {*files.begin(), 0, {}},
              fmt::format("attribute \"{}\" of {} may be about a person, and is not listed as private.",
                          attribute, in_words({files.begin(), files.end()})),
              fmt::format("If so, add \"{}\" to private under [sites]: then it is never read.", attribute));
}

void check_zones(const Plan& plan, const Crs& crs, const Sites& sites, Flags& flags) {
  const std::optional<int> own = crs.utm_zone();
  if (!own) return;
  const Route to_wgs84(crs, Crs::wgs84());
  std::vector<std::string> across;
  std::vector<std::string> beyond;
  int edge = 0;
  for (const Site& site : sites.sites) {
    if (site.drawn.empty()) continue;
    double west = 180;
    double east = -180;
    for (const auto& ring : rings_of(site.drawn).rings)
      for (const Point& p : ring) {
        const double longitude = to_wgs84.forward(p).x;
        west = std::min(west, longitude);
        east = std::max(east, longitude);
      }
    if (zone_at(west) != zone_at(east)) {
      across.push_back(site.code);
      edge = zone_at(west) * 6 - 180;
    } else if (zone_at(west) != std::abs(*own)) {
      beyond.push_back(site.code);
    }
  }
  if (across.empty() && beyond.empty()) return;
  std::vector<std::string> parts;
  if (!across.empty())
    parts.push_back(fmt::format("{} {} across {}° {}, an edge of UTM zones", in_words(across),
                                across.size() == 1 ? "lies" : "lie", std::abs(edge), edge < 0 ? "W" : "E"));
  if (!beyond.empty())
    parts.push_back(
        fmt::format("{} {} in another UTM zone", in_words(beyond), beyond.size() == 1 ? "lies" : "lie"));
  flags.add(
      Severity::note, "zone edge", plan.crs_place,
      fmt::format("{}; the plan's numbers are zone {} throughout.", in_words(parts), std::abs(*own)),
      "The points CSV names the zone of every east and north, and gives both near an edge: never type the "
      "numbers without it.");
}

}  // namespace swardline::check_parts
