#include "swardline/base/error.hpp"

#include <string_view>

namespace swardline {
namespace {

// GDAL, PROJ and TOML messages that are passed on may run over several lines.
std::string on_one_line(const std::string& text) {
  std::string out;
  for (const char c : text) {
    const bool blank = c == ' ' || c == '\n' || c == '\r' || c == '\t';
    if (!blank) {
      out += c;
    } else if (!out.empty() && out.back() != ' ') {
      out += ' ';
    }
  }
  if (!out.empty() && out.back() == ' ') out.pop_back();
  return out;
}

bool ends_a_sentence(const std::string& text) {
  return !text.empty() && std::string_view(".?!:").find(text.back()) != std::string_view::npos;
}

std::string message(const Place& place, const std::string& problem, const std::string& remedy) {
  std::string out = on_one_line(problem);
  if (!remedy.empty()) {
    if (!ends_a_sentence(out)) out += '.';
    out += ' ' + on_one_line(remedy);
  }
  const std::string where = on_one_line(place.text());
  return where.empty() ? out : where + ": " + out;
}

}  // namespace

Error::Error(Status status, const Place& place, const std::string& problem, const std::string& remedy)
    : std::runtime_error(message(place, problem, remedy)), status_(status) {}

}  // namespace swardline
