// Plot names: short, sortable, checkable.
#pragma once

#include <map>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "swardline/base/check_letter.hpp"
#include "swardline/design/plot_codes.hpp"

namespace swardline {

/// Number part of a site's n-th name: 1 -> "01", 99 -> "99", 100 -> "A0" … 329 -> "Y9" (I and O left
/// out), then "Z000" … "Z999". Sorts as text in number order. Throws InputError past that.
[[nodiscard]] std::string name_number(int n);

/// "QPR", 7 -> "QPR07E".
[[nodiscard]] std::string plot_name(std::string_view site, int n);

struct NameRequest {
  std::string site;
  std::string stratum;
  int order = 0;
  bool spare = false;
};
/// Names in the order of the requests. Per site: planned by (order, stratum) from 1, spares
/// from max(51, last planned + 1); `taken` names (earlier seasons) are passed over. Throws
/// InputError when two site codes give the same names.
[[nodiscard]] std::vector<std::string> name_plots(const std::vector<NameRequest>& requests,
                                                  const std::set<std::string>& taken);

struct SiteName {
  std::string site;
  std::string name;
};
/// Names cut to a unit's length: profile "6", "8", "10" or "free". The site's part is cut, the
/// number stays, and the check letter is that of the name as cut; unique after cutting and sorting as
/// the names do within a site; `room` characters are kept free for what is added to them. Returns full name
/// -> name on the unit. Throws InputError when the length is too small or two plots would share a name.
[[nodiscard]] std::map<std::string, std::string> fit_names(const std::vector<SiteName>& names,
                                                           const std::string& profile, std::size_t room = 0);

}  // namespace swardline
