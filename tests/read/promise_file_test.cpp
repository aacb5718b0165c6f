#include "model/read/promise_file.hpp"

#include <unistd.h>
#include <filesystem>
#include <fstream>

#include "tests/catch.hpp"

using namespace model;

namespace {

struct JournalFile {
    std::filesystem::path path;
    explicit JournalFile(const std::string& text)
        : path(std::filesystem::temp_directory_path() /
               ("coatroom-promises-" + std::to_string(getpid()) + ".csv")) {
        std::ofstream(path, std::ios::binary) << text;
    }
    ~JournalFile() { std::filesystem::remove(path); }
};

std::vector<PastPromise> read_text(const std::string& text, Diagnostics& diagnostics) {
    const JournalFile file(text);
    return read_promises(file.path.string(), true, diagnostics);
}

std::string first_code(const std::string& text, int line) {
    Diagnostics diagnostics;
    CHECK(read_text(text, diagnostics).empty());
    REQUIRE(diagnostics.has_errors());
    CHECK(diagnostics.all().front().place.line == line);
    return diagnostics.all().front().code;
}

const std::string heading = "enquiry,asked,screens,kind,p50,p80,p90,p95,promised,ready\n";

}  // namespace

TEST_CASE("a promise written is the promise read", "[promise-file]") {
    PastPromise p;
    p.enquiry = "E1, \"the big one\"";
    p.asked = *parse_date_time("2026-11-24T10:15:20");
    p.screens = 4;
    p.kind = "# line; halftone";
    p.p50 = *parse_date_time("2026-11-25T09:00");
    p.p90 = *parse_date_time("2026-11-25T12:30:01");
    p.promised = *parse_date_time("2026-11-25T16:00");
    Diagnostics diagnostics;
    PastPromise q = p;
    q.enquiry = "E2";
    q.ready = *parse_date_time("2026-11-25T11:11");
    auto back = read_text(promise_heading() + promise_row(p) + promise_row(q), diagnostics);
    for (const auto& d : diagnostics.all())
        UNSCOPED_INFO(to_text(d));
    REQUIRE(back.size() == 2);
    back[0].place = back[1].place = {};
    CHECK(back[0] == p);
    CHECK(back[1] == q);
    CHECK(promise_heading() == heading);
}

TEST_CASE("the journal may be lines of JSON", "[promise-file]") {
    Diagnostics diagnostics;
    const auto list = read_text(
        "{\"enquiry\": \"E1\", \"asked\": \"2026-11-24 10:15\", \"screens\": 4, \"promised\": "
        "\"2026-11-25 16:00\", \"p90\": null}\n\n"
        "{\"enquiry\": \"E2\", \"asked\": \"2026-11-24 10:20\", \"screens\": \"2\", \"promised\": "
        "\"2026-11-25 16:00\", \"ready\": \"2026-11-25 15:00\"}\n",
        diagnostics);
    for (const auto& d : diagnostics.all())
        UNSCOPED_INFO(to_text(d));
    REQUIRE(list.size() == 2);
    CHECK(list[0].screens == 4);
    CHECK_FALSE(list[0].p90);
    CHECK(list[1].ready == parse_date_time("2026-11-25T15:00"));
    CHECK(first_code("{\"enquiry\": \"E1\"}\n", 1) == "value-missing");
    CHECK(first_code("\n{\"enqiry\": \"E1\"}\n", 2) == "unknown-key");
    CHECK(first_code("{\"enquiry\": [[[[[[[[[\n", 1) == "not-json");
    CHECK(first_code("{} {}\n", 1) == "not-json");
}

TEST_CASE("a journal that contradicts itself is refused with its place", "[promise-file]") {
    const std::string good = "E1,2026-11-24 10:15,4,,,,,,2026-11-25 16:00,\n";
    CHECK(first_code(heading + good + "E2,2026-11-24 10:15,4,,,,,,2026-11-23 16:00,\n", 3) ==
          "before-asked");
    CHECK(first_code(heading + "E2,2026-11-24 10:15,4,,,,,,2026-11-25 16:00,2026-11-20 08:00\n",
                     2) == "before-asked");
    CHECK(first_code(heading +
                         "E2,2026-11-24 10:15,4,,2026-11-25 16:00,2026-11-25 15:00,,,2026-11-25 "
                         "16:00,\n",
                     2) == "forecast-order");
    CHECK(first_code(heading + "E2,2026-11-24 10:15,0,,,,,,2026-11-25 16:00,\n", 2) ==
          "out-of-range");
    Diagnostics none;
    CHECK(read_promises("/nowhere/promises.csv", false, none).empty());
    CHECK_FALSE(none.has_errors());
    CHECK(read_promises("/nowhere/promises.csv", true, none).empty());
    CHECK(none.has_errors());
}
