// Marks as the board's devices send them, and what reaches the journal.

#include "sched/app/parts/board_day.hpp"

#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <set>
#include <string>

#include "tests/catch.hpp"

using namespace sched;
namespace fs = std::filesystem;

namespace {

struct MarkedFolder {
    fs::path path;
    MarkedFolder() {
        static std::atomic<int> count{0};
        path = fs::temp_directory_path() /
               ("coatroom-day-" + std::to_string(getpid()) + "-" + std::to_string(count++));
        fs::create_directories(path);
        fs::copy_file(std::string(COATROOM_SOURCE) + "/tests/golden/plan.json", path / "plan.json");
    }
    ~MarkedFolder() { fs::remove_all(path); }
};

model::SimTime at(const char* text) {
    return *model::parse_date_time(text);
}

std::string marks(const std::string& inside) {
    return "{\"marks\": [" + inside + "]}";
}

const std::string start =
    R"({"mark": "start", "what": "A1-1", "step": "coat", "round": 1, "at": "2026-11-26T07:00:00",
        "station": "Stand", "device": "tablet 1", "client": "c1", "by": "AD"})";

}  // namespace

TEST_CASE("what a device marks is in the journal, once", "[board][journal]") {
    const MarkedFolder folder;
    app::BoardDay day(folder.path, folder.path / "plan.json",
                      [] { return at("2026-11-26T07:10"); });
    CHECK(day.version() == "none");
    CHECK_FALSE(journal::Journal::exists(folder.path));  // looking makes no file
    const auto first = day.mark(marks(start));
    REQUIRE(first.status == 200);
    const auto again = day.mark(marks(start));
    REQUIRE(again.status == 200);
    const auto one = nlohmann::json::parse(first.body)["entered"][0];
    const auto two = nlohmann::json::parse(again.body)["entered"][0];
    CHECK(one["fresh"] == true);
    CHECK(two["fresh"] == false);
    CHECK(one["id"] == two["id"]);
    // The plan that hangs is entered before the first mark against it.
    const auto entries = day.entries();
    REQUIRE(entries.size() == 2);
    CHECK(entries[0].mark == journal::Mark::Posted);
    CHECK(entries[1].what == "A1-1");
    CHECK(entries[1].time == at("2026-11-26T07:00"));
    CHECK(entries[1].entered == at("2026-11-26T07:10"));
    const std::string version = day.version();
    const auto undone = day.mark(marks(R"({"mark": "undo", "device": "tablet 1", "client": "c2",
                                           "undoes": )" +
                                       std::to_string(one["id"].get<int>()) + "}"));
    CHECK(undone.status == 200);
    CHECK(day.version() != version);
    const auto told = nlohmann::json::parse(day.json());
    REQUIRE(told["marks"].size() == 1);
    CHECK(told["marks"][0]["kind"] == "posted");
    // Another program's marks are seen, too.
    app::BoardDay other(folder.path, folder.path / "plan.json",
                        [] { return at("2026-11-26T07:11"); });
    REQUIRE(other.mark(marks(R"({"mark": "down", "what": "Stand"})")).status == 200);
    CHECK(day.entries().back().mark == journal::Mark::Down);
}

TEST_CASE("a batch with a wrong mark is refused whole, with words", "[board][journal][hostile]") {
    const MarkedFolder folder;
    app::BoardDay day(folder.path, folder.path / "plan.json",
                      [] { return at("2026-11-26T07:10"); });
    const std::string letters(300, 'x');
    const std::pair<std::string, const char*> wrong[] = {
        {"", "Send"},
        {"[]", "Send"},
        {"{\"marks\": 3}", "Send"},
        {"{\"marks\": []}", "Send"},
        {marks(start + ", 7"), "object"},
        {marks(R"({"mark": "explode", "what": "A1-1"})"), "no mark"},
        {marks(R"({"mark": "posted", "what": "A1-1"})"), "no mark"},
        {marks(R"({"mark": "done", "what": "A1-1"})"), "which step"},
        {marks(R"({"mark": "done", "what": "A1-1", "step": "dance"})"), "no step"},
        {marks(R"({"mark": "done", "step": "coat"})"), "of what"},
        {marks(R"({"mark": "undo"})"), "of what"},
        {marks(R"({"mark": "undo", "undoes": 77})"), ""},
        {marks(R"({"mark": "undo", "undoes": -1})"), "number"},
        {marks(R"({"mark": "down", "what": ["Stand"]})"), "no text"},
        {marks(R"({"mark": "down", "what": ")" + letters + "\"}"), "longer"},
        {marks(R"({"mark": "down", "what": "Stand", "at": "soon"})"), "date"},
        {marks(R"({"mark": "down", "what": "Stand", "at": "2026-11-26T09:00"})"), "future"},
        {marks(R"({"mark": "done", "what": "A1-1", "step": "coat", "round": 99})"), "number"},
        // Only face coats, their drying and what takes them out come several times.
        {marks(R"({"mark": "done", "what": "A1-1", "step": "coat", "round": 2})"), "so often"},
        {marks(R"({"mark": "remake", "what": "A1-1", "step": "degrease", "round": 2})"),
         "so often"},
    };
    for (const auto& [body, words] : wrong) {
        INFO(body);
        const auto reply = day.mark(body);
        CHECK(reply.status == 400);
        CHECK(board::words_of(reply).find(words) != std::string::npos);
    }
    for (const auto& e : day.entries())
        CHECK(e.mark == journal::Mark::Posted);
    // A film may be announced.
    CHECK(day.mark(marks(R"({"mark": "film", "what": "A1", "at": "2026-11-26T09:00"})")).status ==
          200);
    std::string many;
    for (int i = 0; i < 201; ++i)
        many += (i ? "," : "") + start;
    CHECK(day.mark(marks(many)).status == 400);
}

