#include "swardline/base/workers.hpp"

#include <doctest/doctest.h>

#include <atomic>
#include <mutex>
#include <numeric>
#include <set>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

namespace workers_test {

using namespace swardline;

TEST_CASE("runs cover the work once, in one contiguous run per worker") {
  for (const std::size_t count : {std::size_t{1}, std::size_t{7}, std::size_t{100}}) {
    for (const int threads : {1, 2, 3, 16}) {
      std::vector<int> done(count, 0);
      std::mutex mutex;
      std::set<int> workers;
      in_runs(count, threads, [&](int worker, std::size_t begin, std::size_t end) {
        for (std::size_t i = begin; i < end; ++i) ++done[i];
        const std::lock_guard lock(mutex);
        CHECK(workers.insert(worker).second);
        CHECK(worker < threads);
        CHECK(begin < end);
      });
      CHECK(std::all_of(done.begin(), done.end(), [](int times) { return times == 1; }));
      CHECK(workers.size() == std::min(count, static_cast<std::size_t>(threads)));
    }
  }
}

TEST_CASE("workers run side by side") {
  // Each waits for the other: with one thread this would never end.
  std::atomic<int> arrived = 0;
  in_runs(2, 2, [&](int, std::size_t, std::size_t) {
    ++arrived;
    while (arrived < 2) std::this_thread::yield();
  });
  CHECK(arrived == 2);
}

TEST_CASE("no work calls nobody, and too few threads count as one") {
  int calls = 0;
  in_runs(0, 4, [&](int, std::size_t, std::size_t) { ++calls; });
  CHECK(calls == 0);
  in_runs(5, 0, [&](int, std::size_t begin, std::size_t end) { calls += static_cast<int>(end - begin); });
  CHECK(calls == 5);
  CHECK(default_threads() >= 1);
}

TEST_CASE("the failure of the lowest run is thrown once all workers have stopped") {
  std::atomic<int> finished = 0;
  const auto work = [&](int worker, std::size_t, std::size_t) {
    ++finished;
    if (worker >= 1) throw std::runtime_error("run " + std::to_string(worker));
  };
  CHECK_THROWS_WITH_AS(in_runs(40, 4, work), "run 1", std::runtime_error);
  CHECK(finished == 4);
}

}  // namespace workers_test
