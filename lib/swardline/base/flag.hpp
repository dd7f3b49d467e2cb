// Defects of the user's data are values, collected so that all can be shown at once.
#pragma once

#include <string>
#include <vector>

#include "swardline/base/place.hpp"

namespace swardline {

enum class Severity {
  stop,  ///< cannot be used until settled
  ask,   ///< doubtful: a person should look
  note   ///< used, and said
};
[[nodiscard]] const char* word(Severity severity);  ///< "STOP", "ASK", "NOTE"

/// One finding about an input.
struct Flag {
  Severity severity = Severity::note;
  std::string check;  ///< short stable name in words, e.g. "no coordinate system"
  Place place;
  std::string meaning;  ///< what is wrong and why it matters, with numbers
  std::string remedy;   ///< what to do next
};

/// Findings in the order they were made. Readers of inputs add to it and go on;
/// commands that need sound inputs call `throw_if_stopped`.
class Flags {
 public:
  void add(Severity severity, std::string check, Place place, std::string meaning, std::string remedy = {});
  void add(Flag flag) { flags_.push_back(std::move(flag)); }
  [[nodiscard]] const std::vector<Flag>& all() const { return flags_; }
  [[nodiscard]] int count(Severity severity) const;
  [[nodiscard]] bool stopped() const { return count(Severity::stop) > 0; }
  /// Throws InputError with the first STOP, and how many more there are.
  void throw_if_stopped() const;

 private:
  std::vector<Flag> flags_;
};

}  // namespace swardline
