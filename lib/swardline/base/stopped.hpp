// Inputs that cannot be used, for more reasons than one.
#pragma once

#include <utility>
#include <vector>

#include "swardline/base/error.hpp"
#include "swardline/base/flag.hpp"

namespace swardline {

/// What `Flags::throw_if_stopped` throws: what() tells of the first STOP and how many more there are, and
/// these are here, so that all can be put right at once.
class Stopped : public InputError {
 public:
  Stopped(const Flag& first, const std::string& remedy, std::vector<Flag> further)
      : InputError(first.place, first.meaning, remedy), further_(std::move(further)) {}
  [[nodiscard]] const std::vector<Flag>& further() const noexcept { return further_; }

 private:
  std::vector<Flag> further_;
};

}  // namespace swardline
