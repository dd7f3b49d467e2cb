// A species sheet: habitat rules, window, look-alikes, as read from species/*.toml.
#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "swardline/base/place.hpp"

namespace swardline {

/// 0 at and below a, rising to 1 at b, 1 to c, falling to 0 at and above d.
/// -inf and inf are open shoulders. Where a = b the value at a is 1, likewise c = d.
struct Trapezoid {
  double a, b, c, d;
};
/// Piecewise linear through (value, response), constant beyond the ends.
struct Polyline {
  std::vector<std::pair<double, double>> points;
};
/// A table of class codes.
struct ClassTable {
  std::map<std::string, double> scores;
  std::set<std::string> excluded;   ///< these classes are excluded ground
  std::optional<double> otherwise;  ///< without it an unlisted class is an error
};
using Response = std::variant<Trapezoid, Polyline, ClassTable>;

enum class Role { limiting, modifying };
enum class Rule { lowest, geometric, arithmetic, graded };

struct Factor {
  std::string layer;  ///< a layer of the plan, or slope, aspect, heat (from elevation)
  Role role = Role::limiting;
  double weight = 1;
  Response response;
  std::string why;
  std::string group;  ///< empty: at the top
  Place place;
};

struct Mask {
  std::string layer;
  std::optional<double> keep_below;  ///< strict: value < keep_below stays
  std::optional<double> keep_above;  ///< strict
  std::string reason;                ///< "elevation at or above 260 m" where the sheet gives none
  Place place;
};

struct Combine {
  Rule rule = Rule::graded;
  double limiting_power = 0.6;
  std::optional<double> floor;  ///< least value of modifying factors
};

/// A named group of factors with its own rule, itself an item of `within` (empty: the top).
struct Group {
  std::string name;
  std::string within;
  Role role = Role::limiting;
  double weight = 1;
  Combine combine;
  Place place;
};

struct LookAlike {
  std::string of;  ///< a code of the season, or a plant's name
  std::string tell;
  Place place;
};

struct DayOfYear {
  int month = 1, day = 1;
};

struct Sheet {
  std::string file;
  std::string code;
  std::string name;
  std::string common;
  int version = 1;
  std::optional<std::pair<DayOfYear, DayOfYear>> window;
  std::string sensitivity = "none";  ///< extreme, high, medium, low, none (Chapman 2020)
  bool scored = true;                ///< false: "monitored, not scored" (scored = false and no factors)
  std::vector<Factor> factors;
  std::vector<Group> groups;
  std::vector<Mask> masks;
  Combine combine;
  /// States of a character of Traits, any of which the species may show; words for a name that is none.
  std::map<std::string, std::vector<std::string>> traits;
  std::vector<LookAlike> look_alikes;
  Place place;
};

}  // namespace swardline
