// Marks as people write them, against a room of few names.

#include "sched/journal/mark_words.hpp"

#include "tests/catch.hpp"

namespace {

using namespace sched::journal;

Names room() {
    const auto t = [](int minute) {
        return *model::parse_date_time("2026-11-26T09:00") + model::minutes(minute);
    };
    return {.screens = {"A7-1", "A7-2", "A7-3", "B1-1"},
            .orders = {"A7", "B1"},
            .stations = {"cabinet", "cabinet 2", "at the door"},
            .people = {"Ada", "Ada B", "Ben"},
            .pots = {"blue 1"},
            .returned = {"R1"},
            .ways = {{"A7-2",
                      {{"degrease", 1, t(0), t(5), "sink", "Ada"},
                       {"dry-mesh", 1, t(6), t(36), "cabinet", ""},
                       {"coat", 1, t(40), t(44), "stand", "Ben"},
                       {"dry-coat", 1, t(45), t(75), "cabinet", ""},
                       {"face-coat", 1, t(80), t(82), "stand", "Ben"},
                       {"face-coat", 2, t(120), t(122), "stand", "Ben"}}}}};
}

Said read(const std::string& words) {
    std::string problem;
    const auto said = read_mark(words, room(), problem);
    INFO(words << ": " << problem);
    REQUIRE(said.has_value());
    return *said;
}

std::string refused(const std::string& words) {
    std::string problem;
    INFO(words);
    CHECK_FALSE(read_mark(words, room(), problem));
    return problem;
}

}  // namespace

TEST_CASE("each mark in the words of the room", "[journal]") {
    CHECK(read("done A7-2").entry.mark == Mark::Done);
    CHECK(read("done A7-2").entry.step.empty());
    CHECK(read("  DONE  a7-2 Dry Coat ").entry.step == "dry-coat");
    CHECK(read("start A7-2 dry-coat").entry.step == "dry-coat");
    const Said face = read("start A7-2 face coat 2 in cabinet 2 with Ada B at 10:05");
    CHECK(face.entry.step == "face-coat");
    CHECK(face.entry.round == 2);
    CHECK(face.entry.station == "cabinet 2");  // the longest name
    CHECK(face.entry.person == "Ada B");
    CHECK(face.clock == "10:05");
    CHECK(read("start A7-2 at 10:05 with Ada").clock == "10:05");
    CHECK(read("start A7-2 at 10:05 with Ada").entry.person == "Ada");
    CHECK(read("film A7 at 2026-11-27 09:00").clock == "2026-11-27 09:00");
    CHECK(read("done A7-2 take out").entry.step == "take-out");
    CHECK(read("remake A7-2 pinhole at the edge").entry.reason == "pinhole at the edge");
    CHECK_FALSE(read("remake A7-2 pinhole at the edge").clock);
    const Said again = read("remake A7-2 pinhole from the jet from degrease at 2026-11-26T11:00");
    CHECK(again.entry.reason == "pinhole from the jet");
    CHECK(again.entry.step == "degrease");
    CHECK(again.clock == "2026-11-26T11:00");
    CHECK(read("down cabinet 2").entry.what == "cabinet 2");
    CHECK(read("down cabinet fan broken").entry.what == "cabinet");
    CHECK(read("down cabinet fan broken").entry.reason == "fan broken");
    CHECK(read("up at the door at 12:00").entry.what == "at the door");
    CHECK(read("absent Ada").entry.what == "Ada");
    CHECK(read("present ada b").entry.what == "Ada B");
    CHECK(read("film A7 at 12:30").entry.what == "A7");
    CHECK(read("returned 58 x 84 cm").entry.what == "58 x 84 cm");
    CHECK(read("returned R1").entry.what == "R1");
    CHECK(read("empty blue 1").entry.mark == Mark::Empty);
    CHECK(read("longer Ada B").entry.what == "Ada B");
    CHECK(read("longer Ada B").entry.mark == Mark::Longer);
    CHECK(read("first A7").entry.mark == Mark::First);
    CHECK(read("another b1 at 12:30").entry.what == "B1");
    CHECK(refused("longer Zoe").find("nobody is called \"Zoe\"") != std::string::npos);
    CHECK(refused("another Z9").find("no order is called \"Z9\"") != std::string::npos);
    CHECK(read("undo").last);
    CHECK(read("undo 17").entry.undoes == 17);
    CHECK(read("start B1-1 haze").entry.step == "haze");  // nothing is planned of it: any step
}

TEST_CASE("a mark that names nothing says what is closest", "[journal]") {
    CHECK(refused("doen A7-2") == "\"doen\" is no mark. Did you mean done or down?");
    CHECK(refused("done A7-4").find("Did you mean A7-1, A7-2 or A7-3?") != std::string::npos);
    CHECK(refused("done A7").find("no screen of the orders is called \"A7\"") == 0);
    CHECK(refused("down cabnet").find("Did you mean cabinet?") != std::string::npos);
    CHECK(refused("absent Zoe").find("Known: Ada, Ada B, Ben.") != std::string::npos);
    CHECK(refused("done A7-2 haze").find("is not on the way of A7-2") != std::string::npos);
    CHECK(refused("done A7-2 face coat 3").find("is not on the way") != std::string::npos);
    CHECK(refused("done A7-2 coat thrice").find("is too much") != std::string::npos);
    CHECK(refused("done A7-2 plish").find("is no step") != std::string::npos);
    CHECK(refused("start A7-2 coat in moon").find("no station is called \"moon\"") == 0);
    CHECK(refused("done").find("needs the tag of a screen") != std::string::npos);
    CHECK(refused("").find("is no mark") != std::string::npos);
    CHECK(refused("posted plan").find("is no mark") != std::string::npos);
    CHECK(refused("undo it").find("names no entry") != std::string::npos);
    CHECK(refused("undo 99999999999999999999").find("names no entry") != std::string::npos);
}
