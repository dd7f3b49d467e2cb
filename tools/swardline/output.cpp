#include "output.hpp"

#include <cpl_conv.h>
#include <cpl_string.h>
#include <fmt/format.h>
#include <unistd.h>

#include <cstdio>
#include <memory>
#include <mutex>

namespace swardline::tool {

std::string printable(const std::string& text) {
  if (CPLIsUTF8(text.data(), int(text.size())) != 0) return text;
  char* ascii = CPLForceToASCII(text.data(), int(text.size()), '?');
  std::string clean = ascii;
  CPLFree(ascii);
  return clean;
}

void say(const Common& common, const std::string& line) {
  if (!common.quiet && !common.json) fmt::print("{}\n", printable(line));
}

std::string in_words(const Flag& flag) {
  const std::string place = flag.place.text();
  return fmt::format("{:<4}  {}{}{}{}{}", word(flag.severity), place, place.empty() ? "" : ": ", flag.meaning,
                     flag.remedy.empty() ? "" : " ", flag.remedy);
}

CPLJSONObject to_json(const Flag& flag) {
  CPLJSONObject object;
  object.Add("severity", word(flag.severity));
  object.Add("check", flag.check);
  object.Add("place", flag.place.text());
  object.Add("meaning", flag.meaning);
  object.Add("remedy", flag.remedy);
  return object;
}

void show_findings(const Common& common, const Flags& flags) {
  if (common.json) return;
  for (const Flag& flag : flags.all())
    if (!common.quiet || flag.severity != Severity::note)
      fmt::print(stderr, "{}\n", printable(in_words(flag)));
}

void add_findings(CPLJSONObject& object, const Flags& flags) {
  CPLJSONArray findings;
  for (const Flag& flag : flags.all()) findings.Add(to_json(flag));
  object.Add("findings", findings);
}

Progress progress_line(const Common& common) {
  if (common.quiet || ::isatty(STDERR_FILENO) == 0) return {};
  struct State {
    std::mutex lock;
    int shown = -1;
    std::string stage;
  };
  auto state = std::make_shared<State>();
  return [state](std::string_view stage, std::int64_t done, std::int64_t all) {
    const std::lock_guard guard(state->lock);
    const int percent = all > 0 ? int(100 * done / all) : 100;
    if (state->stage == stage && percent <= state->shown && done < all) return;
    state->stage = stage;
    state->shown = percent;
    fmt::print(stderr, "\r{} {:3d} %{}", stage, percent, done >= all ? "\r\033[K" : "");
    std::fflush(stderr);
  };
}

void print_json(const Common& common, const CPLJSONObject& object) {
  if (common.json) fmt::print("{}\n", printable(object.Format(CPLJSONObject::PrettyFormat::Pretty)));
}

}  // namespace swardline::tool
