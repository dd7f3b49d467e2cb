#include "swardline/base/flag.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "swardline/base/error.hpp"

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
  const auto first = std::find_if(flags_.begin(), flags_.end(),
                                  [](const Flag& flag) { return flag.severity == Severity::stop; });
  if (first == flags_.end()) return;
  const int more = count(Severity::stop) - 1;
  std::string remedy = first->remedy;
  if (more > 0) {
    if (!remedy.empty()) remedy += ' ';
    remedy += fmt::format("({} more STOP {})", more, more == 1 ? "flag" : "flags");
  }
  throw InputError(first->place, first->meaning, remedy);
}

}  // namespace swardline
