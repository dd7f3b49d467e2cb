// The reference files and the readers hold the same keys.
#include <toml++/toml.h>

#include <algorithm>
#include <functional>
#include <set>
#include <sstream>

#include "season_folder.hpp"

namespace reference_test {

using namespace swardline;
using namespace swardline::testing;

namespace {

std::string reference(const char* name) {
  return read_whole(std::filesystem::path(SWARDLINE_SOURCE_DIR) / "samples" / name);
}

/// Lines that begin with "#: " are keys that stand in place of others: opens them.
std::string opened(std::string text) {
  for (std::size_t at = 0; (at = text.find("\n#: ", at)) != std::string::npos; ++at) text.erase(at + 1, 3);
  return text;
}

struct Leaf {
  std::string key;   ///< as in the list of keys
  toml::node* node;  ///< its value
};

/// Walks a file and names every key as the list does.
class Walk {
 public:
  explicit Walk(const std::vector<std::string>& keys) : keys_(keys) {}
  std::vector<Leaf> leaves;

  void table(toml::table& at, const std::string& path) {
    const std::string free = path.empty() ? "*" : path + ".*";
    const bool chosen = std::any_of(keys_.begin(), keys_.end(), [&](const std::string& key) {
      return key == free || key.starts_with(free + '.');
    });
    for (auto&& [name, node] : at) {
      const std::string step = chosen ? "*" : std::string(name.str());
      value(node, path.empty() ? step : path + '.' + step);
    }
  }

 private:
  void value(toml::node& node, const std::string& path) {
    const bool is_key = std::find(keys_.begin(), keys_.end(), path) != keys_.end();
    auto* list = node.as_array();
    const bool tables = list && std::any_of(list->begin(), list->end(),
                                            [](const toml::node& item) { return item.is_table(); });
    if (is_key || (!node.is_table() && !tables)) leaves.push_back({path, &node});
    if (auto* inner = node.as_table()) table(*inner, path);
    if (!tables) return;
    for (toml::node& item : *list) {
      if (auto* inner = item.as_table()) table(*inner, path + "[]");
    }
  }

  const std::vector<std::string>& keys_;
};

std::set<std::string> keys_in(const std::string& text, const std::vector<std::string>& keys) {
  toml::table top = toml::parse(opened(text));
  Walk walk(keys);
  walk.table(top, "");
  std::set<std::string> found;
  for (const Leaf& leaf : walk.leaves) found.insert(leaf.key);
  return found;
}

void check_same(const std::string& text, const std::vector<std::string>& keys) {
  const std::set<std::string> found = keys_in(text, keys);
  for (const std::string& key : keys) CHECK_MESSAGE(found.count(key), "not in the reference: ", key);
  for (const std::string& key : found) {
    CHECK_MESSAGE(std::find(keys.begin(), keys.end(), key) != keys.end(), "not in the code: ", key);
  }
}

/// The table that holds `node`, and its name there.
struct Holder {
  toml::table* table = nullptr;
  std::string name;
};

Holder holder_of(toml::table& at, const toml::node* node) {
  for (auto&& [key, value] : at) {
    if (&value == node) return {&at, std::string(key.str())};
    std::vector<toml::table*> inner;
    if (auto* table = value.as_table()) inner.push_back(table);
    if (auto* list = value.as_array()) {
      for (toml::node& item : *list) {
        if (auto* table = item.as_table()) inner.push_back(table);
      }
    }
    for (toml::table* table : inner) {
      if (Holder found = holder_of(*table, node); found.table) return found;
    }
  }
  return {};
}

/// `text` with a date as the value of its i-th key, and that key's last name.
std::pair<std::string, std::string> with_a_date(const std::string& text, const std::vector<std::string>& keys,
                                                std::size_t i) {
  toml::table top = toml::parse(opened(text));
  Walk walk(keys);
  walk.table(top, "");
  const Holder holder = holder_of(top, walk.leaves.at(i).node);
  REQUIRE(holder.table != nullptr);
  holder.table->insert_or_assign(holder.name, toml::date{1979, 5, 27});
  std::ostringstream out;
  out << top;
  return {out.str(), holder.name};
}

/// A date is the wrong type everywhere, so a key that is read must be flagged for it.
void check_read(const std::string& text, const std::vector<std::string>& keys,
                const std::function<Reading(const std::string&)>& reader) {
  toml::table top = toml::parse(opened(text));
  Walk walk(keys);
  walk.table(top, "");
  REQUIRE(walk.leaves.size() >= keys.size());
  for (std::size_t i = 0; i < walk.leaves.size(); ++i) {
    const auto [changed, name] = with_a_date(text, keys, i);
    const Reading reading = reader(changed);
    const auto& flags = reading.flags.all();
    const bool flagged = std::any_of(flags.begin(), flags.end(), [&, &key = name](const Flag& flag) {
      return flag.severity == Severity::stop && flag.check == "wrong type" &&
             flag.meaning.find(key) != std::string::npos &&
             flag.meaning.find("not a date") != std::string::npos;
    });
    CHECK_MESSAGE(flagged, walk.leaves[i].key, " is listed but not read:\n", reading.all());
  }
}

Reading read_all(const std::string& plan, const std::string& sheet, const std::string& traits) {
  return read(plan, {{"PTUB", sheet}}, traits);
}
Reading read_both(const std::string& plan, const std::string& sheet) {
  return read_all(plan, sheet, reference("traits-reference.toml"));
}

}  // namespace

TEST_CASE("the reference files read without a flag") {
  const Reading reading = read_both(reference("plan-reference.toml"), reference("species-reference.toml"));
  CHECK(reading.all() == "");
  CHECK(reading.season.sheets.size() == 1);
}

TEST_CASE("the plan's reference and the code hold the same keys") {
  check_same(reference("plan-reference.toml"), plan_keys());
}

TEST_CASE("the sheets' reference and the code hold the same keys") {
  check_same(reference("species-reference.toml"), sheet_keys());
}

TEST_CASE("the characters' reference and the code hold the same keys") {
  check_same(reference("traits-reference.toml"), traits_keys());
}

TEST_CASE("a key that only the reference holds is found, and one that only the code holds") {
  auto keys = plan_keys();
  CHECK(keys_in(reference("plan-reference.toml") + "colour = 1\n", keys).count("effort.expected.*.colour") ==
        1);
  keys.push_back("points.colour");
  CHECK(keys_in(reference("plan-reference.toml"), keys).count("points.colour") == 0);
}

TEST_CASE("every key of a plan is read") {
  check_read(reference("plan-reference.toml"), plan_keys(),
             [](const std::string& plan) { return read_both(plan, reference("species-reference.toml")); });
}

TEST_CASE("every key of a sheet is read") {
  check_read(reference("species-reference.toml"), sheet_keys(),
             [](const std::string& sheet) { return read_both(reference("plan-reference.toml"), sheet); });
}

TEST_CASE("every key of a file of characters is read") {
  check_read(reference("traits-reference.toml"), traits_keys(), [](const std::string& traits) {
    return read_all(reference("plan-reference.toml"), reference("species-reference.toml"), traits);
  });
}

}  // namespace reference_test
