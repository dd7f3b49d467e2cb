#include "swardline/report/season_page.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <set>

#include "svg.hpp"
#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/report/page_script.hpp"
#include "swardline/report/season_sections.hpp"
#include "told_season.hpp"

namespace season_page_test {

using namespace swardline;
using report_test::all;
using report_test::Element;
using report_test::elements_of;
using report_test::Told;

namespace {

const std::string hostile = "<script>alert('&\"')</script>";

std::vector<Element> elements_of_page(const std::string& page) {
  return elements_of(page.substr(page.find("<html")));
}

}  // namespace

TEST_CASE("the page stands alone, is well-formed XML and the same each time, whatever the threads") {
  Told told;
  told.tell();
  const std::string page = told.page();
  SeasonFacts facts = told.facts();
  facts.threads = 3;
  CHECK(page == season_page(facts));
  write_season_page(told.facts(), told.made->folder / "report.html");
  CHECK(report_test::well_formed(told.made->folder / "report.html"));
  CHECK(page.find("http://www.w3.org/") != std::string::npos);
  const std::vector<Element> elements = elements_of_page(page);
  CHECK(all(elements, "script").size() == 1);
  for (const Element& link : all(elements, "a")) CHECK(link.get("href").front() == '#');
  for (const char* asks : {"img", "iframe", "object", "embed"}) CHECK(all(elements, asks).empty());
  std::set<std::string> ids;
  for (const Element& element : elements)
    if (element.attributes.count("id") != 0) CHECK(ids.insert(element.get("id")).second);
  for (const Element& mark : elements)
    if (mark.attributes.count("data-plot") != 0) CHECK(ids.count(mark.get("data-plot")) == 1);
  CHECK(page.find("nan") == std::string::npos);
  CHECK(page.find("inf\"") == std::string::npos);
}

TEST_CASE("headings go down by one, tables have captions and heads, drawings say what they show") {
  Told told;
  told.tell();
  const std::vector<Element> elements = elements_of_page(told.page());
  int level = 0;
  for (const Element& element : elements)
    if (element.name.size() == 2 && element.name[0] == 'h' && element.name[1] >= '1' &&
        element.name[1] <= '6') {
      CHECK(element.name[1] - '0' <= level + 1);
      level = element.name[1] - '0';
    }
  CHECK(all(elements, "caption").size() == all(elements, "table").size());
  for (const Element& head : all(elements, "th"))
    CHECK((head.get("scope") == "col" || head.get("scope") == "row"));
  for (const Element& svg : all(elements, "svg")) {
    const bool hidden = svg.attributes.count("aria-hidden") != 0;
    CHECK((hidden || svg.attributes.count("aria-label") + svg.attributes.count("aria-labelledby") == 1));
  }
}

TEST_CASE("its script is held by the page's policy, and is text that XML may hold") {
  Told told;
  const std::string page = told.page();
  CHECK(page.find("default-src 'none'") != std::string::npos);
  CHECK(page.find(std::string("'sha256-") + page_script_sha256 + "'") != std::string::npos);
  const std::string script = page_script;
  CHECK(script.find('<') == std::string::npos);
  CHECK(script.find('&') == std::string::npos);
  for (const char* never : {"eval", "innerHTML", "outerHTML", "insertAdjacentHTML", "document.write", "fetch",
                            "XMLHttpRequest", "import"})
    CHECK(script.find(never) == std::string::npos);
}

TEST_CASE("numbers are the estimates'") {
  Told told;
  told.tell();
  const SeasonFacts facts = told.facts();
  const SeasonLookup season(facts);
  const EstimateRow* all_sites = told.estimates->row("all sites", "", "PTUB", "stems per ha");
  const EstimateRow* total = told.estimates->row("all sites", "", "PTUB", "total stems");
  REQUIRE(all_sites != nullptr);
  REQUIRE(total != nullptr);
  const std::string found = found_part(season);
  CHECK(found.find("<td class=\"number\">" + said_value(*all_sites) + "</td><td class=\"number\">" +
                   said_limits(*all_sites) + "</td>") != std::string::npos);
  CHECK(found.find("<td class=\"number\">" + said_value(*total) + "</td><td class=\"number\">" +
                   said_limits(*total) + "</td>") != std::string::npos);
  const std::vector<std::string> said = season_in_sentences(season);
  REQUIRE(said.size() == 5);
  CHECK(said[0] ==
        "In 2027, 58 of the 60 plots due at 1 site (24 ha) were counted; 1 could not be; nothing has "
        "come back of 1.");
  CHECK(said[1].find(said_value(*total) + " (" + said_limits(*total) + ")") != std::string::npos);
  CHECK(said[1].find(said_limits(*total)) != std::string::npos);
  CHECK(said[3] == "No earlier season is named, so nothing is said of change.");
  CHECK(said[4].find("2 questions about what came back are open") != std::string::npos);
  CHECK(said[4].find("plants of PTUB stood where the habitat rules did not expect them") !=
        std::string::npos);
}

TEST_CASE("effort is summed from fates and visits, with observers as identifications") {
  Told told;
  told.tell();
  const SeasonFacts facts = told.facts();
  const SeasonLookup season(facts);
  CHECK(season.all.due == 60);
  CHECK(season.all.counted == 58);
  CHECK(season.all.not_counted == 1);
  CHECK(season.all.outstanding == 1);
  CHECK(season.all.reasons == std::map<std::string, int>{{"not countable (mown)", 1}});
  CHECK(season.all.spares_in_use == 0);
  CHECK(season.all.visits == 2);
  CHECK(season.all.person_hours == doctest::Approx(1.0));  // half an hour, two people
  const std::string part = effort_part_of_season(season);
  CHECK(part.find("Of 60 plots due, 58 were counted (96 %). Not counted: 1 not countable (mown). "
                  "Nothing has come back of 1.") != std::string::npos);
  CHECK(part.find("by identification: 041 and 052") != std::string::npos);
  CHECK(part.find("1 of 2 tell start and finish: 1.0 person-hours") != std::string::npos);
}

TEST_CASE("every plot has a mark by what became of it and a record to read, and no coordinates") {
  Told told;
  told.tell();
  const std::string page = told.page();
  const std::vector<Element> elements = elements_of_page(page);
  std::map<std::string, std::string> title_of;
  for (std::size_t i = 0; i + 1 < elements.size(); ++i)
    if (elements[i].attributes.count("data-plot") != 0) {
      REQUIRE(elements[i + 1].name == "title");
      const std::string& text = elements[i + 1].text;
      title_of[text.substr(0, text.find(':'))] = text;
    }
  CHECK(title_of.size() == 61);
  CHECK(title_of["P001"] == "P001: counted, found");
  CHECK(title_of["P005"] == "P005: counted, none found");
  CHECK(title_of["P021"] == "P021: not counted, with a reason");
  CHECK(title_of["P022"] == "P022: nothing came back");
  CHECK(title_of["P951"] == "P951: spare, not used");
  CHECK(page.find("not countable (mown) on 2027-06-01") != std::string::npos);
  CHECK(page.find("<td>score 0.00–0.50</td><td class=\"number\">0.44</td><td>cover</td>") !=
        std::string::npos);
  CHECK(page.find("37.12") == std::string::npos);
  CHECK(page.find("91.65") == std::string::npos);
  CHECK(page.find("exact places of plots are on this page") != std::string::npos);
}

TEST_CASE("flags, corrections and where rules look wrong are summed up") {
  Told told;
  told.tell();
  const SeasonFacts facts = told.facts();
  const SeasonLookup season(facts);
  const std::string flags = doubts_part(season);
  CHECK(flags.find("1 file came back. 5 corrections were made by 2 people, 2027-07-01 to 2027-08-02") !=
        std::string::npos);
  CHECK(flags.find("2 questions are open") != std::string::npos);
  CHECK(flags.find("<th scope=\"row\">ASK</th><td>far from its plot</td><td class=\"number\">4</td>") !=
        std::string::npos);
  const std::string rules = rules_part(season);
  CHECK(rules.find("3 occupied plots: moisture 1.00 but cover GL 0.30") != std::string::npos);
  CHECK(rules.find("Along each factor") != std::string::npos);
  const std::string sources = sources_part(season);
  CHECK(sources.find("Somebody 1999") != std::string::npos);
  CHECK(sources.find("Cochran") != std::string::npos);
}

TEST_CASE("a season without counts says what is drawn and that nothing has come back") {
  Told told;
  told.record = {};
  for (EvaluatedUnit& unit : told.made->counted.units) {
    unit.evaluated = false;
    unit.fate = unit.why = "no return";
  }
  told.made->counted.year = 0;
  const std::string page = told.page();
  CHECK(page.find("60 plots are drawn at 1 site (24 ha), and nothing has come back yet.") !=
        std::string::npos);
  CHECK(page.find("No count can be used yet, so nothing is said of plants.") != std::string::npos);
  CHECK(page.find("id=\"change\"") == std::string::npos);
  CHECK(page.find("id=\"rules\"") == std::string::npos);
  write_whole(told.made->folder / "report.html", page);
  CHECK(report_test::well_formed(told.made->folder / "report.html"));
}

TEST_CASE("text from outside is escaped wherever it may come from") {
  const std::vector<std::string> texts = {hostile,
                                          "\"><img src=x onerror=alert(1)>' onload='x",
                                          "\u202eright to left\u202c \u05d0\u05d1\u05d2",
                                          std::string(300, 'W'),
                                          "\U0001f33c \U0001f9ed",
                                          "",
                                          "]]>--></style></title></svg>",
                                          "{{7*7}} &amp; %3Cb%3E"};
  for (const std::string& text : texts) {
    CAPTURE(text);
    Told told;
    told.made->season.plan.name = text;
    told.made->season.plan.file = text.substr(0, 40) + ".toml";
    Sheet& sheet = told.made->season.sheets[0];
    sheet.name = sheet.common = text;
    sheet.sensitivity = "high";
    told.sites.sites[0].name = told.made->counted.sites[0].name = text;
    told.sites.sites[0].excluded.push_back({text, box_polygon({600000, 4199900, 600050, 4200000})});
    for (EvaluatedUnit* unit : {&told.made->counted.units[20], &told.made->counted.units[0]}) {
      unit->fate = unit->why = unit->observer = text;
      unit->name = text + "1";
    }
    told.plots[0].held_down_by = told.plots[0].name = text;
    told.record.visits[0].observer = told.record.visits[0].day = text;
    told.record.flags[0].check = text;
    told.record.files[0].original = told.record.files[0].fingerprint = text;
    told.record.runs[0].command = told.record.runs[0].version = text;
    told.tell();
    told.estimates->notes.push_back({text, "PTUB", text, false});
    told.estimates->notes.push_back({text, "", text, true});
    told.estimates->not_estimated.push_back({text, text, "", text, 100, {{text, 1}}});
    told.estimates->missing.push_back({"all sites", "", text, 100, 0.1, 1});
    told.certificate = "{\"inputs\": " + json_quote(text) + ", \"methods\": [" + json_quote(text) +
                       "], \"allocation\": [" + json_quote(text) + "], \"routes\": [" + json_quote(text) +
                       "]}";
    const std::string page = told.page();
    write_whole(told.made->folder / "report.html", page);
    CHECK(report_test::well_formed(told.made->folder / "report.html"));
    const std::vector<Element> elements = elements_of_page(page);
    CHECK(all(elements, "script").size() == 1);
    CHECK(all(elements, "img").empty());
    for (const Element& element : elements)
      for (const auto& [name, value] : element.attributes) CHECK_FALSE(name.starts_with("on"));
    // What would turn the text after it is dropped.
    std::string shown = text;
    for (const std::string turning : {"\u202e", "\u202c"})
      if (const std::size_t at = shown.find(turning); at != std::string::npos)
        shown.erase(at, turning.size());
    if (!text.empty()) CHECK(all(elements, "h1").front().text == shown);
  }
}

}  // namespace season_page_test
