// What GDAL complains of while an object of this kind lives. Private to the library.
#pragma once

#include <cpl_error.h>

#include <string>
#include <vector>

namespace swardline {

/// Collects GDAL's errors and warnings of this thread instead of printing them.
class GdalErrors {
 public:
  GdalErrors() { CPLPushErrorHandlerEx(remember, this); }
  ~GdalErrors() { CPLPopErrorHandler(); }
  GdalErrors(const GdalErrors&) = delete;
  GdalErrors& operator=(const GdalErrors&) = delete;

  [[nodiscard]] const std::vector<std::string>& errors() const { return errors_; }
  [[nodiscard]] const std::vector<std::string>& warnings() const { return warnings_; }
  /// The first error in GDAL's words, or `otherwise`.
  [[nodiscard]] std::string first(const std::string& otherwise) const {
    return errors_.empty() ? otherwise : errors_.front();
  }

 private:
  static void CPL_STDCALL remember(CPLErr severity, CPLErrorNum, const char* message) {
    auto* self = static_cast<GdalErrors*>(CPLGetErrorHandlerUserData());
    constexpr std::size_t enough = 100;
    std::vector<std::string>* list = severity >= CE_Failure   ? &self->errors_
                                     : severity == CE_Warning ? &self->warnings_
                                                              : nullptr;
    if (list != nullptr && list->size() < enough) list->emplace_back(message);
  }

  std::vector<std::string> errors_;
  std::vector<std::string> warnings_;
};

}  // namespace swardline
