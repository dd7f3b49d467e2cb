#include "swardline/season/toml_table.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"

namespace swardline {
namespace {

const char* type_word(const toml::node& node) {
  switch (node.type()) {
    case toml::node_type::string:
      return "text";
    case toml::node_type::integer:
      return "a whole number";
    case toml::node_type::floating_point:
      return "a decimal number";
    case toml::node_type::boolean:
      return "true or false";
    case toml::node_type::array:
      return "a list";
    case toml::node_type::table:
      return "a table";
    default:
      return "a date or time";
  }
}

int line_of(const toml::source_region& region) { return static_cast<int>(region.begin.line); }

std::optional<double> as_number(const toml::node& node) {
  if (const auto* whole = node.as_integer()) return static_cast<double>(whole->get());
  if (const auto* real = node.as_floating_point()) return real->get();
  return std::nullopt;
}

/// "[sites] " and "access" -> "[sites.access]".
std::string bracket(const std::string& about, std::string_view key) {
  const bool bracketed = about.starts_with('[') && !about.starts_with("[[") && about.ends_with("] ");
  return bracketed ? fmt::format("{}.{}]", about.substr(0, about.size() - 2), key) : fmt::format("[{}]", key);
}

/// What messages about the table `key` begin with.
std::string about_table(const std::string& about, std::string_view key) {
  const bool within = about.empty() || (about.front() == '[' && !about.starts_with("[["));
  return within ? bracket(about, key) + ' ' : fmt::format("{}{} ", about, key);
}

/// Limits are read by people: 100000, not 1e+05.
std::string plain(double value) {
  return value == std::round(value) && std::abs(value) < 1e15 ? fmt::format("{:.0f}", value)
                                                              : shortest(value);
}

bool blank(const std::string& text) {
  return std::all_of(text.begin(), text.end(), [](char c) { return c == ' ' || c == '\t' || c == '\n'; });
}

}  // namespace

bool Range::holds(double value) const {
  if (std::isnan(value)) return false;
  if (std::isinf(value)) return infinite;
  return (above_low ? value > low : value >= low) && (below_high ? value < high : value <= high);
}

std::string Range::words(bool whole) const {
  std::string out = whole ? "a whole number" : "a number";
  if (std::isfinite(low)) out += (above_low ? " above " : " from ") + plain(low);
  if (std::isfinite(high)) {
    out += above_low ? " and " : " ";
    out += below_high ? "to below " : (above_low ? "at most " : "to ");
    out += plain(high);
  } else if (std::isfinite(low) && !above_low) {
    out += " up";
  }
  return out;
}

toml::table parse_toml(std::string_view text, const std::string& file) {
  try {
    return toml::parse(text, file);
  } catch (const toml::parse_error& error) {
    throw InputError({file, line_of(error.source()), {}}, fmt::format("is not TOML: {}", error.description()),
                     "Correct the file there, or just before.");
  }
}

TomlTable::TomlTable(const TomlFile& file, const toml::table& table, std::string path, std::string about,
                     int line)
    : file_(file), table_(table), path_(std::move(path)), about_(std::move(about)), line_(line) {
  flag_unknown_keys();
}

void TomlTable::flag_unknown_keys() const {
  if (free_names_under(file_.keys, path_)) return;
  const std::vector<std::string> known = names_under(file_.keys, path_);
  for (const auto& [key, node] : table_) {
    const std::string name(key.str());
    if (std::find(known.begin(), known.end(), name) != known.end()) continue;
    const std::string nearest = nearest_word(name, known);
    add(Severity::stop, {file_.file, line_of(key.source()), {}}, "unknown key",
        fmt::format("unknown key '{}'.", name),
        nearest.empty() ? fmt::format("Known here: {}.", in_words(known))
                        : fmt::format("Did you mean {}?", nearest));
  }
}

void TomlTable::add(Severity severity, const Place& place, std::string check, const std::string& meaning,
                    std::string remedy) const {
  // The message for an unknown key is about the key itself, wherever it stands.
  const bool bare = check == "unknown key";
  file_.flags.add(severity, std::move(check), place, bare ? meaning : about_ + meaning, std::move(remedy));
}

void TomlTable::stop(const Place& place, std::string check, const std::string& meaning,
                     std::string remedy) const {
  add(Severity::stop, place, std::move(check), meaning, std::move(remedy));
}

Place TomlTable::place_of(const toml::node& node) const {
  const int line = line_of(node.source());
  return {file_.file, line > 0 ? line : line_, {}};
}

Place TomlTable::place(std::string_view key) const {
  const toml::node* node = table_.get(key);
  return node ? place_of(*node) : place();
}

const toml::node* TomlTable::find(std::string_view key) const {
  const std::vector<std::string> known = names_under(file_.keys, path_);
  if (std::find(known.begin(), known.end(), key) == known.end()) {
    throw Defect(fmt::format("key '{}' is read but is not in the list of keys", under(path_, key)));
  }
  return table_.get(key);
}

std::string_view TomlTable::example(std::string_view key) const {
  const KeySpec* spec = find_key(file_.keys, under(path_, key));
  return spec ? spec->example : std::string_view{};
}

void TomlTable::wrong_type(const std::string& what, const toml::node& node, std::string_view wanted,
                           std::string_view shown) const {
  stop(place_of(node), "wrong type", fmt::format("{} must be {}, not {}.", what, wanted, type_word(node)),
       shown.empty() ? std::string{} : fmt::format("Write it like {} = {}.", what, shown));
}

bool TomlTable::require(std::string_view key) const {
  if (has(key)) return true;
  const std::string_view shown = example(key);
  stop(place(), "missing key", fmt::format("{} is missing.", key),
       shown.empty() ? fmt::format("Begin it with {}.", bracket(about_, key))
                     : fmt::format("Write it like {} = {}.", key, shown));
  return false;
}

std::optional<std::string> TomlTable::text_of(const std::string& what, const toml::node& node) const {
  const auto* text = node.as_string();
  if (!text) {
    wrong_type(what, node, "text", example(what));
    return std::nullopt;
  }
  if (blank(text->get())) {
    stop(place_of(node), "empty text", fmt::format("{} is empty.", what),
         "Write something, or leave it out.");
    return std::nullopt;
  }
  if (text->get().find('\0') != std::string::npos) {
    stop(place_of(node), "unprintable text", fmt::format("{} holds a character of value 0.", what),
         "Take it out.");
    return std::nullopt;
  }
  return text->get();
}

std::optional<double> TomlTable::number_of(const std::string& what, const toml::node& node,
                                           const Range& range) const {
  const std::optional<double> value = as_number(node);
  if (!value) {
    wrong_type(what, node, "a number", example(what));
    return std::nullopt;
  }
  if (!range.holds(*value)) {
    stop(place_of(node), "out of range",
         fmt::format("{} = {} is out of range.", what, std::isnan(*value) ? "nan" : shortest(*value)),
         fmt::format("Write {}.", range.words(false)));
    return std::nullopt;
  }
  return value;
}

std::optional<std::string> TomlTable::text(std::string_view key) const {
  const toml::node* node = find(key);
  return node ? text_of(std::string(key), *node) : std::nullopt;
}

std::optional<double> TomlTable::number(std::string_view key, const Range& range) const {
  const toml::node* node = find(key);
  return node ? number_of(std::string(key), *node, range) : std::nullopt;
}

std::optional<long long> TomlTable::whole_of(const std::string& what, const toml::node& node, long long low,
                                             long long high) const {
  const auto* value = node.as_integer();
  if (!value) {
    wrong_type(what, node, "a whole number", example(what));
    return std::nullopt;
  }
  if (value->get() < low || value->get() > high) {
    Range range{static_cast<double>(low), static_cast<double>(high)};
    if (high == std::numeric_limits<long long>::max()) range.high = std::numeric_limits<double>::infinity();
    stop(place_of(node), "out of range", fmt::format("{} = {} is out of range.", what, value->get()),
         fmt::format("Write {}.", range.words(true)));
    return std::nullopt;
  }
  return value->get();
}

std::optional<long long> TomlTable::whole(std::string_view key, long long low, long long high) const {
  const toml::node* node = find(key);
  return node ? whole_of(std::string(key), *node, low, high) : std::nullopt;
}

std::optional<bool> TomlTable::yes_no(std::string_view key) const {
  const toml::node* node = find(key);
  if (!node) return std::nullopt;
  if (const auto* value = node->as_boolean()) return value->get();
  wrong_type(std::string(key), *node, "true or false", example(key));
  return std::nullopt;
}

std::optional<std::vector<std::string>> TomlTable::texts(std::string_view key) const {
  const toml::node* node = find(key);
  return node ? texts_of(std::string(key), *node) : std::nullopt;
}

std::optional<std::vector<std::string>> TomlTable::texts_of(const std::string& what,
                                                            const toml::node& node) const {
  const auto* list = node.as_array();
  if (!list) {
    wrong_type(what, node, "a list of texts", example(what));
    return std::nullopt;
  }
  std::vector<std::string> out;
  bool sound = true;
  for (const toml::node& item : *list) {
    if (auto text = text_of(what, item)) {
      out.push_back(std::move(*text));
    } else {
      sound = false;
    }
  }
  return sound ? std::optional(std::move(out)) : std::nullopt;
}

std::optional<std::vector<double>> TomlTable::numbers(std::string_view key, const Range& range) const {
  const toml::node* node = find(key);
  if (!node) return std::nullopt;
  const auto* list = node->as_array();
  if (!list) {
    wrong_type(std::string(key), *node, "a list of numbers", example(key));
    return std::nullopt;
  }
  std::vector<double> out;
  bool sound = true;
  for (const toml::node& item : *list) {
    if (const auto value = number_of(std::string(key), item, range)) {
      out.push_back(*value);
    } else {
      sound = false;
    }
  }
  return sound ? std::optional(std::move(out)) : std::nullopt;
}

std::optional<std::size_t> TomlTable::choice(std::string_view key,
                                             const std::vector<std::string>& words) const {
  const std::optional<std::string> value = text(key);
  if (!value) return std::nullopt;
  const auto at = std::find(words.begin(), words.end(), *value);
  if (at != words.end()) return static_cast<std::size_t>(at - words.begin());
  const std::string nearest = nearest_word(*value, words);
  stop(place(key), "unknown word", fmt::format("{} = \"{}\" is not known.", key, *value),
       nearest.empty()
           ? fmt::format("Write {}: {}.", words.size() == 1 ? "the only one" : "one of", in_words(words))
           : fmt::format("Did you mean {}?", nearest));
  return std::nullopt;
}

TomlTable TomlTable::form(std::string_view key, const toml::table& table, std::string path) const {
  const int line = line_of(table.source());
  return TomlTable(file_, table, std::move(path), about_ + std::string(key) + ": ", line > 0 ? line : line_);
}

std::optional<TomlTable> TomlTable::table(std::string_view key) const {
  const toml::node* node = find(key);
  if (!node) return std::nullopt;
  const toml::table* table = node->as_table();
  const std::string path = under(path_, key);
  if (!table) {
    stop(place_of(*node), "wrong type", fmt::format("{} must be a table, not {}.", key, type_word(*node)),
         fmt::format("Begin it with {}.", bracket(about_, key)));
    return std::nullopt;
  }
  const int line = line_of(table->source());
  return TomlTable(file_, *table, path, about_table(about_, key), line > 0 ? line : line_);
}

std::vector<TomlTable> TomlTable::tables(std::string_view key) const {
  std::vector<TomlTable> out;
  const toml::node* node = find(key);
  if (!node) return out;
  const std::string path = under(path_, key);
  const toml::array* list = node->as_array();
  if (!list) {
    stop(place_of(*node), "wrong type",
         fmt::format("{} must be a list of tables, not {}.", key, type_word(*node)),
         fmt::format("Begin each with [[{}]].", path));
    return out;
  }
  for (const toml::node& item : *list) {
    if (const toml::table* table = item.as_table()) {
      out.emplace_back(file_, *table, path + "[]", fmt::format("[[{}]] ", path), place_of(item).line);
    } else {
      stop(place_of(item), "wrong type",
           fmt::format("{} must hold tables only, not {}.", key, type_word(item)),
           fmt::format("Begin each with [[{}]].", path));
    }
  }
  return out;
}

void TomlTable::each(const std::function<void(const std::string&, const toml::node&)>& use) const {
  struct Item {
    const toml::key* key;
    const toml::node* node;
  };
  std::vector<Item> items;
  for (auto&& [key, node] : table_) items.push_back({&key, &node});
  std::stable_sort(items.begin(), items.end(), [](const Item& a, const Item& b) {
    const auto &at = a.key->source().begin, &bt = b.key->source().begin;
    return at.line != bt.line ? at.line < bt.line : at.column < bt.column;
  });
  for (const Item& item : items) use(std::string(item.key->str()), *item.node);
}

std::optional<TomlTable> TomlTable::chosen(const std::string& name, const toml::node& node,
                                           std::string about) const {
  if (const toml::table* table = node.as_table()) {
    return TomlTable(file_, *table, under(path_, "*"), std::move(about), place_of(node).line);
  }
  wrong_type(name, node, "a table", {});
  return std::nullopt;
}

}  // namespace swardline
