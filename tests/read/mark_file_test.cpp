// The CSV of marks: every error with its place in one pass; what was taken back is gone.

#include "model/read/mark_file.hpp"

#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "model/read/edit_yaml.hpp"
#include "tests/catch.hpp"

using namespace model;

namespace {

const std::string head = "time,mark,what,step,station,person,reason,by,device,entered,id,undoes\n";

struct MarkFile {
    std::filesystem::path path;
    explicit MarkFile(const std::string& text, int number = 1)
        : path(std::filesystem::temp_directory_path() /
               ("coatroom-marks-" + std::to_string(getpid()) + "-" + std::to_string(number) +
                ".csv")) {
        std::ofstream(path, std::ios::binary) << text;
    }
    ~MarkFile() { std::filesystem::remove(path); }
};

std::vector<std::string> complaints(const std::string& text) {
    const MarkFile file(text);
    Diagnostics diagnostics;
    CHECK(read_marks({file.path.string()}, diagnostics).empty());
    std::vector<std::string> out;
    for (const Diagnostic& d : diagnostics.sorted())
        out.push_back(std::to_string(d.place.line) + ":" + std::to_string(d.place.column) + " " +
                      d.code);
    return out;
}

}  // namespace

TEST_CASE("marks are read, sorted by time, and what was taken back is gone", "[read][marks]") {
    const MarkFile file(head +
                        "2026-11-26T09:12:00,done,A7-2,wash-out,booth,Ben,,BK,tablet 1,"
                        "2026-11-26T09:12:03,2,\n"
                        "2026-11-26T09:08:00,start,A7-2,wash out,booth,Ben,,BK,tablet 1,,1,\n"
                        "2026-11-26T09:20:00,done,A7-3,face-coat 2,,,,,,,3,\n"
                        "2026-11-26T09:21:00,undo,,,,,,,,,4,3\n"
                        "2026-11-26T09:22:00,undo,,,,,,,,,5,4\n"
                        "2026-11-26T09:30:00,done,A7-4,coat,,,,,,,6,\n"
                        "2026-11-26T09:31:00,undo,,,,,,,,,7,6\n"
                        "2026-11-26T09:40:00,down,booth,,,,pump,,,,8,\n");
    Diagnostics diagnostics;
    // A file that overlaps with itself counts once.
    const auto marks = read_marks({file.path.string(), file.path.string()}, diagnostics);
    REQUIRE_FALSE(diagnostics.has_errors());
    REQUIRE(marks.size() == 4);
    CHECK(marks[0].mark == MarkKind::Start);
    CHECK(marks[0].step == Step::WashOut);  // by its word, too
    CHECK(marks[1].id == "2");
    CHECK(marks[1].person == "Ben");
    CHECK(marks[2].what == "A7-3");  // its undo was undone
    CHECK(marks[2].step == Step::FaceCoat);
    CHECK(marks[2].round == 2);
    CHECK(marks[3].mark == MarkKind::Down);
}

TEST_CASE("all that is wrong with marks is said in one pass, each with its place",
          "[read][marks]") {
    CHECK(complaints(head + "2026-11-26T09:12:00,doen,A7-2,wash-out,,,,,,,1,\n"
                            "26.11.,done,A7-2,washout,,,,,,,2,\n"
                            "2026-11-26T09:12:00,done,A7-2,,,,,,,,3,\n"
                            "2026-11-26T09:12:00,done,,coat,,,,,,,4,\n"
                            "2026-11-26T09:12:00,undo,,,,,,,,,5,\n"
                            "2026-11-26T09:12:00,undo,,,,,,,,,6,99\n"
                            "2026-11-26T09:12:00,start,A1-1,coat,,,,,,2026-11-26T09:00:00,7,\n"
                            "2026-11-26T09:15:00,done,A1-1,coat,,,,,,,7,\n") ==
          std::vector<std::string>{"2:21 unknown-word", "3:1 bad-value", "3:18 unknown-step",
                                   "4:31 mark-incomplete", "5:26 mark-incomplete",
                                   "6:36 mark-incomplete", "7:36 unknown-mark", "9:42 mark-twice"});
    // What the journal takes is read: clocks differ, and dry is said of whatever the screen is in.
    const MarkFile taken(head +
                         "2026-11-26T09:12:00,start,A1-1,coat,,,,,t2,2026-11-26T09:11:20,1,\n"
                         "2026-11-26T09:40:00,dry,A1-1,,,,,,t2,2026-11-26T09:40:00,2,\n");
    Diagnostics taking;
    CHECK(read_marks({taken.path.string()}, taking).size() == 2);
    CHECK_FALSE(taking.has_errors());
    Diagnostics none;
    CHECK(read_marks({"/nowhere/marks.csv"}, none).empty());
    CHECK(none.has_errors());
}

