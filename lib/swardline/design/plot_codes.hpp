// What of a site's code goes into its plots' names, and which codes will not do.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/design/site.hpp"

namespace swardline {

/// Upper case, letters A to Z and digits only.
[[nodiscard]] std::string name_stem(std::string_view site);

struct CodeProblem {
  std::size_t which = 0;  ///< of the codes, the one to change
  std::string meaning, remedy;
};
/// The first code that leaves nothing for plot names, or leaves what an earlier code left.
[[nodiscard]] std::optional<CodeProblem> problem_of_codes(const std::vector<std::string>& codes);

/// STOP "code without a plot name" or "codes with the same plot names" for every site whose code
/// `problem_of_codes` would find: without it the draw fails when it names its plots.
void check_plot_codes(const std::vector<Site>& sites, Flags& flags);

}  // namespace swardline
