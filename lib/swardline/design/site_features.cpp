// What a site's feature says of itself, whether it is an area or a line.
#include <fmt/format.h>

#include <algorithm>

#include "swardline/base/text.hpp"
#include "swardline/design/site_parts.hpp"

namespace swardline::site_parts {
namespace {

std::string trimmed(const std::string& text) {
  const auto first = text.find_first_not_of(" \t\r\n");
  if (first == std::string::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t\r\n") - first + 1);
}

}  // namespace

std::string field(const Feature& feature, const std::string& key) {
  const auto found = feature.fields.find(key);
  return found == feature.fields.end() ? std::string{} : trimmed(found->second);
}

bool has_code_attribute(const SitesSpec& spec, const SourceSpec& source, const VectorLayer& layer,
                        Flags& flags) {
  std::vector<std::string> keys;
  for (const Feature& feature : layer.features) {
    if (feature.fields.contains(spec.code)) return true;
    for (const auto& [key, value] : feature.fields) {
      if (std::find(keys.begin(), keys.end(), key) == keys.end()) keys.push_back(key);
    }
  }
  if (layer.features.empty()) return false;
  const std::string near = nearest_word(spec.code, keys);
  const std::string is_private = std::find(spec.private_attributes.begin(), spec.private_attributes.end(),
                                           spec.code) != spec.private_attributes.end()
                                     ? " (it is listed as private, so it is never read)"
                                     : "";
  flags.add(Severity::stop, "no code attribute", {source.file.filename().string(), 0, ""},
            fmt::format("no attribute `{}` holds the sites' codes{}.", spec.code, is_private),
            near.empty() ? fmt::format("Set code = \"…\" under [sites] to one of: {}.", in_words(keys))
                         : fmt::format("Set code = \"{}\" under [sites]?", near));
  return false;
}

std::string code_of(const SitesSpec& spec, const Feature& feature, Flags& flags) {
  std::string code = field(feature, spec.code);
  if (code.empty()) {
    flags.add(Severity::stop, "site without a code", feature.place,
              fmt::format("attribute `{}` is empty, so nothing can be named after this site.", spec.code),
              "Give it a code of two to four letters.");
  } else if (code != feature.fields.at(spec.code)) {
    flags.add(Severity::note, "blanks round a code", feature.place,
              fmt::format("code \"{}\" is read as \"{}\".", feature.fields.at(spec.code), code));
  }
  return code;
}

std::map<std::string, std::string> open_attributes(const SitesSpec& spec, const Feature& feature) {
  std::map<std::string, std::string> attributes;
  const auto& hidden = spec.private_attributes;
  for (const auto& [key, value] : feature.fields) {
    const bool is_private = std::find(hidden.begin(), hidden.end(), key) != hidden.end();
    if (!is_private && key != spec.code && key != spec.name) attributes[key] = value;
  }
  return attributes;
}

}  // namespace swardline::site_parts
