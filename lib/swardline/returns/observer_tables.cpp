// Reading the list of observers and the table of tests.
#include <cpl_string.h>
#include <fmt/format.h>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>

#include <algorithm>
#include <charconv>
#include <functional>
#include <memory>

#include "swardline/base/text.hpp"
#include "swardline/geo/gdal_errors.hpp"
#include "swardline/returns/observers.hpp"
#include "swardline/season/days.hpp"

namespace swardline {
namespace {

/// Rows of a table that GDAL reads; columns by name, whatever their order.
class SmallTable {
 public:
  using Row = std::function<std::string(const char* column)>;
  SmallTable(const std::filesystem::path& file, const char* key, Flags& flags)
      : file_(file), key_(key), flags_(flags) {}

  void read(const std::vector<const char*>& needed, const std::function<void(const Row&, long long)>& take) {
    GDALAllRegister();
    const GdalErrors errors;
    const std::unique_ptr<GDALDataset> table(
        GDALDataset::Open(file_.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY | GDAL_OF_VERBOSE_ERROR));
    if (!table || table->GetLayerCount() == 0) {
      stop(0, fmt::format("cannot be read as a table ({}).", errors.first("it has none")),
           fmt::format("Check {} in the plan.", key_));
      return;
    }
    OGRLayer* layer = table->GetLayer(0);
    for (const char* name : needed)
      if (layer->GetLayerDefn()->GetFieldIndex(name) < 0) {
        stop(0, fmt::format("has no column {}.", name), "samples/plan-reference.toml names the columns.");
        return;
      }
    long long number = 1;  // the heading
    for (const OGRFeatureUniquePtr& feature : *layer)
      take(
          [&](const char* column) -> std::string {
            const int field = layer->GetLayerDefn()->GetFieldIndex(column);
            return field < 0 ? std::string()
                             : std::string(CPLString(feature->GetFieldAsString(field)).Trim());
          },
          ++number);
    if (!errors.errors().empty()) stop(number, errors.errors().front() + ".", "Mend the file.");
  }

  void stop(long long row, const std::string& meaning, const std::string& remedy) {
    flags_.add(Severity::stop, key_,
               {file_.filename().string(), 0, row > 0 ? fmt::format("row {}", row) : std::string()}, meaning,
               remedy);
  }

 private:
  const std::filesystem::path& file_;
  std::string key_;
  Flags& flags_;
};

std::vector<std::string> codes_of(const Season& season) {
  std::vector<std::string> codes;
  for (const Sheet& sheet : season.sheets) codes.push_back(sheet.code);
  return codes;
}

bool known(const std::string& code, const std::vector<std::string>& codes, SmallTable& table, long long row) {
  if (std::find(codes.begin(), codes.end(), code) != codes.end()) return true;
  const std::string nearest = nearest_word(code, codes);
  table.stop(
      row, fmt::format("{} is the code of no sheet.", code),
      nearest.empty() ? "Give it a sheet, or leave it out." : fmt::format("Did you mean {}?", nearest));
  return false;
}

std::vector<std::string> words_of(const std::string& text) {
  std::vector<std::string> words;
  for (std::size_t begin = 0; begin < text.size();) {
    const std::size_t end = std::min(text.find_first_of(",; ", begin), text.size());
    if (end > begin) words.push_back(text.substr(begin, end - begin));
    begin = end + 1;
  }
  return words;
}

/// "2027-05-03"; spreadsheets that know dates give "2027/05/03".
std::optional<Day> day_in(const std::string& text) {
  int year = 0, month = 0, day = 0;
  const char* const end = text.data() + text.size();
  const auto part = [&](const char* from, int& into) { return std::from_chars(from, end, into); };
  if (text.size() != 10) return {};
  if (part(text.data(), year).ptr != text.data() + 4 || part(text.data() + 5, month).ptr != text.data() + 7 ||
      part(text.data() + 8, day).ptr != end)
    return {};
  const Day found = day_of(year, month, day);
  return found == no_day ? std::nullopt : std::optional(found);
}

}  // namespace

std::map<std::string, ObserverRecord> read_observers(const Season& season, Flags& flags) {
  std::map<std::string, ObserverRecord> observers;
  if (season.plan.returns.observers.empty()) return observers;
  const std::vector<std::string> codes = codes_of(season);
  SmallTable table(season.plan.returns.observers, "returns.observers", flags);
  table.read({"observer", "passed"}, [&](const SmallTable::Row& cell, long long row) {
    ObserverRecord record{cell("observer"), cell("team"), {}, {}};
    if (record.id.empty()) {
      if (!cell("passed").empty() || !record.team.empty()) table.stop(row, "has no observer.", "Fill it in.");
      return;
    }
    for (const std::string& code : words_of(cell("passed"))) {
      if (lower_ascii(code) == "all")
        record.passed.insert(codes.begin(), codes.end());
      else if (known(code, codes, table, row))
        record.passed.insert(code);
    }
    if (const std::string since = cell("since"); !since.empty()) {
      record.since = day_in(since);
      if (!record.since) table.stop(row, fmt::format("'{}' is no date.", since), "Write it like 2027-05-03.");
    }
    const std::string id = record.id;
    if (!observers.emplace(id, std::move(record)).second)
      table.stop(row, fmt::format("has observer {} a second time.", id), "Keep one row for each observer.");
  });
  return observers;
}

std::vector<NameTest> read_name_tests(const Season& season, Flags& flags) {
  std::vector<NameTest> tests;
  if (season.plan.returns.tests.empty()) return tests;
  const std::vector<std::string> codes = codes_of(season);
  SmallTable table(season.plan.returns.tests, "returns.tests", flags);
  table.read({"observer", "shown", "named"}, [&](const SmallTable::Row& cell, long long row) {
    NameTest test{cell("observer"), cell("shown"), cell("named")};
    if (test.observer.empty() && test.shown.empty() && test.named.empty()) return;
    if (test.observer.empty() || test.shown.empty()) {
      table.stop(row, fmt::format("has no {}.", test.observer.empty() ? "observer" : "shown"), "Fill it in.");
      return;
    }
    // What was named may be any plant; what was shown was chosen.
    if (known(test.shown, codes, table, row)) tests.push_back(std::move(test));
  });
  return tests;
}

}  // namespace swardline
