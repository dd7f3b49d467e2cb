// [packet]: what site sheets show.
#include "season_folder.hpp"
#include "swardline/season/read_packet.hpp"

using namespace swardline;

TEST_CASE("Telephone numbers and addresses are known as such") {
  for (const char* text : {"555-0134-22", "call (913) 555 0134", "+44 20 7946 0000", "ask@meadow.example"})
    CHECK_MESSAGE(tells_how_to_reach(text), text);
  for (const char* text : {"[coordinator writes in]", "the north team's lead", "car park 12, gate 3",
                           "meet @ gate", "2027", "1 May to 30 June 2027"})
    CHECK_MESSAGE(!tells_how_to_reach(text), text);
}
