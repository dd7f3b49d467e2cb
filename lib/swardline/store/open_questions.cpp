#include "swardline/store/open_questions.hpp"

#include <string>

#include "swardline/base/flag.hpp"
#include "swardline/store/geopackage.hpp"

namespace swardline {

OpenQuestions open_questions(const std::filesystem::path& file) {
  OpenQuestions open;
  if (!store_exists(file)) return open;
  OpenStore store(file, OpenStore::Use::read);
  OGRLayer* flags = store.table("flags");
  if (flags == nullptr) return open;
  for (const auto& flag : *flags) {
    if (std::string(flag->GetFieldAsString("state")) != "open") continue;
    const std::string severity = flag->GetFieldAsString("severity");
    if (severity == word(Severity::stop)) ++open.stop;
    if (severity == word(Severity::ask)) ++open.ask;
  }
  return open;
}

}  // namespace swardline
