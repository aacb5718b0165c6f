// A fixed document renders byte for byte to tests/golden. After a wanted change, write them anew:
//   COATROOM_GOLDEN_OUT=tests/golden build/tests/tests_report "[golden]"     (then read the diff)

#include <cstdlib>
#include <fstream>
#include <sstream>

#include "sched/report/plan/outputs.hpp"
#include "tests/catch.hpp"
#include "tests/report/fixture.hpp"

namespace {

std::string file_text(const std::filesystem::path& path) {
    std::ifstream in(path, std::ios::binary);
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

}  // namespace

TEST_CASE("a fixed document renders to the golden files", "[golden]") {
    const auto outputs = sched::report::outputs_of(fixture::golden_document());
    REQUIRE(outputs.size() == 10);
    if (const char* out = std::getenv("COATROOM_GOLDEN_OUT")) {
        REQUIRE(sched::report::write_outputs(fixture::golden_document(), out).errors.empty());
    }
    const std::filesystem::path golden = std::filesystem::path(COATROOM_TEST_DATA) / "golden";
    for (const auto& [name, content] : outputs) {
        INFO(name);
        const std::string wanted = file_text(golden / name);
        CHECK_FALSE(wanted.empty());
        CHECK((content == wanted));  // extra brackets: a mismatch does not print two whole files
    }
}
