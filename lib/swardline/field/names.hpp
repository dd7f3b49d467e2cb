// Plot names: short, sortable, checkable.
#pragma once

#include <map>
#include <set>
#include <string>
#include <string_view>
#include <vector>

namespace swardline {

/// Check letter of site + number ("QPR07" -> 'E'): letters A=1…Z=26, digits as they are,
/// weights 7 6 5 4 3, remainder by 23 into ABCDEFGHJKLMNPRSTUVWXYZ. Text longer than five
/// characters goes on with weights repeating.
[[nodiscard]] char check_letter(std::string_view site_and_number);

/// Number part of the n-th name of a site: 1 -> "01", 99 -> "99", 100 -> "A0", 101 -> "A1" … (letters
/// I and O left out).
[[nodiscard]] std::string name_number(int n);

/// "QPR", 7 -> "QPR07E".
[[nodiscard]] std::string plot_name(std::string_view site, int n);

struct NameRequest {
  std::string site;
  std::string stratum;
  int order = 0;
  bool spare = false;
};
/// Names in the order of the requests. Per site: planned by (order, stratum), spares from
/// max(51, planned + 1); numbers of `taken` names (earlier seasons) are never used again.
[[nodiscard]] std::vector<std::string> name_plots(const std::vector<NameRequest>& requests,
                                                  const std::set<std::string>& taken);

/// Names cut to a unit's length: profile "6", "8", "10" or "free". Upper case, unique after cutting,
/// sorting in the same order as the names. Returns full name -> name on the unit; the
/// two are equal where the name fits. Throws InputError when no such set of names exists.
[[nodiscard]] std::map<std::string, std::string> fit_names(const std::vector<std::string>& names,
                                                           const std::string& profile);

}  // namespace swardline
