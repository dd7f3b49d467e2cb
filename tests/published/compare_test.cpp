// Published figures of agreement between scores and counts.
#include <doctest/doctest.h>

#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "swardline/compare/agreement.hpp"

namespace compare_test {

using namespace swardline;

namespace {

/// Categories 1, 2, … as often as counted.
std::vector<double> categories(const std::vector<int>& counts) {
  std::vector<double> out;
  for (std::size_t i = 0; i < counts.size(); ++i)
    out.insert(out.end(), std::size_t(counts[i]), double(i + 1));
  return out;
}

bool near(double a, double b, double within) { return std::abs(a - b) < within; }

}  // namespace

// Hanley & McNeil 1982, Radiology 143:29-36, Tables I and II (0.893, standard error 0.032), from memory;
// recomputed with other programs to the digits below. Two small cases counted by hand.
TEST_CASE("area under the ROC curve with ties, and its standard error") {
  const auto found = pairs_in_order(categories({3, 2, 2, 11, 33}), categories({33, 6, 6, 11, 2}));
  REQUIRE(found);
  CHECK(near(found->share, 0.8931710615, 1e-9));
  CHECK(near(found->standard_error, 0.0319904, 1e-6));
  CHECK(near(found->short_standard_error, 0.0324866, 1e-6));
  CHECK(near(pairs_in_order(std::vector<double>{.35, .8}, std::vector<double>{.1, .4})->share, 0.75, 1e-12));
  CHECK(near(pairs_in_order(std::vector<double>{.9, .5, .5}, std::vector<double>{.5, .5, .2, .1})->share,
             0.8333333333, 1e-9));
}

// (a) Hollander & Wolfe 1973, tuna lightness and panel score, as in the help page of R's cor.test; (b) with
// ties, recomputed with R and scipy.
TEST_CASE("rank correlation without and with ties") {
  const std::vector<double> lightness = {44.4, 45.9, 41.9, 53.3, 44.7, 44.1, 50.7, 45.2, 60.1};
  const std::vector<double> panel = {2.6, 3.1, 2.5, 5.0, 3.6, 4.0, 5.2, 2.8, 3.8};
  CHECK(near(*rank_agreement(lightness, panel), 0.6, 1e-9));
  const std::vector<double> x = {1, 2, 2, 4, 5, 6, 7, 7}, y = {2, 1, 3, 3, 5, 4, 8, 9};
  CHECK(near(*rank_agreement(x, y), 0.9151683228, 1e-9));
}

// (c) The Meuse flood plain: zinc in the soil against distance to the river (Rikken & Van Rijn 1993).
TEST_CASE("rank correlation of 155 soil samples with many ties") {
  const char* given = std::getenv("SWARDLINE_SHARED");
  std::ifstream file((given != nullptr ? std::filesystem::path(given)
                                       : std::filesystem::path(SWARDLINE_SOURCE_DIR) / ".." / "shared") /
                     "references" / "data" / "meuse.csv");
  if (!file) {
    MESSAGE("skipped: no shared/references here");
    return;
  }
  std::string line;
  std::getline(file, line);
  std::vector<double> zinc, distance;
  while (std::getline(file, line)) {
    std::istringstream cells(line);
    std::string cell;
    for (int i = 0; i < 8 && std::getline(cells, cell, ','); ++i) {
      if (i == 5) zinc.push_back(std::stod(cell));
      if (i == 7) distance.push_back(std::stod(cell));
    }
  }
  REQUIRE(zinc.size() == 155);
  CHECK(near(*rank_agreement(zinc, distance), -0.793435237, 1e-9));
}

// Boyce et al. 2002, Ecological Modelling 157:281-300: presences over area, class by class. Own numbers, by
// hand.
TEST_CASE("ratio index in classes set beforehand") {
  const RatioIndex index =
      ratio_index_in_classes(std::vector<double>{2, 3, 10, 20, 15}, std::vector<double>{40, 25, 20, 10, 5});
  const double ratios[] = {0.1, 0.24, 1, 4, 6};
  REQUIRE(index.windows.size() == 5);
  for (std::size_t i = 0; i < 5; ++i) CHECK(near(*index.windows[i].ratio, ratios[i], 1e-12));
  CHECK(near(*index.index, 1.0, 1e-12));
}

// Hirzel et al. 2006, Ecological Modelling 199:142-152: a window of width 0.2 about nine centres, both ends
// within; ties of the ratio have mid-ranks. Own numbers, recomputed apart.
TEST_CASE("ratio index in a moving window") {
  std::vector<ScoreAndWeight> ground, occupied;
  for (int i = 0; i <= 100; ++i) ground.emplace_back(i / 100.0, 1);
  for (const double score :
       {.15, .35, .45, .55, .62, .66, .71, .74, .78, .81, .83, .86, .88, .9, .91, .93, .95, .97, .98, .99})
    occupied.emplace_back(score, 1);
  std::vector<double> centres;
  for (int i = 1; i <= 9; ++i) centres.push_back(i / 10.0);
  const RatioIndex index = ratio_index(occupied, ground, centres, 0.2);
  const double ratios[] = {0.240476, 0.240476, 0.240476, 0.480952, 0.480952,
                           0.721429, 1.202381, 1.92381,  2.645238};
  REQUIRE(index.windows.size() == 9);
  for (std::size_t i = 0; i < 9; ++i) CHECK(near(*index.windows[i].ratio, ratios[i], 1e-6));
  CHECK(near(*index.index, 0.978945, 1e-6));
}

}  // namespace compare_test
