// Where something was read from, so that a message can point at it.
#pragma once

#include <string>

namespace swardline {

/// A place in an input: a file, and in it a line, a feature or a key.
/// `line` is 1-based; 0 means the file as a whole. `item` names a feature, a
/// table key or a raster value where a line would not help ("feature 12").
struct Place {
  std::string file;
  int line = 0;
  std::string item;

  /// "plan.toml:41", "sites.gpkg, feature 12", "plan.toml:41 [layers.moisture]".
  [[nodiscard]] std::string text() const;
};

}  // namespace swardline
