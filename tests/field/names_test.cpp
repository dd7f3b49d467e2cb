#include "swardline/field/names.hpp"

#include <doctest/doctest.h>

#include <algorithm>

#include "swardline/base/error.hpp"

namespace names_test {

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

TEST_CASE("a code with nothing for plot names is refused by itself, and names the other where two meet") {
  CHECK(problem_of_codes({"QPR", "A-1", "B"}) == std::nullopt);
  const auto empty = problem_of_codes({"QPR", "ÄÖÜ"});
  REQUIRE(empty);
  CHECK(empty->which == 1);
  CHECK(empty->meaning ==
        "code ÄÖÜ has no letter A to Z and no digit: nothing of it can go into plot names.");
  const auto same = problem_of_codes({"S/1", "QPR", "s 1"});
  REQUIRE(same);
  CHECK(same->which == 2);
  CHECK(same->meaning == "codes S/1 and s 1 give the same plot names: both begin with S1 there.");
  // The draw says the same.
  try {
    (void)name_plots({{"ÄÖÜ", "s", 1, false}}, {});
    FAIL("named");
  } catch (const InputError& error) {
    CHECK(std::string(error.what()).find(empty->meaning) != std::string::npos);
  }

  std::vector<Site> sites(4);
  sites[0].code = "ÄÖÜ";
  sites[1].code = "ß";
  sites[2].code = "A-1";
  sites[3].code = "A1";
  sites[3].place = {"sites.gpkg", 0, "feature 4"};
  Flags flags;
  check_plot_codes(sites, flags);
  REQUIRE(flags.all().size() == 3);
  CHECK(flags.count(Severity::stop) == 3);
  CHECK(flags.all()[0].check == "code without a plot name");
  CHECK(flags.all()[2].check == "codes with the same plot names");
  CHECK(flags.all()[2].place.item == "feature 4");
}

TEST_CASE("a long number does not make one site's plot another's") {
  // 330 is the first of the long form: AB + Z000, and ABZ0 + 00 would be its twin; AB + Z001 has one.
  std::vector<NameRequest> requests{{"ABZ0", "s", 1, false}};
  for (int order = 1; order <= 331; ++order) requests.push_back({"AB", "s", order, false});
  CHECK(plot_name("AB", 331) == plot_name("ABZ0", 1));
  CHECK_THROWS_AS((void)name_plots(requests, {}), InputError);
  requests.pop_back();
  CHECK_NOTHROW((void)name_plots(requests, {}));
}

TEST_CASE("the check letter fits the name as it is on the unit") {
  // Worked by hand: A1·7 + B2·6 + C3·5 + 5·4 + 2·3 = 60, remainder by 23 is 14, letter R.
  CHECK(plot_name("ABCDEFGH", 52) == "ABCDEFGH52" + std::string(1, check_letter("ABCDEFGH52")));
  CHECK(fit_names({{"ABCDEFGH", plot_name("ABCDEFGH", 52)}}, "6").at(plot_name("ABCDEFGH", 52)) == "ABC52R");
  std::vector<SiteName> names;
  for (const char* site : {"QPRAIRIE", "QPRAIRIEEAST", "QPR", "SLOUGH"})
    for (int n : {1, 8, 51, 99, 104}) names.push_back({site, plot_name(site, n)});
  for (const char* profile : {"6", "8", "10", "free"})
    for (const auto& [name, on_unit] : fit_names(names, profile)) {
      CHECK(on_unit.back() == check_letter(std::string_view(on_unit).substr(0, on_unit.size() - 1)));
      CHECK(on_unit.size() <= name.size());
    }
}

TEST_CASE("two plots of one name on the unit are an error of the codes") {
  CHECK_THROWS_AS((void)fit_names({{"AB", plot_name("AB", 331)}, {"ABZ0", plot_name("ABZ0", 1)}}, "10"),
                  InputError);
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

}  // namespace names_test
