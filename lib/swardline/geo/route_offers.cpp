// PROJ's search for operations, done once for each box of whole degrees.
#include "swardline/geo/route_offers.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <mutex>
#include <utility>

#include "swardline/base/error.hpp"
#include "swardline/geo/proj_call.hpp"

namespace swardline {
namespace {

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

/// From a system to longitude and latitude, roughly; this thread's, made once.
PJ* to_degrees(PJ_CONTEXT* context, const Crs& from) {
  thread_local std::map<std::string, ProjObject> made;
  const auto [at, is_new] = made.try_emplace(from.wkt());
  if (is_new) {
    const ProjObject from_pj(proj_create(context, from.wkt().c_str()));
    const ProjObject wgs84(proj_create(context, "EPSG:4326"));
    ProjObject there(
        from_pj ? proj_create_crs_to_crs_from_pj(context, from_pj.get(), wgs84.get(), nullptr, nullptr)
                : nullptr);
    if (there) at->second.reset(proj_normalize_for_visualization(context, there.get()));
  }
  return at->second.get();
}

bool holds(const Box& outer, const Box& inner) {
  return outer.x0 <= inner.x0 && inner.x1 <= outer.x1 && outer.y0 <= inner.y0 && inner.y1 <= outer.y1;
}

std::string pipeline_text(PJ_CONTEXT* context, const PJ* operation) {
  const char* text =
      operation == nullptr ? nullptr : proj_as_proj_string(context, operation, PJ_PROJ_5, nullptr);
  return text == nullptr ? std::string() : std::string(text);
}

Offer offer_of(PJ_CONTEXT* context, const PJ* operation) {
  Offer offer;
  offer.name = proj_get_name(operation);
  offer.changes = datum_steps(context, operation);
  offer.accuracy = accuracy_of(context, operation);
  offer.ballpark = proj_coordoperation_has_ballpark_transformation(context, operation) != 0;
  offer.absent_grids = absent_grids(context, operation);
  if (Box use; proj_get_area_of_use(context, operation, &use.x0, &use.y0, &use.x1, &use.y1, nullptr) != 0)
    offer.use = use;
  return offer;
}

std::vector<Offer> search(PJ_CONTEXT* context, const PJ* from, const PJ* to, const std::optional<Box>& area,
                          bool installed) {
  const ProjFactory factory(proj_create_operation_factory_context(context, nullptr));
  proj_operation_factory_context_set_spatial_criterion(context, factory.get(),
                                                       PROJ_SPATIAL_CRITERION_PARTIAL_INTERSECTION);
  proj_operation_factory_context_set_grid_availability_use(
      context, factory.get(),
      installed ? PROJ_GRID_AVAILABILITY_DISCARD_OPERATION_IF_MISSING_GRID : PROJ_GRID_AVAILABILITY_IGNORED);
  if (area) {
    proj_operation_factory_context_set_area_of_interest(context, factory.get(), area->x0, area->y0, area->x1,
                                                        area->y1);
  }
  const ProjList list(proj_create_operations(context, from, to, factory.get()));
  std::vector<Offer> all;
  const int count = list ? proj_list_get_count(list.get()) : 0;
  for (int i = 0; i < count; ++i) {
    const ProjObject operation(proj_list_get(context, list.get(), i));
    if (installed && proj_coordoperation_is_instantiable(context, operation.get()) == 0) continue;
    Offer offer = offer_of(context, operation.get());
    if (installed) {
      offer.pipeline = pipeline_text(context, operation.get());
      const ProjObject in_map_order(proj_normalize_for_visualization(context, operation.get()));
      offer.map_pipeline = pipeline_text(context, in_map_order.get());
    }
    all.push_back(std::move(offer));
  }
  return all;
}

Offers search(const Crs& from, const Crs& to, const std::optional<Box>& area) {
  PJ_CONTEXT* context = proj_context();
  const ProjObject from_pj(proj_create(context, from.wkt().c_str()));
  const ProjObject to_pj(proj_create(context, to.wkt().c_str()));
  if (!from_pj || !to_pj) throw Defect("a coordinate system's own WKT cannot be read back");
  Offers found;
  found.identity = from.same_as(to);
  // Asked twice: while an operation with an absent grid is on offer, PROJ does not look for
  // a way round through a third datum, which can be far better than a ballpark offset.
  found.usable = search(context, from_pj.get(), to_pj.get(), area, true);
  const auto exact = [](const Offer& offer) { return offer.accuracy == 0; };
  if (!found.identity && !std::all_of(found.usable.begin(), found.usable.end(), exact))
    found.any = search(context, from_pj.get(), to_pj.get(), area, false);
  return found;
}

/// The box of whole even degrees about an area; the area itself where that would not hold it alone.
Box coarse(const Box& area) {
  if (area.x1 < area.x0) return area;  // across the 180th meridian
  const auto down = [](double degrees) { return 2 * std::floor(degrees / 2); };
  const auto up = [](double degrees) { return 2 * std::ceil(degrees / 2); };
  return {std::max(down(area.x0), -180.0), std::max(down(area.y0), -90.0), std::min(up(area.x1), 180.0),
          std::min(up(area.y1), 90.0)};
}

/// What a search kept for more ground says of this area.
void narrow(std::vector<Offer>& all, const Box& area) {
  std::erase_if(all, [&](const Offer& offer) {
    return offer.use && offer.use->x0 <= offer.use->x1 && !offer.use->meets(area);
  });
  for (Offer& offer : all) offer.holds_area = offer.use && holds(*offer.use, area);
}

}  // namespace

Offers offers_between(const Crs& from, const Crs& to, const std::optional<Box>& area) {
  using Key = std::pair<std::pair<std::string, std::string>, std::array<double, 4>>;
  static std::mutex guard;
  static std::map<Key, Offers> kept;
  const Box box = area ? coarse(*area) : Box{0, 0, -1, -1};
  const Key key{{from.wkt(), to.wkt()}, {box.x0, box.y0, box.x1, box.y1}};
  Offers found;
  {
    // Held while searching, so that threads that begin together do not search for the same.
    const std::lock_guard<std::mutex> lock(guard);
    auto at = kept.find(key);
    if (at == kept.end())
      at = kept.emplace(key, search(from, to, area ? std::optional<Box>(box) : std::nullopt)).first;
    found = at->second;
  }
  if (!area) return found;
  narrow(found.usable, *area);
  narrow(found.any, *area);
  const auto fits = [](const Offer& offer) { return offer.holds_area && !offer.ballpark; };
  if (found.identity || std::any_of(found.usable.begin(), found.usable.end(), fits)) return found;
  // PROJ's own order counts now, and that depends on the area.
  found = search(from, to, area);
  narrow(found.usable, *area);
  narrow(found.any, *area);
  return found;
}

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

std::optional<Box> area_of_interest(const Crs& from, const Crs& to, const std::optional<Box>& area) {
  if (area) {
    PJ_CONTEXT* context = proj_context();
    PJ* there = to_degrees(context, from);
    Box box;
    constexpr int kPointsPerEdge = 21;
    if (there != nullptr &&
        proj_trans_bounds(context, there, PJ_FWD, area->x0, area->y0, area->x1, area->y1, &box.x0, &box.y0,
                          &box.x1, &box.y1, kPointsPerEdge) != 0 &&
        std::isfinite(box.x0) && std::isfinite(box.y0) && std::isfinite(box.x1) && std::isfinite(box.y1)) {
      return box;
    }
  }
  const std::optional<Box> a = from.area_of_use();
  const std::optional<Box> b = to.area_of_use();
  if (!a || !b || !a->meets(*b)) return std::nullopt;
  return Box{std::max(a->x0, b->x0), std::max(a->y0, b->y0), std::min(a->x1, b->x1), std::min(a->y1, b->y1)};
}

}  // namespace swardline
