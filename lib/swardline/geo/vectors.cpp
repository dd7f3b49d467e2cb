#include "swardline/geo/vectors.hpp"

#include <fmt/format.h>
#include <gdal_priv.h>
#include <ogr_spatialref.h>
#include <ogrsf_frmts.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <mutex>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/geo/feature_reader.hpp"
#include "swardline/geo/gdal_errors.hpp"

namespace swardline {
namespace {

void register_drivers() {
  static std::once_flag once;
  std::call_once(once, [] { GDALAllRegister(); });
}

struct CloseDataset {
  void operator()(GDALDataset* dataset) const { GDALClose(dataset); }
};
using Dataset = std::unique_ptr<GDALDataset, CloseDataset>;

/// GDAL's words come without a stop.
std::string as_sentence(std::string words) {
  while (!words.empty() && (words.back() == ' ' || words.back() == '\n')) words.pop_back();
  if (!words.empty() && std::string(".!?").find(words.back()) == std::string::npos) words += '.';
  return words;
}

/// What a source says of its coordinate system.
struct WrittenCrs {
  std::optional<Crs> crs;
  std::string why_none;  ///< empty: it says nothing at all
};

WrittenCrs written_crs(OGRLayer& layer) {
  const OGRSpatialReference* reference = layer.GetSpatialRef();
  // GeoPackage's srs_id -1 and 0 come as systems named "Undefined …".
  if (reference == nullptr || reference->IsEmpty() || reference->IsLocal() != FALSE) return {};
  const char* name = reference->GetName();
  if (name != nullptr && STARTS_WITH_CI(name, "undefined")) return {};
  char* wkt = nullptr;
  const char* const options[] = {"FORMAT=WKT2_2019", nullptr};
  const OGRErr status = reference->exportToWkt(&wkt, options);
  const std::string text = wkt == nullptr ? "" : wkt;
  CPLFree(wkt);
  if (status != OGRERR_NONE || text.empty())
    return {std::nullopt, "names a coordinate system that cannot be read"};
  try {
    Crs crs = Crs::from_text(text);
    if (STARTS_WITH_CI(crs.datum().c_str(), "unknown")) {
      return {std::nullopt, fmt::format("names a projection ({}) but no datum", crs.name())};
    }
    return {std::move(crs), {}};
  } catch (const Error& error) {
    return {std::nullopt, error.what()};
  }
}

class Reading {
 public:
  Reading(const VectorRequest& request, const Crs& target, Flags& flags)
      : request_(request), target_(target), flags_(flags), file_(request.file.filename().string()) {}

  VectorLayer run() {
    register_drivers();
    VectorLayer result;
    OGRLayer* layer = open();
    if (layer == nullptr || !settle_crs(*layer, result)) return result;
    if (!read_features(*layer, result.features) || !carry(result)) result.features.clear();
    return result;
  }

 private:
  void stop(const std::string& check, const std::string& meaning, const std::string& remedy) {
    flags_.add(Severity::stop, check, request_.place, meaning, remedy);
  }

  OGRLayer* open() {
    dataset_.reset(GDALDataset::Open(request_.file.string().c_str(),
                                     GDAL_OF_VECTOR | GDAL_OF_READONLY | GDAL_OF_VERBOSE_ERROR));
    if (!dataset_ || !errors_.errors().empty()) {
      stop("file cannot be opened",
           fmt::format("{} cannot be opened: {}", file_, as_sentence(errors_.first("GDAL gives no reason."))),
           "Check the path and that the file is a whole point, line or polygon layer.");
      return nullptr;
    }
    std::vector<std::string> names;
    for (OGRLayer* each : dataset_->GetLayers()) names.emplace_back(each->GetName());
    OGRLayer* layer = request_.layer.empty() ? (names.empty() ? nullptr : dataset_->GetLayer(0))
                                             : dataset_->GetLayerByName(request_.layer.c_str());
    if (layer == nullptr && !request_.layer.empty()) {
      const std::string near = nearest_word(request_.layer, names);
      stop("layer not found",
           fmt::format("{} has no layer \"{}\"; it has {}.", file_, request_.layer, in_words(names)),
           near.empty() ? "Name one of its layers." : fmt::format("Did you mean \"{}\"?", near));
    } else if (layer == nullptr) {
      stop("layer not found", fmt::format("{} has no layers.", file_), "Check that it is the right file.");
    } else if (request_.layer.empty() && names.size() > 1) {
      flags_.add(
          Severity::note, "several layers", request_.place,
          fmt::format("{} has {} layers ({}); the first is used.", file_, names.size(), in_words(names)),
          "Name the layer in the plan if another is meant.");
    }
    return layer;
  }

  bool settle_crs(OGRLayer& layer, VectorLayer& result) {
    const WrittenCrs written = written_crs(layer);
    std::optional<Crs> declared;
    if (!request_.declared_crs.empty()) {
      try {
        declared = Crs::from_text(request_.declared_crs);
      } catch (const Error& error) {
        stop("coordinate system not known", error.what(), {});
        return false;
      }
    }
    result.crs = declared ? declared : written.crs;
    result.crs_declared = declared.has_value();
    if (!result.crs) {
      const std::string what = written.why_none.empty() ? "has no coordinate system" : written.why_none;
      stop("no coordinate system",
           fmt::format("{} {}. Nothing was guessed: the wrong datum can put plots hundreds of metres off.",
                       file_, what),
           "Say which one in the plan: crs = \"EPSG:…\".");
      return false;
    }
    if (declared && written.crs && !declared->same_as(*written.crs)) {
      stop("coordinate system declared twice",
           fmt::format("{} says it is in {}, but the plan declares {}.", file_, written.crs->name(),
                       declared->name()),
           "Take crs out of the plan, or put the file right if the plan knows better.");
      return false;
    }
    return true;
  }

