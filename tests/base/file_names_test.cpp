#include "swardline/base/file_names.hpp"

#include <doctest/doctest.h>

namespace file_names_test {

using namespace swardline;
using Names = std::vector<std::string>;

TEST_CASE("codes that make one file name get names of their own") {
  CHECK(unique_file_names({"QPR", "S/1", "S 1", "S:1"}) == Names{"QPR", "S_1", "S_1-2", "S_1-3"});
  // What is a file name already keeps it, whatever stands before it.
  CHECK(unique_file_names({"S/1", "S_1", "S 1", "S_1-2"}) == Names{"S_1-3", "S_1", "S_1-4", "S_1-2"});
  // Memory cards do not tell large letters from small.
  CHECK(unique_file_names({"qpr", "QPR"}) == Names{"qpr", "QPR-2"});
  CHECK(unique_file_names({}).empty());
}

}  // namespace file_names_test
