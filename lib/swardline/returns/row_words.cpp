#include "swardline/returns/row_words.hpp"

#include <array>
#include <string>

#include "swardline/base/text.hpp"

namespace swardline {
namespace {

std::string letters_of(std::string_view cell) {
  std::string out;
  for (const char c : lower_ascii(cell))
    if (c >= 'a' && c <= 'z') {
      out += c;
    } else if (!out.empty() && out.back() != ' ') {
      out += ' ';
    }
  while (!out.empty() && out.back() == ' ') out.pop_back();
  return out;
}

template <class Value>
struct WordOf {
  std::string_view word;
  Value value;
};
constexpr std::array<WordOf<Certainty>, 6> certainty_words = {{{"sure", Certainty::sure},
                                                               {"certain", Certainty::sure},
                                                               {"not certain", Certainty::not_certain},
                                                               {"not sure", Certainty::not_certain},
                                                               {"uncertain", Certainty::not_certain},
                                                               {"unsure", Certainty::not_certain}}};
constexpr std::array<WordOf<CountMethod>, 6> method_words = {{{"counted", CountMethod::counted},
                                                              {"count", CountMethod::counted},
                                                              {"half counted", CountMethod::half_counted},
                                                              {"half", CountMethod::half_counted},
                                                              {"class", CountMethod::by_class},
                                                              {"by class", CountMethod::by_class}}};
constexpr std::array<WordOf<Phase>, 9> phase_words = {{{"bud", Phase::bud},
                                                       {"in bud", Phase::bud},
                                                       {"flower", Phase::flower},
                                                       {"flowering", Phase::flower},
                                                       {"in flower", Phase::flower},
                                                       {"capsule", Phase::capsule},
                                                       {"capsules", Phase::capsule},
                                                       {"in capsule", Phase::capsule},
                                                       {"past", Phase::past}}};

template <class Value, std::size_t Size>
Value word_among(const std::array<WordOf<Value>, Size>& words, std::string_view cell) {
  const std::string wanted = letters_of(cell);
  for (const auto& one : words)
    if (one.word == wanted) return one.value;
  return Value::unknown;
}

}  // namespace

Certainty certainty_of(std::string_view text) { return word_among(certainty_words, text); }
CountMethod method_of(std::string_view text) { return word_among(method_words, text); }
Phase phase_of(std::string_view text) { return word_among(phase_words, text); }

bool names_a_photo(std::string_view cell) {
  const std::string wanted = letters_of(cell);
  return wanted != "no" && wanted != "none" && cell != "0" && cell != "-";
}

}  // namespace swardline
