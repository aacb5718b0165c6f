// Ten answers become a shop, and the shop files that the reader takes.

#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <fstream>

#include "model/begin/answers_file.hpp"
#include "model/begin/files.hpp"
#include "model/read/scenario.hpp"
#include "tests/catch.hpp"

using namespace model;
using namespace model::begin;

namespace {

namespace fs = std::filesystem;

const LocalDate today{std::chrono::year{2026}, std::chrono::November, std::chrono::day{25}};

struct Begun {
    Diagnostics diagnostics;
    std::optional<Shop> shop;
    std::vector<Answer> answers;
    explicit Begun(std::string_view text) {
        if (auto read = read_answers(text, "answers.txt", diagnostics)) {
            answers = *read;
            shop = shop_of(answers, "answers.txt", diagnostics);
        }
    }
    std::string words() const {
        std::string out;
        for (const Diagnostic& d : diagnostics.sorted())
            out += to_text(d) + "\n";
        return out;
    }
    // The files read back as a scenario.
    std::optional<Scenario> scenario() {
        const fs::path folder =
            fs::temp_directory_path() / ("coatroom_begin_" + std::to_string(::getpid()));
        fs::create_directories(folder);
        for (const NewFile& file : files_of(*shop, "Test", today, answers))
            std::ofstream(folder / file.name, std::ios::binary) << file.text;
        auto read = read_scenario(folder.string(), diagnostics, {.day = midnight(today)});
        fs::remove_all(folder);
        return read;
    }
};

std::string answers_of(const char* name) {
    std::ifstream in(std::string(COATROOM_SOURCE) + "/scenarios/answers/" + name, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

}  // namespace

TEST_CASE("there are ten questions, and Enter ten times is a room", "[begin]") {
    CHECK(questions().size() == 10);
    Begun begun("");
    REQUIRE(begun.shop);
    const auto scenario = begun.scenario();
    CAPTURE(begun.words());
    REQUIRE(scenario);
    CHECK(begun.diagnostics.all().empty());  // not a single warning either
    CHECK(scenario->room.people.size() == 2);
    CHECK(scenario->room.name == "Test");
    int screens = 0;
    for (const Order& order : scenario->orders) {
        for (const ScreenLine& line : order.lines)
            screens += line.count;
    }
    CHECK(screens == 8);  // half of the frames
}

TEST_CASE("a small shop as answers", "[begin]") {
    Begun begun(answers_of("small-shop.txt"));
    CAPTURE(begun.words());
    REQUIRE(begun.shop);
    CHECK(begun.shop->booths == 0);
    CHECK(begun.shop->meshes[0].name == "77-55");  // the usual thread of 77 per cm
    CHECK(begun.shop->meshes[1].name == "120-34");
    const auto scenario = begun.scenario();
    CAPTURE(begun.words());
    REQUIRE(scenario);
    CHECK(begun.diagnostics.all().empty());
    const auto& emulsion = scenario->room.emulsions.front();
    CHECK(emulsion.name == "photopolymer B");
    CHECK(emulsion.base_exposure == Seconds{25});
}

TEST_CASE("a large shop as answers", "[begin]") {
    Begun begun(answers_of("large-shop.txt"));
    CAPTURE(begun.words());
    REQUIRE(begun.shop);
    const auto scenario = begun.scenario();
    CAPTURE(begun.words());
    REQUIRE(scenario);
    CHECK(begun.diagnostics.all().empty());
    const Room& room = scenario->room;
    REQUIRE(room.people.size() == 7);
    const auto can = [&](std::size_t who, Step step) {
        const auto& list = room.people[who].can;
        return list.empty() || std::find(list.begin(), list.end(), step) != list.end();
    };
    CHECK(can(0, Step::Expose));
    CHECK_FALSE(can(2, Step::Coat));
    CHECK(can(2, Step::WashOut));
    CHECK(room.people[4].can == std::vector<Step>{Step::TakeOut});
    CHECK_FALSE(can(5, Step::Expose));
    CHECK(can(5, Step::Coat));
    CHECK(can(6, Step::Strip));
    CHECK_FALSE(can(6, Step::Inspect));
    CHECK(room.people[3].shifts.front().from == hours(9));
    CHECK(room.people[3].breaks.size() == 1);
    CHECK(room.people[0].breaks.size() == 2);
    CHECK(room.limits.two_people_from.has_value());  // 90 x 120 cm
    const auto units = std::count_if(room.stations.begin(), room.stations.end(),
                                     [](const Station& s) { return s.lamp.has_value(); });
    CHECK(units == 2);
}

TEST_CASE("answers are numbers or words", "[begin]") {
    const Question& sinks = questions()[3];
    CHECK(settled(sinks, "") == "1 sink, 1 washout booth");
    CHECK(settled(sinks, " 2 ") == "1 sink for everything");
    CHECK(settled(sinks, "4") == "4");  // no such answer: as said
    Shop shop;
    CHECK(answer("cabinet", "12", shop).empty());
    CHECK(shop.cabinet == 12);
    CHECK(answer("cabinet", "none, a rack of 16", shop).empty());
    CHECK_FALSE(shop.cabinet);
    CHECK(shop.rack == 16);
    CHECK(answer("frames", "4 of 23 x 33 in 195/in", shop).empty());
    CHECK(shop.meshes.front().name == "77-55");       // 195 / 2.54 = 76.8 per cm
    CHECK(answer("people", "Ada, \xC2\xA0", shop) ==  // U+00A0, a no-break space
          "\"\xC2\xA0\" is no name. Write names with commas: Ada, Ben");
}

TEST_CASE("of breaks for all everybody has those of the own shift", "[begin]") {
    Shop shop;
    CHECK(answer("people", "Ada, Ben, Nora", shop).empty());
    CHECK(answer("hours", "Mon-Fri 6:00-14:00; Ben Mon-Fri 14:00-22:00; Nora Mon-Fri 22:00-6:00",
                 shop)
              .empty());
    CHECK(
        answer("breaks", "30 min at 12:00; 30 min at 18:00; 30 min at 2:00; 20 min at 21:50", shop)
            .empty());
    using Texts = std::vector<std::string>;
    CHECK(shop.people[0].breaks == Texts{"30 min at 12:00"});
    CHECK(shop.people[1].breaks == Texts{"30 min at 18:00"});
    CHECK(shop.people[2].breaks == Texts{"30 min at 2:00"});
    // Who is named gets it as said: `check` tells that it lies in no shift.
    CHECK(answer("breaks", "Ben 30 min at 12:00", shop).empty());
    CHECK(shop.people[1].breaks == Texts{"30 min at 12:00"});
}

TEST_CASE("who works twice a day says the days once", "[begin]") {
    Shop shop;
    CHECK(answer("people", "Ada, Ben", shop).empty());
    using Texts = std::vector<std::string>;
    const Texts twice{"Mon-Fri 7:00-11:00", "Mon-Fri 13:00-17:00"};
    for (const char* said :
         {"Mon-Fri 7:00-11:00, 13:00-17:00", "Mon-Fri 7:00-11:00 and 13:00-17:00",
          "Mon-Fri 7:00-11:00, Mon-Fri 13:00-17:00", "Mon-Fri 7:00-11:00; Mon-Fri 13:00-17:00"}) {
        INFO(said);
        CHECK(answer("hours", said, shop).empty());
        CHECK(shop.people[0].shifts == twice);
    }
    CHECK(answer("hours", "Ada Mon, Wed 8:00-12:00, 14:00-16:00; Ben Fri 7:00-9:00", shop).empty());
    CHECK(shop.people[0].shifts == Texts{"Mon, Wed 8:00-12:00", "Mon, Wed 14:00-16:00"});
    CHECK(shop.people[1].shifts == Texts{"Fri 7:00-9:00"});
}

// A screen takes two hours from the clean mesh on (scenarios/first-day: check), so nothing of an
// example is due an hour after the shift begins.
TEST_CASE("the example of a night shop is due when the night allows", "[begin]") {
    Begun begun("hours: daily 22:00-6:00\n");
    const auto scenario = begun.scenario();
    INFO(begun.words());
    REQUIRE(scenario);
    const SimTime opens = midnight(today) + hours(22);
    REQUIRE(!scenario->orders.empty());
    for (const Order& order : scenario->orders) {
        INFO(order.name << " " << format_date_time(order.due));
        CHECK(order.due >= opens + hours(4));
        CHECK(order.due <= opens + hours(26));
    }
}

TEST_CASE("what is not understood says what to write", "[begin]") {
    const std::pair<const char*, const char*> wrong[] = {
        {"people: Ada (not whistle)", "whistle"},
        {"people: Ada, ada", "stands there twice"},
        {"hours: 7 to 3", "Mon-Fri 7:00-15:30"},
        {"breaks: at noon", "30 min at 12:00"},
        {"sinks: 2 bathtubs", "neither sink nor booth"},
        {"stands: lots", "1 stand, 1 unit, led"},
        {"cabinet: 10, 60 °C", "40 °C"},
        {"frames: many", "8 of 58 x 84 cm 77-55"},
        {"frames: 8 of 58 x 84 cm fine", "is no mesh"},
        {"emulsion: jelly", "photopolymer, dual-cure or diazo"},
        {"exposure: 25 s", "lamp's distance"},
        {"exposure: 25 s at 110 cm, of 2+2 on 43-80", "none of the meshes"},
        {"exposure: 25 s at 110 cm, of 3+9 on 77-55", "not among them"},
        {"coats: thick", "2+2"},
        {"coats: 3+1", "1 or 2 coats on the print side"},
        {"colour: red", "answers no question"},
    };
    for (const auto& [text, said] : wrong) {
        const Begun begun(text);
        CAPTURE(text, begun.words());
        CHECK_FALSE(begun.shop);
        CHECK(begun.words().find(said) != std::string::npos);
        CHECK(begun.words().starts_with("answers.txt:1:"));
    }
    // All of them in one pass.
    const Begun two("cabinet: lots\ncoats: thick\n");
    CHECK(two.diagnostics.all().size() == 2);
}
