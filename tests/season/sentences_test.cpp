// Rules and plans read back in words.
#include "season_folder.hpp"

namespace sentences_test {

using namespace swardline;
using namespace swardline::testing;

namespace {

std::string said(const std::string& sheet, const std::string& plan = sound_plan) {
  const Reading reading = read(plan, {{"P", sheet}});
  CHECK_MESSAGE(!reading.flags.stopped(), reading.all());
  return in_sentences(reading.season.sheets.at(0), reading.season.plan);
}

const std::string valley = sound_plan +
                           "[layers.canopy]\nsource = \"c.tif\"\nunit = \"percent\"\n"
                           "[layers.water_distance]\nsource = \"w.tif\"\nunit = \"m\"\n"
                           "[layers.acid]\nsource = \"a.tif\"\n";

std::string sample_sheet(const char* name) {
  return read_whole(std::filesystem::path(SWARDLINE_SOURCE_DIR) / "samples" / "ambry-valley" / "species" /
                    name);
}

std::string with_all_classes() {
  return with(valley, "3 = \"MP\"",
              "3 = \"MP\", 4 = \"WW\", 5 = \"DP\", 6 = \"GL\", 7 = \"WD\", 8 = "
              "\"CF\", 9 = \"OF\", 10 = \"RD\", 11 = \"CR\", 12 = \"DV\"");
}

}  // namespace

TEST_CASE("a demo sheet reads back as a botanist would say it") {
  CHECK(said(sample_sheet("PTUB.toml"), with_all_classes()) ==
        "PTUB, Penstemon tubaeflorus, white wand beardtongue, version 1. Visits from 20 May to 25 June. "
        "Full marks from 26 to 38 percent moisture, nothing at or below 20 or at or above 46. "
        "Full marks on cover WM; MP 0.9, RD 0.5, OF 0.4, WD 0.4, GL 0.3 and DP 0.2; nothing on any other "
        "cover class; "
        "never on CR, DV or OW. "
        "Full marks up to 25 percent canopy, nothing at or above 60. "
        "Full marks from 0.9 to 1.06 heat index, nothing at or below 0.75 or at or above 1.15. "
        "Only where elevation is below 260 m; elsewhere excluded. "
        "The score is the lowest of moisture and cover to the power 0.6, times the weighted geometric mean "
        "of canopy "
        "(weight 2) and heat to the power 0.4.");
}

TEST_CASE("a rising shoulder, a monitored species") {
  const std::string text = said(sample_sheet("PHIR.toml"), with_all_classes());
  CHECK_MESSAGE(text.find("Full marks from 8 degrees slope up, nothing at or below 0. ") != std::string::npos,
                text);
  CHECK(said(sample_sheet("PLAX.toml"),
             with(with_all_classes(), "[sample]", "[strata]\nby = [\"site\"]\n[sample]")) ==
        "PLAX, Penstemon laxiflorus, nodding beardtongue, version 1. Visits from 15 April to 15 May. "
        "Monitored, not scored.");
}

TEST_CASE("steep corners, points, tables with other scores, masks on both sides") {
  const std::string head = "code = \"P\"\nname = \"N\"\n";
  const std::string open = "P, N, version 1. ";
  CHECK(said(head + "[[factor]]\nlayer = \"acid\"\ntrapezoid = [4, 4, 6, 6]\n", valley) ==
        open + "Full marks from 4 to 6 acid, nothing below 4 or above 6. The score is acid.");
  CHECK(said(head + "[[factor]]\nlayer = \"water_distance\"\ntrapezoid = [0, 5, 5, 9]\n", valley) ==
        open +
            "Full marks at 5 m water distance, nothing at or below 0 or at or above 9. The score is water "
            "distance.");
  CHECK(said(head + "[[factor]]\nlayer = \"heat\"\npoints = [[0.75, 0], [0.9, 1], [1.1, 0.25]]\n") ==
        open +
            "Heat index counts 0 at 0.75, 1 at 0.9 and 0.25 at 1.1, in straight lines between, level beyond. "
            "The score is heat.");
  CHECK(said(head + "[[factor]]\nlayer = \"cover\"\nscores = { WM = 0.5, OW = 0 }\notherwise = 0.1\n"
                    "[[mask]]\nlayer = \"elevation\"\nkeep_below = 260\nkeep_above = 120\n") ==
        open +
            "Cover counts WM 0.5; nothing on OW; 0.1 on any other cover class. "
            "Only where elevation is above 120 m and below 260 m; elsewhere excluded. The score is cover.");
}

TEST_CASE("every way to combine is said") {
  const std::string rule =
      "[[factor]]\nlayer = \"moisture\"\ntrapezoid = [1, 2, 3, 4]\n[[factor]]\nlayer = \"canopy\"\n"
      "role = \"modifying\"\nweight = 2\ntrapezoid = [1, 2, 3, 4]\n";
  const auto last = [&](const std::string& combine) {
    const std::string text = said("code = \"P\"\nname = \"N\"\n" + rule + "[combine]\n" + combine, valley);
    return text.substr(text.find("The score"));
  };
  CHECK(last("rule = \"lowest\"\n") == "The score is the lowest of moisture and canopy.");
  CHECK(last("rule = \"geometric\"\n") ==
        "The score is the weighted geometric mean of moisture and canopy (weight 2).");
  CHECK(last("rule = \"arithmetic\"\n") ==
        "The score is the weighted arithmetic mean of moisture and canopy (weight 2), which lets a zero be "
        "bought off.");
  CHECK(last("limiting_power = 0.7\nfloor = 0.05\n") ==
        "The score is moisture to the power 0.7, times canopy to the power 0.3. Canopy never counts for less "
        "than 0.05.");
}

TEST_CASE("groups are said before what they belong to") {
  const std::string text =
      said(read_whole(std::filesystem::path(SWARDLINE_SOURCE_DIR) / "samples" / "species-reference.toml"),
           valley.substr(0, valley.find("3 = \"MP\"")) + "3 = \"WW\"" +
               valley.substr(valley.find("3 = \"MP\"") + 8));
  CHECK_MESSAGE(
      text.find("Group place is group ground. Group ground is the lowest of moisture and cover to the power "
                "0.6, times canopy "
                "to the power 0.4. Canopy never counts for less than 0.05. The score is group place to the "
                "power 0.6, times "
                "heat to the power 0.4. Heat never counts for less than 0.05.") != std::string::npos,
      text);
}

TEST_CASE("a plan's decisions read back in a few lines") {
  const Reading short_plan = read_plan_only(sound_plan);
  CHECK(
      in_sentences(short_plan.season.plan) ==
      "Test. Seed 2027, coordinates in EPSG:26914.\n"
      "Sites from sites.gpkg, codes in 'code', names in 'name'.\n"
      "Layers: cover (3 classes), moisture (percent) and elevation (m).\n"
      "Strata by site and score of the best species, in bands 0.00–0.25, 0.25–0.50, 0.50–0.75 and 0.75–1.00; "
      "a stratum under 400 m² joins a neighbour.\n"
      "Plots: belts 2 m wide and 10 m long, 24 in all, shared by area, at least 4 in a stratum; 0.5 spare "
      "plots for "
      "each planned one; bearing at random; edges by the walk-through rule.\n"
      "Points as gpx, names as they are.\n");
  CHECK(in_sentences(read_plan_only(with(sound_plan, "total = 24",
                                         "total = \"hours\"\n[effort]\nchange = 0.2\nhours = "
                                         "40"))
                         .season.plan)
            .find("10 m long, as many as the hours pay for, shared by area, at least 4") !=
        std::string::npos);
  for (const auto& [edge, said] :
       {std::pair{"edge = \"inner-margin\"\nmargin_m = 7.5", "edges by keeping pins 7.5 m from them."},
        {"edge = \"grown-frame\"", "edges by drawing pins outside too, up to the plot's reach."},
        {"edge = \"fold-back\"", "edges by folding belts back."},
        {"edge = \"inside-area\"", "edges by counting the area inside."}}) {
    const Reading plan = read_plan_only(with(sound_plan, "total = 24", std::string("total = 24\n") + edge));
    CHECK(plan.all() == "");
    CHECK_MESSAGE(in_sentences(plan.season.plan).find(said) != std::string::npos, edge);
  }
  // Its file of characters is not there, and says nothing here.
  const std::string full =
      with(read_whole(std::filesystem::path(SWARDLINE_SOURCE_DIR) / "samples" / "plan-reference.toml"),
           "\ntraits ", "\n# ");
  const Reading long_plan = read(
      full, {{"PTUB",
              "code = \"PTUB\"\nname = \"N\"\n[[factor]]\nlayer = \"canopy\"\ntrapezoid = [1, 2, 3, 4]\n"}});
  CHECK(long_plan.all() == "");
  CHECK(
      in_sentences(long_plan.season.plan) ==
      "Quiet Meadows 2027. Seed 2027, coordinates in EPSG:26914.\n"
      "Sites from sites.gpkg and older.gpkg, codes in 'code', names in 'name'; only QPR and CND; owner kept "
      "out of every file.\n"
      "Linear sites from verges.gpkg and lanes.gpkg: segments of 20 m on both sides; width as 'left_m' says "
      "(left) and 3 m (right), from the line 3.5 m; 12 segments in each.\n"
      "Excluded: water (ponds.gpkg and 3 m around).\n"
      "Excluded from linear sites: bridge (bridges.gpkg and 15 m around).\n"
      "Layers: cover (3 classes), moisture (percent, times 0.1), canopy (percent) and elevation (m).\n"
      "Strata by site and score of the best species, in bands 0.00–0.25, 0.25–0.50, 0.50–0.75 and 0.75–1.00; "
      "a stratum under 400 m² joins a neighbour.\n"
      "Plots: belts 2 m wide and 10 m long, 240 in all, shared by area times spread over the root of cost, "
      "at "
      "least 4 in a stratum; 0.5 spare plots for each planned one; chances in proportion to score, at least "
      "0.05; bearing at random; at least 12 m apart; edges by the walk-through rule.\n"
      "Plots of their sites only in the chosen blocks QPR 7601-2003 (squares of 100 m).\n"
      "Must be answered: limits of ±25 percent, a change of 20 percent on the same plots, the share of plots "
      "occupied within 10 points, a change of that share by 20 points and one find with 95 percent certainty "
      "for PTUB; 160 person-hours.\n"
      "Visits: at least 6 open days each, 5 of them for bad weather; 14 hours a week for each person.\n"
      "QPR closed 1 Mar–31 Mar (burn).\nPermission for QPR: yes from 1 May until 30 Jun.\n"
      "1 caution of its own for the sheets.\n"
      "Points as gpx and csv, names of at most 8 characters.\n");
}

}  // namespace sentences_test
