#include "swardline/report/chart_text.hpp"

#include "swardline/report/text_fit.hpp"

namespace swardline {
namespace {

constexpr Type chart_type{12, false};

}  // namespace

double text_width(std::string_view text) { return text_mm(text, chart_type) / mm_per_point; }

std::string fitted(const std::string& text, double pixels) {
  return fitted(text, pixels * mm_per_point, chart_type);
}

}  // namespace swardline
