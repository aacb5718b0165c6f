// coatroom promise as a front office meets it: answers, files, and two who accept at once.

#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "model/read/promise_file.hpp"
#include "model/read/scenario.hpp"
#include "tests/catch.hpp"

namespace fs = std::filesystem;

namespace {

struct Ran {
    int status = -1;
    std::string out;
};

Ran shell(const std::string& command) {
    Ran ran;
    FILE* pipe = popen(command.c_str(), "r");
    REQUIRE(pipe != nullptr);
    std::array<char, 4096> buffer{};
    std::size_t got = 0;
    while ((got = fread(buffer.data(), 1, buffer.size(), pipe)) > 0)
        ran.out.append(buffer.data(), got);
    const int status = pclose(pipe);
    ran.status = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
    return ran;
}

const std::string program = COATROOM_PROGRAM;
const std::string source = COATROOM_SOURCE;
const std::string little = " --effort 20 --replications 19 --threads 1 ";
const std::string posters = " --screens 3 --mesh 77/cm --frame 58x84 --coats 1+1 ";

struct Room {
    fs::path path;
    explicit Room(const std::string& scenario)
        : path(fs::temp_directory_path() / ("coatroom-promise-" + std::to_string(getpid()))) {
        fs::remove_all(path);
        fs::copy(source + "/scenarios/" + scenario, path);
        std::ofstream(path / "frames.csv", std::ios::app) << "58 x 84 cm,77-55,ready,30\n";
    }
    ~Room() { fs::remove_all(path); }
    std::string text() const {
        std::ifstream in(path / "orders.csv", std::ios::binary);
        return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
    }
};

}  // namespace

TEST_CASE("an enquiry is answered in words and in JSON, and nothing is written", "[app][promise]") {
    const Room room("first-day");
    const std::string before = room.text();
    const std::string ask = program + " promise " + room.path.string() + posters + little;
    const Ran words = shell(ask + "--explain --wanted 2026-11-26T15:00 2>&1");
    INFO(words.out);
    REQUIRE(words.status == 0);
    CHECK(words.out.find("We can have 3 screens ready by") != std::string::npos);
    CHECK(words.out.find("Wanted by Thu 26 Nov, 15:00") != std::string::npos);
    CHECK(words.out.find("What decides the date") != std::string::npos);
    const Ran json = shell(ask + "--json");
    REQUIRE(json.status == 0);
    const auto answer = nlohmann::json::parse(json.out);
    CHECK(answer["format"] == 1);
    CHECK(answer["days"] == 19);
    CHECK(answer["quantiles"].size() == 4);
    CHECK(answer["ready"].size() + answer["unfinished"].get<std::size_t>() == 19);
    CHECK(shell(ask + "--json").out == json.out);
    CHECK(room.text() == before);
}

TEST_CASE("several enquiries come from a file, each answered for itself", "[app][promise]") {
    const Room room("first-day");
    const fs::path file = room.path / "asked.csv";
    std::ofstream(file) << "order,count,mesh,frame,coat plan,wanted\n"
                           "X1,2,77-55,58 x 84 cm,1+1,2026-11-27 11:00\n"
                           "X2,1,120/cm,58 x 84 cm,2+2,\n"
                           "X2,1,77-55,58 x 84 cm,1+1,\n";
    const std::string ask = program + " promise " + room.path.string() + little + "--quick ";
    const Ran json = shell(ask + "--json --enquiries " + file.string());
    REQUIRE(json.status == 0);
    const auto answer = nlohmann::json::parse(json.out);
    REQUIRE(answer["promises"].size() == 2);
    CHECK(answer["promises"][0]["wanted"]["of"] == 19);
    CHECK(answer["promises"][1]["enquiry"]["lines"].size() == 2);
    std::ofstream(file) << "count,mesh,frame,coat plan\n2,90-40,58 x 84 cm,1+1\n";
    const Ran wrong = shell(ask + "--enquiries " + file.string() + " 2>&1");
    CHECK(wrong.status == 2);
    CHECK(wrong.out.find("asked.csv:2:1: error") != std::string::npos);
}

