// What to look up in a season's estimates.
#pragma once

#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "swardline/estimate/estimates.hpp"

namespace swardline {

inline const EstimateRow& row(const Estimates& all, const char* where, const char* stratum,
                              const char* measure, const char* estimator = "", const char* species = "PTUB") {
  const EstimateRow* found = all.row(where, stratum, species, measure, estimator);
  REQUIRE_MESSAGE(found != nullptr, where, " ", stratum, " ", measure);
  return *found;
}

inline bool has_note(const Estimates& all, const std::string& text) {
  return std::any_of(all.notes.begin(), all.notes.end(),
                     [&](const EstimateNote& note) { return note.text.find(text) != std::string::npos; });
}

}  // namespace swardline
