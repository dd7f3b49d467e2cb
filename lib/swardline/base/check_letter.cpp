#include "swardline/base/check_letter.hpp"

#include <cstddef>
#include <iterator>

namespace swardline {

char check_letter(std::string_view code_and_number) {
  constexpr std::string_view check_letters = "ABCDEFGHJKLMNPRSTUVWXYZ";
  constexpr int weights[] = {7, 6, 5, 4, 3};
  int sum = 0;
  for (std::size_t i = 0; i < code_and_number.size(); ++i) {
    const char c = code_and_number[i];
    const int value = c >= '0' && c <= '9' ? c - '0' : c >= 'A' && c <= 'Z' ? c - 'A' + 1 : 0;
    sum += value * weights[i % std::size(weights)];
  }
  return check_letters[std::size_t(sum) % check_letters.size()];
}

}  // namespace swardline