TEST_CASE("who accepts at once is promised one after the other", "[app][promise]") {
    const Room room("first-day");
    const std::string before = room.text();
    const int processes = 5;
    std::string all;
    for (int k = 0; k < processes; ++k) {
        all += program + " promise " + room.path.string() + posters + little +
               "--quick --accept --job \"shop, " + std::to_string(k) + "\" >/dev/null 2>&1 & ";
    }
    shell(all + "wait");
    const std::string after = room.text();
    // What was there is there, byte for byte; then one line for each.
    REQUIRE(after.substr(0, before.size()) == before);
    CHECK(std::count(after.begin() + static_cast<std::ptrdiff_t>(before.size()), after.end(),
                     '\n') == processes);
    model::Diagnostics diagnostics;
    const auto scenario = model::read_scenario(room.path.string(), diagnostics);
    REQUIRE(scenario);
    std::vector<model::SimTime> due;
    std::vector<std::string> customers;
    for (const auto& order : scenario->orders) {
        if (order.name.front() != 'E') continue;
        CHECK(order.lines.front().count == 3);
        due.push_back(order.due);
        customers.push_back(order.customer);
    }
    REQUIRE(due.size() == processes);
    std::sort(customers.begin(), customers.end());
    for (int k = 0; k < processes; ++k)
        CHECK(customers[static_cast<std::size_t>(k)] == "shop, " + std::to_string(k));
    // E1 to E5 in the order of acceptance: 15 screens more than one person makes in a day, so the
    // last was not promised what the first was.
    // By days: within a day 19 simulated days leave the hour to chance.
    CHECK(std::is_sorted(due.begin(), due.end(), [](model::SimTime a, model::SimTime b) {
        return model::date_of(a) < model::date_of(b);
    }));
    CHECK(due.back() > due.front());
    CHECK(!fs::exists(room.path / "orders.csv.new"));
    // And the journal has them all, to be learnt from.
    const auto journal =
        model::read_promises((room.path / model::promise_journal_name).string(), true, diagnostics);
    REQUIRE(journal.size() == processes);
    for (std::size_t k = 0; k < journal.size(); ++k)
        CHECK(journal[k].promised == due[k]);
}

TEST_CASE("a name that would break the file is refused before anything is planned",
          "[app][promise]") {
    const Room room("first-day");
    const std::string before = room.text();
    const std::string ask =
        program + " promise " + room.path.string() + posters + little + "--quick --accept ";
    for (const char* bad : {"--job $'caf\\xe9'", "--order ' '", "--job '=1+1'", "--job $'a\\tb'"}) {
        INFO(bad);
        const Ran ran = shell("bash -c \"" + ask + bad + "\" 2>&1");
        CHECK(ran.status != 0);
        CHECK(ran.out.find("accepted: order") == std::string::npos);
        CHECK(room.text() == before);
    }
}

TEST_CASE("an acceptance that was killed half-way is completed by the next one", "[app][promise]") {
    const Room room("first-day");
    // As a kill between the two renames leaves it: orders.csv is in its place, the journal beside.
    const std::string heading = model::promise_heading();
    std::ofstream(room.path / "promises.csv.new") << heading;
    std::ofstream(room.path / ".promise.accepted") << "orders.csv\n"
                                                   << (room.path / "promises.csv").string() << "\n";
    const Ran ran = shell(program + " promise " + room.path.string() + posters + little +
                          "--quick --accept >/dev/null 2>&1");
    CHECK(ran.status == 0);
    CHECK(!fs::exists(room.path / ".promise.accepted"));
    CHECK(!fs::exists(room.path / "promises.csv.new"));
    model::Diagnostics diagnostics;
    CHECK(model::read_promises((room.path / "promises.csv").string(), true, diagnostics).size() ==
          1);
}

TEST_CASE("where one of the two files cannot be written nothing is accepted", "[app][promise]") {
    const Room room("first-day");
    const std::string before = room.text();
    // The text of the journal cannot be written beside it: a folder stands there.
    fs::create_directory(room.path / "promises.csv.new");
    const Ran ran = shell(program + " promise " + room.path.string() + posters + little +
                          "--quick --accept 2>&1 >/dev/null");
    CHECK(ran.status == 1);
    CHECK(ran.out.find("not accepted") != std::string::npos);
    CHECK(room.text() == before);
    CHECK(!fs::exists(room.path / "orders.csv.new"));
}

