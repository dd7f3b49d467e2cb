// What the terminal and the table say.
#include <doctest/doctest.h>

#include <algorithm>

#include "made_season.hpp"

namespace words_test {

using namespace swardline;

namespace {

bool says(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

}  // namespace

TEST_CASE("the worked example as the terminal shows it") {
  const std::string words = in_words(estimate_season(MadeSeason::quill_prairie().season, {}, {{}, true, 1}));
  INFO(words);
  CHECK(says(words, "PTUB: flowering stems, 90 % limits\n"));
  CHECK(says(words, "1,367"));
  CHECK(says(words, "650–2,860"));
  CHECK(says(words, "57,400  22,500  5.8\n"));
  CHECK(says(words, "320–2,415 s"));
  CHECK(says(words, "4,286"));
  CHECK(says(words, "limits: log-based"));
  CHECK(says(words, "all sites, neighbourhood variance: SE "));
  CHECK(says(words, "limits too narrow"));
  CHECK_FALSE(says(words, "absent"));
}

TEST_CASE("nothing found is said with what it assumes, never as absence") {
  MadeSeason made;
  made.site("QPR", 10);
  made.stratum("QPR|all|v1", "QPR", 10, 30);
  made.plots(std::vector<double>(30, 0.0), 10);
  const std::string words = in_words(estimate_season(made.season, {}));
  INFO(words);
  CHECK(says(words, "under 100"));
  CHECK(says(words, "QPR: none found in 30 plots; up to 9.5 % of plots could hold it"));
  CHECK_FALSE(says(words, "absent"));
}

TEST_CASE("ground of which nothing is known is said in hectares") {
  MadeSeason made = MadeSeason::quill_prairie();
  made.stratum("QPR|excluded|v1", "QPR", 1.5, 0, "excluded");
  for (int i = 0; i < 5; ++i) made.missing("no permission").stratum = "QPR|score=0-25|v1";
  const std::string words = in_words(estimate_season(made.season, {}));
  INFO(words);
  CHECK(says(words, "No estimate speaks of 1.5 ha: excluded for every scored species."));
  CHECK(says(words, "Not counted, no permission: 5 plots, 15 ha (36 % of the ground that is estimated"));
  CHECK(says(words, "accessible land"));
  CHECK(says(words, "on accessible land alone: total "));
}

TEST_CASE("the table has the columns of the design, and as many cells in every row") {
  MadeSeason made = MadeSeason::quill_prairie();
  made.season.units[1].counts[0].not_certain = 6;
  const std::string csv = estimates_csv(estimate_season(made.season, {}));
  CHECK(
      csv.rfind("where,stratum,species,measure,value,standard_error,limit_low,limit_high,confidence_percent,"
                "limits_kind,plots,degrees_freedom,estimator,source\n",
                0) == 0);
  CHECK(says(csv, "QPR,,PTUB,stems per ha,1367.34694,535.402321,652.656"));
  // Commas outside quotes.
  int cells = 0, lines = 0;
  bool quoted = false;
  for (const char c : csv) {
    if (c == '"') quoted = !quoted;
    if (c == ',' && !quoted) ++cells;
    if (c != '\n' || quoted) continue;
    CHECK(cells == 13);
    cells = 0;
    ++lines;
  }
  CHECK(lines > 15);
}

TEST_CASE("plots of strata without a count are added up as their hectares are") {
  MadeSeason made = MadeSeason::quill_prairie();
  for (const char* id : {"QPR|a|v1", "QPR|b|v1", "QPR|c|v1"}) {
    made.stratum(id, "QPR", 2, 4);
    for (int i = 0; i < 4; ++i) made.missing("no permission");
  }
  made.stratum("QPR|d|v1", "QPR", 1, 1);
  made.missing("under water");
  const std::string words = in_words(estimate_season(made.season, {}));
  INFO(words);
  CHECK(says(words, "No estimate speaks of 7.0 ha: no plot counted (no permission: 12, under water: 1)."));
}

TEST_CASE("one plot is a plot") {
  MadeSeason made = MadeSeason::quill_prairie();
  made.missing("mown");
  CHECK(says(in_words(estimate_season(made.season, {})), "Not counted, mown: 1 plot, "));
}

}  // namespace words_test
