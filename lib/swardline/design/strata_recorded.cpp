// Strata taken from the record, and what has changed since it was made.
#include <fmt/format.h>

#include <algorithm>
#include <atomic>

#include "swardline/base/error.hpp"
#include "swardline/base/workers.hpp"
#include "swardline/design/season_parts.hpp"
#include "swardline/design/site_parts.hpp"
#include "swardline/design/strata_inside.hpp"
#include "swardline/design/strata_pins.hpp"
#include "swardline/grid/cover.hpp"

namespace swardline::strata_parts {
namespace {

using Inside = SeasonStrata::Inside;

/// Where ground goes whose kind the head did not have when its strata were made: slivers, and ground at the
/// edge of other cells than those of then.
std::size_t largest_of(const std::vector<const RecordedStratum*>& strata) {
  std::size_t largest = 0;
  const auto rank = [](const RecordedStratum& s) {
    return std::pair(s.stratum.kind == StratumKind::scored, s.stratum.area_mm2);
  };
  for (std::size_t i = 1; i < strata.size(); ++i) {
    if (rank(*strata[i]) > rank(*strata[largest])) largest = i;
  }
  return largest;
}

/// Kinds of ground as they are now, by the names the record gives them.
struct KindsNow {
  explicit KindsNow(const StrataRule& rule) {
    for (GroundCode code = 0; code < rule.codes(); ++code) names.push_back(rule.kind(code));
  }
  std::vector<std::string> names;
};

/// For every version and number now: the number the version has for that kind, or none.
std::vector<std::vector<GroundCode>> numbers_of_now(const StrataRecord& record, const KindsNow& now) {
  std::vector<std::vector<GroundCode>> all;
  for (const RecordedVersion& v : record.versions) {
    std::map<std::string, GroundCode> numbers;
    for (const auto& [number, kind] : v.kinds) numbers[kind] = number;
    std::vector<GroundCode> row;
    for (const std::string& name : now.names) {
      const auto found = numbers.find(name);
      row.push_back(found == numbers.end() ? kinds_of(v) + 1 : found->second);
    }
    all.push_back(std::move(row));
  }
  return all;
}

/// Adds one block's pieces to `sum`.
void compare_block(const Inside& inside, const StrataRecord& record,
                   const std::vector<std::vector<GroundCode>>& numbers, std::span<const SitePiece> pieces,
                   GroundReader& reader, ChangedGround& sum) {
  const bool all_anew = inside.record.empty();
  const Block block = pieces.front().ground.block;
  std::vector<GroundCode> now;
  std::vector<std::vector<GroundCode>> then(record.versions.size());
  reader.now().ground(block.window(), now);
  for (std::size_t v = 0; v < then.size(); ++v) reader.ground(v, block.window(), then[v]);
  std::vector<std::int64_t> cover(now.size());
  for (const SitePiece& piece : pieces) {
    std::fill(cover.begin(), cover.end(), 0);
    add_cover(piece.ground, inside.grid(), cover);
    for (std::size_t i = 0; i < cover.size(); ++i) {
      if (cover[i] <= 0) continue;
      for (std::size_t v = then.size(); v-- > 0;) {
        if (!all_anew && piece.source != v) continue;
        if (then[v][i] == kinds_of(record.versions[v])) continue;
        sum.known_mm2 += cover[i];
        if (then[v][i] != numbers[v][now[i]]) sum.changed_mm2 += cover[i];
        break;
      }
    }
  }
}

}  // namespace

void add_recorded(Inside& inside, std::size_t head, const std::map<GroundCode, std::int64_t>& areas) {
  const Head& here = inside.heads[head];
  std::vector<const RecordedStratum*> strata;
  for (const RecordedStratum& s : inside.record.versions[here.source].strata) {
    if (s.head == here.text) strata.push_back(&s);
  }
  if (strata.empty()) throw Defect(fmt::format("the strata of record have no stratum for {}", here.text));
  const std::size_t rest = largest_of(strata);
  std::vector<std::size_t> which(inside.codes(here.source), rest);
  for (std::size_t s = 0; s < strata.size(); ++s) {
    for (const std::uint32_t kind : strata[s]->kinds) which[kind] = s;
  }
  std::vector<std::int64_t> mm2(strata.size(), 0);
  for (const auto& [code, area] : areas) mm2[which[code]] += area;
  std::vector<int> place(strata.size(), -1);
  for (std::size_t s = 0; s < strata.size(); ++s) {
    if (mm2[s] == 0) continue;  // its ground is no longer survey area
    place[s] = int(inside.strata.size());
    Stratum stratum = strata[s]->stratum;
    stratum.area_mm2 = mm2[s];
    inside.strata.push_back(std::move(stratum));
    inside.bands.push_back(strata[s]->band);
    inside.head_of.push_back(head);
  }
  for (std::size_t code = 0; code < which.size(); ++code) inside.stratum_of[head][code] = place[which[code]];
}

std::map<std::string, std::string> score_inputs(const Season& season, const Layers& layers) {
  std::map<std::string, std::string> inputs = {{"layers", layers.fingerprint()}};
  for (const Sheet& sheet : season.sheets)
    inputs["sheet " + sheet.code] = season_parts::file_print(season.plan.folder / sheet.file);
  return inputs;
}

bool inputs_changed(const StrataRecord& record, const std::map<std::string, std::string>& inputs) {
  return std::any_of(record.versions.begin(), record.versions.end(),
                     [&](const RecordedVersion& v) { return v.inputs != inputs; });
}

ChangedGround changed_ground(const Inside& inside, const StrataRecord& record, int threads,
                             const Progress& progress) {
  const auto numbers = numbers_of_now(record, KindsNow(inside.rule));
  const auto runs = runs_of_blocks(inside.pieces);
  std::vector<ChangedGround> found(runs.size());
  std::atomic<std::int64_t> done{0};
  in_runs(runs.size(), threads, [&](int, std::size_t begin, std::size_t end) {
    GroundReader reader(inside.layers, inside.model, inside.rule, record);
    for (std::size_t i = begin; i < end; ++i) {
      const auto [first, last] = runs[i];
      compare_block(inside, record, numbers, std::span(inside.pieces).subspan(first, last - first), reader,
                    found[i]);
      if (progress) progress("compare", ++done, std::int64_t(runs.size()));
    }
  });
  ChangedGround sum;
  for (const ChangedGround& part : found) {
    sum.changed_mm2 += part.changed_mm2;
    sum.known_mm2 += part.known_mm2;
  }
  return sum;
}

std::vector<std::string> changes_in_words(const StrataRecord& before, const std::vector<Stratum>& now) {
  std::map<std::string, std::pair<std::int64_t, std::int64_t>> areas;
  for (const RecordedVersion& v : before.versions) {
    for (const RecordedStratum& s : v.strata)
      areas[season_parts::spoken(s.stratum.id)].first += s.stratum.area_mm2;
  }
  for (const Stratum& s : now) areas[season_parts::spoken(s.id)].second += s.area_mm2;
  std::vector<std::string> words;
  for (const auto& [id, mm2] : areas) {
    const double was = double(mm2.first) * 1e-10, is = double(mm2.second) * 1e-10;
    words.push_back(fmt::format("{}: {:.2f} ha before, {:.2f} ha now ({:+.2f} ha)", id, was, is, is - was));
  }
  return words;
}

RecordedVersion new_version(const Inside& inside, const Season& season, const Sites& sites,
                            const RecordOptions& options) {
  const StrataSpec& spec = season.plan.strata;
  RecordedVersion v;
  v.version = inside.rule.version;
  v.anew = inside.record.empty();
  v.made = options.today;
  v.by = spec.by;
  v.score_of = spec.score_of;
  v.bands = spec.bands;
  v.smallest_m2 = spec.smallest_m2;
  v.wkt = Crs::from_text(season.plan.crs, season.plan.crs_place).wkt();
  v.grid = inside.grid();
  v.inputs = score_inputs(season, inside.layers);
  for (const Tract& tract : inside.tracts) {
    if (tract.source == inside.now())
      v.sites.push_back({sites.sites[tract.site].code, tract.head, tract.ground});
  }
  for (std::size_t s = 0; s < inside.strata.size(); ++s) {
    const std::size_t head = inside.head_of[s];
    if (inside.heads[head].source != inside.now()) continue;
    RecordedStratum recorded{inside.strata[s], inside.heads[head].text, inside.bands[s], {}};
    for (GroundCode code = 0; code < inside.stratum_of[head].size(); ++code) {
      if (inside.stratum_of[head][code] == int(s)) recorded.kinds.push_back(code);
    }
    v.strata.push_back(std::move(recorded));
  }
  return v;
}

}  // namespace swardline::strata_parts
