// Choosing one operation between two coordinate systems, and keeping to it.
#include <fmt/format.h>
#include <geos_c.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/geo/crs.hpp"
#include "swardline/geo/geos_call.hpp"
#include "swardline/geo/proj_call.hpp"

namespace swardline {
namespace {

/// One operation PROJ offers.
struct Offer {
  ProjObject operation;
  double accuracy = -1;  ///< metres; negative when not stated
  bool ballpark = false;
  bool holds_area = false;  ///< its area of use holds the area of interest
};

std::vector<ProjObject> steps_of(PJ_CONTEXT* context, const PJ* operation) {
  std::vector<ProjObject> steps;
  if (proj_get_type(operation) != PJ_TYPE_CONCATENATED_OPERATION) {
    steps.emplace_back(proj_clone(context, operation));
    return steps;
  }
  const int count = proj_concatoperation_get_step_count(context, operation);
  for (int i = 0; i < count; ++i) steps.emplace_back(proj_concatoperation_get_step(context, operation, i));
  return steps;
}

/// Sum of the steps' accuracies. A conversion (a projection, an axis order) is exact by definition.
double accuracy_of(PJ_CONTEXT* context, const PJ* operation) {
  if (proj_coordoperation_has_ballpark_transformation(context, operation) != 0) return -1;
  double sum = 0;
  for (const ProjObject& step : steps_of(context, operation)) {
    if (proj_get_type(step.get()) == PJ_TYPE_CONVERSION) continue;
    const double accuracy = proj_coordoperation_get_accuracy(context, step.get());
    if (accuracy < 0) return -1;
    sum += accuracy;
  }
  return sum;
}

/// The changes of datum by name; projections are left out.
std::string datum_steps(PJ_CONTEXT* context, const PJ* operation) {
  std::vector<std::string> names;
  for (const ProjObject& step : steps_of(context, operation)) {
    if (proj_get_type(step.get()) != PJ_TYPE_CONVERSION) names.emplace_back(proj_get_name(step.get()));
  }
  return fmt::format("{}", fmt::join(names, " + "));
}

std::vector<std::string> absent_grids(PJ_CONTEXT* context, const PJ* operation) {
  std::vector<std::string> names;
  const int count = proj_coordoperation_get_grid_used_count(context, operation);
  for (int i = 0; i < count; ++i) {
    const char* name = nullptr;
    int available = 0;
    if (proj_coordoperation_get_grid_used(context, operation, i, &name, nullptr, nullptr, nullptr, nullptr,
                                          nullptr, &available) != 0 &&
        available == 0 && name != nullptr) {
      names.emplace_back(name);
    }
  }
  return names;
}

bool holds(const Box& outer, const Box& inner) {
  return outer.x0 <= inner.x0 && inner.x1 <= outer.x1 && outer.y0 <= inner.y0 && inner.y1 <= outer.y1;
}

std::vector<Offer> offers(PJ_CONTEXT* context, const PJ* from, const PJ* to, const std::optional<Box>& area,
                          PROJ_GRID_AVAILABILITY_USE grids) {
  const ProjFactory factory(proj_create_operation_factory_context(context, nullptr));
  proj_operation_factory_context_set_spatial_criterion(context, factory.get(),
                                                       PROJ_SPATIAL_CRITERION_PARTIAL_INTERSECTION);
  proj_operation_factory_context_set_grid_availability_use(context, factory.get(), grids);
  if (area) {
    proj_operation_factory_context_set_area_of_interest(context, factory.get(), area->x0, area->y0, area->x1,
                                                        area->y1);
  }
  const ProjList list(proj_create_operations(context, from, to, factory.get()));
  std::vector<Offer> all;
  const int count = list ? proj_list_get_count(list.get()) : 0;
  for (int i = 0; i < count; ++i) {
    Offer offer;
    offer.operation.reset(proj_list_get(context, list.get(), i));
    const PJ* operation = offer.operation.get();
    offer.accuracy = accuracy_of(context, operation);
    offer.ballpark = proj_coordoperation_has_ballpark_transformation(context, operation) != 0;
    Box use;
    if (area && proj_get_area_of_use(context, operation, &use.x0, &use.y0, &use.x1, &use.y1, nullptr) != 0) {
      offer.holds_area = holds(use, *area);
    }
    all.push_back(std::move(offer));
  }
  return all;
}

/// The most accurate of those whose area of use holds the ground; where none does,
/// PROJ's own first; a ballpark offset only when there is nothing else.
const Offer* best_of(const std::vector<Offer>& all) {
  const auto worth = [](const Offer& offer) {
    return offer.accuracy < 0 ? std::numeric_limits<double>::infinity() : offer.accuracy;
  };
  const Offer* best = nullptr;
  for (const Offer& offer : all) {
    if (offer.ballpark || !offer.holds_area) continue;
    if (best == nullptr || worth(offer) < worth(*best)) best = &offer;
  }
  if (best != nullptr) return best;
  for (const Offer& offer : all) {
    if (!offer.ballpark) return &offer;
  }
  return all.empty() ? nullptr : &all.front();
}

/// The area of interest in longitude and latitude. Good to a few hundred metres, which
/// is all that choosing an operation needs.
std::optional<Box> interest(PJ_CONTEXT* context, const Crs& from, const Crs& to, const PJ* from_pj,
                            const std::optional<Box>& area) {
  if (area) {
    const ProjObject wgs84(proj_create(context, "EPSG:4326"));
    ProjObject there(proj_create_crs_to_crs_from_pj(context, from_pj, wgs84.get(), nullptr, nullptr));
    if (there) there.reset(proj_normalize_for_visualization(context, there.get()));
    Box box;
    constexpr int kPointsPerEdge = 21;
    if (there &&
        proj_trans_bounds(context, there.get(), PJ_FWD, area->x0, area->y0, area->x1, area->y1, &box.x0,
                          &box.y0, &box.x1, &box.y1, kPointsPerEdge) != 0 &&
        std::isfinite(box.x0) && std::isfinite(box.y0) && std::isfinite(box.x1) && std::isfinite(box.y1)) {
      return box;
    }
  }
  const std::optional<Box> a = from.area_of_use();
  const std::optional<Box> b = to.area_of_use();
  if (!a || !b || !a->meets(*b)) return std::nullopt;
  return Box{std::max(a->x0, b->x0), std::max(a->y0, b->y0), std::min(a->x1, b->x1), std::min(a->y1, b->y1)};
}

std::string pipeline_text(PJ_CONTEXT* context, const PJ* operation) {
  const char* text =
      operation == nullptr ? nullptr : proj_as_proj_string(context, operation, PJ_PROJ_5, nullptr);
  return text == nullptr ? std::string() : std::string(text);
}

}  // namespace

struct Route::Inside {
  std::string from_name;
  std::string to_name;
  bool identity = false;
  std::string operation;
  std::string changes;       ///< datum steps only
  std::string map_pipeline;  ///< (east, north) to (east, north)
  std::string pipeline;      ///< in the authorities' axis order
  double accuracy = 0;
  bool ballpark = false;
  std::vector<std::string> missing;
  double better_accuracy = -1;  ///< of the first better operation, and the grids it needs
  std::vector<std::string> better_grids;

