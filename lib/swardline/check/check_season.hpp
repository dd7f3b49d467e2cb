// Everything wrong or doubtful with a season's inputs, found in one pass before any work.
#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/base/progress.hpp"
#include "swardline/design/draw_season.hpp"

namespace swardline {

/// Sites and access as the check read them, with all that was found on the way, for work that comes next.
struct SitesChecked {
  Sites sites;
  Access access;
  Flags sites_flags, access_flags;
};

struct CheckResult {
  Flags flags;
  /// What was understood, in words: each route PROJ took and its stated accuracy, each site's
  /// survey area, how each layer comes to the grid, each sheet as sentences.
  std::vector<std::string> routes;
  std::vector<std::string> sites;
  std::vector<std::string> layers;
  std::vector<std::string> sheets;
  std::shared_ptr<const SitesChecked> read;  ///< null where they could not be read
  std::string verdict;                       ///< "ready", "usable with a warning" or "not usable"
};

/// Which cells of the layers are looked at. `at_sites` is for commands that do their own work next: blocks
/// of 256 × 256 cells that meet a survey area, of more than 256 about 32 evenly over them (so of layers and
/// sites of any size it reads little). What takes every cell to know is not said then: classes never
/// met, values that stand out from the rest, shares of a site that was thinned.
enum class CellsChecked { all, at_sites };

struct CheckOptions {
  int threads = 1;
  Progress progress;
  CellsChecked cells = CellsChecked::all;
  bool record = true;  ///< whether the strata of record are to hold, so that what is against them is said
};

/// Reads plan, sheets, sites, exclusions, access, known patches and every cell of every
/// layer the sheets or strata use. Never guesses a datum and changes nothing. Throws only
/// where the plan cannot be read at all.
[[nodiscard]] CheckResult check_season(const std::filesystem::path& plan_file, const CheckOptions& options);

}  // namespace swardline
