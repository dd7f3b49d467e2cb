#include "swardline/season/keys.hpp"

#include <algorithm>

namespace swardline {
namespace {

constexpr KeySpec plan_specs[] = {
    {"season.name", "\"River meadows 2027\""},
    {"season.crs", "\"EPSG:26914\""},
    {"season.seed", "2027"},
    {"season.store", "\"season.gpkg\""},
    {"season.species", "\"species/*.toml\""},
    {"season.out", "\"out\""},
    {"season.traits", "\"traits.toml\""},
    {"season.known", "\"patches.gpkg\""},
    {"season.known.file", "\"patches.gpkg\""},
    {"season.known.layer", "\"patches\""},
    {"season.known.crs", "\"EPSG:4326\""},

    {"sites.source", "\"sites.gpkg\""},
    {"sites.source[].file", "\"sites.gpkg\""},
    {"sites.source[].layer", "\"drawn\""},
    {"sites.source[].crs", "\"EPSG:26714\""},
    {"sites.code", "\"code\""},
    {"sites.name", "\"name\""},
    {"sites.private", "[\"owner\"]"},
    {"sites.only", "[\"QPR\", \"CND\"]"},
    {"sites.exclude[].source", "\"ponds.gpkg\""},
    {"sites.exclude[].source.file", "\"ponds.gpkg\""},
    {"sites.exclude[].source.layer", "\"ponds\""},
    {"sites.exclude[].source.crs", "\"EPSG:4326\""},
    {"sites.exclude[].buffer_m", "3"},
    {"sites.exclude[].reason", "\"water\""},
    {"sites.linear.source", "\"verges.gpkg\""},
    {"sites.linear.source[].file", "\"verges.gpkg\""},
    {"sites.linear.source[].layer", "\"verges\""},
    {"sites.linear.source[].crs", "\"EPSG:26914\""},
    {"sites.linear.segment_m", "20"},
    {"sites.linear.sides", "\"both\""},
    {"sites.linear.width_m", "3"},
    {"sites.linear.offset_m", "3.5"},
    {"sites.linear.each", "12"},
    {"sites.linear.gap[].source", "\"bridges.gpkg\""},
    {"sites.linear.gap[].source.file", "\"bridges.gpkg\""},
    {"sites.linear.gap[].source.layer", "\"bridges\""},
    {"sites.linear.gap[].source.crs", "\"EPSG:4326\""},
    {"sites.linear.gap[].buffer_m", "15"},
    {"sites.linear.gap[].reason", "\"bridge\""},
    {"sites.access.start", "\"parking.gpkg\""},
    {"sites.access.start.file", "\"parking.gpkg\""},
    {"sites.access.start.layer", "\"parking\""},
    {"sites.access.start.crs", "\"EPSG:4326\""},
    {"sites.access.crossings", "\"crossings.gpkg\""},
    {"sites.access.crossings.file", "\"crossings.gpkg\""},
    {"sites.access.crossings.layer", "\"crossings\""},
    {"sites.access.crossings.crs", "\"EPSG:4326\""},
    {"sites.access.barriers", "\"fences.gpkg\""},
    {"sites.access.barriers.file", "\"fences.gpkg\""},
    {"sites.access.barriers.layer", "\"fences\""},
    {"sites.access.barriers.crs", "\"EPSG:4326\""},

    {"grid.cell_m", "10"},
    {"grid.extent", "[760000, 4200000, 770000, 4212000]"},

    {"layers.*.source", "\"layers/cover.tif\""},
    {"layers.*.classes.*", "\"WM\""},
    {"layers.*.unit", "\"percent\""},
    {"layers.*.scale", "0.1"},
    {"layers.*.crs", "\"EPSG:26914\""},
    {"layers.*.band", "1"},

    {"strata.by", "[\"site\", \"score\"]"},
    {"strata.score_of", "\"best\""},
    {"strata.bands", "[0.25, 0.5, 0.75]"},
    {"strata.smallest_m2", "400"},

    {"sample.unit", "\"plot\""},
    {"sample.shape", "\"belt\""},
    {"sample.size_m", "[2, 10]"},
    {"sample.total", "240"},
    {"sample.each", "6"},
    {"sample.allocation", "\"proportional\""},
    {"sample.least_per_stratum", "4"},
    {"sample.spares", "0.5"},
    {"sample.edge", "\"walk-through\""},
    {"sample.margin_m", "5"},
    {"sample.bearing", "\"random\""},
    {"sample.apart_m", "12"},
    {"sample.apart_rule", "\"spread\""},
    {"sample.plots_in_excluded", "false"},
    {"sample.budget_minutes", "4800"},
    {"sample.weight", "\"score\""},
    {"sample.weight_floor", "0.05"},
    {"sample.weight_step", "0.01"},
    {"sample.spread.*", "3.6"},
    {"sample.spread.*.target", "0.2"},
    {"sample.spread.*.mean.*", "2.4"},
    {"sample.spread.*.sd.*", "3.6"},
    {"sample.cost.*", "25"},
    {"sample.keep", "\"../2027/season.gpkg\""},
    {"sample.keep.file", "\"../2027/season.gpkg\""},
    {"sample.keep.layer", "\"plots\""},
    {"sample.keep.crs", "\"EPSG:26914\""},
    {"sample.keep_tolerance_m", "1"},

    {"panels.pattern", "\"[1-0,1-3]\""},
    {"panels.shares", "[0.5, 0.5]"},
    {"panels.start", "2027"},
    {"panels.year", "2028"},
    {"panels.years", "6"},
    {"panels.change", "false"},

    {"transect.length_m", "25"},
    {"transect.width_m", "2"},
    {"transect.lay", "\"point\""},
    {"transect.bearing", "\"random\""},
    {"transect.baseline", "\"contour\""},
    {"transect.boundary", "\"clip\""},
    {"transect.step_m", "5"},
    {"transect.frame_m", "[0.5, 1]"},
    {"transect.reference_lines", "\"lines.gpkg\""},
    {"transect.reference_lines.file", "\"lines.gpkg\""},
    {"transect.reference_lines.layer", "\"reference\""},
    {"transect.reference_lines.crs", "\"EPSG:4326\""},

    {"declination.degrees", "-1.5"},
    {"declination.source", "\"survey sheet 14, Quill Prairie\""},
    {"declination.model", "\"WMM2025.COF\""},
    {"declination.date", "\"2027-05-28\""},

    {"effort.species", "[\"PTUB\", \"PGRA\"]"},
    {"effort.precision", "0.25"},
    {"effort.change", "0.2"},
    {"effort.occupied_within", "0.1"},
    {"effort.occupied_change", "0.2"},
    {"effort.find_one", "0.95"},
    {"effort.confidence", "0.9"},
    {"effort.assurance", "0.9"},
    {"effort.power", "0.8"},
    {"effort.false_change", "0.1"},
    {"effort.revisit", "\"same plots\""},
    {"effort.correlation", "0.6"},
    {"effort.pilot", "\"pilot.csv\""},
    {"effort.variance_law", "[2.5, 1.4]"},
    {"effort.hours", "160"},
    {"effort.minutes_per_plot", "20"},
    {"effort.minutes_per_site", "60"},
    {"effort.hours_per_day", "7"},
    {"effort.walk_m_per_minute", "30"},
    {"effort.people", "2"},
    {"effort.visits", "1"},
    {"effort.refused", "0.1"},
    {"effort.expected.*.mean", "2.4"},
    {"effort.expected.*.sd", "3.6"},
    {"effort.expected.*.sd_of_differences", "2.9"},
    {"effort.expected.*.occupied", "0.65"},

    {"blocks.side_m", "100"},
    {"blocks.steep_deg", "25"},
    {"blocks.chosen", "[\"QPR 7601-2003\"]"},

    {"points.name_profile", "\"8\""},
    {"points.points_per_file", "500"},
    {"points.points_per_route", "50"},
    {"points.as", "[\"gpx\", \"csv\"]"},

    {"teams.*", "[\"QPR\", \"ANL\"]"},

    {"visits.weather_days", "5"},
    {"visits.year", "2027"},
    {"visits.hours_per_week", "14"},
    {"visits.people.*", "4"},
    {"visits.table", "\"visits.csv\""},
    {"visits.closure[].sites", "[\"QPR\"]"},
    {"visits.closure[].from", "\"05-01\""},
    {"visits.closure[].until", "\"05-15\""},
    {"visits.closure[].reason", "\"flood\""},
    {"visits.permission.*.status", "\"yes\""},
    {"visits.permission.*.from", "\"05-01\""},
    {"visits.permission.*.until", "\"06-30\""},
    {"visits.permission.*.note", "\"call the evening before\""},

    {"caution[].text", "\"cattle: gates as found\""},
    {"caution[].sites", "[\"NBK\"]"},
    {"caution[].habitats", "[\"glade\"]"},
    {"caution[].classes.*", "[\"WW\"]"},
    {"caution[].from", "\"04-15\""},
    {"caution[].until", "\"05-10\""},
    {"caution[].stop", "true"},

    {"returns.folder", "\"returns\""},
    {"returns.columns.*", "\"flowering_stems\""},
    {"returns.dates", "\"day first\""},
    {"returns.search_from", "0.4"},
    {"returns.search.*", "[\"PCAL\"]"},
    {"returns.observers", "\"observers.csv\""},
    {"returns.tests", "\"tests.csv\""},
    {"returns.photos", "\"photos\""},
    {"returns.earlier", "[\"../2026/season.gpkg\"]"},
    {"returns.most.*", "60"},
    {"returns.far_m", "15"},
    {"returns.close_days", "5"},
    {"returns.shift_days", "-8"},

    {"packet.contact", "\"[coordinator writes in]\""},
    {"packet.habitat", "\"habitat\""},
    {"packet.grid", "\"usng\""},
    {"packet.pace_cm", "75"},
    {"packet.stop_if", "[\"the river gauge is above 3.1 m\"]"},

    {"estimate.confidence", "0.9"},
    {"estimate.by", "[\"habitat\"]"},
    {"estimate.moved_m", "5"},
};

constexpr KeySpec sheet_specs[] = {
    {"code", "\"PTUB\""},
    {"name", "\"Penstemon tubaeflorus\""},
    {"common", "\"white wand beardtongue\""},
    {"version", "3"},
    {"window", "[\"05-20\", \"06-25\"]"},
    {"sensitivity", "\"low\""},
    {"scored", "true"},

    {"factor[].layer", "\"moisture\""},
    {"factor[].role", "\"limiting\""},
    {"factor[].weight", "2"},
    {"factor[].trapezoid", "[20, 26, 38, 46]"},
    {"factor[].points", "[[0.75, 0], [0.9, 1]]"},
    {"factor[].scores.*", "0.9"},
    {"factor[].excluded", "[\"OW\", \"DV\"]"},
    {"factor[].otherwise", "0.0"},
    {"factor[].why", "\"seedlings drown above 46\""},
    {"factor[].group", "\"ground\""},

    {"mask[].layer", "\"elevation\""},
    {"mask[].keep_below", "260"},
    {"mask[].keep_above", "120"},
    {"mask[].reason", "\"above the valley\""},

    {"group[].name", "\"ground\""},
    {"group[].within", "\"place\""},
    {"group[].role", "\"limiting\""},
    {"group[].weight", "1"},
    {"group[].rule", "\"lowest\""},
    {"group[].limiting_power", "0.6"},
    {"group[].floor", "0.05"},

    {"combine.rule", "\"graded\""},
    {"combine.limiting_power", "0.6"},
    {"combine.floor", "0.05"},

    {"traits.*", "\"white\""},

    {"look_alike[].of", "\"PDIG\""},
    {"look_alike[].tell", "\"throat swells suddenly\""},
};

constexpr KeySpec traits_specs[] = {
    {"character.*.look", "\"the throat of a flower, from the side\""},
    {"character.*.states.*", "\"a slender, even tube\""},
    {"character.*.seen", "[\"flower\"]"},
    {"character.*.ease", "\"at a glance\""},

    {"plant[].name", "\"Saponaria officinalis\""},
    {"plant[].common", "\"soapwort\""},
    {"plant[].window", "[\"06-15\", \"08-31\"]"},
    {"plant[].sites", "[\"QPR\"]"},
    {"plant[].warning", "\"poisonous: do not touch it\""},
    {"plant[].traits.*", "\"square\""},
};

/// What of `path` stands directly under `table`; empty when it does not stand there.
std::string_view step_under(std::string_view path, std::string_view table) {
  if (!table.empty()) {
    if (!path.starts_with(table) || path.size() <= table.size() || path[table.size()] != '.') return {};
    path.remove_prefix(table.size() + 1);
  }
  std::string_view step = path.substr(0, path.find('.'));
  if (step.ends_with("[]")) step.remove_suffix(2);
  return step;
}

}  // namespace

std::span<const KeySpec> plan_key_specs() { return plan_specs; }
std::span<const KeySpec> sheet_key_specs() { return sheet_specs; }
std::span<const KeySpec> traits_key_specs() { return traits_specs; }

std::vector<std::string> names_under(std::span<const KeySpec> keys, std::string_view table) {
  std::vector<std::string> names;
  for (const KeySpec& key : keys) {
    const std::string_view step = step_under(key.path, table);
    if (step.empty() || step == "*") continue;
    if (std::find(names.begin(), names.end(), step) == names.end()) names.emplace_back(step);
  }
  return names;
}

bool free_names_under(std::span<const KeySpec> keys, std::string_view table) {
  return std::any_of(keys.begin(), keys.end(),
                     [table](const KeySpec& key) { return step_under(key.path, table) == "*"; });
}

const KeySpec* find_key(std::span<const KeySpec> keys, std::string_view path) {
  const auto at =
      std::find_if(keys.begin(), keys.end(), [path](const KeySpec& key) { return key.path == path; });
  return at == keys.end() ? nullptr : &*at;
}

std::string under(std::string_view table, std::string_view name) {
  return table.empty() ? std::string(name) : std::string(table) + '.' + std::string(name);
}

}  // namespace swardline
