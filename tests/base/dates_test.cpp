#include "swardline/base/dates.hpp"

#include <doctest/doctest.h>

#include "swardline/base/error.hpp"

namespace dates_test {

using namespace swardline;

TEST_CASE("dates as decimal years") {
  CHECK(decimal_year("2027-01-01") == 2027);
  CHECK(decimal_year("2027-07-02") == doctest::Approx(2027 + 182.0 / 365));
  CHECK(decimal_year("2028-12-31") == doctest::Approx(2028 + 365.0 / 366));
  for (const char* wrong :
       {"2027-02-29", "2027-13-01", "27-05-01", "2027/05/01", "", "2027-05-00", "2027-05-1x"})
    CHECK_THROWS_AS((void)decimal_year(wrong), InputError);
}

}  // namespace dates_test
