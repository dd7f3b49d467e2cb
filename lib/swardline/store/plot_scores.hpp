// Every species' score at each plot or transect, as columns: a desktop map colours plots by one of them as it
// stands. `percent_CODE` is empty where there is no score, and `held_down_CODE` says why: "excluded: …" or
// "no data: …". Private to this folder.
#pragma once

#include <string>
#include <vector>

#include "swardline/design/draw_season.hpp"
#include "swardline/store/geopackage.hpp"

namespace swardline {

class PlotScores {
 public:
  /// Of the species that any of the plots has a score or a reason for none of.
  void look_at(const Plot& plot);
  /// Must live as long as `columns` are used.
  void add_columns(std::vector<Column>& columns);
  void set(OGRFeature& row, const Plot& plot) const;

 private:
  struct Species {
    std::string code, percent, held_down;  ///< code and names of columns
  };
  std::vector<Species> species_;
};

/// The scores of a row written by PlotScores, into Plot::percent and Plot::held_down.
void read_plot_scores(const OGRFeature& row, Plot& plot);

}  // namespace swardline
