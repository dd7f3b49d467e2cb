#include "made_season.hpp"

namespace rules_test {

using namespace check_test;

namespace {

void mask_all(MadeSeason& season, const std::string& sheet) {
  season.sheets[sheet] += "[[mask]]\nlayer = \"elevation\"\nkeep_below = 1\n";
}

void add_second_sheet(MadeSeason& season) {
  std::string text = season.sheets["PTUB.toml"];
  text.replace(text.find("PTUB"), 4, "PCOB");
  text.replace(text.find("Penstemon tubaeflorus"), 21, "Penstemon cobaea");
  season.sheets["PCOB.toml"] = text;
}

}  // namespace

TEST_CASE("a species that scores no ground is asked about, with what excludes it") {
  MadeSeason season;
  add_second_sheet(season);
  mask_all(season, "PTUB.toml");
  const auto result = season.check();
  CHECK_FOUND(result, ask, "species scores no ground",
              "PTUB scores no ground at the sites; 100 % of it is excluded: elevation");
  CHECK_MESSAGE(of(result, "site excluded by every rule").empty(), all(result));
  mask_all(season, "PCOB.toml");
  CHECK_FOUND(season.check(), ask, "site excluded by every rule",
              "all of QPR and SKP is excluded for every scored species: no plots are drawn there.");
}

TEST_CASE("one site that all rules exclude is asked about by its code") {
  MadeSeason season;
  // Water over all of QPR: 760,200–760,500 E, 4,210,000–4,210,300 N.
  season.rasters["cover.tif"].value = [](int col, int row) {
    return col >= 20 && col < 50 && row >= 70 && row < 100 ? 3 : 1 + col % 2;
  };
  const auto result = season.check();
  CHECK_FOUND(result, ask, "site excluded by every rule", "all of QPR is excluded");
  CHECK_MESSAGE(of(result, "species scores no ground").empty(), all(result));
}

TEST_CASE("a plant known to grow where its rule says nothing is asked about") {
  MadeSeason season;
  season.change_plan("seed = 2027", "seed = 2027\nknown = \"known.gpkg\"");
  season.vectors["known.gpkg"].features = {
      {point(760215, 4210015), {{"species", "PTUB"}, {"here", "yes"}, {"site", "QPR"}, {"name", "wet one"}}},
      {point(760905, 4210305), {{"species", "PTUB"}, {"here", "no"}, {"site", "SKP"}, {"name", "other"}}}};
  season.sheets["PTUB.toml"].replace(season.sheets["PTUB.toml"].find("[5, 15, 30, 60]"), 15,
                                     "[30, 35, 40, 60]");
  const auto result = season.check();
  CHECK_FOUND(
      result, ask, "known patch scored low",
      "PTUB is known to grow at patch wet one, scored 0.00, held down by moisture. Rule or place wrong?");
}

TEST_CASE("strata by an attribute that is private or not there stop in the check") {
  MadeSeason season;
  for (auto& feature : season.vectors["sites.gpkg"].features) {
    feature.fields["habitat"] = "prairie";
    feature.fields["owner"] = "nobody";
  }
  season.change_plan("source = \"sites.gpkg\"", "source = \"sites.gpkg\"\nprivate = [\"owner\"]");
  const auto by = [&](const std::string& what) {
    const std::size_t at = season.plan.find("\n[strata]");
    if (at != std::string::npos) season.plan.erase(at);
    season.add_to_plan("\n[strata]\nby = [" + what + "]\n");
    return season.check();
  };
  CHECK_FOUND(by("\"site\", \"owner\""), stop, "strata",
              "by names `owner`, which is private and never read.");
  CHECK_FOUND(by("\"habitt\""), stop, "strata", "Did you mean `habitat`?");
  CHECK_FOUND(by("\"code\""), stop, "strata", "Write `site`: every code is a site.");
  for (const char* known : {"\"site\", \"habitat\"", "\"name\"", "\"site\", \"cover\""}) {
    const auto result = by(known);
    CHECK_MESSAGE(result.flags.all().empty(), all(result));
  }
}

TEST_CASE("a layer that cannot be opened is one finding, not one more for every sheet") {
  MadeSeason season;
  add_second_sheet(season);
  season.rasters["cover.tif"].crs = "";
  const auto result = season.check();
  CHECK_FOUND(result, stop, "no coordinate system", "layer cover has no coordinate system");
  for (const swardline::Flag& flag : result.flags.all())
    CHECK_MESSAGE(flag.check != "layer not given", all(result));
  CHECK(result.flags.count(swardline::Severity::stop) == 1);
}

}  // namespace rules_test
