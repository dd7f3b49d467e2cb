// A small season on disk for tests of what comes back.
#pragma once

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/returns/corrections.hpp"
#include "swardline/returns/ledger.hpp"
#include "swardline/returns/read_returns.hpp"

namespace swardline {

inline constexpr Day day_2027_06_14 = 20983;  // date -u -d 2027-06-14 +%s, divided by 86400

struct ReturnedSeason {
  ReturnedSeason() {
    std::string name = (std::filesystem::temp_directory_path() / "returned-XXXXXX").string();
    folder = ::mkdtemp(name.data());
    season.plan.folder = folder;
    season.plan.returns.folder = folder / "returns";
    for (const char* code : {"PDIG", "PTEN", "PTUB"}) {
      Sheet sheet;
      sheet.code = code;
      season.sheets.push_back(sheet);
    }
    season.sheets[2].name = "Penstemon tubaeflorus";
    for (const char* name_of : {"QPR01K", "QPR02N", "QPR07E", "QPR51G"}) {
      ExpectedPlot plot;
      plot.name = name_of;
      plot.site = "QPR";
      plot.order = static_cast<int>(expected.plots.size()) + 1;
      plot.spare = plot.name == "QPR51G";
      plot.inside_m2 = plot.plot_m2 = 20;
      expected.plots.push_back(plot);
    }
    expected.searched["QPR"] = {0, 2};
    expected.today = day_2027_06_14;
  }
  ~ReturnedSeason() {
    std::error_code ignored;
    std::filesystem::remove_all(folder, ignored);
  }
  ReturnedSeason(const ReturnedSeason&) = delete;
  ReturnedSeason& operator=(const ReturnedSeason&) = delete;

  std::filesystem::path put(const std::string& name, const std::string& content) const {
    const std::filesystem::path file = folder / name;
    std::ofstream(file, std::ios::binary) << content;
    return file;
  }
  /// Takes content in and reads the season.
  Returns take(const std::string& content, const std::string& name = "north.csv") {
    take_in({put(name, content)}, season.plan, day_2027_06_14, flags);
    return read();
  }
  Returns read(int threads = 1) {
    flags = {};
    return read_returns(season, expected, flags, threads);
  }
  /// What is said when a file is given and refused; empty: it was taken.
  std::string refused(const std::string& content, const std::string& name = "north.csv") {
    return refused_file(put(name, content));
  }
  std::string refused_file(const std::filesystem::path& file) {
    try {
      take_in({file}, season.plan, day_2027_06_14, flags);
    } catch (const Error& error) {
      return error.what();
    }
    return {};
  }
  [[nodiscard]] std::size_t said(const std::string& check) const {
    std::size_t count = 0;
    for (const Flag& flag : flags.all()) count += flag.check == check ? 1 : 0;
    return count;
  }
  [[nodiscard]] std::string meaning(const std::string& check) const {
    for (const Flag& flag : flags.all())
      if (flag.check == check) return flag.meaning;
    return {};
  }
  /// Files of returns/ but for the list.
  [[nodiscard]] std::vector<std::string> kept() const {
    std::vector<std::string> names;
    std::error_code none;
    for (const auto& entry : std::filesystem::directory_iterator(season.plan.returns.folder, none))
      if (entry.path().filename() != "received.csv") names.push_back(entry.path().filename().string());
    return names;
  }

  std::filesystem::path folder;
  Season season;
  Expected expected;
  Flags flags;
};

}  // namespace swardline
