// Observers who have not been signed off for what they recorded.
#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "swardline/returns/flag_parts.hpp"
#include "swardline/season/days.hpp"

namespace swardline::return_parts {
namespace {

class Observers {
 public:
  Observers(const Material& material, Findings& findings) : material_(material), findings_(findings) {
    // Looked up once each: texts are few, rows are many.
    const TextPool& texts = material.returns.texts;
    records_.resize(texts.size(), nullptr);
    passed_.resize(texts.size());
    for (std::size_t i = 0; i < texts.size(); ++i) {
      const auto found = material.expected.observers.find(texts.text(std::int32_t(i)));
      if (found == material.expected.observers.end()) continue;
      records_[i] = &found->second;
      for (const Sheet& sheet : material.season.sheets)
        passed_[i].push_back(found->second.passed.contains(sheet.code));
    }
  }

  void look_at(const Visit& visit) {
    std::vector<std::uint32_t> rows;
    std::vector<std::string> species;
    const char* why = nullptr;
    for (const std::uint32_t r : material_.rows(visit)) {
      const ReturnRow& row = material_.row(r);
      if (!has_count(row, visit) || findings_.any_open(r, {10, 21, 23}) || signed_off(row)) continue;
      rows.push_back(r);
      const std::string name = short_name(material_.sheet(row.species));
      if (std::find(species.begin(), species.end(), name) == species.end()) species.push_back(name);
      if (why == nullptr) why = reason(row);
    }
    if (rows.empty()) return;
    const std::string& id = material_.returns.texts.text(visit.observer);
    const bool missing = visit.observer < 0;
    findings_.add(
        {19, rows, visit.plot, ReturnColumn::observer, id,
         fmt::format("{} {} ({} at {}): second look needed.",
                     missing ? "No observer is named:" : "observer " + id, why, some_of(species),
                     material_.plot(visit.plot).name),
         "Zeros are kept out with the finds, or the rest would count too many. Look at the photo or count "
         "again, then confirm the observer; or enter the test in the list of observers."});
  }

 private:
  [[nodiscard]] bool passed(std::int32_t who, const ReturnRow& row) const {
    if (who < 0 || records_[std::size_t(who)] == nullptr) return false;
    const auto& since = records_[std::size_t(who)]->since;
    const bool in_time = !since || row.date == no_day || row.date >= *since;
    return in_time && passed_[std::size_t(who)][std::size_t(row.species)];
  }
  [[nodiscard]] bool signed_off(const ReturnRow& row) const {
    return passed(row.observer, row) || passed(row.second_observer, row);
  }
  [[nodiscard]] const char* reason(const ReturnRow& row) const {
    if (row.observer < 0) return "nobody answers for the name";
    if (records_[std::size_t(row.observer)] == nullptr) return "is not on the list of observers";
    if (passed_[std::size_t(row.observer)][std::size_t(row.species)])
      return "had not passed the test by that day";
    return "has not passed the test";
  }

  const Material& material_;
  Findings& findings_;
  std::vector<const ObserverRecord*> records_;  ///< by text
  std::vector<std::vector<bool>> passed_;       ///< by text and species
};

}  // namespace

void check_observers(const Material& material, Findings& findings) {
  if (material.expected.observers.empty()) return;
  Observers observers(material, findings);
  for (const Visit& visit : material.visits) observers.look_at(visit);
}

}  // namespace swardline::return_parts
