#include "swardline/field/names.hpp"

#include <doctest/doctest.h>

#include <algorithm>

#include "swardline/base/error.hpp"

using namespace swardline;

TEST_CASE("the check letter follows the published rule and catches slips") {
  // Worked by hand: Q17·7 + P16·6 + R18·5 + 0·4 + 7·3 = 326, remainder by 23 is 4, letter E.
  CHECK(check_letter("QPR07") == 'E');
  CHECK(plot_name("QPR", 1) == "QPR01K");
  CHECK(plot_name("QPR", 12) == "QPR12T");
  CHECK(plot_name("QPR", 51) == "QPR51G");
  CHECK(plot_name("QPR", 52) == "QPR52K");
  int missed = 0;
  for (int n = 1; n <= 99; ++n) {
    const std::string name = plot_name("QPR", n);
    for (std::size_t at : {3U, 4U})
      for (char digit = '0'; digit <= '9'; ++digit) {
        std::string wrong = name;
        wrong[at] = digit;
        if (digit != name[at] && check_letter(wrong.substr(0, 5)) == wrong[5]) ++missed;
      }
    std::string swapped = name;
    std::swap(swapped[3], swapped[4]);
    if (swapped != name && check_letter(swapped.substr(0, 5)) == swapped[5]) ++missed;
  }
  CHECK(missed == 0);
}

TEST_CASE("number parts sort as text in number order and are all different") {
  std::vector<std::string> parts;
  for (int n = 1; n <= 1329; ++n) parts.push_back(name_number(n));
  CHECK(parts[98] == "99");
  CHECK(parts[99] == "A0");
  CHECK(parts[328] == "Y9");
  CHECK(parts[329] == "Z000");
  CHECK(std::is_sorted(parts.begin(), parts.end()));
  CHECK(std::adjacent_find(parts.begin(), parts.end()) == parts.end());
  CHECK_THROWS_AS((void)name_number(1330), InputError);
}

TEST_CASE("planned plots are numbered by order then stratum, spares start at 51") {
  std::vector<NameRequest> requests;
  for (int order = 1; order <= 2; ++order)
    for (const char* stratum : {"QPR|score=75-100|v1", "QPR|score=0-25|v1"}) {
      requests.push_back({"QPR", stratum, order, false});
      requests.push_back({"QPR", stratum, order, true});
    }
  const std::vector<std::string> names = name_plots(requests, {});
  CHECK(names[0].substr(0, 5) == "QPR02");  // order 1, the stratum later in the alphabet
  CHECK(names[2].substr(0, 5) == "QPR01");
  CHECK(names[1].substr(0, 5) == "QPR52");
  CHECK(names[3].substr(0, 5) == "QPR51");
}

TEST_CASE(
    "spares start after the planned plots where there are more than fifty, and used names are passed over") {
  std::vector<NameRequest> requests;
  for (int order = 1; order <= 60; ++order) requests.push_back({"HDR", "HDR|score=0-25|v1", order, false});
  requests.push_back({"HDR", "HDR|score=0-25|v1", 1, true});
  CHECK(name_plots(requests, {}).back().substr(0, 5) == "HDR61");
  const std::vector<std::string> next = name_plots({{"QPR", "s", 1, false}}, {"QPR01K"});
  CHECK(next.front().substr(0, 5) == "QPR02");
}

TEST_CASE("codes that give the same plot names are refused") {
  CHECK_THROWS_AS((void)name_plots({{"A-B", "s", 1, false}, {"AB", "s", 1, false}}, {}), InputError);
}

TEST_CASE("names stay different after cutting to the unit's length") {
  // Six characters turn both QPRAIRIE-07 and QPRAIRIE-08 into QPRAIR: the case to avoid.
  std::vector<SiteName> names;
  for (const char* site : {"QPRAIRIE", "QPRAIRIEEAST", "QPR", "SLOUGH", "SLOPE"})
    for (int n = 1; n <= 12; ++n) names.push_back({site, plot_name(site, n)});
  for (const auto& [profile, length] : {std::pair{"6", 6U}, {"8", 8U}, {"10", 10U}}) {
    const auto fitted = fit_names(names, profile);
    std::vector<std::string> short_names;
    std::string before;
    std::string site;
    for (const SiteName& n : names) {
      const std::string& s = fitted.at(n.name);
      CHECK(s.size() <= length);
      if (n.site == site) CHECK(before < s);  // draw order survives the cut
      before = s;
      site = n.site;
      short_names.push_back(s);
    }
    std::sort(short_names.begin(), short_names.end());
    CHECK(std::adjacent_find(short_names.begin(), short_names.end()) == short_names.end());
  }
  CHECK(fit_names({{"QPR", "QPR07E"}}, "6").at("QPR07E") == "QPR07E");
  CHECK(fit_names(names, "free").at("QPRAIRIE01" + std::string(1, check_letter("QPRAIRIE01"))).size() == 11);
}

TEST_CASE("too many sites for six characters is one clear error") {
  std::vector<SiteName> names;
  for (char a = 'A'; a <= 'Z'; ++a)
    for (char b = 'A'; b <= 'Z'; ++b)
      for (char c = 'A'; c <= 'Z'; ++c)
        for (char d = 'A'; d <= 'C'; ++d) {
          const std::string site = std::string("S") + a + b + c + d;
          names.push_back({site, plot_name(site, 1)});
        }
  CHECK_THROWS_AS((void)fit_names(names, "6"), InputError);
}
