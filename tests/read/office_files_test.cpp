// Files as offices have them: dates without year or time, headings of their own, weights, words for
// priorities, "everything but". The calendar of 2026 is the outside reference: 26 November 2026 is
// a Thursday (`cal 11 2026`).

#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "model/read/ask_columns.hpp"
#include "model/read/loose_date.hpp"
#include "model/read/order_file.hpp"
#include "model/read/priority_words.hpp"
#include "model/read/scenario.hpp"
#include "model/read/shift_words.hpp"
#include "model/room/steps.hpp"
#include "tests/catch.hpp"

using namespace model;
using namespace model::read;

namespace {

const SimTime thursday = *parse_date_time("2026-11-26T00:00");

std::string read_as(std::string_view text, bool end = false, const Room* room = nullptr) {
    const auto read = parse_loose_date_time(text, {thursday, room}, end);
    return read.value ? format_date_time(*read.value) : "? " + read.problem;
}

struct OrderTable {
    Diagnostics diagnostics;
    CsvTable<OrderRow> orders;
    explicit OrderTable(std::string_view text) {
        Findings findings("orders.csv", diagnostics);
        const DatesFrom dates{thursday, nullptr};
        orders = read_csv_table(text, findings, order_table(), &dates);
    }
    std::string first_words() const {
        return diagnostics.all().empty() ? "" : to_text(diagnostics.all().front());
    }
};

std::string text_of_file(const std::filesystem::path& path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

// The good folder with one text put for another, read.
std::optional<Scenario> good_with(const char* file, const std::string& find, const std::string& put,
                                  Diagnostics& diagnostics, const RunDay& run = {}) {
    namespace fs = std::filesystem;
    const fs::path good = fs::path(COATROOM_TEST_DATA) / "bad_input" / "good";
    const fs::path folder =
        fs::temp_directory_path() / ("coatroom_office_" + std::to_string(::getpid()));
    fs::remove_all(folder);
    fs::create_directories(folder);
    for (const auto& entry : fs::directory_iterator(good)) {
        std::string text = text_of_file(entry.path());
        if (entry.path().filename() == file) {
            const auto at = text.find(find);
            REQUIRE(at != std::string::npos);
            text.replace(at, find.size(), put);
        }
        std::ofstream(folder / entry.path().filename(), std::ios::binary) << text;
    }
    auto scenario = read_scenario(folder.string(), diagnostics, run);
    fs::remove_all(folder);
    return scenario;
}

}  // namespace

TEST_CASE("hours with am and pm, as half the world writes them", "[read][office]") {
    // Twelve-hour clock: 12 am is midnight, 12 pm noon (NIST, Times of day FAQ: 12 am and 12 pm are
    // best avoided; taken as digital clocks show them).
    const auto shift = [](std::string_view text) {
        const auto read = parse_shift(text);
        return read.value
                   ? format_duration(read.value->from) + " to " + format_duration(read.value->to)
                   : "? " + read.problem;
    };
    CHECK(shift("Mon-Fri 7:00 AM-3:30 PM") == shift("Mon-Fri 07:00-15:30"));
    CHECK(shift("Mon-Fri 7am - 3:30pm") == shift("Mon-Fri 07:00-15:30"));
    CHECK(shift("Mon, Wed 06:00 - 14:30") == shift("Mon,Wed 06:00-14:30"));
    CHECK(shift("daily 10 pm-6 am") == shift("daily 22:00-06:00"));
    CHECK(shift("Mon-Fri 13:00 pm-15:00") == "? has no hours like 06:00-14:30");
    CHECK(shift("Mon-Fri 7-15") == "? has no hours like 06:00-14:30");
    CHECK(shift("06:00-14:30") == "? lacks its weekdays or its hours");
    CHECK(parse_clock_words("12 am") == hours(0));
    CHECK(parse_clock_words("12:30 PM") == hours(12) + minutes(30));
    CHECK_FALSE(parse_clock_words("0 am"));
    CHECK_FALSE(parse_clock_words("am"));
    const auto pause = parse_break("30 min at 1 pm");
    REQUIRE(pause.value);
    CHECK(pause.value->earliest == hours(13));
}

TEST_CASE("dates are read from the day of the run on", "[read][office]") {
    CHECK(read_as("9:00") == "2026-11-26T09:00");
    CHECK(read_as("09:00") == "2026-11-26T09:00");
    CHECK(read_as("2:30 pm") == "2026-11-26T14:30");
    CHECK(read_as("12 am") == "2026-11-26T00:00");
    CHECK(read_as("noon") == "2026-11-26T12:00");
    CHECK(read_as("Thu 9:00") == "2026-11-26T09:00");
    CHECK(read_as("Tue 9:00") == "2026-12-01T09:00");
    CHECK(read_as("tuesday, 9:00") == "2026-12-01T09:00");
    CHECK(read_as("tomorrow 11:00") == "2026-11-27T11:00");
    CHECK(read_as("1 Dec 14:00") == "2026-12-01T14:00");
    CHECK(read_as("Dec 1 14:00") == "2026-12-01T14:00");
    CHECK(read_as("1st December 14:00") == "2026-12-01T14:00");
    CHECK(read_as("Tue 1 Dec 14:00") == "2026-12-01T14:00");
    CHECK(read_as("1.12. 14:00") == "2026-12-01T14:00");
    CHECK(read_as("1.12.2027 14:00") == "2027-12-01T14:00");
    CHECK(read_as("2026-12-01 9:00") == "2026-12-01T09:00");
    // The nearest year: January comes next, October has been.
    CHECK(read_as("4 Jan 9:00") == "2027-01-04T09:00");
    CHECK(read_as("30 Oct 9:00") == "2026-10-30T09:00");
}

TEST_CASE("a day without a time ends with its work, or begins with it", "[read][office]") {
    Room room;
    Person ada;
    ada.shifts = {*parse_shift("Mon-Fri 7:00-15:30").value};
    room.people = {ada};
    CHECK(read_as("1 Dec", true, &room) == "2026-12-01T15:30");
    CHECK(read_as("1 Dec", false, &room) == "2026-12-01T07:00");
    CHECK(read_as("2026-12-01", true, &room) == "2026-12-01T15:30");
    // Nobody works on Sunday: the whole day.
    CHECK(read_as("29 Nov", true, &room) == "2026-11-30T00:00");
    room.promise.press = {*parse_shift("Mon-Fri 8:00-17:00").value};
    CHECK(read_as("Tue", true, &room) == "2026-12-01T17:00");
}

TEST_CASE("what is no date says so", "[read][office]") {
    CHECK(read_as("Mon 1 Dec").find("is a tue by the calendar (2026-12-01)") != std::string::npos);
    CHECK(read_as("31.11.").starts_with("? is not a date of the calendar"));
    CHECK(read_as("25:00").starts_with("? "));
    CHECK(read_as("13:00 pm").starts_with("? "));
    CHECK(read_as("soon").starts_with("? is no date"));
    CHECK(read_as("9:00 10:00").starts_with("? "));
    CHECK(read_as("12/1").starts_with("? "));  // day and month might be either
    CHECK(read_as("2026").starts_with("? "));
    CHECK(read_as("today 1 Dec").starts_with("? names its day twice"));
    CHECK(parse_loose_date_time("9:00", {std::nullopt, nullptr}, true)
              .problem.find("day of the run is not known") != std::string::npos);
    CHECK(parse_loose_date_time("1.12.2026 9:00", {std::nullopt, nullptr}, true).value);
}

TEST_CASE("where nothing else names the order, the job does", "[read][office]") {
    const std::string rest = "Qty,Frame Size,Mesh,Emulsion,Coats,Due date,Priority\n";
    const OrderTable alone("Job," + rest + "1001,3,58 x 84 cm,77-55,pink,1+1,Tue 9:00,3\n");
    CAPTURE(alone.first_words());
    REQUIRE(alone.diagnostics.all().empty());
    CHECK(alone.orders.values.front().order == "1001");
    CHECK(alone.orders.values.front().count == 3);
    const OrderTable own("# columns: ref = order\nRef,Job," + rest +
                         "A1,shirts,3,58 x 84 cm,77-55,pink,1+1,Tue 9:00,3\n");
    CAPTURE(own.first_words());
    REQUIRE(own.diagnostics.all().empty());
    CHECK(own.orders.values.front().order == "A1");
    // A column too many is never said to be the order.
    const OrderTable more("Order,Price," + rest + "A1,5,3,58 x 84 cm,77-55,pink,1+1,Tue 9:00,3\n");
    CHECK(more.first_words().find("\"# columns: price = -\"") != std::string::npos);
    const OrderTable less(
        "Order,Stk,Frame Size,Mesh,Emulsion,Coats\nA1,3,58 x 84 cm,77-55,pink,1+1\n");
    CHECK(less.first_words().find("\"# columns: stk = count\"") != std::string::npos);
    // Of several nobody can say which is which: no pair is proposed.
    const OrderTable several(
        "Auftrag,Stk,Frame Size,Mesh,Emulsion,Coats\nA1,3,58 x 84 cm,77-55,pink,1+1\n");
    std::string words;
    for (const Diagnostic& d : several.diagnostics.all())
        words += to_text(d) + "\n";
    CHECK(
        words.find("\"# columns: auftrag = \" and one of those that are missing (order, count)") !=
        std::string::npos);
    CHECK(words.find("\"# columns: stk = \" and one of") != std::string::npos);
}

TEST_CASE("columns are known by what offices call them", "[read][office]") {
    const OrderTable table(
        "Job;Order No.;No. of screens;Frame Size;Mesh;Emulsion;Coats;Due date;Priority\n"
        "shirts;A1;3;58 x 84 cm;77-55;pink;1+1;Tue 9:00;important\n");
    CAPTURE(table.first_words());
    REQUIRE(table.diagnostics.all().empty());
    const OrderRow& row = table.orders.values.front();
    CHECK(row.order == "A1");
    CHECK(row.customer == "shirts");
    CHECK(row.count == 3);
    CHECK(row.coat_plan == "1+1");
    CHECK(row.due == parse_date_time("2026-12-01T09:00"));
    CHECK(row.priority == 5);
}

TEST_CASE("what is left out at the end of a line is empty, and nowhere else", "[read][office]") {
    const std::string head =
        "order,due,count,mesh,frame,emulsion,coat plan,priority,film ready,kept stencil\n";
    const OrderTable table(head + "A1,Tue 9:00,3,77-55,58 x 84 cm,pink,1+1\n" +
                           "A2,Tue 9:00,2,77-55,58 x 84 cm,pink,1+1,5\n");
    CAPTURE(table.first_words());
    REQUIRE(table.diagnostics.all().empty());
    CHECK(table.orders.values[0].coat_plan == "1+1");
    CHECK(!table.orders.values[0].priority);
    CHECK(!table.orders.values[0].kept_stencil);
    CHECK(table.orders.values[1].priority == 5);
    CHECK(table.orders.sound == std::vector<bool>{true, true});
    // A cell that is left out in the middle, one that must be there, one too many: said once.
    for (const char* line : {"A1,Tue 9:00,77-55,58 x 84 cm,pink,1+1,3", "A1,Tue 9:00,3,77-55",
                             "A1,Tue 9:00,3,77-55,58 x 84 cm,pink,1+1,5,,,"}) {
        CAPTURE(line);
        const OrderTable wrong(head + line + "\n");
        REQUIRE(wrong.diagnostics.all().size() == 1);
        CHECK(wrong.first_words().ends_with("(cell-count)"));
    }
}

TEST_CASE("a file's head says what its own headings are", "[read][office]") {
    const OrderTable table(
        "# from the office\n"
        "# columns: Stk = count, Auftrag = order, price = -, Lack = coat plan\n"
        "Auftrag,Stk,price,mesh,frame,emulsion,Lack\n"
        "A1,2,19.50,77-55,58 x 84 cm,pink,1+1\n");
    CAPTURE(table.first_words());
    REQUIRE(table.diagnostics.all().empty());
    CHECK(table.orders.values.front().order == "A1");
    CHECK(table.orders.values.front().count == 2);
    CHECK(table.orders.values.front().coat_plan == "1+1");
    // Named at its place; what is not known is asked back with the line to write.
    const OrderTable wrong("# columns: Stk = pieces of\norder,Stk\n");
    CHECK(wrong.first_words().starts_with("orders.csv:1:1: error: "));
    CHECK(wrong.first_words().ends_with("(columns-line)"));
    const OrderTable unknown("order,Stk\nA1,2\n");
    CHECK(unknown.first_words().find("# columns: stk = ") != std::string::npos);
}

TEST_CASE("a heading that nobody knows is asked once and then remembered in the file",
          "[read][office]") {
    const std::string text = "Auftrag,Stk,mesh,frame,emulsion,coat plan\nA1,2,a,58 x 84 cm,b,c\n";
    const auto unknown = unknown_headings("orders.csv", text);
    CHECK(unknown.headings == std::vector<std::string>{"Auftrag", "Stk"});
    const std::string once = with_columns_line(text, {{"Auftrag", "order"}, {"Stk", "count"}});
    CHECK(once.starts_with("# columns: Auftrag = order, Stk = count\nAuftrag,Stk,"));
    CHECK(unknown_headings("orders.csv", once).headings.empty());
    const OrderTable table(once);
    CHECK(table.diagnostics.all().empty());
    CHECK(table.orders.values.front().count == 2);
    // One by one comes to the same.
    CHECK(with_columns_line(with_columns_line(text, {{"Auftrag", "order"}}), {{"Stk", "count"}}) ==
          once);
    CHECK(with_columns_line("a;b\r\n1;2\r\n", {{"a", "-"}}) ==
          "# columns: a = -\r\na;b\r\n1;2\r\n");
}

TEST_CASE("the table's own name wins over another name for it", "[read][office]") {
    const OrderTable table(
        "order,count,frames,frame,mesh,emulsion,coat plan\nA1,2,9,58 x 84 cm,a,b,c\n");
    CHECK(table.first_words().find("\"frames\" is not known") != std::string::npos);
}

TEST_CASE("priorities have words", "[read][office]") {
    CHECK(priority_number("Important") == "5");
    CHECK(priority_number("urgent") == "9");
    CHECK(priority_number("normal") == "1");
    CHECK(priority_number("7") == "7");
}

TEST_CASE("a weight of emulsion is divided by its density", "[read][office]") {
    Diagnostics d;
    const auto scenario = good_with("room.yaml", "volume: 1 l", "volume: 1 kg", d);
    CAPTURE(d.all().empty() ? "" : to_text(d.all().front()));
    REQUIRE(scenario);
    // 1 kg / 1.05 kg per litre, the density where the file has none.
    const auto& pots = scenario->room.pots;
    CHECK(std::any_of(pots.begin(), pots.end(), [](const Pot& pot) {
        return pot.volume.value > 952.3 && pot.volume.value < 952.4;
    }));
}

TEST_CASE("everything but a few steps", "[read][office]") {
    Diagnostics d;
    // Somebody must be able to expose and mix: Ben.
    const std::string rest =
        "\n    shifts: Mon-Fri 06:00-14:30\n    breaks: [30 min at 12:00]\n"
        "  - name: Ben\n    can: [degrease, ";
    const auto scenario =
        good_with("room.yaml", "can: everything" + rest,
                  "can: everything but exposing and mix" + rest + "exposing, mix, ", d);
    REQUIRE(scenario);
    const auto& can = scenario->room.people.front().can;
    CHECK(can.size() == static_cast<std::size_t>(step_count) - 3);
    for (const Step step : {Step::Expose, Step::MixDissolve, Step::MixStir})
        CHECK(std::find(can.begin(), can.end(), step) == can.end());
    const auto dry = good_with("room.yaml", "can: everything" + rest,
                               "can: everything but coating" + rest + "coat, face coat, ", d);
    REQUIRE(dry);
    const auto& most = dry->room.people.front().can;
    for (const Step step : {Step::Coat, Step::FaceCoat})
        CHECK(std::find(most.begin(), most.end(), step) == most.end());
}

TEST_CASE("a folder of times without dates serves any day", "[read][office]") {
    for (const char* day : {"2026-11-26T00:00", "2027-03-02T00:00"}) {
        Diagnostics d;
        const auto scenario =
            good_with("orders.csv", "2026-11-26 11:00", "11:00", d, {.day = parse_date_time(day)});
        CAPTURE(d.all().empty() ? "" : to_text(d.all().front()));
        REQUIRE(scenario);
        CHECK(scenario->orders.front().due == *parse_date_time(day) + hours(11));
    }
    // The next working day by the clock, where neither file nor caller says one.
    Diagnostics d;
    const auto scenario = good_with("orders.csv", "2026-11-26 11:00", "11:00", d,
                                    {.clock = parse_date_time("2026-11-28T10:00")});  // a Saturday
    REQUIRE(scenario);
    CHECK(format_date_time(scenario->orders.front().due) == "2026-11-30T11:00");
}
