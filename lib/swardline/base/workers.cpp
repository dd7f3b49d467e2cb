#include "swardline/base/workers.hpp"

#include <algorithm>
#include <exception>
#include <system_error>
#include <thread>
#include <vector>

namespace swardline {

int default_threads() { return std::max(1, static_cast<int>(std::thread::hardware_concurrency())); }

void in_runs(std::size_t count, int threads,
             const std::function<void(int worker, std::size_t begin, std::size_t end)>& work) {
  if (count == 0) return;
  const std::size_t workers = std::min(count, static_cast<std::size_t>(std::max(threads, 1)));
  const std::size_t share = count / workers;
  const std::size_t left_over = count % workers;

  std::vector<std::exception_ptr> failures(workers);
  const auto run = [&](std::size_t worker) {
    const std::size_t begin = worker * share + std::min(worker, left_over);
    const std::size_t end = begin + share + (worker < left_over ? 1 : 0);
    try {
      work(static_cast<int>(worker), begin, end);
    } catch (...) {
      failures[worker] = std::current_exception();
    }
  };

  std::vector<std::thread> started;
  started.reserve(workers - 1);
  std::size_t next = 1;
  try {
    for (; next < workers; ++next) started.emplace_back(run, next);
  } catch (const std::system_error&) {
    // The system gives no more threads: what is left is done here, more slowly.
  }
  run(0);
  for (; next < workers; ++next) run(next);
  for (std::thread& thread : started) thread.join();

  // The lowest run's failure, not the earliest in time: the message is then the same every time.
  for (const std::exception_ptr& failure : failures) {
    if (failure) std::rethrow_exception(failure);
  }
}

}  // namespace swardline
