// Choosing one operation between two coordinate systems, and keeping to it.
#include <fmt/format.h>
#include <geos_c.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/geo/crs.hpp"
#include "swardline/geo/geos_call.hpp"
#include "swardline/geo/proj_call.hpp"
#include "swardline/geo/route_offers.hpp"

namespace swardline {

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
  void note_missing(const std::vector<Offer>& all, bool area_known);
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

void Route::Inside::note_missing(const std::vector<Offer>& all, bool area_known) {
  for (const Offer& offer : all) {
    if (offer.ballpark || offer.accuracy < 0 || (area_known && !offer.holds_area)) continue;
    if (accuracy >= 0 && offer.accuracy >= accuracy) continue;
    const std::vector<std::string>& names = offer.absent_grids;
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
  Inside& in = *inside_;
  in.from_name = from.name();
  in.to_name = to.name();
  const std::optional<Box> where = area_of_interest(from, to, area);
  const Offers offers = offers_between(from, to, where);
  in.identity = offers.identity;
  const Offer* best = best_of(offers.usable);
  if (best == nullptr) {
    throw InputError(
        {}, fmt::format("there is no operation from {} to {}.", in.from_name, in.to_name),
        "Check both coordinate systems: they may be on different bodies or have an unknown datum.");
  }
  in.pipeline = best->pipeline;
  in.map_pipeline = best->map_pipeline;
  in.operation = in.identity ? "none needed" : best->name;
  if (!in.identity) {
    in.changes = best->changes;
    in.accuracy = best->accuracy;
    in.ballpark = best->ballpark;
    if (in.accuracy != 0) in.note_missing(offers.any, where.has_value());
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
