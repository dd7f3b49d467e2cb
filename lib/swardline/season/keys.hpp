// Every key of a plan, of a sheet and of a file of characters: the one list that readers, messages and the
// reference files are held to.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace swardline {

/// `path` names a key as "season.crs"; "*" stands for a name the user chooses and "[]" for
/// the tables of a list. `example` is a value as it could be written, for remedies.
struct KeySpec {
  std::string_view path;
  std::string_view example;
};

[[nodiscard]] std::span<const KeySpec> plan_key_specs();
[[nodiscard]] std::span<const KeySpec> sheet_key_specs();
[[nodiscard]] std::span<const KeySpec> traits_key_specs();

/// The names that may stand directly under `table` ("" for the top), in the list's order.
[[nodiscard]] std::vector<std::string> names_under(std::span<const KeySpec> keys, std::string_view table);

/// True when the user chooses the names under `table`.
[[nodiscard]] bool free_names_under(std::span<const KeySpec> keys, std::string_view table);

/// The key of this path, or a null pointer when it is none (a table, or unknown).
[[nodiscard]] const KeySpec* find_key(std::span<const KeySpec> keys, std::string_view path);

/// "sites.exclude[]" and "buffer_m" -> "sites.exclude[].buffer_m".
[[nodiscard]] std::string under(std::string_view table, std::string_view name);

}  // namespace swardline
