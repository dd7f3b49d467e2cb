// The passes of check_season. Private to this folder.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/base/progress.hpp"
#include "swardline/check/raster_facts.hpp"
#include "swardline/check/site_ground.hpp"
#include "swardline/check/vector_inputs.hpp"
#include "swardline/design/site.hpp"
#include "swardline/grid/layers.hpp"
#include "swardline/habitat/model.hpp"
#include "swardline/season/season.hpp"

namespace swardline::check_parts {

/// The output folder, what is in the way within it, and a store that is none.
void check_files(const Plan& plan, Flags& flags);

/// The limits of what is worked on. A site of 10^8 cells is ordinary; these keep a slip of the pen (a metre
/// taken for a kilometre, cell_m = 0.01) from running for days.
inline constexpr double widest_site_m = 1e6;
inline constexpr double most_site_cells = 1e10;  ///< of all survey areas together
inline constexpr double widest_cell_m = 1e4;     ///< one value for a whole valley is no map

/// False, with a STOP, where sites or cells are beyond the limits.
[[nodiscard]] bool check_size(const Plan& plan, const Layers& layers, const Sites& sites, Flags& flags);

/// Species that score nowhere, sites that all rules exclude.
void check_scores(const Season& season, const Layers& layers, const Model& model, const Sites& sites,
                  const SiteGround& ground, int threads, const Progress& progress, Flags& flags);

/// What the rasters' own headers say, against one another and against the plan: cells that miss each other
/// by part of a cell, units, coarse routes, layers that lie away from the rest. Returns the ground the
/// layers that lie together cover, in plan coordinates; `routes` gets the transforms, in words.
[[nodiscard]] std::optional<Box> check_alignment(const Plan& plan, const Crs& crs, const Layers& layers,
                                                 std::vector<std::string>& routes, Flags& flags);

/// Says so where a route's stated accuracy could move a plot off its place. `what` is the file.
void check_route(const std::string& what, const Place& place, const std::string& route, double accuracy_m,
                 std::vector<std::string>& routes, Flags& flags);

/// Reads every cell of the opened layers once, or those of the blocks looked at, one layer after the other so
/// that a broken file hides nothing about the others. A layer that cannot be read has a STOP and no values.
[[nodiscard]] std::vector<LayerFacts> read_facts(const Plan& plan, const Layers& layers,
                                                 const SiteGround& ground, int threads,
                                                 const Progress& progress, Flags& flags);

/// Infinite cells and numbers beyond what cells are held in, which count as no data; true where there are
/// any.
bool check_beyond(const LayerSpec& spec, Flags& flags);

/// Values that no legend names, that do not fit the unit, zeros that look like missing data.
void check_values(const Plan& plan, const LayerInfo& info, const LayerFacts& facts, Flags& flags);

/// One line on a layer: what it holds, how much of it is missing, how it comes to the grid.
[[nodiscard]] std::string layer_line(const LayerInfo& info, const LayerFacts& facts);

/// A slope layer against the slopes its elevation makes: percent read as degrees, feet as metres.
void check_steepness(const Plan& plan, const Layers& layers, const std::vector<LayerFacts>& facts,
                     const SiteGround& ground, Flags& flags);

/// Survey area without data, site by site, in exact covered areas. Of a site not all of which is looked at
/// only what its layers' extents tell.
void check_reach(const Layers& layers, const std::vector<LayerFacts>& facts, const Sites& sites,
                 const SiteGround& ground, int threads, Flags& flags);

/// Ground cut out as water that a class layer still shows as something plants grow on.
void check_water(const Season& season, const Layers& layers, const std::vector<LayerFacts>& facts,
                 const Sites& sites, const SiteGround& ground, Flags& flags);

/// What PROJ did to each vector source, and sources that lie where they cannot: swapped axes, lost signs,
/// another zone.
void check_positions(const Crs& crs, const VectorInputs& inputs, const std::optional<Box>& valley,
                     std::vector<std::string>& routes, Flags& flags);

/// Sites and the points that belong to them, where one of the two looks like NAD27 read as another datum.
void check_datum(const Plan& plan, const Crs& crs, const VectorInputs& inputs, const Sites& sites,
                 Flags& flags);

/// Attributes that look like a person's and are not listed as private.
void check_attributes(const VectorInputs& inputs, Flags& flags);

/// Sites that lie in another UTM zone than the plan's numbers, or across an edge.
void check_zones(const Plan& plan, const Crs& crs, const Sites& sites, Flags& flags);

}  // namespace swardline::check_parts