  void ignore_private(OGRLayer& layer) {
    const OGRFeatureDefn& definition = *layer.GetLayerDefn();
    std::vector<std::string> others;
    for (int i = 0; i < definition.GetFieldCount(); ++i)
      others.emplace_back(definition.GetFieldDefn(i)->GetNameRef());
    CPLStringList ignored;
    for (const std::string& name : request_.private_fields) {
      const int index = definition.GetFieldIndex(name.c_str());
      if (index >= 0) {
        const std::string own = definition.GetFieldDefn(index)->GetNameRef();
        ignored.AddString(own.c_str());
        std::erase(others, own);
      }
    }
    for (const std::string& name : request_.private_fields) {
      if (definition.GetFieldIndex(name.c_str()) >= 0) continue;
      const std::string near = nearest_word(name, others);
      if (near.empty()) continue;
      flags_.add(Severity::ask, "private attribute not found", request_.place,
                 fmt::format("{} has no attribute \"{}\", but it has \"{}\", which would be read.", file_,
                             name, near),
                 "Correct the name under private in the plan if that one is meant.");
    }
    // Formats that cannot skip attributes still hand them over; FeatureReader leaves them out.
    if (!ignored.empty() && layer.TestCapability(OLCIgnoreFields) != FALSE) {
      layer.SetIgnoredFields(const_cast<const char**>(ignored.List()));
    }
  }

  bool read_features(OGRLayer& layer, std::vector<Feature>& features) {
    if (layer.GetGeomType() == wkbNone) {
      stop("no geometry", fmt::format("{} is a table without geometry.", file_),
           "Name a point, line or polygon layer.");
      return false;
    }
    ignore_private(layer);
    FeatureReader reader(*layer.GetLayerDefn(), request_.private_fields, file_, flags_);
    std::int64_t rows = 0;
    layer.ResetReading();
    while (const auto row = std::unique_ptr<OGRFeature>(layer.GetNextFeature())) {
      ++rows;
      if (auto feature = reader.read(*row)) features.push_back(std::move(*feature));
      if (!errors_.errors().empty()) break;
    }
    if (!errors_.errors().empty()) {
      stop("file cannot be read",
           fmt::format("{} broke off after {} features: {}", file_, grouped(rows),
                       as_sentence(errors_.first(""))),
           "Get a whole copy of the file.");
      return false;
    }
    reader.say_what_was_changed({file_, 0, ""});
    if (!errors_.warnings().empty()) {
      flags_.add(Severity::note, "said while reading", {file_, 0, ""},
                 as_sentence(errors_.warnings().front()));
    }
    if (rows == 0) {
      stop("empty layer", fmt::format("{} has no features.", file_),
           "Check that it is the right file and layer.");
      return false;
    }
    return true;
  }

  /// True when the numbers can be degrees at all; flagged when not.
  bool degrees_are_degrees(const Crs& crs, const Box& box) {
    constexpr double kRound = 1e-6;
    if (crs.projected() || (box.x0 >= -360 - kRound && box.x1 <= 360 + kRound && box.y0 >= -90 - kRound &&
                            box.y1 <= 90 + kRound)) {
      return true;
    }
    stop("coordinates are not degrees",
         fmt::format("{} is said to be in {}, in degrees, but its coordinates run {:.1f} to {:.1f} and "
                     "{:.1f} to {:.1f}.",
                     file_, crs.name(), box.x0, box.x1, box.y0, box.y1),
         "Save the layer again with the coordinate system its numbers are in.");
    return false;
  }

  bool carry(VectorLayer& result) {
    if (result.features.empty()) return true;
    Box extent = result.features.front().as_read.box();
    for (const Feature& feature : result.features) extent.grow(feature.as_read.box());
    if (!degrees_are_degrees(*result.crs, extent)) return false;
    std::optional<Route> route;
    if (!result.crs->same_as(target_)) {
      try {
        route.emplace(*result.crs, target_, extent);
      } catch (const InputError& error) {
        stop("no way between coordinate systems", error.what(), {});
        return false;
      }
      result.route = route->in_words();
      result.route_accuracy_m = route->accuracy_m();
    }
    std::vector<Feature> arrived;
    arrived.reserve(result.features.size());
    for (Feature& feature : result.features) {
      if (carry_one(route, feature)) arrived.push_back(std::move(feature));
    }
    result.features = std::move(arrived);
    return true;
  }

  /// False, with a flag, for a feature that does not arrive.
  bool carry_one(const std::optional<Route>& route, Feature& feature) {
    try {
      feature.geometry = snapped_mm(route ? carried(*route, feature.as_read) : feature.as_read);
    } catch (const Error& error) {
      flags_.add(Severity::stop, "cannot be transformed", feature.place, error.what());
      return false;
    }
    if (!feature.geometry.empty()) return true;
    flags_.add(Severity::ask, "too small", feature.place,
               "is smaller than a millimetre across and is left out.",
               "Delete it from the source, or redraw it.");
    return false;
  }

  const VectorRequest& request_;
  const Crs& target_;
  Flags& flags_;
  std::string file_;
  GdalErrors errors_;
  Dataset dataset_;  // after errors_: what closing says is caught too
};

}  // namespace

VectorLayer read_vectors(const VectorRequest& request, const Crs& target, Flags& flags) {
  return Reading(request, target, flags).run();
}

}  // namespace swardline
