// What can hurt somebody at a site, and what must not be hurt there.
#pragma once

#include <string>
#include <vector>

#include "swardline/field/site_species.hpp"
#include "swardline/field/visits.hpp"
#include "swardline/season/season.hpp"

namespace swardline {

struct Caution {
  std::string text;
  bool closure = false;  ///< a dated closure: comes first
  bool here = false;     ///< of this site, habitat or date; the others hold everywhere
};

}  // namespace swardline
