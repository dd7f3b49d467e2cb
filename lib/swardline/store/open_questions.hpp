// Questions about what came back that nobody has answered, as the store holds them.
#pragma once

#include <filesystem>

namespace swardline {

struct OpenQuestions {
  int stop = 0, ask = 0;
  [[nodiscard]] int all() const { return stop + ask; }
};

/// Open STOP and ASK flags of the store's returns: their rows are kept out of every estimate. None where the
/// store holds no returns. Throws IoError where it cannot be read.
[[nodiscard]] OpenQuestions open_questions(const std::filesystem::path& store);

}  // namespace swardline
