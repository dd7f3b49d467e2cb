// A season whose chances follow the score or a layer.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "small_season.hpp"

namespace season_weights_test {

using namespace swardline;

namespace {

void add_sites(SmallSeason& s) {
  s.add_site("QPR",
             "POLYGON ((760113 4209507, 760921 4209551, 760871 4210633, 760208 4210477, 760113 4209507))");
  s.add_site("ANL", rectangle(761000, 4209700, 761400, 4210900));
}

std::string message_of(SmallSeason& s) {
  try {
    (void)s.draw();
  } catch (const InputError& error) {
    return error.what();
  }
  return {};
}

}  // namespace

TEST_CASE("plots carry chances in proportion to the score, and the stratum the sum of weights") {
  SmallSeason s;
  add_sites(s);
  s.season.plan.sample.weight.of = "score";
  s.season.plan.strata.score_of = "PTUB";
  s.season.plan.strata.by = {"site"};
  s.season.plan.sample.weight.floor = 0.25;
  const SeasonDraw draw = s.draw();
  REQUIRE(draw.plots.size() == 18);
  for (const Stratum& stratum : draw.strata) {
    if (stratum.kind == StratumKind::excluded) continue;
    CHECK(stratum.weight_unit == 0.01);
    // The sum of weights and the ground at the floor, cell by cell with GEOS from the scores in closed form.
    // Ground without a score (moisture has no data in the south) stands at the floor too; the pond is
    // excluded.
    const Geometry& survey = s.site(stratum.site).survey;
    double sum = 0, at_floor = 0, area = 0;
    const Box box = survey.box();
    for (double x = std::floor(box.x0 / 10) * 10; x < box.x1; x += 10) {
      for (double y = std::floor(box.y0 / 10) * 10; y < box.y1; y += 10) {
        if (SmallSeason::cover_at(x + 5, y + 5) == 3) continue;
        const double here = polygons_of(intersection(survey, box_polygon({x, y, x + 10, y + 10}))).area();
        const int moisture = SmallSeason::moisture_at(x + 5, y + 5);
        const int percent = moisture == 255 ? 0 : moisture;
        area += here;
        sum += here * std::max(percent, 25) / 100;
        if (percent < 25) at_floor += here;
      }
    }
    CHECK(stratum.area_m2() == doctest::Approx(area).epsilon(1e-7));
    CHECK(stratum.weight_sum_m2() == doctest::Approx(sum).epsilon(1e-7));
    CHECK(double(stratum.at_floor_mm2) * 1e-6 == doctest::Approx(at_floor).epsilon(1e-7));
    for (const Plot& plot : draw.plots) {
      if (plot.stratum != stratum.id) continue;
      const int moisture = SmallSeason::moisture_at(plot.east, plot.north);
      const double weight = std::max(moisture == 255 ? 0 : moisture, 25) / 100.0;
      CHECK(plot.chance_per_m2 == doctest::Approx(6 * weight / sum).epsilon(1e-7));
      CHECK(plot.weight_m2 == (plot.spare ? 0 : doctest::Approx(1 / plot.chance_per_m2).epsilon(1e-12)));
    }
  }
  const std::string words = draw.certificate.allocation.at(1);
  CHECK_MESSAGE(says(words, "in proportion to score, in whole steps of 0.01 and at least 0.25"), words);
  CHECK(says(to_json(draw.certificate), "\"weight_sum_m2\": "));
  CHECK(says(to_json(draw.certificate),
             "sum(weight_m2 × (count + count twice)) / sum(weight_m2 × (inside_m2 + twice_m2))"));
}

TEST_CASE("a weighted draw is the same for any number of threads, longer layers and another site beside") {
  SmallSeason one, two, longer, alone;
  for (SmallSeason* s : {&one, &two, &longer}) add_sites(*s);
  alone.add_site("ANL", rectangle(761000, 4209700, 761400, 4210900));
  longer.make_layers(40);
  std::vector<std::vector<Plot>> plots;
  int threads = 0;
  for (SmallSeason* s : {&one, &two, &longer, &alone}) {
    s->season.plan.sample.weight.of = "moisture";
    s->season.plan.sample.weight.floor = 3;
    s->season.plan.sample.weight.step = 1;
    std::vector<Plot> here = s->draw(++threads).plots;
    if (s != &alone) {
      plots.push_back(here);
      std::erase_if(here, [](const Plot& p) { return p.site != "ANL"; });
    }
    plots.push_back(here);
  }
  const auto same = [](const std::vector<Plot>& a, const std::vector<Plot>& b) {
    return !a.empty() && std::equal(a.begin(), a.end(), b.begin(), b.end(), [](const Plot& p, const Plot& q) {
      return p.stratum == q.stratum && p.east == q.east && p.north == q.north &&
             p.chance_per_m2 == q.chance_per_m2;
    });
  };
  CHECK(same(plots[0], plots[2]));
  CHECK(same(plots[0], plots[4]));
  CHECK(same(plots[1], plots[6]));
}

TEST_CASE("where there is no score chances are equal, unless a layer says otherwise") {
  SmallSeason s;
  add_sites(s);
  s.season.plan.sample.weight.of = "score";
  const SeasonDraw draw = s.draw();
  bool met = false;
  for (const Stratum& stratum : draw.strata) {
    if (stratum.kind == StratumKind::scored) CHECK(stratum.weighted_mm2 > 0);
    if (stratum.kind != StratumKind::no_score) continue;
    met = true;
    CHECK(stratum.weighted_mm2 == 0);
    for (const Plot& plot : draw.plots) {
      if (plot.stratum == stratum.id) CHECK(plot.chance_per_m2 == doctest::Approx(6 / stratum.area_m2()));
    }
  }
  CHECK(met);
}

TEST_CASE("ground without a chance stops the draw, a floor lets it go on, and what is no weight never does") {
  SmallSeason s;
  add_sites(s);
  WeightSpec& weight = s.season.plan.sample.weight;
  weight.of = "moisture";
  weight.place = {"plan.toml", 44, ""};
  std::string message = message_of(s);
  CHECK_MESSAGE(says(message, "weight = \"moisture\" is 0, or missing, on"), message);
  CHECK(says(message, "QPR|no-score"));
  CHECK(says(message, "plan.toml:44"));
  CHECK(says(message, "weight_floor"));
  s.flags = {};
  weight.floor = 1;
  CHECK(message_of(s).empty());

  weight.floor = 0.5;
  weight.step = 1e-5;
  s.flags = {};
  message = message_of(s);
  CHECK_MESSAGE(says(message, "more than 1,000,000 steps of 1e-05"), message);
  weight.step = 0.01;

  for (LayerSpec& layer : s.season.plan.layers) {
    if (layer.name == "moisture") layer.scale = -1;
  }
  s.season.plan.sample.weight.of = "moisture";
  s.season.plan.strata.by = {"site"};
  s.season.plan.layers[0].unit = "";
  s.flags = {};
  message = message_of(s);
  CHECK_MESSAGE(says(message, "hold values below 0"), message);
}

TEST_CASE("a weight of classes is refused") {
  SmallSeason s;
  add_sites(s);
  s.season.plan.sample.weight.of = "cover";
  CHECK(says(message_of(s), "which is no measure layer"));
}

}  // namespace season_weights_test
