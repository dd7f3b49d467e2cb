// A season folder of a few lines, for tests.
#pragma once

#include <doctest/doctest.h>

#include <filesystem>
#include <map>
#include <string>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/season/season.hpp"

namespace swardline::testing {

/// Removed when it goes out of scope.
class TemporaryFolder {
 public:
  TemporaryFolder() {
    std::string pattern = (std::filesystem::temp_directory_path() / "swardline-season-XXXXXX").string();
    REQUIRE(mkdtemp(pattern.data()) != nullptr);
    path_ = pattern;
  }
  ~TemporaryFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;
  [[nodiscard]] const std::filesystem::path& path() const { return path_; }
  void write(const std::string& name, const std::string& content) const {
    const auto file = path_ / name;
    std::filesystem::create_directories(file.parent_path());
    write_whole(file, content);
  }

 private:
  std::filesystem::path path_;
};

inline const std::string sound_plan = R"([season]
name = "Test"
crs = "EPSG:26914"
seed = 2027
[sites]
source = "sites.gpkg"
[layers.cover]
source = "cover.tif"
classes = { 1 = "OW", 2 = "WM", 3 = "MP" }
[layers.moisture]
source = "moisture.tif"
unit = "percent"
[layers.elevation]
source = "elevation.tif"
unit = "m"
[sample]
total = 24
)";

inline const std::string sound_sheet = R"(code = "PTUB"
name = "Penstemon tubaeflorus"
[[factor]]
layer = "moisture"
trapezoid = [20, 26, 38, 46]
[[factor]]
layer = "cover"
scores = { WM = 1.0, MP = 0.9 }
excluded = ["OW"]
)";

/// What a plan and its sheets read as, with all findings.
struct Reading {
  Season season;
  Flags flags;
  /// "STOP plan.toml:3: what is wrong. What to do."
  [[nodiscard]] std::string all() const {
    std::string text;
    for (const Flag& flag : flags.all()) {
      text += std::string(word(flag.severity)) + ' ' + flag.place.text() + ": " + flag.meaning + ' ' +
              flag.remedy + '\n';
    }
    return text;
  }
};

inline Reading read(const std::string& plan, const std::map<std::string, std::string>& sheets,
                    const std::string& traits = {}) {
  const TemporaryFolder folder;
  folder.write("plan.toml", plan);
  for (const auto& [name, text] : sheets) folder.write("species/" + name + ".toml", text);
  if (!traits.empty()) folder.write("traits.toml", traits);
  Reading reading;
  reading.season = read_season(folder.path() / "plan.toml", reading.flags);
  return reading;
}

inline Reading read_plan_only(const std::string& plan) { return read(plan, {{"PTUB", sound_sheet}}); }
inline Reading read_sheet_only(const std::string& sheet) { return read(sound_plan, {{"PTUB", sheet}}); }

/// `text` with the first `from` replaced; the test fails where it is not there.
inline std::string with(std::string text, const std::string& from, const std::string& to) {
  const auto at = text.find(from);
  REQUIRE_MESSAGE(at != std::string::npos, "not in the text: ", from);
  return text.replace(at, from.size(), to);
}

/// The text holds the line.
inline bool says(const Reading& reading, const std::string& line) {
  return ('\n' + reading.all()).find('\n' + line + '\n') != std::string::npos;
}

}  // namespace swardline::testing

#define CHECK_SAYS(reading, line) CHECK_MESSAGE(says(reading, line), (reading).all())
/// The reading says this and nothing else.
#define CHECK_SAYS_ONLY(reading, line) \
  CHECK_MESSAGE((reading).all() == std::string(line) + '\n', (reading).all())
