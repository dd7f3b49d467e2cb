// The parts of reading a season. Private to this stage.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/season/plan.hpp"
#include "swardline/season/season.hpp"
#include "swardline/season/sheet.hpp"

namespace swardline {

/// Reads a plan's text; `plan_file` says where it lies. Throws InputError when it is not TOML.
[[nodiscard]] Plan read_plan(std::string_view text, const std::filesystem::path& plan_file, Flags& flags);

/// Reads a sheet's text; `file` is its name in messages. Throws InputError when it is not TOML.
[[nodiscard]] Sheet read_sheet(std::string_view text, const std::string& file, Flags& flags);

/// Everything about a sheet's rule that can be judged without the plan.
void check_rule(const Sheet& sheet, Flags& flags);

/// Holds the sheets against the plan and each other, and gives masks their reason in words.
void check_season(Season& season, Flags& flags);

/// Visits and cautions held against the teams and layers of the plan, and their texts looked at.
void check_visits(const Plan& plan, Flags& flags);

/// [visits] and [[caution]] in a line each; empty where the plan has none.
[[nodiscard]] std::string sentences_of_visits(const Plan& plan);

/// What is wrong with a text that sheets show: "a telephone number", "an e-mail address"; empty: nothing.
[[nodiscard]] std::string private_words_in(std::string_view text);

/// Files that `pattern` names, seen from `folder`, sorted. `*` and `?` may stand in the last step only.
[[nodiscard]] std::vector<std::filesystem::path> matching_files(const std::filesystem::path& folder,
                                                                const std::string& pattern);

/// "0.50-0.75" for every band, low to high: the keys of [sample.spread].
[[nodiscard]] std::vector<std::string> band_keys(const std::vector<double>& bands);

/// "a date", "a number" or "a truth value": what a spreadsheet makes of a code it misreads.
[[nodiscard]] std::string spreadsheet_turns_into(std::string_view code);

/// True for the layers that come from `elevation`: slope, aspect, heat.
[[nodiscard]] bool is_derived(std::string_view layer);

/// Unit of a layer as sheets speak of it, derived ones included; empty when the plan gives none.
[[nodiscard]] std::string unit_of(const Plan& plan, std::string_view layer);

/// "260 m", "46 percent", "1.06": a value with its unit.
[[nodiscard]] std::string with_unit(double value, std::string_view unit);

/// "water_distance" -> "water distance".
[[nodiscard]] std::string layer_words(std::string_view layer);

}  // namespace swardline
