// A value changed in place: the rest of the file stays byte for byte.
#include <fstream>
#include <iterator>

#include "model/read/edit_room.hpp"
#include "tests/catch.hpp"

using model::Seconds;
using model::with_exposure_time;

namespace {

std::string demo() {
    std::ifstream in(std::string(COATROOM_SOURCE) + "/scenarios/tomorrow/room.yaml",
                     std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

std::string replaced(std::string text, const std::string& from, const std::string& to) {
    const std::size_t at = text.find(from);
    REQUIRE(at != std::string::npos);
    return text.replace(at, from.size(), to);
}

}  // namespace

TEST_CASE("one exposure time changes and nothing else", "[edit]") {
    std::string problem;
    const std::string text = demo();
    const auto changed = with_exposure_time(text, "dual-cure A", Seconds{112}, problem);
    REQUIRE(changed);
    CHECK(*changed == replaced(text, "{time: 90 s, distance", "{time: 112 s, distance"));
    const auto other = with_exposure_time(text, "photopolymer B", Seconds{31}, problem);
    REQUIRE(other);
    CHECK(*other == replaced(text, "{time: 25 s, distance", "{time: 31 s, distance"));
}

TEST_CASE("quotes, comments, block style, CRLF and a byte-order mark are kept", "[edit]") {
    std::string problem;
    const std::string line = "{time: 90 s, distance: 130 cm, coat plan: 2+2, mesh: 77-55}";
    const std::string block =
        "\n      time: \"90 s\"   # from the wedge of June\n      distance: 130 cm\n      "
        "coat plan: 2+2\n      mesh: 77-55";
    std::string text = replaced(demo(), " " + line, block);
    auto changed = with_exposure_time(text, "dual-cure A", Seconds{75}, problem);
    REQUIRE(changed);
    CHECK(*changed == replaced(text, "\"90 s\"   #", "75 s   #"));

    std::string crlf = "\xEF\xBB\xBF";
    for (char c : demo()) {
        if (c == '\n') crlf += '\r';
        crlf += c;
    }
    changed = with_exposure_time(crlf, "dual-cure A", Seconds{75}, problem);
    REQUIRE(changed);
    CHECK(*changed == replaced(crlf, "{time: 90 s", "{time: 75 s"));
}

TEST_CASE("what cannot be changed is left alone and said", "[edit]") {
    std::string problem;
    CHECK_FALSE(with_exposure_time(demo(), "no such", Seconds{75}, problem));
    CHECK(problem.find("no such") != std::string::npos);
    CHECK_FALSE(with_exposure_time("room: [", "dual-cure A", Seconds{75}, problem));
    CHECK(problem.find("errors") != std::string::npos);
    CHECK_FALSE(
        with_exposure_time(demo(), "dual-cure A", Seconds{8 * 3600}, problem));  // limit: 2 h
}
