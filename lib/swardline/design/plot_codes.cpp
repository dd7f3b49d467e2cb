#include "swardline/design/plot_codes.hpp"

#include <fmt/format.h>

#include <map>

#include "swardline/base/text.hpp"

namespace swardline {
namespace {

CodeProblem no_stem(const std::string& code, std::size_t which) {
  return {
      which,
      fmt::format("code {} has no letter A to Z and no digit: nothing of it can go into plot names.", code),
      "Give the site a code with some."};
}

CodeProblem same_stem(const std::string& first, const std::string& second, const std::string& stem,
                      std::size_t which) {
  return {
      which,
      fmt::format("codes {} and {} give the same plot names: both begin with {} there.", first, second, stem),
      "Give one of them a code with other letters or digits."};
}

std::vector<CodeProblem> problems_of(const std::vector<std::string>& codes) {
  std::vector<CodeProblem> problems;
  std::map<std::string, std::string> code_of;
  for (std::size_t i = 0; i < codes.size(); ++i) {
    const std::string stem = name_stem(codes[i]);
    if (stem.empty()) {
      problems.push_back(no_stem(codes[i], i));
    } else if (const auto [found, added] = code_of.emplace(stem, codes[i]); !added) {
      problems.push_back(same_stem(found->second, codes[i], stem, i));
    }
  }
  return problems;
}

}  // namespace

std::string name_stem(std::string_view site) {
  std::string stem;
  for (const char c : upper_ascii(site))
    if ((c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9')) stem += c;
  return stem;
}

std::optional<CodeProblem> problem_of_codes(const std::vector<std::string>& codes) {
  const std::vector<CodeProblem> problems = problems_of(codes);
  return problems.empty() ? std::nullopt : std::optional(problems.front());
}

void check_plot_codes(const std::vector<Site>& sites, Flags& flags) {
  std::vector<std::string> codes;
  for (const Site& site : sites) codes.push_back(site.code);
  for (const CodeProblem& problem : problems_of(codes)) {
    const bool empty = name_stem(codes[problem.which]).empty();
    flags.add(Severity::stop, empty ? "code without a plot name" : "codes with the same plot names",
              sites[problem.which].place, problem.meaning, problem.remedy);
  }
}

}  // namespace swardline
