// The draw's certificate as a page a statistician can check with a pencil: what fell short first, then
// areas, chances, spread, allocation, merges, one chance worked by hand, maps, routes and sources.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/design/draw_season.hpp"

namespace swardline {

/// A site's map for the page.
struct MapFigure {
  std::string site, name;
  int planned = 0, spares = 0;
  std::string link;  ///< from the page to the map
  std::string svg;   ///< the map itself; empty: only linked
};

/// The page, whole: no network, no script, well-formed as XML too. The same draw gives the same page.
[[nodiscard]] std::string design_page(const Certificate& certificate, const Flags& findings,
                                      const std::vector<MapFigure>& maps);

/// Writes it to `file` with the site maps of `maps` (as write_site_maps gave them) inside where they are
/// small, linked otherwise. Throws IoError.
void write_design_page(const Certificate& certificate, const Flags& findings,
                       const std::vector<std::filesystem::path>& maps, const std::filesystem::path& file);

}  // namespace swardline
