// Numbers, names and paper of the season's page.
#include <doctest/doctest.h>

#include "swardline/report/html_table.hpp"
#include "swardline/report/page.hpp"
#include "swardline/report/season_sections.hpp"
#include "told_season.hpp"

namespace season_paper_test {

using namespace swardline;
using report_test::Told;

TEST_CASE("an estimate and its limits are said to one place, and a limit above nothing is never 0") {
  const auto said = [](double value, double low, double high, const char* kind = "log-based") {
    EstimateRow row;
    row.value = value;
    row.low = low;
    row.high = high;
    row.limits_kind = kind;
    return said_value(row) + " (" + said_limits(row) + ")";
  };
  CHECK(said(1367.35, 652.3, 2863.1) == "1,370 (650–2,860)");
  CHECK(said(57428.6, 27396, 120250) == "57,000 (27,000–120,000)");
  CHECK(said(570.04, 441.7, 735.6) == "570 (440–740)");
  CHECK(said(0.5283, 0.3114, 0.8911) == "0.53 (0.31–0.89)");
  CHECK(said(110, 3.2, 3700) == "110 (3–3,700)");
  CHECK(said(1367, 319.6, 2414.9, "symmetric") == "1,400 (300–2,400)");
  CHECK(said(0, 0, 117.3, "nothing found, if scattered at random") == "0 (under 117)");
  EstimateRow alone;
  alone.value = 1234.6;
  CHECK(said_value(alone) == "1,230");
  CHECK(said_limits(alone) == "–");
}

TEST_CASE("paper has no tables of sites or plots that are folded, and says where they are") {
  Told told;
  told.tell();
  const std::string page = told.page();
  CHECK(page.find("@media print") != std::string::npos);
  CHECK(page.find(".on-paper{display:none}") != std::string::npos);
  CHECK(page.find("<p class=\"on-paper\">Totals by site, and kinds of sites: in the page on screen, and in "
                  "out/estimates.csv, which estimate writes.</p>") != std::string::npos);
  CHECK(
      page.find("<p class=\"on-paper\">What became of each plot, and its record: in the page on screen, and "
                "in season.gpkg.</p>") != std::string::npos);
  const SeasonFacts facts = told.facts();
  const SeasonLookup season(facts);
  // The table of all sites stands before the first species, outside what only the screen shows.
  const std::string found = found_part(season);
  const std::size_t all_sites = found.find("All sites together: flowering stems");
  REQUIRE(all_sites != std::string::npos);
  CHECK(all_sites < found.find("class=\"on-screen\""));
}

TEST_CASE("a long table is cut on paper, in the order it has on screen, and says what is missing") {
  HtmlTable table;
  table.caption = "Many";
  table.columns = {{"Name", false}};
  for (int i = 0; i < 9; ++i) table.rows.push_back({std::to_string(i)});
  table.sorts = true;
  CHECK(html_table(table).find("on-paper") == std::string::npos);
  table.on_paper = 6;
  table.rest_in = "out/<all>.csv";
  std::string markup = html_table(table);
  CHECK(markup.find("<table class=\"sorts first-6\">") != std::string::npos);
  CHECK(markup.find(
            "<p class=\"on-paper\">3 more rows: in the page on screen, and in out/&lt;all&gt;.csv.</p>") !=
        std::string::npos);
  CHECK(markup.find("<th scope=\"row\">8</th>") != std::string::npos);
  CHECK(on_paper_style().find(".first-6 tbody tr:nth-child(n+7){display:none}") != std::string::npos);
  table.on_paper = 7;  // for two rows the note is as long
  CHECK(html_table(table).find("on-paper") == std::string::npos);
  for (int i = 0; i < 90; ++i) table.rows.push_back({"more"});
  table.on_paper = 80;
  markup = html_table(table);
  CHECK(markup.find("first-24") != std::string::npos);
  CHECK(markup.find("75 more rows") != std::string::npos);
}

TEST_CASE("strata are named once, in words, and texts of the draw have no identities") {
  Told told;
  told.made->counted.strata = {{"CND|score=50-75|v1", "CND", "scored", 1000, 1000, 1, 2},
                               {"CND|score=50-75|v2", "CND", "scored", 500, 500, 1, 2},
                               {"CND|score=5-75|v1", "CND", "scored", 500, 500, 1, 2},
                               {"CND|cover=GL|score=0-25|v1", "CND", "scored", 500, 500, 1, 2},
                               {"CND|no-score|v1", "CND", "no score", 20, 20, 1, 2},
                               {"all|score=75-100|v1", "", "scored", 20, 20, 1, 2}};
  told.certificate =
      R"json({"allocation": ["At the minimum of 4: CND|score=50-75 (2 versions), CND|score=5-75 and CND|no-score."],
          "strata": [
            {"stratum": "CND|score=50-75|v1", "rule": "score 0.50–0.75 of the best species", "version": 1},
            {"stratum": "CND|score=50-75|v2", "rule": "score 0.50–0.75 of the best species", "version": 2}]})json";
  const SeasonFacts facts = told.facts();
  const SeasonLookup season(facts);
  CHECK(season.stratum_ground("CND|score=50-75|v1") == "score 0.50–0.75 of the best species");
  CHECK(season.stratum_ground("CND|score=50-75|v2") ==
        "score 0.50–0.75 of the best species: ground that joined the site later (version 2)");
  CHECK(season.stratum_ground("CND|cover=GL|score=0-25|v1") == "cover GL score 0.00–0.25");
  CHECK(season.stratum_ground("CND|no-score|v1") == "no score");
  CHECK(season.stratum_ground("never heard of") == "never heard of");
  CHECK(season.with_strata_in_words(season.draw.allocation) ==
        std::vector<std::string>{
            "At the minimum of 4: CND score 0.50–0.75 (2 versions), CND score 0.05–0.75 and CND no score."});
  const std::string part = surveyed_part(season);
  CHECK(part.find("|v1") == std::string::npos);
  CHECK(part.find("score=") == std::string::npos);
  CHECK(part.find("<th scope=\"row\">several sites</th>") != std::string::npos);
}

TEST_CASE("a plot whose panel rests is said to rest, in one word everywhere") {
  Told told;
  EvaluatedUnit& resting = told.made->counted.units[30];
  resting.in_use = resting.evaluated = false;
  resting.fate = resting.why = "resting";
  EvaluatedUnit& outside = told.made->counted.units[31];
  outside.in_use = outside.evaluated = false;
  outside.fate = outside.why = "outside the survey area since Season 2028";
  told.tell();
  const std::string page = told.page();
  CHECK(page.find(resting.name + ": resting this season") != std::string::npos);
  CHECK(page.find(outside.name + ": not in use: its status says why") != std::string::npos);
  CHECK(page.find("<td>resting</td>") != std::string::npos);
  CHECK(page.find("not due") == std::string::npos);
}

TEST_CASE("notes that say the same of several places are one") {
  CHECK(notes_by_place({{"ANL", "rough"}, {"DSK", "rough"}, {"GRV", "<none>"}, {"DSK", "rough"}}) ==
        html_list({"ANL and DSK: rough.", "GRV: <none>."}, true));
  CHECK(notes_by_place({}).empty());
}

}  // namespace season_paper_test
