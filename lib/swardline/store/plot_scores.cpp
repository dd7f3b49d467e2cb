#include "swardline/store/plot_scores.hpp"

#include <algorithm>

namespace swardline {
namespace {

constexpr std::string_view percent_prefix = "percent_", held_down_prefix = "held_down_";

}  // namespace

void PlotScores::look_at(const Plot& plot) {
  for (const auto& [code, text] : plot.held_down) {
    const auto at = std::lower_bound(species_.begin(), species_.end(), code,
                                     [](const Species& s, const std::string& c) { return s.code < c; });
    if (at != species_.end() && at->code == code) continue;
    species_.insert(at, {code, std::string(percent_prefix) + code, std::string(held_down_prefix) + code});
  }
}

void PlotScores::add_columns(std::vector<Column>& columns) {
  for (const Species& species : species_) {
    columns.push_back({species.percent.c_str(), OFTInteger});
    columns.push_back({species.held_down.c_str(), OFTString});
  }
}

void PlotScores::set(OGRFeature& row, const Plot& plot) const {
  if (species_.empty()) return;
  int column = row.GetFieldIndex(species_.front().percent.c_str());
  for (const Species& species : species_) {
    if (const auto percent = plot.percent.find(species.code); percent != plot.percent.end())
      row.SetField(column, percent->second);
    if (const auto held = plot.held_down.find(species.code); held != plot.held_down.end())
      row.SetField(column + 1, held->second.c_str());
    column += 2;
  }
}

void read_plot_scores(const OGRFeature& row, Plot& plot) {
  for (int i = 0; i + 1 < row.GetFieldCount(); ++i) {
    const std::string_view name = row.GetFieldDefnRef(i)->GetNameRef();
    if (!name.starts_with(percent_prefix)) continue;
    const std::string code(name.substr(percent_prefix.size()));
    if (row.IsFieldSetAndNotNull(i)) plot.percent[code] = row.GetFieldAsInteger(i);
    if (row.IsFieldSetAndNotNull(i + 1)) plot.held_down[code] = row.GetFieldAsString(i + 1);
  }
}

}  // namespace swardline
