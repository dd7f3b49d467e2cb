// Drawing from a block by counting its cells gives the same candidates as by listing them.
#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "small_season.hpp"
#include "swardline/base/random.hpp"
#include "swardline/design/drawing.hpp"

namespace counted_block_test {

using namespace swardline;

namespace {

/// A frame that says which way it was asked, and can be made to give lists only.
class AskedFrame final : public Frame {
 public:
  AskedFrame(const Frame& frame, bool with_kinds) : frame_(frame), with_kinds_(with_kinds) {}
  [[nodiscard]] const std::vector<BlockArea>& blocks() const override { return frame_.blocks(); }
  [[nodiscard]] std::vector<CellArea> cells(const Block& block) const override {
    ++lists;
    return frame_.cells(block);
  }
  [[nodiscard]] std::optional<BlockKinds> kinds(const Block& block) const override {
    if (!with_kinds_) return {};
    ++counts;
    return frame_.kinds(block);
  }
  [[nodiscard]] Geometry ground(std::int64_t col, std::int64_t row) const override {
    return frame_.ground(col, row);
  }
  [[nodiscard]] const Grid& grid() const override { return frame_.grid(); }
  [[nodiscard]] bool weighted() const override { return frame_.weighted(); }

  mutable int lists = 0, counts = 0;

 private:
  const Frame& frame_;
  bool with_kinds_;
};

/// Two sites side by side over whole blocks, cut cells and the pond; they share their strata.
void add_two_wide_sites(SmallSeason& s) {
  s.make_layers(200);
  s.season.plan.strata.by = {"score"};
  s.add_site("QPR",
             "POLYGON ((760113 4209507, 761921 4209551, 761871 4212900, 760008 4212477, 760113 4209507))");
  s.add_site("HDR",
             "POLYGON ((761921 4209551, 763490 4209711, 763401 4212777, 761871 4212900, 761921 4209551))");
}

}  // namespace

TEST_CASE("candidates by counting are those by listing, whole blocks and cut cells alike") {
  SmallSeason s;
  add_two_wide_sites(s);
  for (const double smallest_m2 : {0.0, 500'000.0}) {  // with the second, kinds of ground join
    s.season.plan.strata.smallest_m2 = smallest_m2;
    const SeasonStrata ground = s.strata();
    REQUIRE(ground.strata().size() > 3);
    int counted = 0;
    for (std::size_t stratum = 0; stratum < ground.strata().size(); ++stratum) {
      const auto frame = ground.frame(stratum);
      for (const std::int64_t count : {1, 7, 60, 400, 5000}) {
        const RandomKey key(2027, "counted " + std::to_string(count));
        const AskedFrame both(*frame, true), lists(*frame, false);
        const auto a = hierarchical_candidates(both, count, key),
                   b = hierarchical_candidates(lists, count, key);
        REQUIRE(a.size() == std::size_t(count));
        REQUIRE(b.size() == a.size());
        for (std::size_t i = 0; i < a.size(); ++i) {
          const bool same = a[i].at.x == b[i].at.x && a[i].at.y == b[i].at.y && a[i].col == b[i].col &&
                            a[i].row == b[i].row && a[i].weight == b[i].weight;
          REQUIRE_MESSAGE(same, ground.strata()[stratum].id, " candidate ", i, " of ", count);
        }
        if (count < 60) CHECK(both.lists == 0);
        if (count == 5000) CHECK(both.lists > 0);
        counted += both.counts;
      }
    }
    CHECK(counted > 0);
  }
}

TEST_CASE("kinds of a block and its list hold the same cells") {
  SmallSeason s;
  add_two_wide_sites(s);
  const SeasonStrata ground = s.strata();
  const std::int64_t whole = cell_mm2(ground.frame(0)->grid());
  int with_cut = 0;
  for (std::size_t stratum = 0; stratum < ground.strata().size(); ++stratum) {
    const auto frame = ground.frame(stratum);
    for (const BlockArea& area : frame->blocks()) {
      const auto kinds = frame->kinds(area.block);
      REQUIRE(kinds.has_value());
      std::int64_t cells = std::ssize(kinds->cut), mm2 = 0;
      for (const CellArea& cell : kinds->cut) mm2 += cell.mm2;
      for (const std::uint8_t kind : *kinds->whole) {
        for (const std::uint8_t wanted : kinds->wanted) {
          if (kind != wanted) continue;
          ++cells;
          mm2 += whole;
        }
      }
      with_cut += kinds->cut.empty() ? 0 : 1;
      CHECK(cells == std::ssize(frame->cells(area.block)));
      CHECK(mm2 == area.mm2);
    }
  }
  CHECK(with_cut > 0);
}

TEST_CASE("weighted ground is listed, never counted") {
  SmallSeason s;
  add_two_wide_sites(s);
  s.season.plan.sample.weight = {"score", 0.05, 0.01, {}};
  const SeasonStrata ground = s.strata();
  int weighted = 0;
  for (std::size_t stratum = 0; stratum < ground.strata().size(); ++stratum) {
    const auto frame = ground.frame(stratum);
    if (!frame->weighted()) continue;
    ++weighted;
    CHECK(!frame->kinds(frame->blocks().front().block).has_value());
  }
  CHECK(weighted > 0);
}

}  // namespace counted_block_test
