// Rules meet plants: sixty plots of Penstemon tubaeflorus, three of them occupied glade-edge plots with full
// marks for moisture and 0.3 for cover. All invented.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "made_season.hpp"
#include "swardline/compare/proposal.hpp"

namespace story_test {

using namespace swardline;

namespace {

bool any_says(const std::vector<std::string>& lines, const std::string& words) {
  return std::any_of(lines.begin(), lines.end(),
                     [&](const std::string& line) { return line.find(words) != std::string::npos; });
}

CompareOptions with_glade_at(const Sheet& now, double score) {
  CompareOptions options;
  options.proposed = {with_class_score(now, "cover", "GL", score)};
  options.proposed.front().version = now.version + 1;
  return options;
}

}  // namespace

TEST_CASE("three occupied glade-edge plots are false lows, and cover is to blame") {
  const auto made = compare_test::story_of_the_glade();
  const SpeciesComparison ptub = made->ptub(with_glade_at(made->season.sheets[0], 0.8));
  REQUIRE(ptub.false_lows.size() == 1);
  const MisfitGroup& group = ptub.false_lows.front();
  CHECK(group.plots.size() == 3);
  CHECK(group.where == "GL");
  REQUIRE(group.blamed);
  CHECK(made->season.sheets[0].factors[*group.blamed].layer == "cover");
  CHECK(group.sentence == "3 occupied plots: moisture 1.00 but cover GL 0.30 (score about 0.44)");
  CHECK(
      group.remedy ==
      "By the proposed sheet they would score about 0.80; 9 empty plots on GL would rise too, from about "
      "0.44 "
      "to about 0.80, 9 of them to 0.75 or more. With cover at its best they would score about 0.91; 9 of 9 "
      "empty plots on GL would rise too.");
  for (const Misfit& one : group.plots) {
    const PlotAndScore& plot = ptub.plots[one.plot];
    // By hand: 0.3^0.6 · 0.8^0.4 and 0.8^0.6 · 0.8^0.4. Heat is a Float32 raster.
    CHECK(plot.score == doctest::Approx(std::pow(0.3, 0.6) * std::pow(0.8, 0.4)).epsilon(1e-6));
    CHECK(plot.score_then == doctest::Approx(0.8).epsilon(1e-6));
    REQUIRE(one.raised_by);
    CHECK(*one.raised_by == *group.blamed);
    CHECK(one.raised_to == doctest::Approx(std::pow(0.8, 0.4)).epsilon(1e-6));
  }
  CHECK(group.empty_alike == 9);
  CHECK(group.empty_would_rise == 9);
}

TEST_CASE("the effect of an edit is said before it is made, for occupied and empty plots") {
  const auto made = compare_test::story_of_the_glade();
  const SpeciesComparison ptub = made->ptub(with_glade_at(made->season.sheets[0], 0.8));
  REQUIRE(ptub.effect);
  const ProposedEffect& effect = *ptub.effect;
  CHECK(effect.change == "cover GL 0.3 to 0.8");
  CHECK(effect.occupied_rise == 3);
  CHECK(effect.empty_rise == 9);
  CHECK(effect.occupied_fall + effect.empty_fall == 0);
  CHECK(effect.false_lows == 0);
  CHECK(effect.false_highs == 9 + 9);  // six empty wet meadows and three moist prairies are there already
  CHECK(effect.sentences.front() == "3 occupied and 9 empty plots rise, from about 0.44 to about 0.80.");
  CHECK(any_says(effect.sentences, "False lows: 3 now, 0 then. False highs: 9 now, 18 then."));
  // The bands keep their ranges: twelve plots leave the middle one for the highest.
  REQUIRE(effect.bands.size() == 3);
  CHECK(effect.bands[1].plots == ptub.bands.parts[1].plots - 12);
  CHECK(effect.bands[2].plots == ptub.bands.parts[2].plots + 12);
  REQUIRE(effect.pairs);
}

TEST_CASE("the plan's sheet stays as it is, and what was made with it still cites its version") {
  const auto made = compare_test::story_of_the_glade();
  const Sheet& now = made->season.sheets[0];
  const SpeciesComparison ptub = made->ptub(with_glade_at(now, 0.8));
  CHECK(now.version == 3);
  CHECK(std::get<ClassTable>(now.factors[1].response).scores.at("GL") == 0.3);
  CHECK(ptub.version == 3);
  REQUIRE(ptub.effect);
  CHECK(ptub.effect->version == 4);
  CHECK(any_says(ptub.effect->cautions, "the plan uses version 3 until the new one is signed"));
  CHECK(any_says(ptub.effect->cautions, "cite PTUB version 3 and stay as they are"));
  CompareOptions same_version = with_glade_at(now, 0.8);
  same_version.proposed.front().version = 3;
  CHECK(any_says(made->ptub(same_version).effect->cautions,
                 "a changed rule needs a new version, a reason and"));
}

TEST_CASE("bands carry limits and zeros, and one under five plots joins its neighbour") {
  const auto made = compare_test::story_of_the_glade();
  const SpeciesComparison ptub = made->ptub();
  REQUIRE(ptub.bands.parts.size() == 3);
  REQUIRE(ptub.bands.joined.size() == 1);
  CHECK(ptub.bands.joined.front() == "0.50–0.75 had 4 plots and is joined with 0.25–0.50.");
  const ComparedPart &zero = ptub.bands.parts[0], &middle = ptub.bands.parts[1], &best = ptub.bands.parts[2];
  CHECK(zero.what == "0.00–0.25");
  CHECK(zero.plots == 5);
  CHECK(zero.occupied == 0);
  CHECK(zero.per_ha == 0);
  REQUIRE(zero.limits);  // −ln(0.10) over the 100 m² that were searched
  CHECK(zero.limits->high == doctest::Approx(-std::log(0.05) / 100 * 1e4));
  REQUIRE(zero.share_limits);
  CHECK(zero.share_limits->high > 0.2);
  CHECK(middle.what == "0.25–0.75");
  CHECK(middle.plots == 27);
  CHECK(middle.occupied == 4);
  // By hand: 31 plots stand for 20 ha and 28 (one was set aside) for 4 ha; 23 of the first kind hold 23
  // stems.
  const double low = 200000.0 / 31, high = 40000.0 / 28;
  CHECK(middle.per_ha == doctest::Approx((23 * low + 1 * high) / (20 * (23 * low + 4 * high)) * 1e4));
  CHECK(middle.share == doctest::Approx((3 * low + 1 * high) / (23 * low + 4 * high)));
  REQUIRE(middle.limits);
  CHECK(middle.limits->low > 0);
  CHECK(middle.limits->low < middle.per_ha);
  CHECK(middle.limits->high > middle.per_ha);
  CHECK(best.what == "0.75–1.00");
  CHECK(best.plots == 24);
  CHECK(best.per_ha == doctest::Approx((55.0 + 30.0) / 24 / 20 * 1e4));
}

TEST_CASE("a fix of 14 m on cells of 10 m is set aside, and excluded ground is not a score of 0") {
  const auto made = compare_test::story_of_the_glade();
  const SpeciesComparison ptub = made->ptub();
  CHECK(ptub.plots.size() == 60);
  CHECK(ptub.compared == 56);
  CHECK(ptub.occupied == 19);
  CHECK(any_says(ptub.apart,
                 "P060 is set aside: fix accuracy 14 m, more than a cell of 10 m: cannot tell which cell it "
                 "stands in."));
  CHECK(any_says(ptub.apart, "On excluded ground (cover OW), none found: P057 and P058."));
  CHECK(any_says(ptub.apart, "Without a score (no data: moisture), none found: P059."));
  CHECK(ptub.bands.excluded.plots == 2);
  CHECK(ptub.bands.no_score.plots == 1);
  const Comparison comparison = made->compare();
  CHECK(any_says(comparison.remarks, "Known patches are not used"));
  const std::string words = in_words(comparison, made->season, made->counted);
  CHECK(words.find(empty_good_habitat) != std::string::npos);
  CHECK(words.find(empty_good_habitat) == words.rfind(empty_good_habitat));  // said once
}

}  // namespace story_test
