#include "swardline/design/strata_record.hpp"

#include <fmt/format.h>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>
#include <toml++/toml.h>

#include <algorithm>
#include <cstdlib>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/geo/gdal_errors.hpp"

namespace swardline {
namespace {

namespace fs = std::filesystem;

constexpr const char* table_name = "strata.toml";
constexpr const char* map_name = "strata.tif";
constexpr const char* survey_name = "survey.gpkg";

constexpr std::array<std::pair<StratumKind, const char*>, 3> kind_words = {
    {{StratumKind::scored, "scored"},
     {StratumKind::excluded, "excluded"},
     {StratumKind::no_score, "no score"}}};

[[noreturn]] void damaged(const fs::path& file, const std::string& how) {
  throw InputError(
      {file.string(), 0, {}}, "the strata of record are damaged: " + how + ".",
      "Bring the folder `record` back from a copy; or move it away and draw: then strata are made "
      "anew, and plots of earlier seasons may change stratum.");
}

// A basic string of TOML 1.0 is written as one of JSON.
std::string list_of(const std::vector<std::string>& items) {
  std::string text;
  for (const std::string& item : items) text += (text.empty() ? "" : ", ") + json_quote(item);
  return "[" + text + "]";
}

template <typename Number>
std::string numbers_of(const std::vector<Number>& items) {
  std::string text;
  for (const Number item : items) {
    text += text.empty() ? "" : ", ";
    if constexpr (std::is_same_v<Number, double>) {
      text += shortest(item);
    } else {
      text += std::to_string(item);
    }
  }
  return "[" + text + "]";
}

std::string print_of(const std::vector<RecordedSite>& sites) {
  std::string text;
  for (const RecordedSite& site : sites) {
    const std::vector<unsigned char> wkb = to_wkb(polygons_of(site.ground));
    text += fmt::format("{} {} {}\n", site.code, site.head,
                        text_fingerprint({reinterpret_cast<const char*>(wkb.data()), wkb.size()}));
  }
  return text_fingerprint(text);
}

std::string table_of(const RecordedVersion& v, const fs::path& folder) {
  std::string t =
      "# Strata of record, written by the draw. Not for editing: plots and chances follow from it.\n\n";
  t += fmt::format("version = {}\nbegins_anew = {}\nmade = {}\n", v.version, v.anew, json_quote(v.made));
  if (!v.changes.empty()) t += fmt::format("changes = {}\n", list_of(v.changes));
  t += fmt::format("by = {}\nscore_of = {}\nbands = {}\nsmallest_m2 = {}\n", list_of(v.by),
                   json_quote(v.score_of), numbers_of(v.bands), shortest(v.smallest_m2));
  t += fmt::format("crs = {}\ncell_m = {}\norigin = {}\n", json_quote(v.wkt), shortest(v.grid.cell_m),
                   numbers_of(std::vector<double>{v.grid.origin_x, v.grid.origin_y}));
  // Of the areas, not of the file's bytes: a desktop map that opens a GeoPackage changes those.
  t += "\n# Fingerprints of the map's file and of the survey areas.\n[fingerprints]\n";
  t += fmt::format("map = {}\nsurvey = {}\n", json_quote(content_fingerprint(folder / map_name)),
                   json_quote(print_of(v.sites)));
  t += "\n# Fingerprints of what the scores were made of.\n[inputs]\n";
  for (const auto& [what, print] : v.inputs)
    t += fmt::format("{} = {}\n", json_quote(what), json_quote(print));
  t += "\n# Numbers in strata.tif.\n[kinds]\n";
  for (const auto& [number, kind] : v.kinds) t += fmt::format("{} = {}\n", number, json_quote(kind));
  for (const RecordedStratum& s : v.strata) {
    const auto word = std::find_if(kind_words.begin(), kind_words.end(),
                                   [&](const auto& k) { return k.first == s.stratum.kind; });
    t += fmt::format("\n[[stratum]]\nid = {}\nsite = {}\nhead = {}\nrule = {}\nkind = \"{}\"\nband = {}\n",
                     json_quote(s.stratum.id), json_quote(s.stratum.site), json_quote(s.head),
                     json_quote(s.stratum.rule), word->second, json_quote(s.band));
    t += fmt::format("area_mm2 = {}\njoined = {}\nkinds = {}\n", s.stratum.area_mm2,
                     json_quote(s.stratum.joined), numbers_of(s.kinds));
  }
  return t;
}

void write_survey(const RecordedVersion& v, const fs::path& file) {
  const GdalErrors errors;
  const fs::path part = part_path(file);
  const auto fail = [&](const std::string& reason) {
    throw IoError({file.string(), 0, {}}, "the strata of record could not be written: " + reason + ".",
                  "Check that the disk has room and the folder can be written, and run again.");
  };
  GDALDriver* driver = GetGDALDriverManager()->GetDriverByName("GPKG");
  if (driver == nullptr) throw Defect("GDAL here has no GeoPackage driver");
  std::unique_ptr<GDALDataset> dataset(driver->Create(part.c_str(), 0, 0, 0, GDT_Unknown, nullptr));
  if (!dataset) fail(errors.first("GDAL gave no reason"));
  OGRSpatialReference system;
  system.SetFromUserInput(v.wkt.c_str());
  system.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
  OGRLayer* layer = dataset->CreateLayer("survey", &system, wkbMultiPolygon, nullptr);
  if (layer == nullptr) fail(errors.first("GDAL gave no reason"));
  for (const char* name : {"code", "head"}) {
    OGRFieldDefn field(name, OFTString);
    if (layer->CreateField(&field) != OGRERR_NONE) fail(errors.first("GDAL gave no reason"));
  }
  for (const RecordedSite& site : v.sites) {
    OGRFeature row(layer->GetLayerDefn());
    row.SetField("code", site.code.c_str());
    row.SetField("head", site.head.c_str());
    const std::vector<unsigned char> wkb = to_wkb(site.ground);
    OGRGeometry* geometry = nullptr;
    if (OGRGeometryFactory::createFromWkb(wkb.data(), nullptr, &geometry, wkb.size()) != OGRERR_NONE)
      throw Defect("a survey area could not be handed to the strata of record");
    row.SetGeometryDirectly(OGRGeometryFactory::forceToMultiPolygon(geometry));
    if (layer->CreateFeature(&row) != OGRERR_NONE) fail(errors.first("GDAL gave no reason"));
  }
  dataset.reset();
  if (!errors.errors().empty()) fail(errors.first(""));
  publish(file);
}

std::vector<RecordedSite> read_survey(const fs::path& file) {
  const GdalErrors errors;
  const char* drivers[] = {"GPKG", nullptr};
  std::unique_ptr<GDALDataset> dataset(
      GDALDataset::Open(file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY, drivers, nullptr, nullptr));
  OGRLayer* layer = dataset ? dataset->GetLayerByName("survey") : nullptr;
  if (layer == nullptr) damaged(file, errors.first("it has no layer `survey`"));
  std::vector<RecordedSite> sites;
  for (const auto& row : *layer) {
    const OGRGeometry* geometry = row->GetGeometryRef();
    if (geometry == nullptr) damaged(file, "a survey area has no polygon");
    std::vector<unsigned char> wkb(geometry->WkbSize());
    if (geometry->exportToWkb(wkbNDR, wkb.data(), wkbVariantIso) != OGRERR_NONE)
      damaged(file, "a polygon cannot be read");
    sites.push_back(
        {row->GetFieldAsString("code"), row->GetFieldAsString("head"), polygons_of(from_wkb(wkb))});
  }
  return sites;
}

/// A table of the file read with its place; what is missing or of another type means damage.
class Reader {
 public:
  Reader(const toml::table& table, const fs::path& file) : table_(table), file_(file) {}

