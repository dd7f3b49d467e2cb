#include "swardline/base/flag.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <utility>

#include "swardline/base/error.hpp"
#include "swardline/base/stopped.hpp"

namespace swardline {

const char* word(Severity severity) {
  switch (severity) {
    case Severity::stop:
      return "STOP";
    case Severity::ask:
      return "ASK";
    case Severity::note:
      return "NOTE";
  }
  throw Defect("a flag has no known severity");
}

void Flags::add(Severity severity, std::string check, Place place, std::string meaning, std::string remedy) {
  flags_.push_back({severity, std::move(check), std::move(place), std::move(meaning), std::move(remedy)});
}

int Flags::count(Severity severity) const {
  return static_cast<int>(std::count_if(flags_.begin(), flags_.end(),
                                        [severity](const Flag& flag) { return flag.severity == severity; }));
}

void Flags::throw_if_stopped() const {
  std::vector<Flag> stops;
  std::copy_if(flags_.begin(), flags_.end(), std::back_inserter(stops),
               [](const Flag& flag) { return flag.severity == Severity::stop; });
  if (stops.empty()) return;
  const Flag first = stops.front();
  stops.erase(stops.begin());
  std::string remedy = first.remedy;
  if (!stops.empty()) {
    if (!remedy.empty()) remedy += ' ';
    remedy += fmt::format("({} more STOP {})", stops.size(), stops.size() == 1 ? "flag" : "flags");
  }
  throw Stopped(first, remedy, std::move(stops));
}

}  // namespace swardline
