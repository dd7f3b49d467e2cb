#include "swardline/geo/feature_reader.hpp"

#include <cpl_conv.h>
#include <cpl_string.h>
#include <fmt/format.h>
#include <ogr_feature.h>
#include <ogr_geometry.h>

#include <cmath>
#include <limits>
#include <memory>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"

namespace swardline {
namespace {

constexpr double kCurveStepDegrees = 0.1;  // sag under half a millimetre up to a radius of 1 km

bool listed(const std::string& name, const std::vector<std::string>& names) {
  for (const std::string& one : names) {
    if (EQUAL(one.c_str(), name.c_str())) return true;
  }
  return false;
}

// No system in use puts a place on earth past this, in any unit; beyond it whole millimetres are lost.
constexpr double kFarthest = 1e9;

bool every_point_within(const OGRGeometry& geometry, double farthest) {
  class Within : public OGRDefaultConstGeometryVisitor {
   public:
    using OGRDefaultConstGeometryVisitor::visit;
    explicit Within(double most) : most_(most) {}
    void visit(const OGRPoint* point) override {
      // Not IsEmpty() first: to GDAL a vertex with NaN in it is an empty point.
      within = within && std::abs(point->getX()) <= most_ && std::abs(point->getY()) <= most_;
    }
    bool within = true;

   private:
    double most_;
  } check(farthest);
  geometry.accept(&check);
  return check.within;
}

/// A date or time as ISO 8601, whichever parts the field has.
std::string iso_date(const OGRFeature& from, int field, OGRFieldType type) {
  int year = 0;
  int month = 0;
  int day = 0;
  int hour = 0;
  int minute = 0;
  int zone = 0;
  float second = 0;
  if (from.GetFieldAsDateTime(field, &year, &month, &day, &hour, &minute, &second, &zone) == 0) return {};
  std::string text;
  if (type != OFTTime) text = fmt::format("{:04}-{:02}-{:02}", year, month, day);
  if (type == OFTDate) return text;
  if (type == OFTDateTime) text += 'T';
  const bool whole = second == std::floor(second);
  text += whole ? fmt::format("{:02}:{:02}:{:02.0f}", hour, minute, second)
                : fmt::format("{:02}:{:02}:{:06.3f}", hour, minute, second);
  constexpr int kUtc = 100;  // GDAL: 100 is UTC, each step a quarter of an hour, 0 and 1 no or local zone
  if (zone == kUtc) return text + 'Z';
  if (zone <= 1) return text;
  const int quarters = std::abs(zone - kUtc);
  return text + fmt::format("{}{:02}:{:02}", zone < kUtc ? '-' : '+', quarters / 4, quarters % 4 * 15);
}

}  // namespace

FeatureReader::FeatureReader(const OGRFeatureDefn& definition, const std::vector<std::string>& private_fields,
                             std::string file, Flags& flags)
    : file_(std::move(file)), flags_(flags) {
  for (int i = 0; i < definition.GetFieldCount(); ++i) {
    const OGRFieldDefn* field = definition.GetFieldDefn(i);
    if (field->GetType() == OFTBinary || listed(field->GetNameRef(), private_fields)) continue;
    kept_.push_back({i, field->GetNameRef()});
  }
}

std::string FeatureReader::text(const OGRFeature& from, int field) {
  if (!from.IsFieldSetAndNotNull(field)) return {};
  const OGRFieldDefn& definition = *from.GetFieldDefnRef(field);
  const OGRFieldType type = definition.GetType();
  if (type == OFTReal) return shortest(from.GetFieldAsDouble(field));
  if (type == OFTDate || type == OFTTime || type == OFTDateTime) return iso_date(from, field, type);
  const std::string value = from.GetFieldAsString(field);
  if (CPLIsUTF8(value.c_str(), static_cast<int>(value.size())) != 0) return value;
  ++not_utf8_;
  char* recoded = CPLRecode(value.c_str(), CPL_ENC_ISO8859_1, CPL_ENC_UTF8);
  std::string utf8 = recoded;
  CPLFree(recoded);
  return utf8;
}

std::optional<Geometry> FeatureReader::geometry(const OGRFeature& from, const Place& place) {
  const OGRGeometry* own = from.GetGeometryRef();
  if (own == nullptr || own->IsEmpty()) {
    flags_.add(Severity::ask, "no geometry", place, "has no geometry and is left out.",
               "Draw it, or delete the row from the source.");
    return std::nullopt;
  }
  if (!every_point_within(*own, std::numeric_limits<double>::max())) {
    flags_.add(Severity::stop, "coordinates not numbers", place,
               "has a coordinate that is not a finite number.", "Redraw it in the source.");
    return std::nullopt;
  }
  if (!every_point_within(*own, kFarthest)) {
    flags_.add(Severity::stop, "coordinates beyond the earth", place,
               "has a coordinate beyond 1,000,000,000: no coordinate system has a place there.",
               "Redraw it in the source.");
    return std::nullopt;
  }
  if (own->hasCurveGeometry() != FALSE) ++curves_;
  const std::unique_ptr<OGRGeometry> flat(own->getLinearGeometry(kCurveStepDegrees));
  flat->flattenTo2D();
  flat->setMeasured(FALSE);
  const std::size_t before = flat->WkbSize();
  flat->closeRings();
  if (flat->WkbSize() != before) ++rings_closed_;
  std::vector<unsigned char> wkb(flat->WkbSize());
  if (flat->exportToWkb(wkbNDR, wkb.data(), wkbVariantIso) != OGRERR_NONE) {
    flags_.add(Severity::stop, "broken geometry", place, "has a geometry that GDAL cannot write out.",
               "Redraw it in the source.");
    return std::nullopt;
  }
  try {
    return from_wkb(wkb);
  } catch (const Error& error) {
    flags_.add(Severity::stop, "broken geometry", place, error.what(), "Redraw it in the source.");
    return std::nullopt;
  }
}

std::optional<Feature> FeatureReader::read(const OGRFeature& from) {
  Feature feature;
  feature.place = {file_, 0, fmt::format("feature {}", from.GetFID())};
  std::optional<Geometry> as_read = geometry(from, feature.place);
  if (!as_read) return std::nullopt;
  feature.as_read = std::move(*as_read);
  for (const Field& field : kept_) feature.fields[field.name] = text(from, field.index);
  return feature;
}

void FeatureReader::say_what_was_changed(const Place& place) const {
  if (curves_ > 0) {
    flags_.add(
        Severity::note, "curves", place,
        fmt::format("{} with curves, read as straight pieces of {} degrees.",
                    curves_ == 1 ? "1 feature" : fmt::format("{} features", curves_), kCurveStepDegrees));
  }
  if (rings_closed_ > 0) {
    flags_.add(Severity::note, "rings not closed", place,
               fmt::format("{} with a ring that does not end where it began, closed by a straight edge.",
                           rings_closed_ == 1 ? "1 feature" : fmt::format("{} features", rings_closed_)),
               "Close it in the source if the edge is not right.");
  }
  if (not_utf8_ > 0) {
    flags_.add(Severity::ask, "text encoding", place,
               fmt::format("{} not in UTF-8, read as Latin-1.",
                           not_utf8_ == 1 ? "1 attribute value is"
                                          : fmt::format("{} attribute values are", not_utf8_)),
               "Save the layer in UTF-8, as GeoPackage does, and look at names with accents.");
  }
}

}  // namespace swardline