  template <typename Value>
  [[nodiscard]] Value get(const char* key) const {
    const std::optional<Value> value = table_[key].value<Value>();
    if (!value) damaged(file_, fmt::format("`{}` is missing", key));
    return *value;
  }
  template <typename Value>
  [[nodiscard]] std::vector<Value> list(const char* key) const {
    std::vector<Value> values;
    const toml::array* items = table_[key].as_array();
    if (items == nullptr) damaged(file_, fmt::format("`{}` is missing", key));
    for (const toml::node& item : *items) {
      const std::optional<Value> value = item.value<Value>();
      if (!value) damaged(file_, fmt::format("`{}` holds something else than it should", key));
      values.push_back(*value);
    }
    return values;
  }
  [[nodiscard]] std::map<std::string, std::string> texts(const char* key) const {
    std::map<std::string, std::string> values;
    const toml::table* table = table_[key].as_table();
    if (table == nullptr) damaged(file_, fmt::format("`{}` is missing", key));
    for (auto&& [name, node] : *table) values[std::string(name.str())] = node.value_or(std::string());
    return values;
  }

 private:
  const toml::table& table_;
  const fs::path& file_;
};

RecordedStratum read_stratum(const Reader& reader, const fs::path& file, int version) {
  RecordedStratum recorded;
  Stratum& s = recorded.stratum;
  s.id = reader.get<std::string>("id");
  s.site = reader.get<std::string>("site");
  s.rule = reader.get<std::string>("rule");
  s.joined = reader.get<std::string>("joined");
  s.area_mm2 = reader.get<std::int64_t>("area_mm2");
  s.version = version;
  const auto word = reader.get<std::string>("kind");
  const auto kind =
      std::find_if(kind_words.begin(), kind_words.end(), [&](const auto& k) { return k.second == word; });
  if (kind == kind_words.end()) damaged(file, fmt::format("`{}` is no kind of stratum", word));
  s.kind = kind->first;
  recorded.head = reader.get<std::string>("head");
  recorded.band = reader.get<std::string>("band");
  for (const std::int64_t number : reader.list<std::int64_t>("kinds"))
    recorded.kinds.push_back(static_cast<std::uint32_t>(number));
  return recorded;
}

RecordedVersion read_version(const fs::path& folder) {
  const fs::path file = folder / table_name;
  if (!fs::is_regular_file(file)) damaged(file, "the file is missing");
  toml::table top;
  try {
    top = toml::parse(read_whole(file));
  } catch (const toml::parse_error& error) {
    damaged(file, std::string(error.description()));
  }
  const Reader reader(top, file);
  const std::map<std::string, std::string> prints = reader.texts("fingerprints");
  const auto check = [&](const char* name, const char* what, const auto& print_now) {
    if (!fs::is_regular_file(folder / name)) damaged(folder / name, "the file is missing");
    const auto print = prints.find(what);
    if (print == prints.end() || print_now() != print->second)
      damaged(folder / name, "it is not the one that was written with strata.toml");
  };
  RecordedVersion v;
  v.version = reader.get<int>("version");
  v.anew = reader.get<bool>("begins_anew");
  v.made = reader.get<std::string>("made");
  if (top.contains("changes")) v.changes = reader.list<std::string>("changes");
  v.by = reader.list<std::string>("by");
  v.score_of = reader.get<std::string>("score_of");
  v.bands = reader.list<double>("bands");
  v.smallest_m2 = reader.get<double>("smallest_m2");
  v.wkt = reader.get<std::string>("crs");
  v.grid.cell_m = reader.get<double>("cell_m");
  const std::vector<double> origin = reader.list<double>("origin");
  if (origin.size() != 2) damaged(file, "`origin` has two numbers");
  v.grid.origin_x = origin[0];
  v.grid.origin_y = origin[1];
  v.inputs = reader.texts("inputs");
  for (const auto& [number, kind] : reader.texts("kinds"))
    v.kinds[static_cast<std::uint32_t>(std::strtoul(number.c_str(), nullptr, 10))] = kind;
  const toml::array* strata = top["stratum"].as_array();
  if (strata == nullptr) damaged(file, "it names no stratum");
  for (const toml::node& node : *strata) {
    if (const toml::table* table = node.as_table())
      v.strata.push_back(read_stratum(Reader(*table, file), file, v.version));
  }
  v.map = folder / map_name;
  check(map_name, "map", [&] { return content_fingerprint(v.map); });
  check(survey_name, "survey", [&] {
    v.sites = read_survey(folder / survey_name);
    return print_of(v.sites);
  });
  return v;
}

/// 2 for "v2"; 0 for what is no version (one half written, or a user's own file).
int version_number(const fs::path& folder) {
  const std::string name = folder.filename().string();
  if (name.size() < 2 || name.size() > 7 || name[0] != 'v') return 0;
  if (!std::all_of(name.begin() + 1, name.end(), [](char c) { return c >= '0' && c <= '9'; })) return 0;
  return std::atoi(name.c_str() + 1);
}

}  // namespace

StrataRecord read_record(const fs::path& folder) {
  StrataRecord record;
  std::map<int, fs::path> folders;
  std::error_code unread;
  for (const auto& entry : fs::directory_iterator(folder, unread)) {
    if (const int number = version_number(entry.path()); number > 0) folders[number] = entry.path();
  }
  for (const auto& [number, path] : folders) {
    RecordedVersion version = read_version(path);
    if (version.version != number || number != record.newest + 1)
      damaged(path, fmt::format("version {} is missing", record.newest + 1));
    record.newest = number;
    if (version.anew) {
      record.versions.clear();
    } else if (record.versions.empty()) {
      damaged(path, "it adds ground to strata that are missing");
    }
    record.versions.push_back(std::move(version));
  }
  return record;
}

std::string fingerprint(const RecordedVersion& version) {
  std::string text = list_of(version.by) + version.score_of + numbers_of(version.bands);
  for (const auto& [number, kind] : version.kinds) text += fmt::format("\n{} {}", number, kind);
  for (const RecordedStratum& s : version.strata)
    text += fmt::format("\n{} {} {}", s.stratum.id, s.stratum.area_mm2, numbers_of(s.kinds));
  text += '\n' + print_of(version.sites);
  return text_fingerprint(text);
}

void remove_half_made(const fs::path& folder) {
  std::error_code ignored;
  std::vector<fs::path> halves;
  for (const auto& entry : fs::directory_iterator(folder, ignored)) {
    if (entry.path().extension() == ".part" && version_number(entry.path().stem()) > 0)
      halves.push_back(entry.path());
  }
  for (const fs::path& half : halves) fs::remove_all(half, ignored);
}

RecordDraft::RecordDraft(const fs::path& folder, int version) : place_(folder / fmt::format("v{}", version)) {
  make_folder(folder);
  std::error_code ignored;
  fs::remove_all(part_path(place_), ignored);  // what a killed run left half made
  make_folder(part_path(place_));
}

RecordDraft::~RecordDraft() {
  if (published_) return;
  std::error_code ignored;
  fs::remove_all(part_path(place_), ignored);
  fs::remove(place_.parent_path(), ignored);  // goes only when it is empty
}

fs::path RecordDraft::map() const { return part_path(part_path(place_) / map_name); }

fs::path RecordDraft::finished_map() const { return part_path(place_) / map_name; }

void RecordDraft::finish(const RecordedVersion& version) {
  const fs::path folder = part_path(place_);
  swardline::publish(finished_map());
  write_survey(version, folder / survey_name);
  write_whole(folder / table_name, table_of(version, folder));
}

void RecordDraft::publish() {
  swardline::publish(place_);
  published_ = true;
}

}  // namespace swardline
