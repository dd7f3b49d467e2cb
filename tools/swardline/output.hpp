// What the terminal shows: findings, progress, and summaries in words or JSON.
#pragma once

#include <cpl_json.h>

#include <string>
#include <string_view>

#include "commands.hpp"
#include "swardline/base/flag.hpp"
#include "swardline/base/progress.hpp"

namespace swardline::tool {

/// The text in UTF-8; bytes of another code page (a damaged file quoted back) become '?'.
[[nodiscard]] std::string printable(const std::string& text);

/// A line on standard output, unless --quiet or --json.
void say(const Common& common, const std::string& line);

/// One finding: severity, place, meaning, remedy.
[[nodiscard]] std::string in_words(const Flag& flag);
[[nodiscard]] CPLJSONObject to_json(const Flag& flag);
/// Findings on standard error: all of them, with --quiet those that need a person (STOP, ASK), with --json
/// none, because the object holds them.
void show_findings(const Common& common, const Flags& flags);
/// Adds the array "findings": severity, check, place, meaning, remedy.
void add_findings(CPLJSONObject& object, const Flags& flags);

/// A progress line on standard error when that is a terminal, else nothing.
[[nodiscard]] Progress progress_line(const Common& common);

/// Prints a JSON object when --json was given.
void print_json(const Common& common, const CPLJSONObject& object);

}  // namespace swardline::tool
