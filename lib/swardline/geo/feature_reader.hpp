// One feature from GDAL to ours. Private to geo.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "swardline/geo/vectors.hpp"

class OGRFeature;
class OGRFeatureDefn;

namespace swardline {

class FeatureReader {
 public:
  /// `private_fields` are left out whatever the format can do. `file` names the source in places.
  FeatureReader(const OGRFeatureDefn& definition, const std::vector<std::string>& private_fields,
                std::string file, Flags& flags);

  /// The feature with `as_read` set and `geometry` still empty; nothing, with a flag, when it is broken.
  [[nodiscard]] std::optional<Feature> read(const OGRFeature& from);

  /// Notes on what was read in another way than written, once for the whole layer.
  void say_what_was_changed(const Place& place) const;

 private:
  [[nodiscard]] std::string text(const OGRFeature& from, int field);
  [[nodiscard]] std::optional<Geometry> geometry(const OGRFeature& from, const Place& place);

  struct Field {
    int index;
    std::string name;
  };
  std::vector<Field> kept_;
  std::string file_;
  Flags& flags_;
  int rings_closed_ = 0;
  int curves_ = 0;
  int not_utf8_ = 0;
};

}  // namespace swardline
