#include "swardline/base/error.hpp"

#include <doctest/doctest.h>

#include <string>

#include "swardline/base/flag.hpp"
#include "swardline/base/place.hpp"
#include "swardline/base/stopped.hpp"

namespace error_test {

using namespace swardline;

TEST_CASE("a place reads as file, line and item") {
  CHECK(Place{"plan.toml", 41, {}}.text() == "plan.toml:41");
  CHECK(Place{"plan.toml", 41, "[layers.moisture]"}.text() == "plan.toml:41 [layers.moisture]");
  CHECK(Place{"sites.gpkg", 0, "feature 12"}.text() == "sites.gpkg, feature 12");
  CHECK(Place{"sites.gpkg", 0, {}}.text() == "sites.gpkg");
  CHECK(Place{{}, 0, "site QPR"}.text() == "site QPR");
  CHECK(Place{}.text().empty());
}

TEST_CASE("an error is one line, place first and remedy last") {
  const InputError error({"plan.toml", 41, {}}, "[layers.moisture] runs 0-612 but is declared percent",
                         "Set scale = 0.1 or unit.");
  CHECK(std::string(error.what()) ==
        "plan.toml:41: [layers.moisture] runs 0-612 but is declared percent. Set scale = 0.1 or unit.");
  CHECK(error.status() == Status::input);
}

TEST_CASE("an error keeps its own full stop and folds line breaks of passed-on messages") {
  const IoError error({"a.tif", 0, {}}, "cannot be read:\n  line 3\n", "Copy it again.");
  CHECK(std::string(error.what()) == "a.tif: cannot be read: line 3. Copy it again.");
  CHECK(std::string(InputError({}, "Nothing to draw.", "Add sites.").what()) ==
        "Nothing to draw. Add sites.");
  CHECK(std::string(InputError({"a", 0, {}}, "is empty").what()) == "a: is empty");
}

TEST_CASE("each kind of error has its exit status") {
  CHECK(static_cast<int>(InputError({}, "x").status()) == 3);
  CHECK(static_cast<int>(IoError({}, "x").status()) == 4);
  CHECK(static_cast<int>(Defect("x").status()) == 70);
  CHECK(static_cast<int>(Status::done) == 0);
  CHECK(static_cast<int>(Status::needs_person) == 1);
  CHECK(static_cast<int>(Status::command_line) == 2);
}

TEST_CASE("flags are kept in order and counted by severity") {
  Flags flags;
  flags.add(Severity::note, "ring mended", {"sites.gpkg", 0, "feature 3"}, "ring crossed itself");
  flags.add(Severity::stop, "no coordinate system", {"ponds.gpkg", 0, {}}, "has no coordinate system",
            "Set crs.");
  CHECK(flags.all().size() == 2);
  CHECK(flags.all()[0].check == "ring mended");
  CHECK(flags.count(Severity::stop) == 1);
  CHECK(flags.count(Severity::ask) == 0);
  CHECK(flags.stopped());
  CHECK(std::string(word(Severity::stop)) == "STOP");
  CHECK(std::string(word(Severity::ask)) == "ASK");
  CHECK(std::string(word(Severity::note)) == "NOTE");
}

TEST_CASE("the first STOP is thrown and says how many more there are") {
  Flags flags;
  flags.add(Severity::ask, "a", {}, "doubtful");
  CHECK_NOTHROW(flags.throw_if_stopped());
  flags.add(Severity::stop, "b", {"ponds.gpkg", 0, {}}, "has no coordinate system", "Set crs.");
  CHECK_THROWS_WITH_AS(flags.throw_if_stopped(), "ponds.gpkg: has no coordinate system. Set crs.",
                       InputError);
  flags.add(Severity::stop, "c", {}, "other");
  CHECK_THROWS_WITH_AS(flags.throw_if_stopped(),
                       "ponds.gpkg: has no coordinate system. Set crs. (1 more STOP flag)", InputError);
  flags.add(Severity::note, "d", {}, "used");
  flags.add(Severity::stop, "e", {"plan.toml", 7, {}}, "third", "Mend it.");
  try {
    flags.throw_if_stopped();
    FAIL("nothing was thrown");
  } catch (const Stopped& stopped) {
    REQUIRE(stopped.further().size() == 2);
    CHECK(stopped.further()[0].meaning == "other");
    CHECK(stopped.further()[1].place.text() == "plan.toml:7");
    CHECK(stopped.further()[1].remedy == "Mend it.");
  }
}

}  // namespace error_test
