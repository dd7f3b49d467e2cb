#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <set>

#include "swardline/base/text.hpp"
#include "swardline/season/read_blocks.hpp"
#include "swardline/season/read_effort.hpp"
#include "swardline/season/read_linear.hpp"
#include "swardline/season/read_packet.hpp"
#include "swardline/season/read_panels.hpp"
#include "swardline/season/read_returns.hpp"
#include "swardline/season/read_sample.hpp"
#include "swardline/season/read_transect.hpp"
#include "swardline/season/read_visits.hpp"
#include "swardline/season/readers.hpp"
#include "swardline/season/toml_table.hpp"

namespace swardline {
namespace {

namespace fs = std::filesystem;

fs::path resolved(const fs::path& folder, const std::string& text) {
  return (folder / fs::path(text)).lexically_normal();
}

class PlanReader {
 public:
  PlanReader(const TomlFile& file, const fs::path& plan_file) : file_(file) {
    plan_.file = plan_file;
    plan_.crs_place = plan_.sites.place = plan_.strata.place = plan_.sample.place = {file.file, 0, {}};
    plan_.folder = plan_file.parent_path().empty() ? fs::path(".") : plan_file.parent_path();
  }

  Plan read(const toml::table& top) {
    const TomlTable whole(file_, top, "", "", 0);
    if (whole.require("season")) read_season_table(whole.table("season"));
    if (whole.require("sites")) read_sites(whole.table("sites"));
    read_grid(whole.table("grid"));
    read_layers(whole.table("layers"));
    if (const auto strata = whole.table("strata")) read_strata(*strata, plan_);
    if (whole.require("sample")) {
      if (const auto sample = whole.table("sample")) {
        read_sample(*sample, plan_);
        plan_.sample.keep = source(*sample, "keep", "sample.keep");
      }
    }
    if (const auto panels = whole.table("panels")) read_panels(*panels, plan_);
    read_lines(whole);
    check_segments(plan_, file_.flags);
    check_revisits(plan_, file_.flags);
    if (const auto points = whole.table("points")) read_points(*points, plan_);
    if (const auto blocks = whole.table("blocks")) read_blocks(*blocks, plan_);
    if (const auto effort = whole.table("effort")) {
      read_effort(*effort, plan_);
      if (const auto pilot = effort->text("pilot")) plan_.effort.pilot = resolved(plan_.folder, *pilot);
    }
    plan_.returns.folder = resolved(plan_.folder, "returns");
    if (const auto teams = whole.table("teams")) read_teams(*teams, plan_);
    if (const auto visits = whole.table("visits")) read_visits(*visits, plan_);
    for (const TomlTable& each : whole.tables("caution")) read_caution(each, plan_);
    if (const auto returns = whole.table("returns")) read_returns(*returns, plan_);
    if (const auto estimate = whole.table("estimate")) read_estimate(*estimate, plan_);
    if (const auto packet = whole.table("packet")) read_packet(*packet, plan_);
    return std::move(plan_);
  }

 private:
  void read_lines(const TomlTable& whole) {
    if (const auto transect = whole.table("transect")) {
      read_transect(*transect, plan_);
      plan_.transect.reference_lines = source(*transect, "reference_lines", "transect.reference_lines");
    }
    check_transects(whole, plan_);
    const auto declination = whole.table("declination");
    if (!declination) return;
    read_declination(*declination, plan_);
    if (const auto model = declination->text("model"))
      plan_.declination.model = resolved(plan_.folder, *model);
  }

  std::optional<SourceSpec> source_of(const TomlTable& at, const std::string& what, const toml::node& node,
                                      const std::string& path) const {
    SourceSpec spec;
    spec.place = at.place_of(node);
    if (const toml::table* table = node.as_table()) {
      const TomlTable form = at.form(what, *table, path);
      if (!form.require("file")) return std::nullopt;
      const auto name = form.text("file");
      take(form.text("layer"), spec.layer);
      take(form.text("crs"), spec.crs);
      if (!name) return std::nullopt;
      spec.file = resolved(plan_.folder, *name);
      return spec;
    }
    if (!node.is_string()) {
      at.wrong_type(what, node, "a file name or a table { file, layer, crs }", "\"sites.gpkg\"");
      return std::nullopt;
    }
    const auto name = at.text_of(what, node);
    if (!name) return std::nullopt;
    spec.file = resolved(plan_.folder, *name);
    return spec;
  }

  std::optional<SourceSpec> source(const TomlTable& at, const std::string& key,
                                   const std::string& path) const {
    const toml::node* node = at.find(key);
    return node ? source_of(at, key, *node, path) : std::nullopt;
  }