TEST_CASE("values of a YAML file change in place, all else stays", "[read][edit]") {
    using read::with_values;
    const std::string text =
        "# our room\n"
        "times:\n"
        "  wash out: {attended: 4 min, stands: 90 s}  # soak\n"
        "  coat: 4 min   # by hand\n"
        "  haze:\n"
        "    attended: 4 min\n"
        "    stands: 5 min\n"
        "plans:\n"
        "  - {name: 1+1, coat time: 2 min}\n"
        "  - name: 2+2\n"
        "    coat time: 4 min\n";
    std::string problem;
    const auto out = with_values(text,
                                 {{{"times", "wash out", "attended"}, "4 min 36 s"},
                                  {{"times", "coat"}, "5 min"},
                                  {{"times", "haze", "attended"}, "3 min"},
                                  {{"times", "haze", "but"}, "[{by: Ben, attended: 2 min}]"},
                                  {{"times", "rinse"}, "4 min"},
                                  {{"times", "wash out", "spread"}, "30 s"},
                                  {{"plans", std::size_t{1}, "coat time"}, "5 min"},
                                  {{"plans", std::size_t{0}, "coat time"}, "3 min"},
                                  {{"plans", std::size_t{2}}, "{name: new}"},
                                  {{"work varies"}, "25 %"}},
                                 problem);
    INFO(problem);
    REQUIRE(out);
    CHECK(*out ==
          "# our room\n"
          "times:\n"
          "  wash out: {attended: 4 min 36 s, stands: 90 s, spread: 30 s}  # soak\n"
          "  coat: 5 min   # by hand\n"
          "  haze:\n"
          "    attended: 3 min\n"
          "    stands: 5 min\n"
          "    but: [{by: Ben, attended: 2 min}]\n"
          "  rinse: 4 min\n"
          "plans:\n"
          "  - {name: 1+1, coat time: 3 min}\n"
          "  - name: 2+2\n"
          "    coat time: 5 min\n"
          "  - {name: new}\n"
          "work varies: 25 %\n");
    // Windows line ends and the mark at the head stay; a file that is not there begins empty.
    const auto crlf =
        with_values("\xEF\xBB\xBFwork varies: 20 %\r\nabsent: 3 %\r\n",
                    {{{"work varies"}, "25 %"}, {{"drying varies"}, "12 %"}}, problem);
    REQUIRE(crlf);
    CHECK(*crlf == "\xEF\xBB\xBFwork varies: 25 %\r\nabsent: 3 %\r\ndrying varies: 12 %\r\n");
    const auto fresh = with_values(
        "",
        {{{"remakes", std::size_t{0}}, "{at: inspect, chance: 3 %}"}, {{"work varies"}, "25 %"}},
        problem);
    REQUIRE(fresh);
    CHECK(*fresh == "remakes: [{at: inspect, chance: 3 %}]\nwork varies: 25 %\n");
    // A block of text has no place on one line.
    CHECK_FALSE(with_values("times:\n  coat:\n    attended: 4 min\n",
                            {{{"times", "coat"}, "5 min"}}, problem));
    CHECK(problem.find("times, coat") != std::string::npos);
}
