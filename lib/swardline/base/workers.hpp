// Work shared over threads, in contiguous runs so that each worker reads on.
#pragma once

#include <cstddef>
#include <functional>

namespace swardline {

/// Threads to use when the user names none: the machine's.
[[nodiscard]] int default_threads();

/// Calls `work(worker, begin, end)` for contiguous runs that together are [0, count),
/// each worker (0 … threads-1) in one thread with one run. The first exception is
/// rethrown after all workers have stopped. Results must not depend on `threads`.
void in_runs(std::size_t count, int threads,
             const std::function<void(int worker, std::size_t begin, std::size_t end)>& work);

}  // namespace swardline
