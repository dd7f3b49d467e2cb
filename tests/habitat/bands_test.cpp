#include <doctest/doctest.h>

#include <set>

#include "swardline/habitat/score_season.hpp"

namespace bands_test {

using namespace swardline;

TEST_CASE("Bands read as numbers, and their identities are plain ASCII") {
  const std::vector<double> bands{0.25, 0.5, 0.75};
  CHECK(band_text(bands, 0) == "0.00–0.25");
  CHECK(band_text(bands, 2) == "0.50–0.75");
  CHECK(band_text(bands, 3) == "0.75–1.00");
  CHECK(band_id(bands, 0) == "0-25");
  CHECK(band_id(bands, 2) == "50-75");
  CHECK(band_id(bands, 3) == "75-100");
  CHECK(band_text({}, 0) == "0.00–1.00");
}

TEST_CASE("A band holds its lower edge, and the last one both") {
  const std::vector<double> bands{0.25, 0.5, 0.75};
  CHECK(band_of(bands, 0) == 0);
  CHECK(band_of(bands, 24) == 0);
  CHECK(band_of(bands, 25) == 1);
  CHECK(band_of(bands, 49) == 1);
  CHECK(band_of(bands, 75) == 3);
  CHECK(band_of(bands, 100) == 3);
  CHECK(band_of({}, 100) == 0);
}

TEST_CASE("Edges that have no exact binary form still fall on their whole percent") {
  const std::vector<double> bands{0.07, 0.14, 0.28, 0.29, 0.57, 0.58};
  for (const int edge : {7, 14, 28, 29, 57, 58}) CHECK(band_of(bands, edge) == band_of(bands, edge - 1) + 1);
}

}  // namespace bands_test
