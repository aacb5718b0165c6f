#include <algorithm>
#include <fstream>
#include <iterator>
#include <sstream>

#include "sched/report/plan/exchange.hpp"
#include "sched/report/plan/page.hpp"
#include "sched/report/plan/person_rows.hpp"
#include "sched/report/plan/sheet_rows.hpp"
#include "sched/report/plan/sheets.hpp"
#include "sched/report/words/html.hpp"
#include "tests/catch.hpp"
#include "tests/report/fixture.hpp"

using namespace sched::report;

namespace {

std::size_t times_in(const std::string& text, const std::string& word) {
    std::size_t n = 0;
    for (std::size_t at = text.find(word); at != std::string::npos; at = text.find(word, at + 1))
        ++n;
    return n;
}

std::vector<std::string> crlf_lines(const std::string& text) {
    std::vector<std::string> out;
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t end = text.find("\r\n", at);
        REQUIRE(end != std::string::npos);  // every line ends with CRLF, the last one too
        out.push_back(text.substr(at, end - at));
        at = end + 2;
    }
    return out;
}

}  // namespace

TEST_CASE("CSV rows end with CRLF and hold no formula") {
    PlanDocument d = fixture::document();
    d.operations[0].words = "=HYPERLINK(\"x\",\"y\")";
    d.operations[1].words = "two\nlines, \"quoted\"";
    d.operations[2].place = "@SUM(A1)";
    d.operations[3].screen = "-1";
    const std::string csv = to_csv(d);
    // RFC 4180: a quote inside a quoted cell is doubled.
    CHECK(csv.find("\"'=HYPERLINK(\"\"x\"\",\"\"y\"\")\"") != std::string::npos);
    CHECK(csv.find("\"two\nlines, \"\"quoted\"\"\"") != std::string::npos);
    CHECK(csv.find(",'@SUM(A1),") != std::string::npos);
    CHECK(csv.find(",'-1,") != std::string::npos);
    CHECK(times_in(csv, "\r\n") == d.operations.size() + 1);
}

TEST_CASE("a calendar keeps the line rules of RFC 5545") {
    PlanDocument d = fixture::document();
    d.operations[0].words = "a; b, c\\d\n";
    for (int i = 0; i < 60; ++i)
        d.operations[0].words += "ü€";
    const std::string text = to_calendar(d);
    const auto lines = crlf_lines(text);
    CHECK(lines.front() == "BEGIN:VCALENDAR");
    CHECK(lines.back() == "END:VCALENDAR");
    std::size_t folded = 0;
    for (const std::string& line : lines) {
        CHECK(line.size() <= 75);  // octets, 3.1
        const bool continued = !line.empty() && line[0] == ' ';
        folded += continued ? 1 : 0;
        // No line begins inside a UTF-8 sequence.
        const auto first = static_cast<unsigned char>(line.size() > 1 && continued ? line[1] : 'a');
        CHECK((first & 0xC0u) != 0x80u);
    }
    CHECK(folded > 3);
    CHECK(text.find("SUMMARY:a\\; b\\, c\\\\d\\n") != std::string::npos);  // 3.3.11
    CHECK(text.find("DTSTART:20261126T060000\r\n") !=
          std::string::npos);  // floating: no Z, no TZID
    CHECK(text.find("DTSTAMP:20261126T000000Z\r\n") != std::string::npos);
}

TEST_CASE("each person has their own events and no other") {
    const PlanDocument d = fixture::document();
    std::size_t with_people = 0;
    for (const auto& op : d.operations)
        with_people += op.people.size();
    const std::string all = to_calendar(d);
    const std::string ada = to_calendar(d, "Ada");
    const std::string ben = to_calendar(d, "Ben & Co");
    CHECK(times_in(all, "BEGIN:VEVENT") == with_people);
    CHECK(times_in(ada, "BEGIN:VEVENT") + times_in(ben, "BEGIN:VEVENT") == with_people);
    CHECK(times_in(ada, "CATEGORIES:Ben") == 0);
    CHECK(times_in(ada, "BEGIN:VEVENT") > 5);
}

