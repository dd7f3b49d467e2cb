// Reading one table of a TOML file: known keys only, typed, in range, every finding with its line.
// Private to this stage; include it in sources only.
#pragma once

#include <toml++/toml.h>

#include <filesystem>
#include <functional>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/season/keys.hpp"

namespace swardline {

/// The numbers a key may hold.
struct Range {
  double low = -std::numeric_limits<double>::infinity();
  double high = std::numeric_limits<double>::infinity();
  bool above_low = false;   ///< low itself is not allowed
  bool below_high = false;  ///< high itself is not allowed
  bool infinite = false;    ///< inf and -inf are allowed
  [[nodiscard]] bool holds(double value) const;
  [[nodiscard]] std::string words(bool whole) const;  ///< "a whole number from 1 to 20"
};
inline constexpr Range zero_up{0};
inline constexpr Range above_zero{.low = 0, .above_low = true};
inline constexpr Range share{.low = 0, .high = 1, .above_low = true, .below_high = true};

/// One file being read.
struct TomlFile {
  std::string file;  ///< as messages name it
  std::span<const KeySpec> keys;
  Flags& flags;
};

/// Parses `text`. Throws InputError "plan.toml:12: is not TOML: …".
[[nodiscard]] toml::table parse_toml(std::string_view text, const std::string& file);

/// One table. Unknown keys are flagged when it is opened. Every reading function flags a value
/// of the wrong type or out of range as STOP and then returns nothing, as for a key left out.
class TomlTable {
 public:
  /// `path` is the table's place in the list of keys; `about` begins messages ("[sample] ").
  TomlTable(const TomlFile& file, const toml::table& table, std::string path, std::string about, int line);

  /// What messages begin with from here on ("PTUB moisture: ").
  void speak_of(std::string about) { about_ = std::move(about); }
  [[nodiscard]] const std::string& about() const { return about_; }

  [[nodiscard]] bool has(std::string_view key) const { return find(key) != nullptr; }
  [[nodiscard]] Place place() const { return {file_.file, line_, {}}; }
  [[nodiscard]] Place place(std::string_view key) const;

  [[nodiscard]] std::optional<std::string> text(std::string_view key) const;
  [[nodiscard]] std::optional<double> number(std::string_view key, const Range& range) const;
  [[nodiscard]] std::optional<long long> whole(std::string_view key, long long low, long long high) const;
  [[nodiscard]] std::optional<bool> yes_no(std::string_view key) const;
  [[nodiscard]] std::optional<std::vector<std::string>> texts(std::string_view key) const;
  [[nodiscard]] std::optional<std::vector<double>> numbers(std::string_view key, const Range& range) const;
  /// Index of the text among `words`.
  [[nodiscard]] std::optional<std::size_t> choice(std::string_view key,
                                                  const std::vector<std::string>& words) const;
  /// The table of this name, when there is one.
  [[nodiscard]] std::optional<TomlTable> table(std::string_view key) const;
  /// The tables of a list (`[[name]]`), in order; empty when there is none.
  [[nodiscard]] std::vector<TomlTable> tables(std::string_view key) const;

  /// STOP when the key is not there; true when it is.
  bool require(std::string_view key) const;

  /// Calls `use` for every key of a table whose names the user chooses, in the file's order.
  void each(const std::function<void(const std::string& name, const toml::node& node)>& use) const;
  /// The table under a name the user chose.
  [[nodiscard]] std::optional<TomlTable> chosen(const std::string& name, const toml::node& node,
                                                std::string about) const;
  /// A value under a name the user chose, or an item of a list.
  [[nodiscard]] std::optional<std::string> text_of(const std::string& what, const toml::node& node) const;
  [[nodiscard]] std::optional<double> number_of(const std::string& what, const toml::node& node,
                                                const Range& range) const;
  [[nodiscard]] std::optional<long long> whole_of(const std::string& what, const toml::node& node,
                                                  long long low, long long high) const;
  [[nodiscard]] std::optional<std::vector<std::string>> texts_of(const std::string& what,
                                                                 const toml::node& node) const;

  /// The node of a key that may have several forms.
  [[nodiscard]] const toml::node* find(std::string_view key) const;
  /// A table that is one form of a key's value; `path` as in the list of keys.
  [[nodiscard]] TomlTable form(std::string_view key, const toml::table& table, std::string path) const;

  void stop(const Place& place, std::string check, const std::string& meaning, std::string remedy = {}) const;
  void add(Severity severity, const Place& place, std::string check, const std::string& meaning,
           std::string remedy = {}) const;
  /// "must be a number, not text".
  void wrong_type(const std::string& what, const toml::node& node, std::string_view wanted,
                  std::string_view example) const;
  [[nodiscard]] Place place_of(const toml::node& node) const;

 private:
  void flag_unknown_keys() const;
  [[nodiscard]] std::string_view example(std::string_view key) const;

  const TomlFile& file_;
  const toml::table& table_;
  std::string path_;
  std::string about_;
  int line_;
};

/// Moves a value that was read into its place; a value that was not leaves the default.
template <typename From, typename To>
void take(std::optional<From> value, To& place) {
  if (value) place = To(std::move(*value));
}

}  // namespace swardline
