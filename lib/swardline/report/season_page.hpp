// The season on one page for those who ran it, pay for it or own the ground: where it was surveyed and why,
// effort against plan, what was found, what changed, what is doubtful, where rules look wrong.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "swardline/compare/compare.hpp"
#include "swardline/design/draw_season.hpp"
#include "swardline/estimate/change.hpp"
#include "swardline/estimate/estimates.hpp"
#include "swardline/estimate/evaluated.hpp"
#include "swardline/estimate/trend.hpp"
#include "swardline/returns/season_record.hpp"

namespace swardline {

/// All that the page tells of. What is empty is said to be.
struct SeasonFacts {
  const Season& season;
  const Sites& sites;
  const Layers& layers;
  const Model& model;
  const std::vector<Plot>& plots;          ///< of the last draw
  const std::vector<Transect>& transects;  ///< in place of plots
  const EvaluatedSeason& counted;          ///< every plot drawn and what became of it, counted or not
  const SeasonOnRecord& record;
  std::string certificate = {};  ///< the draw's, as JSON
  const Estimates* estimates = nullptr;
  const SeasonChange* change = nullptr;
  const SeasonTrend* trend = nullptr;
  const Comparison* comparison = nullptr;
  int threads = 1;  ///< for maps; the page does not depend on it
};

/// The page, whole: no network; well-formed as XML too; a small script of its own for sorting and records,
/// and all of it readable without. The same facts give the same page. It shows where plots lie, as drawn: for
/// the programme's own people. No geographic coordinate is in it, and nobody's name.
[[nodiscard]] std::string season_page(const SeasonFacts& facts);
/// Writes it, whole or not at all. Throws IoError.
void write_season_page(const SeasonFacts& facts, const std::filesystem::path& file);

}  // namespace swardline
