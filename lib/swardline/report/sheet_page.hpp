// Site sheets as pages to print: one sheet of paper for each visit and loop, A4 or US Letter, black on white.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "swardline/field/site_sheet.hpp"
#include "swardline/geo/crs.hpp"

namespace swardline {

/// What a sheet's map shows besides plots.
struct SheetGround {
  const Plan& plan;
  const Route& to_wgs84;  ///< not shared between threads
  Geometry survey;        ///< plan coordinates
  std::vector<ExcludedPiece> excluded;
  std::vector<Barrier> barriers;
  std::vector<std::vector<Point>> crossings;
  std::optional<double> declination_deg;
};

/// The sheets of one visit: as few as its plots fit on, and one where it has none.
[[nodiscard]] std::vector<SiteSheet> sheets_of(const SiteWalk& walk, const SheetVisit& visit);

/// Texts of cautions that find no room on the sheets of a visit, which say how many; there is room beside the
/// map and in seven lines below it.
[[nodiscard]] std::vector<std::string> cautions_left_out(const SheetVisit& visit);

/// One sheet as markup, 190 mm wide and 256 mm high: within margins of 10 mm of A4 and of US Letter.
/// `page` of `pages` is counted over the site's sheets.
[[nodiscard]] std::string sheet_markup(const SiteSheet& sheet, const SheetGround& ground, std::size_t page,
                                       std::size_t pages);

/// A document of sheets that begin a page each. Needs nothing but itself; XML as well as HTML.
[[nodiscard]] std::string sheets_document(const std::string& title, const std::vector<std::string>& sheets);

/// Whether a file's content is a document of this library's sheets.
[[nodiscard]] bool is_sheets_document(std::string_view content);

}  // namespace swardline
