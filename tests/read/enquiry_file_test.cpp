// A file of enquiries, and orders.csv with one more order in it.
#include <filesystem>
#include <fstream>

#include "model/read/enquiry_file.hpp"
#include "tests/catch.hpp"

using namespace model;
using namespace model::read;

namespace {

/// Tests run side by side: each has a file of its own.
std::string file_of(const std::string& name, const std::string& text) {
    const auto path =
        std::filesystem::temp_directory_path() / ("coatroom-enquiries-" + name + ".csv");
    std::ofstream(path, std::ios::binary) << text;
    return path.string();
}

}  // namespace

TEST_CASE("enquiries: semicolons, a byte-order mark, defaults", "[enquiries]") {
    Diagnostics diagnostics;
    const auto rows = read_enquiries(
        file_of("good",
                "\xEF\xBB\xBForder;count;mesh;frame;coat plan;wanted\r\nE1;4;120/cm;58 x 84 "
                "cm;2+2;2026-11-27 11:00\r\n;1;;58 x 84 cm;1+1;\r\n"),
        diagnostics);
    REQUIRE(rows);
    REQUIRE(rows->size() == 2);
    CHECK(rows->at(0).order == "E1");
    CHECK(rows->at(0).count == 4);
    CHECK(rows->at(0).wanted == parse_date_time("2026-11-27 11:00"));
    CHECK(rows->at(0).priority == 1);
    CHECK(rows->at(1).coat_plan == "1+1");
    CHECK_FALSE(rows->at(1).wanted);
}

TEST_CASE("enquiries: wanted by a weekday, from the day of the question on", "[enquiries]") {
    const std::string path = file_of("days",
                                     "wanted,count,frame,coat plan\nFri 16:00,1,58 x 84 cm,1+1\n"
                                     "tomorrow 9:00,1,58 x 84 cm,1+1\n");
    Diagnostics diagnostics;
    const DatesFrom thursday{parse_date_time("2026-11-26 00:00"), nullptr};
    const auto rows = read_enquiries(path, diagnostics, &thursday);
    REQUIRE(rows);
    CHECK(rows->at(0).wanted == parse_date_time("2026-11-27 16:00"));
    CHECK(rows->at(1).wanted == parse_date_time("2026-11-27 09:00"));
}

TEST_CASE("enquiries: a file without one, and everything wrong in one pass", "[enquiries]") {
    Diagnostics none;
    CHECK_FALSE(read_enquiries(file_of("none", "count,frame,coat plan\n"), none));
    REQUIRE(none.error_count() == 1);
    CHECK(none.sorted().front().code == "no-enquiries");

    Diagnostics wrong;
    CHECK_FALSE(read_enquiries(
        file_of("wrong", "count,frame,coat plan,colour\nmany,58 x 84 cm,2+2,red\n0,,2+2,\n"),
        wrong));
    CHECK(wrong.error_count() >= 3);  // unknown column, "many", 0, no frame
    for (const Diagnostic& d : wrong.sorted())
        CHECK(d.place.line >= 1);
}
