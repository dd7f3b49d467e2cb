// Coordinate systems and the route taken from one to another (PROJ).
//
// Points are always (east or longitude, north or latitude), whatever order an
// authority gives its axes. Nothing here guesses a datum.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "swardline/base/place.hpp"
#include "swardline/geo/geometry.hpp"

namespace swardline {

/// A coordinate system. Cheap to copy.
class Crs {
 public:
  /// Any definition PROJ reads: "EPSG:26914", WKT, a PROJ string, "NAD83 / UTM zone 14N".
  /// Throws InputError at `place` when it cannot be read.
  static Crs from_text(const std::string& definition, const Place& place = {});
  static Crs wgs84();

  [[nodiscard]] const std::string& wkt() const;  ///< WKT2:2019, as GDAL wants it
  [[nodiscard]] std::string name() const;        ///< "NAD83 / UTM zone 14N"
  [[nodiscard]] std::string datum() const;       ///< "North American Datum 1983"
  [[nodiscard]] bool projected() const;
  [[nodiscard]] bool in_metres() const;
  [[nodiscard]] bool same_as(const Crs& other) const;  ///< equivalent, axis order apart
  /// Area of use as longitude/latitude box, when the definition has one.
  [[nodiscard]] std::optional<Box> area_of_use() const;
  [[nodiscard]] std::optional<std::string> code() const;  ///< "EPSG:26914" when it has or matches one
  /// UTM zone with hemisphere sign (14 = 14N, -14 = 14S) when this is a UTM system.
  [[nodiscard]] std::optional<int> utm_zone() const;

 private:
  struct Inside;
  explicit Crs(std::shared_ptr<const Inside> inside) : inside_(std::move(inside)) {}
  std::shared_ptr<const Inside> inside_;
};

/// One fixed operation from one system to another, chosen once for an area, so that
/// neighbouring points never take different routes. Not shared between threads: copy.
class Route {
 public:
  /// `area` (in `from`'s coordinates) narrows the choice. Throws InputError when no operation exists.
  Route(const Crs& from, const Crs& to, const std::optional<Box>& area = {});
  ~Route();
  Route(const Route& other);
  Route(Route&&) noexcept;
  Route& operator=(Route other) noexcept;

  [[nodiscard]] Point forward(Point point) const;  ///< throws InputError where the operation fails
  [[nodiscard]] Point back(Point point) const;
  [[nodiscard]] Geometry forward(const Geometry& geometry) const;
  [[nodiscard]] Geometry back(const Geometry& geometry) const;

  [[nodiscard]] std::string operation() const;  ///< PROJ's name of the operation
  /// PROJ pipeline for GDAL: OGRCoordinateTransformationOptions::SetCoordinateOperation, or the
  /// warper's COORDINATE_OPERATION, with both systems in traditional GIS axis order. GDAL swaps the
  /// axes itself before and after, so the pipeline keeps the authorities' order.
  [[nodiscard]] std::string pipeline() const;
  [[nodiscard]] double accuracy_m() const;  ///< stated accuracy; 0 exact, negative when not known
  /// Names of grid files a more accurate operation would need and that are not installed.
  [[nodiscard]] std::vector<std::string> missing_grids() const;
  /// One line for people: "NAD27 to NAD83 (4), stated accuracy 7 m; grid conus not installed".
  [[nodiscard]] std::string in_words() const;

 private:
  struct Inside;
  std::unique_ptr<Inside> inside_;
};

/// Straight edges of one system are curves in another. Carries a geometry over with extra
/// points in its edges wherever the straight edge would depart from its true course by more
/// than `sag` (in the target's units; half a millimetre in metres). Edges shared by two
/// geometries get the same points. Throws InputError where the operation fails.
[[nodiscard]] Geometry carried(const Route& route, const Geometry& geometry, double sag = 0.0005);

}  // namespace swardline
