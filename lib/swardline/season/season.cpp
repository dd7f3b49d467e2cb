#include "swardline/season/season.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <system_error>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/season/keys.hpp"
#include "swardline/season/read_traits.hpp"
#include "swardline/season/readers.hpp"

namespace swardline {
namespace {

namespace fs = std::filesystem;

/// `*` stands for any text, `?` for one character.
bool matches(std::string_view text, std::string_view pattern) {
  std::size_t t = 0, p = 0, star = std::string_view::npos, resume = 0;
  while (t < text.size()) {
    if (p < pattern.size() && (pattern[p] == '?' || (pattern[p] != '*' && pattern[p] == text[t]))) {
      ++t, ++p;
    } else if (p < pattern.size() && pattern[p] == '*') {
      star = p++;
      resume = t;
    } else if (star != std::string_view::npos) {
      p = star + 1;
      t = ++resume;
    } else {
      return false;
    }
  }
  while (p < pattern.size() && pattern[p] == '*') ++p;
  return p == pattern.size();
}

std::string name_in_messages(const fs::path& file, const fs::path& folder) {
  const fs::path relative = file.lexically_relative(folder.lexically_normal());
  return relative.empty() || *relative.begin() == ".." ? file.generic_string() : relative.generic_string();
}

/// By file in reading order, then by line, so that findings read as the files do.
void sort_by_place(Flags& flags, const std::vector<std::string>& files) {
  std::vector<Flag> sorted = flags.all();
  const auto rank = [&](const Flag& flag) { return std::find(files.begin(), files.end(), flag.place.file); };
  std::stable_sort(sorted.begin(), sorted.end(), [&](const Flag& a, const Flag& b) {
    const auto ra = rank(a), rb = rank(b);
    return ra != rb ? ra < rb : a.place.line < b.place.line;
  });
  Flags out;
  for (Flag& flag : sorted) out.add(std::move(flag));
  flags = std::move(out);
}

std::vector<std::string> paths_of(std::span<const KeySpec> keys) {
  std::vector<std::string> paths;
  for (const KeySpec& key : keys) paths.emplace_back(key.path);
  return paths;
}

}  // namespace

std::vector<fs::path> matching_files(const fs::path& folder, const std::string& pattern) {
  const fs::path whole = (folder / fs::path(pattern)).lexically_normal();
  const std::string name = whole.filename().string();
  const fs::path parent = whole.parent_path().empty() ? fs::path(".") : whole.parent_path();
  std::vector<fs::path> files;
  std::error_code error;
  fs::directory_iterator entries(parent, error), end;
  while (!error && entries != end) {
    std::error_code unreadable;
    if (entries->is_regular_file(unreadable) && matches(entries->path().filename().string(), name)) {
      files.push_back(entries->path().lexically_normal());
    }
    entries.increment(error);
  }
  std::sort(files.begin(), files.end());
  return files;
}

Season read_season(const fs::path& plan_file, Flags& flags) {
  Season season;
  Flags found;
  season.plan = read_plan(read_whole(plan_file), plan_file, found);
  std::vector<std::string> files = {plan_file.filename().string()};
  const std::string& pattern = season.plan.species;
  const std::string folder_part = fs::path(pattern).parent_path().string();
  const Place plan_place{files.front(), 0, {}};
  if (folder_part.find_first_of("*?") != std::string::npos) {
    found.add(Severity::stop, "species pattern", plan_place,
              fmt::format("[season] species = \"{}\": * and ? may stand in the file's name only.", pattern),
              "Write it like species = \"species/*.toml\".");
  } else {
    for (const fs::path& file : matching_files(season.plan.folder, pattern)) {
      files.push_back(name_in_messages(file, season.plan.folder));
      season.sheets.push_back(read_sheet(read_whole(file), files.back(), found));
    }
    if (season.sheets.empty()) {
      found.add(Severity::stop, "no sheet", plan_place,
                fmt::format("[season] species = \"{}\" matches no file.", pattern),
                "Put the species sheets there, one file for each species.");
    }
  }
  if (!season.plan.traits.empty()) {
    files.push_back(name_in_messages(season.plan.traits, season.plan.folder));
    if (fs::is_regular_file(season.plan.traits)) {
      season.traits = read_traits(read_whole(season.plan.traits), files.back(), found);
    } else {
      found.add(Severity::stop, "no characters", plan_place,
                fmt::format("[season] traits: there is no file {}.", files.back()),
                "Write the characters there, or take traits out of the plan.");
    }
  }
  std::stable_sort(season.sheets.begin(), season.sheets.end(),
                   [](const Sheet& a, const Sheet& b) { return a.code < b.code; });
  check_season(season, found);
  sort_by_place(found, files);
  for (const Flag& flag : found.all()) flags.add(flag);
  return season;
}

Sheet read_proposed_sheet(const Season& season, const fs::path& file, Flags& flags) {
  Sheet proposed = read_sheet(read_whole(file), file.generic_string(), flags);
  proposed.file = file.generic_string();
  if (!flags.stopped()) check_proposed_sheet(season, proposed, flags);
  return proposed;
}

void check_proposed_sheet(const Season& season, Sheet& proposed, Flags& flags) {
  Season changed = season;
  const auto place = std::find_if(changed.sheets.begin(), changed.sheets.end(),
                                  [&](const Sheet& sheet) { return sheet.code == proposed.code; });
  if (place == changed.sheets.end()) {
    std::vector<std::string> codes;
    for (const Sheet& sheet : season.sheets) codes.push_back(sheet.code);
    flags.add(Severity::stop, "unknown species", {proposed.file, 0, {}},
              fmt::format("is a sheet for '{}', which is no species of this season.", proposed.code),
              fmt::format("Its species are {}.", in_words(codes)));
    return;
  }
  // The others were found sound when the season was read: what is new is of this sheet.
  Flags of_season, found;
  check_season(changed, of_season);
  *place = proposed;
  check_rule(proposed, found);
  check_season(changed, found);
  proposed = *place;
  const auto same = [](const Flag& a, const Flag& b) {
    return a.check == b.check && a.meaning == b.meaning && a.place.line == b.place.line;
  };
  for (const Flag& flag : found.all()) {
    const auto is_it = [&](const Flag& other) { return same(flag, other); };
    if (std::none_of(of_season.all().begin(), of_season.all().end(), is_it) &&
        std::none_of(flags.all().begin(), flags.all().end(), is_it))
      flags.add(flag);
  }
}

std::vector<std::string> plan_keys() { return paths_of(plan_key_specs()); }
std::vector<std::string> sheet_keys() { return paths_of(sheet_key_specs()); }
std::vector<std::string> traits_keys() { return paths_of(traits_key_specs()); }

}  // namespace swardline
