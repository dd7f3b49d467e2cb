#include "swardline/geo/crs.hpp"

#include <fmt/format.h>

#include <cctype>
#include <cmath>
#include <cstdlib>
#include <string_view>
#include <utility>

#include "swardline/base/error.hpp"
#include "swardline/geo/proj_call.hpp"

namespace swardline {
namespace {

std::string& last_message() {
  thread_local std::string message;
  return message;
}

void remember_message(void*, int level, const char* message) {
  if (level == PJ_LOG_ERROR) last_message() = message;
}

}  // namespace

ProjContext new_proj_context() {
  ProjContext context(proj_context_create());
  proj_context_set_enable_network(context.get(), 0);
  proj_log_func(context.get(), nullptr, remember_message);
  return context;
}

PJ_CONTEXT* proj_context() {
  thread_local const ProjContext context = new_proj_context();
  return context.get();
}

std::string proj_message() { return std::exchange(last_message(), {}); }

struct Crs::Inside {
  std::string wkt;
  std::string name;
  std::string datum;
  bool projected = false;
  bool metres = false;
  std::optional<Box> area;
  std::optional<std::string> code;
  std::optional<int> utm;
};

namespace {

/// Letters and digits in lower case: how names are compared.
std::string folded(std::string_view text) {
  std::string out;
  for (const char c : text) {
    const auto u = static_cast<unsigned char>(c);
    if (std::isalnum(u) != 0) out.push_back(static_cast<char>(std::tolower(u)));
  }
  return out;
}

std::string name_of(const PJ* object) {
  const char* name = object == nullptr ? nullptr : proj_get_name(object);
  return name == nullptr ? std::string() : std::string(name);
}

bool looks_like_a_name(const std::string& definition) {
  return definition.find_first_of("[{+:") == std::string::npos;
}

/// The definition cut to its plane part: survey ground has no heights.
ProjObject plane_part(PJ_CONTEXT* context, ProjObject crs) {
  if (proj_get_type(crs.get()) == PJ_TYPE_COMPOUND_CRS)
    crs.reset(proj_crs_get_sub_crs(context, crs.get(), 0));
  ProjObject flat(proj_crs_demote_to_2D(context, nullptr, crs.get()));
  return flat ? std::move(flat) : std::move(crs);
}

/// The system itself where a datum shift is bound to it (+towgs84).
ProjObject unbound(PJ_CONTEXT* context, const PJ* crs) {
  if (proj_get_type(crs) == PJ_TYPE_BOUND_CRS) return ProjObject(proj_get_source_crs(context, crs));
  return ProjObject(proj_clone(context, crs));
}

bool axes_in_metres(PJ_CONTEXT* context, const PJ* crs) {
  const ProjObject system(proj_crs_get_coordinate_system(context, crs));
  if (!system) return false;
  for (int axis = 0; axis < 2; ++axis) {
    double factor = 0;
    if (proj_cs_get_axis_info(context, system.get(), axis, nullptr, nullptr, nullptr, &factor, nullptr,
                              nullptr, nullptr) == 0 ||
        factor != 1.0) {
      return false;
    }
  }
  return true;
}

std::string datum_name(PJ_CONTEXT* context, const PJ* crs) {
  const ProjObject geodetic(proj_crs_get_geodetic_crs(context, crs));
  if (!geodetic) return {};
  ProjObject datum(proj_crs_get_datum(context, geodetic.get()));
  if (!datum) datum.reset(proj_crs_get_datum_ensemble(context, geodetic.get()));
  return name_of(datum.get());
}

std::optional<Box> use_box(PJ_CONTEXT* context, const PJ* object) {
  Box box;
  if (proj_get_area_of_use(context, object, &box.x0, &box.y0, &box.x1, &box.y1, nullptr) == 0)
    return std::nullopt;
  if (box.x0 < -360 || box.y0 < -90) return std::nullopt;  // PROJ's mark for "not known"
  if (box.x1 < box.x0) box.x1 += 360;
  return box;
}

std::optional<std::string> authority_code(const PJ* object) {
  const char* authority = proj_get_id_auth_name(object, 0);
  const char* code = proj_get_id_code(object, 0);
  if (authority == nullptr || code == nullptr) return std::nullopt;
  return std::string(authority) + ":" + code;
}

std::optional<std::string> code_or_match(PJ_CONTEXT* context, const PJ* crs) {
  if (auto own = authority_code(crs)) return own;
  constexpr int kEquivalent = 90;  // PROJ: the same but for the name
  int* confidence = nullptr;
  const ProjList matches(proj_identify(context, crs, "EPSG", nullptr, &confidence));
  std::optional<std::string> code;
  if (matches && proj_list_get_count(matches.get()) > 0 && confidence[0] >= kEquivalent) {
    const ProjObject best(proj_list_get(context, matches.get(), 0));
    code = authority_code(best.get());
  }
  proj_int_list_destroy(confidence);
  return code;
}

std::optional<int> zone_of(PJ_CONTEXT* context, const PJ* crs) {
  const char* text = proj_as_proj_string(context, crs, PJ_PROJ_5, nullptr);
  if (text == nullptr) return std::nullopt;
  const std::string definition = text;
  const std::size_t at = definition.find("+zone=");
  if (definition.find("+proj=utm") == std::string::npos || at == std::string::npos) return std::nullopt;
  const int zone = std::atoi(definition.c_str() + at + 6);
  return definition.find("+south") == std::string::npos ? zone : -zone;
}

std::string shortened(const std::string& definition) {
  constexpr std::size_t kMost = 80;
  return definition.size() <= kMost ? definition : definition.substr(0, kMost) + "…";
}

ProjObject read_definition(PJ_CONTEXT* context, const std::string& definition, const Place& place) {
  std::string text = definition;
  if (text.find("+proj=") != std::string::npos && text.find("+type=crs") == std::string::npos)
    text += " +type=crs";
  (void)proj_message();
  ProjObject crs(proj_create(context, text.c_str()));
  if (!crs || proj_is_crs(crs.get()) == 0) {
    const std::string said = crs ? "it is not a coordinate system" : proj_message();
    throw InputError(place,
                     fmt::format("\"{}\" is not a coordinate system PROJ knows{}{}.", shortened(definition),
                                 said.empty() ? "" : ": ", said),
                     "Write a code such as EPSG:26914, or its full name.");
  }
  // PROJ takes a name for the nearest it knows. That could be another datum.
  if (looks_like_a_name(definition) && folded(name_of(crs.get())) != folded(definition)) {
    throw InputError(
        place, fmt::format("no coordinate system is called \"{}\".", shortened(definition)),
        fmt::format("Write \"{}\" if that is meant, or a code such as EPSG:26914.", name_of(crs.get())));
  }
  return crs;
}

}  // namespace

Crs Crs::from_text(const std::string& definition, const Place& place) {
  PJ_CONTEXT* context = proj_context();
  const ProjObject crs = plane_part(context, read_definition(context, definition, place));
  const ProjObject base = unbound(context, crs.get());
  const PJ_TYPE type = proj_get_type(base.get());
  const bool projected = type == PJ_TYPE_PROJECTED_CRS;
  if (!projected && type != PJ_TYPE_GEOGRAPHIC_2D_CRS) {
    throw InputError(
        place, fmt::format("\"{}\" has no map plane and no longitude and latitude.", name_of(crs.get())),
        "Use a projected or geographic coordinate system.");
  }
  const char* const options[] = {"MULTILINE=NO", nullptr};
  const char* wkt = proj_as_wkt(context, crs.get(), PJ_WKT2_2019, options);
  if (wkt == nullptr)
    throw InputError(place, "\"" + shortened(definition) + "\" cannot be written as WKT2:2019.");

  auto inside = std::make_shared<Inside>();
  inside->wkt = wkt;
  inside->name = name_of(base.get());
  inside->datum = datum_name(context, base.get());
  inside->projected = projected;
  inside->metres = projected && axes_in_metres(context, base.get());
  inside->area = use_box(context, base.get());
  inside->code = code_or_match(context, base.get());
  if (inside->metres) inside->utm = zone_of(context, base.get());
  return Crs(std::move(inside));
}

Crs Crs::wgs84() {
  static const Crs one = from_text("EPSG:4326");
  return one;
}

const std::string& Crs::wkt() const { return inside_->wkt; }
std::string Crs::name() const { return inside_->name; }
std::string Crs::datum() const { return inside_->datum; }
bool Crs::projected() const { return inside_->projected; }
bool Crs::in_metres() const { return inside_->metres; }
std::optional<Box> Crs::area_of_use() const { return inside_->area; }
std::optional<std::string> Crs::code() const { return inside_->code; }
std::optional<int> Crs::utm_zone() const { return inside_->utm; }

bool Crs::same_as(const Crs& other) const {
  if (inside_ == other.inside_ || inside_->wkt == other.inside_->wkt) return true;
  PJ_CONTEXT* context = proj_context();
  const auto in_map_order = [&](const Crs& crs) {
    const ProjObject read(proj_create(context, crs.wkt().c_str()));
    return ProjObject(proj_normalize_for_visualization(context, read.get()));
  };
  const ProjObject a = in_map_order(*this);
  const ProjObject b = in_map_order(other);
  return a && b &&
         proj_is_equivalent_to_with_ctx(context, a.get(), b.get(),
                                        PJ_COMP_EQUIVALENT_EXCEPT_AXIS_ORDER_GEOGCRS) != 0;
}

}  // namespace swardline
