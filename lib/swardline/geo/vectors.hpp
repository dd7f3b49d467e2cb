// Reading point, line and polygon layers in any format GDAL reads.
#pragma once

#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/geo/crs.hpp"
#include "swardline/geo/geometry.hpp"

namespace swardline {

struct Feature {
  Geometry geometry;  ///< in the target system, snapped to 1 mm
  Geometry as_read;   ///< in the source's own system, untouched
  /// Every attribute but the private ones, which are never read. Dates as ISO 8601, numbers
  /// in the shortest form that reads back; null is empty text.
  std::map<std::string, std::string> fields;
  Place place;  ///< "sites.gpkg, feature 12"
};

struct VectorLayer {
  std::vector<Feature> features;  ///< in file order
  std::optional<Crs> crs;         ///< the source's, declared or as written in the file
  bool crs_declared = false;      ///< the plan gave it
  std::string route;              ///< Route::in_words() of the transform used, empty when none was needed
  double route_accuracy_m = 0;    ///< negative when not known
};

struct VectorRequest {
  std::filesystem::path file;
  std::string layer;                        ///< empty: the only or first layer
  std::string declared_crs;                 ///< only for a source that names none
  std::vector<std::string> private_fields;  ///< never read
  Place place;                              ///< where the plan names the source
};

/// Reads a layer and brings it to `target`. Findings go to `flags`: a source without a
/// coordinate system (STOP; nothing is guessed and no features are returned), one
/// declared against what the file says (STOP), an empty layer (STOP), broken features,
/// non-finite coordinates, a file that cannot be opened (STOP with GDAL's words). Any error
/// GDAL reports while reading is a STOP and no features are returned, for what came before
/// it may not be all. Curves become lines (0.1 degree a step), heights are dropped, multipart
/// geometry stays multipart, invalid polygons stay as drawn (see made_valid). Edges are
/// `carried` to the target, so a long straight edge stays where it was drawn.
[[nodiscard]] VectorLayer read_vectors(const VectorRequest& request, const Crs& target, Flags& flags);

}  // namespace swardline