  void read_season_table(const std::optional<TomlTable>& at) {
    if (!at) return;
    if (at->require("name")) take(at->text("name"), plan_.name);
    if (at->require("crs")) take(at->text("crs"), plan_.crs);
    plan_.crs_place = at->place("crs");
    if (!at->has("seed")) {
      at->stop(at->place(), "missing key", "seed is missing: without one the draw could not be made again.",
               "Write a whole number, for example the year: seed = 2027.");
    } else if (const auto seed = at->whole("seed", 0, std::numeric_limits<long long>::max())) {
      plan_.seed = static_cast<std::uint64_t>(*seed);
    }
    take(at->text("store"), plan_.store);
    if (plan_.store.starts_with("PG:") ||
        lower_ascii(fs::path(plan_.store).extension().string()) != ".gpkg") {
      at->stop(at->place("store"), "kind of store",
               fmt::format("store = \"{}\": only a GeoPackage file is supported so far.", plan_.store),
               "Write for example store = \"season.gpkg\".");
    }
    if (!plan_.store.starts_with("PG:")) plan_.store = resolved(plan_.folder, plan_.store).string();
    take(at->text("species"), plan_.species);
    std::string out = "out";
    take(at->text("out"), out);
    plan_.out = resolved(plan_.folder, out);
    plan_.known = source(*at, "known", "season.known");
    if (const auto traits = at->text("traits")) plan_.traits = resolved(plan_.folder, *traits);
  }

  void read_sites(const std::optional<TomlTable>& at) {
    if (!at) return;
    SitesSpec& sites = plan_.sites;
    sites.place = at->place();
    // A season may have verges only.
    if (at->has("source") || !at->has("linear")) read_sources(*at, "sites.source[]", sites.sources);
    take(at->text("code"), sites.code);
    take(at->text("name"), sites.name);
    take(at->texts("private"), sites.private_attributes);
    const auto& hidden = sites.private_attributes;
    if (std::find(hidden.begin(), hidden.end(), sites.code) != hidden.end()) {
      at->stop(at->place("private"), "private code",
               fmt::format("'{}' holds the sites' codes and cannot be private: plots carry it.", sites.code),
               "Take it out of private, or name another attribute as code.");
    }
    take(at->texts("only"), sites.only);
    if (const auto list = at->texts("only"); list && list->empty())
      at->stop(at->place("only"), "empty list", "only names no site.", "Name one, or take only out for all.");
    std::set<std::string> seen;
    for (const std::string& code : sites.only) {
      if (!seen.insert(code).second) {
        at->stop(at->place("only"), "named twice", fmt::format("only names {} twice.", code),
                 "Name it once.");
      }
    }
    for (const TomlTable& each : at->tables("exclude")) read_exclusion(each, "sites.exclude[].source", false);
    if (const auto linear = at->table("linear")) {
      read_sources(*linear, "sites.linear.source[]", sites.linear.sources);
      read_linear(*linear, plan_);
      for (const TomlTable& each : linear->tables("gap")) {
        read_exclusion(each, "sites.linear.gap[].source", true);
      }
    }
    if (const auto access = at->table("access")) {
      sites.access.start = source(*access, "start", "sites.access.start");
      sites.access.crossings = source(*access, "crossings", "sites.access.crossings");
      sites.access.barriers = source(*access, "barriers", "sites.access.barriers");
    }
  }

  void read_sources(const TomlTable& at, const std::string& path, std::vector<SourceSpec>& sources) const {
    if (!at.require("source")) return;
    const toml::node& node = *at.find("source");
    if (const toml::array* list = node.as_array()) {
      for (const toml::node& item : *list) {
        if (auto spec = source_of(at, "source", item, path)) sources.push_back(std::move(*spec));
      }
      if (list->empty()) at.stop(at.place("source"), "empty list", "source names no file.", "Name one.");
    } else if (auto spec = source_of(at, "source", node, path)) {
      sources.push_back(std::move(*spec));
    }
  }

  void read_exclusion(const TomlTable& at, const std::string& path, bool verges_only) {
    ExclusionSpec exclusion;
    exclusion.verges_only = verges_only;
    const bool has_source = at.require("source");
    const auto spec = has_source ? source(at, "source", path) : std::nullopt;
    take(at.number("buffer_m", {0, 100000}), exclusion.buffer_m);
    if (at.require("reason")) take(at.text("reason"), exclusion.reason);
    if (!spec) return;
    exclusion.source = *spec;
    plan_.sites.exclusions.push_back(std::move(exclusion));
  }

