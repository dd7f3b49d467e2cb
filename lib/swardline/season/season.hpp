// Reading a season folder: the plan and its species sheets, checked against each other.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/season/plan.hpp"
#include "swardline/season/sheet.hpp"
#include "swardline/season/traits.hpp"

namespace swardline {

struct Season {
  Plan plan;
  std::vector<Sheet> sheets;  ///< by code
  Traits traits;              ///< nothing where the plan names no file of characters
};

/// Reads plan, sheets and characters. A file that is not TOML throws InputError with its line;
/// everything else wrong goes to `flags` as STOP (unknown key with the nearest known
/// one, wrong type, corners that fall, weight 0, a factor whose layer the plan does not
/// have, duplicate and look-alike codes, codes that a spreadsheet misreads, …).
[[nodiscard]] Season read_season(const std::filesystem::path& plan_file, Flags& flags);

/// Reads a changed sheet of one of the season's species, wherever the file lies. Nothing is changed: neither
/// the season nor a file. Findings go to `flags`, those of check_proposed_sheet too.
[[nodiscard]] Sheet read_proposed_sheet(const Season& season, const std::filesystem::path& file,
                                        Flags& flags);
/// Holds a changed sheet against the plan and the other sheets, as read_season would in place of the one of
/// its code, and gives its masks their reason in words. A species the season does not have is a STOP.
void check_proposed_sheet(const Season& season, Sheet& proposed, Flags& flags);

/// The sheet read back as sentences a botanist can check:
/// "Full marks from 26 to 38 percent moisture, nothing at or below 20 or at or above 46. …"
[[nodiscard]] std::string in_sentences(const Sheet& sheet, const Plan& plan);
/// The plan's decisions in a few lines.
[[nodiscard]] std::string in_sentences(const Plan& plan);

/// Every key the readers know, "season.crs", "layers.*.scale", "factor[].trapezoid", for
/// the reference files and the test that holds them together.
[[nodiscard]] std::vector<std::string> plan_keys();
[[nodiscard]] std::vector<std::string> sheet_keys();
[[nodiscard]] std::vector<std::string> traits_keys();

/// Writes a new season folder: commented plan, two species sheets, layer placeholders.
/// Throws IoError when the folder is not empty or cannot be written.
void start_season(const std::filesystem::path& folder);

}  // namespace swardline
