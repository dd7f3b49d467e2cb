#include <algorithm>
#include <cmath>
#include <map>
#include <optional>

#include "swardline/base/text.hpp"
#include "swardline/geo/vectors.hpp"
#include "swardline/habitat/place_values.hpp"
#include "swardline/habitat/score_season.hpp"

namespace swardline {
namespace {

constexpr double worthless = 0.045;  // printed as 0.04 or less

std::optional<bool> yes_or_no(const std::string& text) {
  const std::string word = lower_ascii(text);
  if (word == "yes" || word == "y" || word == "true" || word == "1") return true;
  if (word == "no" || word == "n" || word == "false" || word == "0") return false;
  return {};
}

/// The cell a patch is scored at.
struct Cell {
  std::int64_t col = 0, row = 0;
};

std::optional<Cell> cell_of(const Geometry& geometry, const Grid& grid) {
  if (geometry.area() > 0) {
    Cell best;
    std::int64_t most = 0;
    std::vector<std::int64_t> mm2(std::size_t{block_cells} * block_cells);
    for (const BlockPiece& piece : cut_into_blocks(polygons_of(geometry), grid)) {
      std::fill(mm2.begin(), mm2.end(), 0);
      add_cover(piece, grid, mm2);
      const auto here = std::max_element(mm2.begin(), mm2.end());
      if (*here <= most) continue;
      most = *here;
      const auto at = here - mm2.begin();
      best = {piece.block.window().col + at % block_cells, piece.block.window().row + at / block_cells};
    }
    return best;
  }
  if (geometry.length() > 0) return {};
  const std::vector<Point> points = points_of(geometry);
  if (points.empty()) return {};
  return Cell{grid.col_of(points.front().x), grid.row_of(points.front().y)};
}

bool above(const PatchScore& a, const PatchScore& b) {
  if (a.species != b.species) return a.species < b.species;
  const auto kind = [](const PatchScore& p) { return int(p.cell.outcome); };  // scored, excluded, no score
  if (kind(a) != kind(b)) return kind(a) < kind(b);
  return a.cell.score > b.cell.score;
}

/// Rank 1 is the highest; equal scores share a rank, excluded patches come last, and a
/// patch without a score has none.
void rank_patches(std::vector<PatchScore>& patches) {
  std::stable_sort(patches.begin(), patches.end(), above);
  for (std::size_t i = 0, first = 0; i < patches.size(); ++i) {
    if (i == 0 || patches[i].species != patches[i - 1].species) first = i;
    if (patches[i].cell.outcome == Outcome::no_score) continue;
    const bool tied = i > first && !above(patches[i - 1], patches[i]);
    patches[i].rank = tied ? patches[i - 1].rank : int(i - first) + 1;
  }
}

class PatchReader {
 public:
  PatchReader(const Season& season, const Layers& layers, Flags& flags)
      : season_(season), grid_(layers.grid()), values_(layers), flags_(flags) {
    for (const Sheet& sheet : season.sheets) codes_.push_back(sheet.code);
  }

  std::optional<PatchScore> score(const Feature& feature, std::size_t number) {
    PatchScore patch;
    patch.place = feature.place;
    const auto name = feature.fields.find("name");
    patch.patch =
        name != feature.fields.end() && !name->second.empty() ? name->second : std::to_string(number);
    patch.species = feature.fields.at("species");
    const auto here = yes_or_no(feature.fields.at("here"));
    if (!here)
      return stop(
          "patch without yes or no", feature.place,
          "here is \"" + feature.fields.at("here") + "\": is " + patch.species + " known to be there or not?",
          "Write yes or no.");
    patch.here = *here;
    const auto sheet = std::find_if(season_.sheets.begin(), season_.sheets.end(),
                                    [&](const Sheet& s) { return s.code == patch.species; });
    if (sheet == season_.sheets.end()) {
      const std::string near = nearest_word(patch.species, codes_);
      return stop(
          "patch of an unknown species", feature.place, "no sheet has the code \"" + patch.species + "\".",
          near.empty() ? "The season's codes are " + in_words(codes_) + "." : "Did you mean " + near + "?");
    }
    if (!sheet->scored) {
      flags_.add(Severity::note, "patch of a species not scored", feature.place,
                 patch.species + " is monitored, not scored: this patch is left out.");
      return {};
    }
    const auto cell = cell_of(feature.geometry, grid_);
    if (!cell)
      return stop("patch without a place", feature.place, "a known patch must be a point or a polygon.",
                  "Draw it as one.");
    values_.move_to(cell->col, cell->row);
    patch.cell = score_cell(*sheet, [this](const std::string& layer) { return values_.of(layer); });
    if (patch.here) doubt(patch, *sheet);
    return patch;
  }

 private:
  // A plant on ground its own rule calls worthless: one of the two is wrong.
  void doubt(const PatchScore& patch, const Sheet& sheet) {
    std::string says;
    if (patch.cell.outcome == Outcome::excluded) {
      says = "and its rule excludes that ground (" + patch.cell.reason + ")";
    } else if (patch.cell.outcome == Outcome::scored && patch.cell.score < worthless) {
      const long hundredths = std::lround(patch.cell.score * 100);
      says = "scored 0.0" + std::to_string(hundredths);
      if (patch.cell.held_down_by)
        says += ", held down by " + sheet.factors.at(*patch.cell.held_down_by).layer;
    }
    if (says.empty()) return;
    flags_.add(Severity::ask, "known patch scored low", patch.place,
               patch.species + " is known to grow at patch " + patch.patch + ", " + says + ".",
               "Rule or place wrong? See explain --at the place, and ask who found it.");
  }

  std::optional<PatchScore> stop(const char* check, const Place& place, const std::string& meaning,
                                 const std::string& remedy) {
    flags_.add(Severity::stop, check, place, meaning, remedy);
    return {};
  }

  const Season& season_;
  const Grid& grid_;
  PlaceValues values_;
  Flags& flags_;
  std::vector<std::string> codes_;
};

}  // namespace

std::vector<PatchScore> score_patches(const Season& season, const Layers& layers, const Crs& crs,
                                      Flags& flags) {
  std::vector<PatchScore> patches;
  if (!season.plan.known) return patches;
  const SourceSpec& source = *season.plan.known;
  const VectorLayer vectors = read_vectors(
      {source.file, source.layer, source.crs, season.plan.sites.private_attributes, source.place}, crs,
      flags);
  if (vectors.features.empty()) return patches;
  for (const char* attribute : {"species", "here"}) {
    if (vectors.features.front().fields.contains(attribute)) continue;
    std::vector<std::string> has;
    for (const auto& field : vectors.features.front().fields) has.push_back(field.first);
    flags.add(Severity::stop, "known patches without an attribute", {source.file.string(), 0, source.layer},
              std::string("the known patches have no attribute \"") + attribute + "\", only " +
                  (has.empty() ? "none" : in_words(has)) + ".",
              "Give every patch species (a code) and here (yes or no).");
    return patches;
  }
  PatchReader reader(season, layers, flags);
  for (std::size_t i = 0; i < vectors.features.size(); ++i) {
    Feature feature = vectors.features[i];
    feature.fields.try_emplace("species");
    feature.fields.try_emplace("here");
    if (auto patch = reader.score(feature, i + 1)) patches.push_back(std::move(*patch));
  }
  rank_patches(patches);
  return patches;
}

}  // namespace swardline
