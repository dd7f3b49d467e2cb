// Progress as the library reports it; what a terminal shows of it is the tool's business.
#pragma once

#include <cstdint>
#include <functional>
#include <string_view>

namespace swardline {

/// Called from any worker thread with work done so far and all there is; the callee locks.
using Progress = std::function<void(std::string_view stage, std::int64_t done, std::int64_t all)>;

}  // namespace swardline