  ProjContext context = new_proj_context();  // its own, so that a copy may go to another thread
  ProjObject transform;

  void open() {
    if (identity) return;
    transform.reset(proj_create(context.get(), map_pipeline.c_str()));
    if (!transform) {
      throw InputError(
          {}, fmt::format("no usable operation from {} to {}: {}.", from_name, to_name, proj_message()));
    }
  }
  [[nodiscard]] std::unique_ptr<Inside> copy() const {
    auto twin = std::make_unique<Inside>();
    twin->from_name = from_name;
    twin->to_name = to_name;
    twin->identity = identity;
    twin->operation = operation;
    twin->changes = changes;
    twin->map_pipeline = map_pipeline;
    twin->pipeline = pipeline;
    twin->accuracy = accuracy;
    twin->ballpark = ballpark;
    twin->missing = missing;
    twin->better_accuracy = better_accuracy;
    twin->better_grids = better_grids;
    twin->open();
    return twin;
  }
  [[nodiscard]] bool moved(double& x, double& y, PJ_DIRECTION direction) const {
    if (identity) return true;
    proj_errno_reset(transform.get());
    const PJ_COORD there = proj_trans(transform.get(), direction, proj_coord(x, y, 0, HUGE_VAL));
    if (proj_errno(transform.get()) != 0 || !std::isfinite(there.xy.x) || !std::isfinite(there.xy.y))
      return false;
    x = there.xy.x;
    y = there.xy.y;
    return true;
  }
  [[noreturn]] void failed(Point point, PJ_DIRECTION direction) const {
    const int number = transform ? proj_errno(transform.get()) : 0;
    const char* why =
        number == 0 ? "the result is not finite" : proj_context_errno_string(context.get(), number);
    throw InputError({},
                     fmt::format("the point {} {} cannot be brought from {} to {} ({}).", point.x, point.y,
                                 direction == PJ_FWD ? from_name : to_name,
                                 direction == PJ_FWD ? to_name : from_name, why == nullptr ? "" : why),
                     "Check that its coordinates are in the system named, easting or longitude first.");
  }
  [[nodiscard]] Point point(Point p, PJ_DIRECTION direction) const {
    Point there = p;
    if (!moved(there.x, there.y, direction)) failed(p, direction);
    return there;
  }
  [[nodiscard]] Geometry geometry(const Geometry& g, PJ_DIRECTION direction) const;
  void note_missing(PJ_CONTEXT* maker, const std::vector<Offer>& all, const std::optional<Box>& area);
};

Geometry Route::Inside::geometry(const Geometry& g, PJ_DIRECTION direction) const {
  if (identity) return g;
  struct Carrier {
    const Inside* inside;
    PJ_DIRECTION direction;
    Point failed_at;
  } carrier{this, direction, {}};
  const auto move_point = [](double* x, double* y, void* data) -> int {
    auto* c = static_cast<Carrier*>(data);
    const Point before{*x, *y};
    if (c->inside->moved(*x, *y, c->direction)) return 1;
    c->failed_at = before;
    return 0;
  };
  GEOSGeometry* there = GEOSGeom_transformXY_r(geos(), g.get(), move_point, &carrier);
  if (there == nullptr) failed(carrier.failed_at, direction);
  return Geometry(there);
}

void Route::Inside::note_missing(PJ_CONTEXT* maker, const std::vector<Offer>& all,
                                 const std::optional<Box>& area) {
  for (const Offer& offer : all) {
    if (offer.ballpark || offer.accuracy < 0 || (area && !offer.holds_area)) continue;
    if (accuracy >= 0 && offer.accuracy >= accuracy) continue;
    const std::vector<std::string> names = absent_grids(maker, offer.operation.get());
    if (names.empty()) continue;
    if (missing.empty()) {
      better_accuracy = offer.accuracy;
      better_grids = names;
    }
    for (const std::string& name : names) {
      if (std::find(missing.begin(), missing.end(), name) == missing.end()) missing.push_back(name);
    }
  }
}

Route::Route(const Crs& from, const Crs& to, const std::optional<Box>& area)
    : inside_(std::make_unique<Inside>()) {
  PJ_CONTEXT* context = proj_context();
  Inside& in = *inside_;
  in.from_name = from.name();
  in.to_name = to.name();
  in.identity = from.same_as(to);
  const ProjObject from_pj(proj_create(context, from.wkt().c_str()));
  const ProjObject to_pj(proj_create(context, to.wkt().c_str()));
  if (!from_pj || !to_pj) throw Defect("a coordinate system's own WKT cannot be read back");
  const std::optional<Box> where = interest(context, from, to, from_pj.get(), area);

  // Asked twice: while an operation with an absent grid is on offer, PROJ does not look for
  // a way round through a third datum, which can be far better than a ballpark offset.
  std::vector<Offer> usable = offers(context, from_pj.get(), to_pj.get(), where,
                                     PROJ_GRID_AVAILABILITY_DISCARD_OPERATION_IF_MISSING_GRID);
  std::erase_if(usable, [&](const Offer& offer) {
    return proj_coordoperation_is_instantiable(context, offer.operation.get()) == 0;
  });
  const Offer* best = best_of(usable);
  if (best == nullptr) {
    throw InputError(
        {}, fmt::format("there is no operation from {} to {}.", in.from_name, in.to_name),
        "Check both coordinate systems: they may be on different bodies or have an unknown datum.");
  }
  in.pipeline = pipeline_text(context, best->operation.get());
  const ProjObject in_map_order(proj_normalize_for_visualization(context, best->operation.get()));
  in.map_pipeline = pipeline_text(context, in_map_order.get());
  in.operation = in.identity ? "none needed" : proj_get_name(best->operation.get());
  if (!in.identity) {
    in.changes = datum_steps(context, best->operation.get());
    in.accuracy = best->accuracy;
    in.ballpark = best->ballpark;
    if (in.accuracy != 0) {
      in.note_missing(
          context, offers(context, from_pj.get(), to_pj.get(), where, PROJ_GRID_AVAILABILITY_IGNORED), where);
    }
  }
  in.open();
}

Route::~Route() = default;
Route::Route(const Route& other) : inside_(other.inside_->copy()) {}
Route::Route(Route&&) noexcept = default;
Route& Route::operator=(Route other) noexcept {
  std::swap(inside_, other.inside_);
  return *this;
}

Point Route::forward(Point point) const { return inside_->point(point, PJ_FWD); }
Point Route::back(Point point) const { return inside_->point(point, PJ_INV); }
Geometry Route::forward(const Geometry& geometry) const { return inside_->geometry(geometry, PJ_FWD); }
Geometry Route::back(const Geometry& geometry) const { return inside_->geometry(geometry, PJ_INV); }

std::string Route::operation() const { return inside_->operation; }
std::string Route::pipeline() const { return inside_->pipeline; }
double Route::accuracy_m() const { return inside_->accuracy; }
std::vector<std::string> Route::missing_grids() const { return inside_->missing; }

std::string Route::in_words() const {
  const Inside& in = *inside_;
  if (in.identity) return "same coordinate system, nothing to transform";
  std::string words;
  if (in.ballpark) {
    words = fmt::format(
        "ballpark: {}, as if both datums were one; accuracy not known, tens or hundreds of metres",
        in.changes);
  } else if (in.changes.empty()) {
    words = fmt::format("{} to {}: same datum, exact", in.from_name, in.to_name);
  } else if (in.accuracy < 0) {
    words = fmt::format("{}, accuracy not stated", in.changes);
  } else {
    words = fmt::format("{}, stated accuracy {} m", in.changes, shortest(in.accuracy));
  }
  if (!in.missing.empty()) {
    words += fmt::format("; a better one (stated {} m) needs {}, not installed", shortest(in.better_accuracy),
                         swardline::in_words(in.better_grids));
  }
  return words;
}

}  // namespace swardline