  void read_grid(const std::optional<TomlTable>& at) {
    if (!at) return;
    plan_.grid.cell_m = at->number("cell_m", {.low = 0, .high = 1e6, .above_low = true});
    const auto extent = at->numbers("extent", {-1e9, 1e9});
    if (!extent) return;
    const auto& e = *extent;
    if (e.size() != 4 || e[0] >= e[2] || e[1] >= e[3]) {
      at->stop(
          at->place("extent"), "grid extent",
          "extent must be west, south, east, north in the plan's metres, west below east and south below "
          "north.",
          "Write it like extent = [760000, 4200000, 770000, 4212000].");
      return;
    }
    plan_.grid.extent = {e[0], e[1], e[2], e[3]};
  }

  void read_layers(const std::optional<TomlTable>& at) {
    if (!at) return;
    std::map<std::string, std::string> by_lower_case;
    at->each([&](const std::string& name, const toml::node& node) {
      const auto layer = at->chosen(name, node, fmt::format("[layers.{}] ", name));
      if (!layer) return;
      check_layer_name(*layer, name);
      const auto [same, fresh] = by_lower_case.emplace(lower_ascii(name), name);
      if (!fresh) {
        layer->stop(layer->place(), "duplicate layer",
                    fmt::format("differs from [layers.{}] only in capitals.", same->second), "Rename one.");
      }
      read_layer(*layer, name);
    });
  }

  static void check_layer_name(const TomlTable& at, const std::string& name) {
    const bool plain = !name.empty() && std::all_of(name.begin(), name.end(), [](char c) {
      return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' ||
             c == '-';
    });
    if (!plain) {
      at.stop(at.place(), "layer name", "is not a plain name.", "Use letters, digits, _ and - only.");
    }
    if (name == "site" || name == "score") {
      at.stop(at.place(), "layer name",
              fmt::format("takes the word '{}', which has a meaning in [strata] by.", name),
              "Give the layer another name.");
    }
  }

  void read_layer(const TomlTable& at, const std::string& name) {
    LayerSpec layer;
    layer.name = name;
    layer.place = at.place();
    if (at.require("source")) {
      if (const auto file = at.text("source")) layer.source = resolved(plan_.folder, *file);
    }
    take(at.text("crs"), layer.crs);
    take(at.text("unit"), layer.unit);
    take(at.whole("band", 1, 65535), layer.band);
    take(at.number("scale", {}), layer.scale);
    if (layer.scale == 0) {
      at.stop(at.place("scale"), "out of range", "scale = 0 makes every value 0.",
              "Write scale = 1 or leave it out.");
    }
    if (const auto classes = at.table("classes")) {
      classes->each([&](const std::string& value, const toml::node& node) {
        read_class(*classes, value, node, layer);
      });
      if (layer.classes.empty()) {
        at.stop(classes->place(), "empty list", "classes names no class.",
                "Write every value of the raster, like classes = { 1 = \"OW\", 2 = \"WW\" }.");
      }
      for (const char* key : {"unit", "scale"}) {
        if (!at.has(key)) continue;
        at.stop(at.place(key), "measure key on a class layer",
                fmt::format("{} means nothing for classes.", key),
                fmt::format("Take out {}, or take out classes if this is a measure.", key));
      }
    }
    plan_.layers.push_back(std::move(layer));
  }

  static void read_class(const TomlTable& at, const std::string& value, const toml::node& node,
                         LayerSpec& layer) {
    long long number = 0;
    const auto [end, error] = std::from_chars(value.data(), value.data() + value.size(), number);
    const bool whole = error == std::errc{} && end == value.data() + value.size();
    if (!whole) {
      at.stop(at.place_of(node), "class value", fmt::format("'{}' is not a raster value.", value),
              "Write whole numbers before the equals sign, like 1 = \"OW\".");
      return;
    }
    const auto code = at.text_of(value, node);
    if (!code) return;
    if (!layer.classes.emplace(number, *code).second) {
      at.stop(at.place_of(node), "named twice", fmt::format("names value {} twice.", number),
              "Keep one of them.");
    }
  }

  const TomlFile& file_;
  Plan plan_;
};

}  // namespace

Plan read_plan(std::string_view text, const fs::path& plan_file, Flags& flags) {
  const std::string name = plan_file.filename().string();
  const toml::table top = parse_toml(text, name);
  const TomlFile file{name, plan_key_specs(), flags};
  return PlanReader(file, plan_file).read(top);
}

}  // namespace swardline