TEST_CASE("a day of many marks takes no more than what they amount to", "[board][journal]") {
    const MarkedFolder folder;
    app::BoardDay day(folder.path, folder.path / "plan.json",
                      [] { return at("2026-11-26T09:00"); });
    const auto enter = [&](const std::string& inside) {
        const auto reply = day.mark(marks(inside));
        REQUIRE(reply.status == 200);
        return nlohmann::json::parse(reply.body)["entered"][0]["id"].get<std::int64_t>();
    };
    const auto undo = [&](std::int64_t id) {
        return enter(R"({"mark": "undo", "undoes": )" + std::to_string(id) + "}");
    };
    const auto kinds = [&] {
        std::multiset<std::string> out;
        const auto json = nlohmann::json::parse(day.json());
        for (const auto& m : json["marks"])
            out.insert(m["kind"].get<std::string>() + " " + m["what"].get<std::string>() + " " +
                       m["at"].get<std::string>().substr(11, 5));
        return out;
    };
    const auto first = enter(R"({"mark": "opened", "what": "pot 0", "at": "2026-11-26T06:10"})");
    enter(R"({"mark": "down", "what": "Stand", "at": "2026-11-26T06:20"})");
    const auto taken_back =
        enter(R"({"mark": "start", "what": "A1-1", "step": "coat", "at": "2026-11-26T06:30"})");
    const auto its_undo = undo(taken_back);
    std::size_t most = 0;
    std::int64_t last = 0;
    for (int round = 0; round < 40; ++round) {
        std::string many;
        for (int i = 0; i < 100; ++i)
            many += std::string(i > 0 ? "," : "") + R"({"mark": "opened", "what": "pot )" +
                    std::to_string(1 + i % 5) + "\"}";
        enter(many);
        // Touched and taken back, over and over.
        for (int i = 0; i < 5; ++i)
            last = undo(enter(R"({"mark": "start", "what": "A1-1", "step": "coat"})"));
        const auto entries = day.entries();
        most = std::max(most, entries.size());
        CHECK(entries.back().id == last);
    }
    CHECK(last > 4000);
    CHECK(most < 1500);
    CHECK(day.json().size() < 200'000);
    // What counts is all there, however old.
    auto now = kinds();
    CHECK(now.count("down Stand 06:20") == 1);
    CHECK(now.count("opened pot 0 06:10") == 1);
    CHECK(now.count("start A1-1 06:30") == 0);
    // What was let go comes back: the mark whose undo is taken back, the earlier of two of a pot.
    undo(its_undo);
    const auto second = enter(R"({"mark": "opened", "what": "pot 0", "at": "2026-11-26T07:10"})");
    for (int i = 0; i < 20; ++i) {
        std::string many;
        for (int k = 0; k < 100; ++k)
            many += std::string(k > 0 ? "," : "") + R"({"mark": "empty", "what": "pot 9"})";
        enter(many);
        (void)day.entries();
    }
    now = kinds();
    CHECK(now.count("start A1-1 06:30") == 1);
    CHECK(now.count("opened pot 0 07:10") == 1);
    CHECK(now.count("opened pot 0 06:10") == 0);
    undo(second);
    now = kinds();
    CHECK(now.count("opened pot 0 07:10") == 0);
    CHECK(now.count("opened pot 0 06:10") == 1);
    undo(first);
    CHECK(kinds().count("opened pot 0 06:10") == 0);
}
