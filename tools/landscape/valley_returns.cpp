// The demo valley's returns as files: every team has its own way of sending them.
#include "valley_returns.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <utility>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "valley.hpp"

namespace swardline::landscape {
namespace {

namespace fs = std::filesystem;

/// The plots and species of a blank form.
std::vector<std::pair<std::string, std::string>> read_form(const fs::path& form) {
  const std::unique_ptr<GDALDataset> set(GDALDataset::Open(form.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
  if (!set || set->GetLayerCount() == 0)
    throw IoError(Place{form.string(), 0, {}}, "cannot be read.", "Write the season's blank form first.");
  std::vector<std::pair<std::string, std::string>> rows;
  for (const auto& row : *set->GetLayer(0))
    rows.emplace_back(row->GetFieldAsString("plot"), row->GetFieldAsString("species"));
  return rows;
}

std::string as_csv(const std::vector<FormRow>& rows) {
  std::string text;
  const auto line = [&](const FormRow& cells) {
    for (std::size_t i = 0; i < cells.size(); ++i) text += (i == 0 ? "" : ",") + csv_field(cells[i]);
    text += "\r\n";
  };
  line(form_columns());
  for (const FormRow& row : rows) line(row);
  return text;
}

/// Semicolons, decimal commas, headings of the team's own, and a byte of code page 1252 in the remarks.
std::string as_spreadsheet(const std::vector<FormRow>& rows) {
  const std::vector<std::pair<const char*, const char*>> columns = {{"Plot no.", "plot"},
                                                                    {"Day", "visit_date"},
                                                                    {"From", "start"},
                                                                    {"To", "finish"},
                                                                    {"Observer", "observer"},
                                                                    {"With", "second_observer"},
                                                                    {"Plant", "species"},
                                                                    {"Sure?", "certainty"},
                                                                    {"Stems", "flowering_stems"},
                                                                    {"Stems twice", "twice_stems"},
                                                                    {"Stage", "phase"},
                                                                    {"Searched m\xB2", "area_searched_m2"},
                                                                    {"North", "lat"},
                                                                    {"East", "lon"},
                                                                    {"Within m", "fix_accuracy_m"},
                                                                    {"What became of it", "status"},
                                                                    {"Sheet", "sheet_id"}};
  std::string text;
  for (const auto& [heading, column] : columns) text += (text.empty() ? "" : ";") + std::string(heading);
  text += "\r\n";
  const std::set<std::string> with_comma = {"area_searched_m2", "lat", "lon"};
  for (const FormRow& row : rows) {
    bool first = true;
    for (const auto& [heading, column] : columns) {
      std::string cell = row[form_column(column)];
      if (with_comma.contains(column)) std::replace(cell.begin(), cell.end(), '.', ',');
      text += (first ? "" : ";") + cell;
      first = false;
    }
    text += "\r\n";
  }
  return text;
}

/// Fixes as a unit saves them; the rows are sent without.
std::string as_gpx(std::vector<FormRow>& rows) {
  std::string text =
      "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
      "<gpx version=\"1.1\" creator=\"landscape: invented\" xmlns=\"http://www.topografix.com/GPX/1/1\">\n";
  std::set<std::string> saved;
  for (FormRow& row : rows) {
    const auto take = [&](const char* column) { return std::exchange(row[form_column(column)], {}); };
    const std::string lat = take("lat"), lon = take("lon");
    take("fix_accuracy_m");
    take("fix_datum");
    const std::string& plot = row[form_column("plot")];
    const std::string& day = row[form_column("visit_date")];
    if (lat.empty() || plot.size() < 6 || !saved.insert(plot + day).second) continue;
    text += fmt::format("  <wpt lat=\"{}\" lon=\"{}\"><time>{}T{}:00Z</time><name>{}</name></wpt>\n", lat,
                        lon, day, row[form_column("start")], plot);
  }
  return text + "</gpx>\n";
}

}  // namespace

const std::vector<std::string>& form_columns() {
  static const std::vector<std::string> columns = {"plot",
                                                   "visit_date",
                                                   "start",
                                                   "finish",
                                                   "observer",
                                                   "second_observer",
                                                   "species",
                                                   "certainty",
                                                   "flowering_stems",
                                                   "twice_stems",
                                                   "rosettes",
                                                   "count_method",
                                                   "area_searched_m2",
                                                   "phase",
                                                   "lat",
                                                   "lon",
                                                   "fix_accuracy_m",
                                                   "fix_datum",
                                                   "status",
                                                   "photos",
                                                   "notes",
                                                   "sheet_id",
                                                   "entered_by"};
  return columns;
}

std::size_t form_column(const std::string& name) {
  const auto& columns = form_columns();
  const auto found = std::find(columns.begin(), columns.end(), name);
  if (found == columns.end()) throw Defect("a form has no column " + name + ".");
  return std::size_t(found - columns.begin());
}

std::vector<std::string> write_valley_returns(const fs::path& layers, const fs::path& store,
                                              const fs::path& form, int year, bool faults,
                                              const fs::path& folder) {
  const DrawnSeason season = read_drawn(store);
  ValleyReturns returns = fill_forms(season, TrueGround(layers), read_form(form), year);
  std::vector<std::string> planted;
  if (faults) planted = plant_faults(season, returns, year);
  make_folder(folder);
  for (TeamReturn& team : returns.teams) {
    if (team.team == "sand") write_whole(folder / "sand-fixes.gpx", as_gpx(team.rows));
    write_whole(folder / (team.team + ".csv"),
                team.team == "glades" ? as_spreadsheet(team.rows) : as_csv(team.rows));
  }
  std::string known = "site,species,survey_m2,stems,stems_per_ha,remark\n";
  for (const KnownDensity& one : returns.known)
    known += fmt::format("{},{},{:.1f},{},{:.1f},invented\n", one.site, one.species, one.survey_m2, one.stems,
                         10000 * double(one.stems) / one.survey_m2);
  write_whole(folder / "known-densities.csv", known);
  return planted;
}

}  // namespace swardline::landscape
