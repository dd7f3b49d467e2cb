// Recording habits: named where accident would hardly do it, and hardly ever of an honest observer.
#include <random>

#include "made_returns.hpp"

namespace flags_habits_test {

using namespace swardline;
using namespace swardline::testing;

namespace {

const Day may_28 = day_of(2027, 5, 28);

/// Counts of clumped plants: many zeros, a long tail (a Poisson count of a gamma mean).
class Clumped {
 public:
  explicit Clumped(unsigned seed) : engine_(seed) {}
  int operator()(double mean, double k = 0.5) {
    const double of_plot = std::gamma_distribution<double>(k, mean / k)(engine_);
    return of_plot > 0 ? std::poisson_distribution<int>(of_plot)(engine_) : 0;
  }
  std::mt19937& engine() { return engine_; }

 private:
  std::mt19937 engine_;
};

/// More plots, each with rows of four species by an observer.
void add_plots(MadeReturns& made, int plots) {
  const ExpectedPlot like = made.expected.plots.front();
  for (int i = 0; i < plots; ++i) {
    ExpectedPlot plot = like;
    plot.site = "XTR";
    plot.name = "XTR" + std::to_string(1000 + i);
    plot.stratum = "XTR|" + std::to_string(i % 3);
    plot.lat += 0.001 * (20 + i);
    made.expected.plots.push_back(plot);
  }
}

}  // namespace

TEST_CASE("all multiples of ten") {
  const auto with = [](int tens, int others) {
    MadeReturns made;
    made.expected.searched.clear();
    add_plots(made, 20);
    for (int i = 0; i < tens; ++i)
      made.row("XTR" + std::to_string(1000 + i), "PDIG", 10 * (1 + i % 4), may_28);
    for (int i = 0; i < others; ++i)
      made.row("XTR" + std::to_string(1000 + tens + i), "PDIG", 13 + i, may_28);
    return made.flags();
  };
  const ReturnFlag flag = only(with(9, 0), 25);
  CHECK(flag.severity == Severity::note);
  CHECK(flag.rows.size() == 9);
  CHECK(flag.plot == -1);
  CHECK(flag.value == "041");
  CHECK(says(flag.reason, "observer 041: 9 counts of ten stems or more, all multiples of 10"));
  CHECK(says(flag.reason, "less than once in a million observers"));
  none(with(8, 0));  // 0.2^8 is once in 390,000
  none(with(9, 4));
  CHECK(says(only(with(14, 2), 25).reason, "14 of 16 counts"));
}

TEST_CASE("every visit as long as the other") {
  const auto with = [](int visits, int step, int last) {
    MadeReturns made;
    made.expected.searched.clear();
    add_plots(made, visits);
    for (int i = 0; i < visits; ++i) {
      ReturnRow& row = made.row("XTR" + std::to_string(1000 + i), "PDIG", i % 7, may_28);
      row.start = std::int16_t(540 + step * i);
      row.finish = std::int16_t(row.start + (i + 1 == visits ? last : 17));
    }
    return made.flags();
  };
  CHECK(says(only(with(11, 21, 17), 25).reason, "11 visits, every one 17 minutes long"));
  none(with(10, 21, 17));
  none(with(11, 21, 18));
  none(with(11, 0, 17));   // the day's start and finish beside every plot
  none(with(20, 25, 17));  // clocks read to five minutes
  only(with(21, 25, 17), 25);
}

TEST_CASE("zeros never recorded, where others find none in many") {
  MadeReturns made;
  made.expected.searched.clear();
  add_plots(made, 60);
  for (int i = 0; i < 60; ++i)
    for (const char* code : {"PDIG", "PTUB", "PCOB"}) {
      const bool other = i < 30;
      made.row("XTR" + std::to_string(1000 + i), code, other && (i + code[1]) % 4 != 0 ? 0 : 1 + i * 7 % 13,
               may_28, other ? "052" : "041");
    }
  const ReturnFlag flag = only(made.flags(), 25);
  CHECK(says(flag.reason, "observer 041: 90 counts on 30 visits, not one of them zero"));
  made.returns.rows.back().stems = 0;  // one was
  none(made.flags());
}

TEST_CASE("where nobody writes zeros nothing can be told from their absence") {
  MadeReturns made;
  made.expected.searched.clear();
  add_plots(made, 40);
  Clumped clumped(7);
  made.season.sheets[2].window.reset();
  for (int i = 0; i < 40; ++i)
    for (const char* code : {"PCOB", "PDIG", "PTEN", "PTUB"})
      made.row("XTR" + std::to_string(1000 + i), code, 1 + clumped(30, 2), may_28, i < 20 ? "041" : "052");
  none(of_check(made.flags(), 25));
}

TEST_CASE("the same counts on three plots are copied; the same small counts on two are not") {
  MadeReturns made;
  made.expected.searched.clear();
  made.season.sheets[2].window.reset();
  add_plots(made, 40);
  Clumped clumped(7);
  const char* codes[] = {"PCOB", "PDIG", "PTEN", "PTUB"};
  for (int i = 0; i < 40; ++i)
    for (const char* code : codes)
      made.row("XTR" + std::to_string(1000 + i), code, clumped(30, 2), may_28, i < 20 ? "041" : "052");
  const auto copy = [&](int from, int to) {
    for (int s = 0; s < 4; ++s)
      made.returns.rows[std::size_t(4 * to + s)].stems = made.returns.rows[std::size_t(4 * from + s)].stems;
  };
  const int distinct[] = {37, 11, 23, 52};
  for (int s = 0; s < 4; ++s) made.returns.rows[std::size_t(s)].stems = distinct[s];
  none(of_check(made.flags(), 25));
  copy(0, 5);
  copy(0, 9);
  const ReturnFlag flag = only(made.flags(), 25);
  CHECK(flag.rows.size() == 12);
  CHECK(says(flag.reason, "XTR1000, XTR1005 and XTR1009 have the same 4 counts: copied rows"));
}

TEST_CASE("honest observers and clumped plants raise no habit and no unusual count") {
  // 200 seasons of 10 observers with 24 plots of four species, read to the minute, sites good and poor.
  std::size_t habits = 0, unusual = 0, rows = 0;
  for (unsigned season = 0; season < 200; ++season) {
    MadeReturns made;
    made.expected.searched.clear();
    made.season.sheets[2].window.reset();
    add_plots(made, 240);
    Clumped clumped(season + 1);
    for (int i = 0; i < 240; ++i) {
      const double good = 0.5 + double(i / 24 % 5);
      int start = 500 + i % 24 * 19;
      const int minutes = 8 + clumped(9, 3);
      for (const char* code : {"PCOB", "PDIG", "PTEN", "PTUB"}) {
        ReturnRow& row =
            made.row("XTR" + std::to_string(1000 + i), code, clumped(3 * good, code[1] == 'D' ? 1.0 : 0.3),
                     may_28, "0" + std::to_string(40 + i / 24));
        row.start = std::int16_t(start);
        row.finish = std::int16_t(start + minutes);
        ++rows;
      }
    }
    const std::vector<ReturnFlag> flags = made.flags();
    habits += of_check(flags, 25).size();
    unusual += of_check(flags, 20).size();
  }
  MESSAGE("2,000 honest observers, " << rows << " counts: " << habits << " habits, " << unusual
                                     << " unusual counts");
  CHECK(habits == 0);
  CHECK(unusual <= 20);
}

}  // namespace flags_habits_test