TEST_CASE("orders.csv with a byte-order mark and CRLF keeps both", "[app][promise]") {
    const Room room("first-day");
    std::string text = room.text();
    for (std::size_t at = 0; (at = text.find('\n', at)) != std::string::npos; at += 2)
        text.replace(at, 1, "\r\n");
    text.insert(0, "\xEF\xBB\xBF");
    std::ofstream(room.path / "orders.csv", std::ios::binary) << text;
    const std::string ask =
        program + " promise " + room.path.string() + posters + little + "--quick --accept 2>&1";
    CHECK(shell(ask).status == 0);
    CHECK(room.text().substr(0, text.size()) == text);
    CHECK(room.text().size() > text.size());
    CHECK(shell(ask).status == 0);  // what was written is read again
}

TEST_CASE("what check accepts, an acceptance writes: separators, columns, links",
          "[app][promise]") {
    const std::string ask = posters + little + "--quick --accept 2>&1";
    const auto accept = [&](const Room& room) {
        const Ran ran = shell(program + " promise " + room.path.string() + ask);
        INFO(ran.out);
        CHECK(ran.status == 0);
        model::Diagnostics diagnostics;
        const auto told =
            model::read_promises((room.path / "promises.csv").string(), true, diagnostics);
        CHECK_FALSE(diagnostics.has_errors());
        REQUIRE_FALSE(told.empty());
        CHECK(told.back().enquiry.starts_with("E"));
        CHECK(shell(program + " check " + room.path.string() + " 2>&1").status == 0);
    };
    SECTION("semicolons, and columns in another order with less of them") {
        const Room room("first-day");
        std::string text = room.text();
        std::replace(text.begin(), text.end(), ',', ';');
        std::ofstream(room.path / "orders.csv", std::ios::binary) << text;
        std::ofstream(room.path / "promises.csv", std::ios::binary)
            << "promised;screens;enquiry;asked;p90\r\n"
            << "2026-11-25 16:00;4;\"old; one\";2026-11-24 10:15;2026-11-25 15:50";
        accept(room);
        CHECK(room.text().starts_with(text));
        CHECK(room.text().substr(text.size()).find(';') != std::string::npos);
        accept(room);
    }
    SECTION("a journal of JSON lines") {
        const Room room("first-day");
        std::ofstream(room.path / "promises.csv")
            << "{\"enquiry\": \"old\", \"asked\": \"2026-11-24 10:15\", \"screens\": 4, "
               "\"promised\": \"2026-11-25 16:00\"}\n";
        accept(room);
        accept(room);
    }
    SECTION("links, one to a file that is not there yet") {
        const Room room("first-day");
        const fs::path kept = room.path / "kept";
        fs::create_directory(kept);
        fs::rename(room.path / "orders.csv", kept / "orders.csv");
        fs::create_symlink("kept/orders.csv", room.path / "orders.csv");
        fs::create_symlink("kept/told.csv", room.path / "promises.csv");
        accept(room);
        accept(room);
        CHECK(fs::is_symlink(room.path / "orders.csv"));
        CHECK(fs::is_symlink(room.path / "promises.csv"));
        CHECK(fs::is_regular_file(kept / "told.csv"));
    }
    SECTION("a journal that lacks a column that it must have is refused, and nothing is accepted") {
        const Room room("first-day");
        const std::string before = room.text();
        std::ofstream(room.path / "promises.csv") << "enquiry,asked,screens\n";
        const Ran ran = shell(program + " promise " + room.path.string() + ask);
        CHECK(ran.status != 0);
        CHECK(room.text() == before);
    }
}

TEST_CASE("an answer that cannot be printed is no success", "[app]") {
    if (!fs::exists("/dev/full")) return;  // another system
    const Ran ran = shell(program + " dry " COATROOM_SOURCE "/scenarios/first-day 2>&1 >/dev/full");
    CHECK(ran.status == 74);
    CHECK(ran.out.find("could not be printed") != std::string::npos);
}