TEST_CASE("an event keeps its UID when its time moves, and no two share one") {
    PlanDocument d = fixture::document();
    const auto uids = [](const PlanDocument& x) {
        std::vector<std::string> out;
        for (const std::string& line : crlf_lines(to_calendar(x))) {
            if (line.rfind("UID:", 0) == 0) out.push_back(line);
        }
        std::sort(out.begin(), out.end());
        return out;
    };
    const auto before = uids(d);
    CHECK(std::adjacent_find(before.begin(), before.end()) == before.end());
    for (auto& op : d.operations)
        op.start += model::minutes(3);
    CHECK(uids(d) == before);
    // The lamp is loaded and emptied by the same person: the same step of the same screen.
    d.operations.push_back(d.operations.front());
    d.operations.push_back(d.operations.front());
    const auto more = uids(d);
    CHECK(more.size() > before.size());
    CHECK(std::adjacent_find(more.begin(), more.end()) == more.end());
}

TEST_CASE("user text cannot become markup or script") {
    PlanDocument d = fixture::document();
    const std::string evil = "</script><script>alert(1)</script>\" onload='x' <!--";
    d.room = d.orders[0].name = d.orders[0].customer = d.operations[0].words = d.stations[0].name =
        d.people[0].name = evil;
    d.screens[0].tag = d.mixes[0].emulsion = d.warnings[0].words = d.bottleneck.resource =
        d.fills[0].station = evil;
    d.operations[2].people = {evil};
    d.operations[2].place = evil;
    for (std::string page : {to_page(d), to_sheets(d)}) {
        page = page.substr(
            0, page.find("id=\"plan\">"));  // what follows is JSON, where quotes end nothing
        CHECK(page.find("alert(1)") != std::string::npos);  // it is there, as text
        CHECK(times_in(page, "<script") <= 1);
        CHECK(page.find("\" onload") == std::string::npos);
        CHECK(page.find(" onload='") == std::string::npos);
        CHECK(page.find("<!--") == std::string::npos);
        CHECK(page.find("default-src 'none'") != std::string::npos);
    }
    CHECK(times_in(to_page(d), "<script>alert") == 0);
    CHECK(times_in(to_page(d), "</script>") == 2);
    CHECK(times_in(to_sheets(d), "</script>") == 0);
}

TEST_CASE("every column of plan.csv stands in the page about tables") {
    std::ifstream in(std::string(COATROOM_SOURCE) + "/docs/tables.md", std::ios::binary);
    const std::string page{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
    const std::string table = to_csv(fixture::document());
    std::istringstream head(table.substr(0, table.find("\r\n")));
    int columns = 0;
    for (std::string name; std::getline(head, name, ','); ++columns) {
        INFO(name);
        CHECK(times_in(page, "| `" + name + "` |") == 1);
    }
    CHECK(columns == 12);
}

TEST_CASE("pages fetch nothing") {
    for (const std::string& page : {to_page(fixture::document()), to_sheets(fixture::document())}) {
        for (const char* word : {"http://", "https://", "url(http", "@import", "src="}) {
            INFO(word);
            // The one address is the name of the SVG namespace, which is never fetched.
            const std::size_t names =
                std::string(word) == "http://" ? times_in(page, "http://www.w3.org/2000/svg") : 0;
            CHECK(times_in(page, word) == names);
        }
    }
}

TEST_CASE("sheets carry each caution once, defer, and say which page of how many") {
    const PlanDocument d = fixture::document();
    const std::string sheets = to_sheets(d);
    CHECK(times_in(sheets, "Never look into it") == 1);
    std::size_t people = 0;
    for (const PersonLine& p : d.people)
        people += person_rows(d, p.name).empty() ? 0U : 1U;
    // Beside the cautions, and at the end of everybody's rows.
    CHECK(times_in(sheets, "local codes and the licensed trades come before this sheet") ==
          people + 1);
    std::size_t boxes = d.screens.size();
    for (const PersonLine& p : d.people) {
        for (const PersonRow& row : person_rows(d, p.name)) {
            for (const SheetPart& part : row.parts)
                boxes += std::max<std::size_t>(1, part.tags.size());
        }
    }
    CHECK(times_in(sheets, "<i></i>") == boxes);
    CHECK(times_in(sheets, "<section class=\"page\"") == times_in(sheets, "<b>page "));
    CHECK(times_in(sheets, "Station sheet") == 0);
    const std::string stations = to_station_sheets(d);
    for (const StationLine& s : d.stations)
        CHECK((station_rows(d, s.name).empty() ||
               times_in(stations, "<h1>" + html(s.name) + "</h1>") >= 1));
}
