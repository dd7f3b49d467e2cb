// What is wrong or doubtful with the list of sites itself.
#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <optional>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/base/workers.hpp"
#include "swardline/design/plot_codes.hpp"
#include "swardline/design/site_parts.hpp"
#include "swardline/geo/earth.hpp"

namespace swardline::site_parts {
namespace {

/// The middle of the plan's first readable site source in degrees, whatever the plan's system is.
std::optional<Point> sites_lon_lat(const Plan& plan, const Crs& crs) {
  Flags unsaid;
  std::vector<SourceSpec> sources = plan.sites.sources;
  sources.insert(sources.end(), plan.sites.linear.sources.begin(), plan.sites.linear.sources.end());
  for (const SourceSpec& source : sources) {
    const VectorLayer layer = read_vectors(
        {source.file, source.layer, source.crs, plan.sites.private_attributes, source.place}, crs, unsaid);
    if (!layer.crs || layer.features.empty()) continue;
    Box all = layer.features.front().as_read.box();
    for (const Feature& feature : layer.features) all.grow(feature.as_read.box());
    const Point middle{(all.x0 + all.x1) / 2, (all.y0 + all.y1) / 2};
    return Route(*layer.crs, Crs::wgs84(), all).forward(middle);
  }
  return std::nullopt;
}

std::string utm_zone_at(Point lon_lat) {
  const int zone = std::clamp(int(std::floor((lon_lat.x + 180) / 6)) + 1, 1, 60);
  return fmt::format("the UTM zone EPSG:{}{:02d}", lon_lat.y < 0 ? 327 : 326, zone);
}

std::string a_system_in_metres(const Plan& plan, const Crs& crs) {
  std::optional<Point> middle;
  try {
    middle = sites_lon_lat(plan, crs);
  } catch (const std::exception&) {
    // The sites cannot be read either: the remedy does without their zone.
  }
  if (!middle || !(std::abs(middle->x) <= 180) || !(std::abs(middle->y) <= 84)) {
    return "Choose a projected system in metres, e.g. the UTM zone of the sites.";
  }
  return "Choose a projected system, e.g. " + utm_zone_at(*middle) + ".";
}

/// How a site's plane differs from the ground.
struct Stretch {
  double area = 0;    ///< geodesic over plane area, less 1
  double length = 0;  ///< ground over plane length, less 1, in the worse of two directions at the middle
  Point lon_lat;
  [[nodiscard]] double off() const { return std::max(std::abs(area), std::abs(length)); }
};

std::optional<Stretch> stretch_of(const Crs& crs, const Site& site) {
  constexpr double half_m = 50;
  Stretch stretch;
  stretch.area = site.geodesic_ratio - 1;
  const Box box = site.survey.box();
  const Point middle{(box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2};
  try {
    const Route route(crs, Crs::wgs84(), box);
    stretch.lon_lat = route.forward(middle);
    for (const Point step : {Point{half_m, 0}, Point{0, half_m}}) {
      const Point from = route.forward(Point{middle.x - step.x, middle.y - step.y});
      const Point to = route.forward(Point{middle.x + step.x, middle.y + step.y});
      const double off = geodesic(from, to).metres / (2 * half_m) - 1;
      if (std::abs(off) > std::abs(stretch.length)) stretch.length = off;
    }
  } catch (const InputError&) {
    return std::nullopt;  // no place on earth: measuring its area has said so
  }
  return stretch;
}

/// As people read it at arm's length: I and 1, O and 0 are one.
std::string as_misread(const std::string& code) {
  std::string text = upper_ascii(code);
  std::replace(text.begin(), text.end(), 'O', '0');
  std::replace(text.begin(), text.end(), 'I', '1');
  return text;
}

std::string letters_of(const std::string& name) {
  std::string text;
  for (const char c : lower_ascii(name)) {
    if (std::isalnum(static_cast<unsigned char>(c)) != 0 || (static_cast<unsigned char>(c) & 0x80U) != 0)
      text += c;
  }
  return text;
}

std::string digits_of(const std::string& name) {
  std::string text;
  std::copy_if(name.begin(), name.end(), std::back_inserter(text),
               [](char c) { return std::isdigit(static_cast<unsigned char>(c)) != 0; });
  return text;
}

/// True where one letter was added, lost, changed or swapped with its neighbour.
bool one_slip_apart(const std::string& a, const std::string& b) {
  const std::string& longer = a.size() >= b.size() ? a : b;
  const std::string& shorter = a.size() >= b.size() ? b : a;
  if (longer.size() - shorter.size() > 1) return false;
  std::size_t front = 0;
  while (front < shorter.size() && longer[front] == shorter[front]) ++front;
  const std::string left_long = longer.substr(front), left_short = shorter.substr(front);
  if (left_long.empty()) return true;
  if (longer.size() > shorter.size()) return left_long.substr(1) == left_short;
  if (left_long.substr(1) == left_short.substr(1)) return true;
  return left_long.size() > 1 && left_long[0] == left_short[1] && left_long[1] == left_short[0] &&
         left_long.substr(2) == left_short.substr(2);
}

/// Names one slip apart; names told apart by a number ("North Field 2") are meant.
bool near_duplicates(const std::string& a, const std::string& b) {
  const std::string left = letters_of(a), right = letters_of(b);
  if (left.empty() || right.empty() || digits_of(left) != digits_of(right)) return false;
  return left == right || (std::min(left.size(), right.size()) >= 5 && one_slip_apart(left, right));
}

void check_code(const Site& site, Flags& flags) {
  if (name_stem(site.code).empty()) return;  // said with the others that make no names
  // A plot's name begins with the site's code and two digits, so MAR is as bad as MAR05.
  const bool alone = spreadsheet_misreads(site.code);
  if (!alone && !spreadsheet_misreads(site.code + "05")) return;
  const std::string as = alone ? site.code : site.code + "05";
  // Digits with at most an exponent or a sign are read as a number; what has a month in it as a date.
  const bool number = as.find_first_not_of("0123456789eE+-.%") == std::string::npos;
  const std::string upper = upper_ascii(as);
  const bool truth = upper == "TRUE" || upper == "FALSE";
  flags.add(Severity::stop, "code that spreadsheets change", site.place,
            fmt::format("code {} becomes a {} in spreadsheets{}.", site.code,
                        truth    ? "truth value"
                        : number ? "number"
                                 : "date",
                        alone ? "" : fmt::format(" (as {})", as)),
            "Choose another.");
}

/// Digits follow the code in every plot's name, so its own look-alikes of digits are misread.
void check_letters(const std::vector<Site>& sites, Flags& flags) {
  std::vector<std::string> codes;
  for (const Site& site : sites) {
    if (upper_ascii(site.code).find_first_of("IO01") != std::string::npos) codes.push_back(site.code);
  }
  if (codes.empty()) return;
  const bool one = codes.size() == 1;
  flags.add(Severity::note, "code with I, O, 0 or 1", {},
            fmt::format("{} {} I, O, 0 or 1: in plot names, where digits follow, I is read as 1 and O as 0.",
                        in_words(codes), one ? "holds" : "hold"),
            "Where the code is still free to choose, use other letters.");
}

void check_pair(const Site& a, const Site& b, Flags& flags) {
  if (name_stem(a.code) != name_stem(b.code) && as_misread(a.code) == as_misread(b.code)) {
    flags.add(Severity::ask, "codes that look alike", b.place,
              fmt::format("codes {} and {} are one code to a tired eye (I and 1, O and 0, large and small).",
                          a.code, b.code),
              "Change one of them.");
  }
  if (near_duplicates(a.name, b.name)) {
    flags.add(Severity::ask, "names nearly alike", b.place,
              fmt::format("\"{}\" ({}) and \"{}\" ({}) may be one site under two spellings.", a.name, a.code,
                          b.name, b.code),
              "If they are one, give both the same code; if not, make the names differ more.");
  }
}

void check_overlap(const Site& a, const Site& b, Flags& flags) {
  const double drawn = intersection(a.drawn, b.drawn).area();
  if (drawn <= 0) return;
  const double surveyed = a.survey.empty() || b.survey.empty() ? 0 : intersection(a.survey, b.survey).area();
  if (surveyed >= 1) {
    flags.add(Severity::stop, "overlapping sites", b.place,
              fmt::format("{} and {} overlap by {}: that ground would be drawn and counted twice.", a.code,
                          b.code, hectares_plain(surveyed)),
              fmt::format("Redraw {} or {} so that they only touch.", a.code, b.code));
  } else if (drawn >= 1) {
    flags.add(Severity::note, "overlapping sites", b.place,
              fmt::format("{} and {} overlap by {} as drawn; all of it is excluded.", a.code, b.code,
                          hectares_plain(drawn)));
  } else if (drawn >= 0.01) {
    flags.add(Severity::note, "overlapping sites", b.place,
              fmt::format("{} and {} overlap by {:.2f} m²: left as it is.", a.code, b.code, drawn));
  }
}

}  // namespace

bool plan_system_is_usable(const Plan& plan, const Crs& crs, Flags& flags) {
  if (crs.projected() && crs.in_metres()) return true;
  const bool geographic = !crs.projected();
  flags.add(
      Severity::stop, geographic ? "plan system is geographic" : "plan system is not in metres",
      plan.crs_place,
      fmt::format("{} is {}: distances and areas need metres.", plan.crs.empty() ? crs.name() : plan.crs,
                  geographic ? "geographic" : "not in metres"),
      a_system_in_metres(plan, crs));
  return false;
}

Geometry mended_polygons(const Feature& feature, const std::string& what, Flags& flags) {
  const Mended mended = made_valid(feature.geometry);
  std::string problem = mended.problem;
  double change = mended.area_change_m2;
  if (problem.empty()) {
    // Snapping to the millimetre may have mended it on the way: it is said all the same.
    const Mended before = made_valid(feature.as_read);
    problem = before.problem;
    const double whole = before.geometry.area();
    change = whole > 0 ? before.area_change_m2 / whole * mended.geometry.area() : 0;
  }
  if (!problem.empty()) {
    // The change between valid areas: what a ring that crosses itself encloses twice or backwards is no area.
    flags.add(Severity::note, "mended", feature.place,
              fmt::format("{}: {}, area changed by {:+.1f} m² to {}.", what, problem, change,
                          hectares_plain(mended.geometry.area())),
              "Look at it on the map, and mend the source.");
  }
  return polygons_of(snapped_mm(mended.geometry));
}

void check_register(const std::vector<Site>& sites, Flags& flags) {
  check_plot_codes(sites, flags);
  for (const Site& site : sites) check_code(site, flags);
  check_letters(sites, flags);
  for (std::size_t i = 0; i < sites.size(); ++i) {
    for (std::size_t j = i + 1; j < sites.size(); ++j) check_pair(sites[i], sites[j], flags);
  }
}

void check_stretch(const Plan& plan, const Crs& crs, const std::vector<Site>& sites, int threads,
                   Flags& flags) {
  constexpr double worth_saying = 0.001;
  constexpr double too_much = 0.01;  // 10 cm on a belt of 10 m: more than a tape is read to
  const Site* worst = nullptr;
  Stretch most;
  std::vector<std::optional<Stretch>> stretches(sites.size());
  in_runs(sites.size(), threads, [&](int, std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) {
      if (!sites[i].survey.empty()) stretches[i] = stretch_of(crs, sites[i]);
    }
  });
  for (std::size_t i = 0; i < sites.size(); ++i) {
    if (!stretches[i] || stretches[i]->off() <= std::max(worth_saying, most.off())) continue;
    worst = &sites[i];
    most = *stretches[i];
  }
  if (worst == nullptr) return;
  if (most.off() < too_much) {
    flags.add(
        Severity::ask, "areas stretched", plan.crs_place,
        fmt::format(
            "areas in {} are off from areas on the ground by up to {:.2f} % ({}), lengths by "
            "{:.2f} %: totals "
            "are put right with each stratum's ratio (geodesic_ratio in the store), other uses are not.",
            crs.name(), 100 * std::abs(most.area), worst->code, 100 * std::abs(most.length)),
        "A system whose zone lies over the sites would be closer.");
    return;
  }
  flags.add(
      Severity::stop, "lengths stretched", plan.crs_place,
      fmt::format("a plot length of 10 m in {} is {:.2f} m on the ground at {} (areas off by {:.0f} %): "
                  "the plots drawn would not be the plots taped.",
                  crs.name(), 10 * (1 + most.length), worst->code, 100 * std::abs(most.area)),
      "Use a local system, e.g. " + utm_zone_at(most.lon_lat) + ".");
}

void check_overlaps(const std::vector<Site>& sites, Flags& flags) {
  std::vector<Box> boxes;
  for (const Site& site : sites) boxes.push_back(site.drawn.box());
  for (std::size_t i = 0; i < sites.size(); ++i) {
    for (std::size_t j = i + 1; j < sites.size(); ++j) {
      if (boxes[i].meets(boxes[j])) check_overlap(sites[i], sites[j], flags);
    }
  }
}

std::string hectares_plain(double square_metres) {
  const double value = square_metres / 10000;
  if (value >= 99.95) return grouped(std::llround(value)) + " ha";
  if (value >= 0.195) return fmt::format("{:.1f} ha", value);
  if (value >= 0.01) return fmt::format("{:.2f} ha", value);
  return fmt::format("{:.1f} m²", square_metres);
}

}  // namespace swardline::site_parts
