// How many orders come in over weeks, where nothing but the list of orders says it.

#include "sched/app/parts/weeks_question.hpp"

#include "model/read/scenario.hpp"
#include "tests/catch.hpp"

TEST_CASE("a list of several days' orders is not taken for one day's without a word", "[app]") {
    using namespace sched;
    model::Diagnostics d;
    auto s = model::read_scenario(std::string(COATROOM_SOURCE) + "/scenarios/first-day", d);
    REQUIRE((s && s->orders.size() == 3));
    const auto warned = [&](bool load_said = false) {
        model::Diagnostics said;
        REQUIRE(app::weeks_question(*s, 1, "urgency", said, load_said));
        for (const auto& x : said.all()) {
            if (x.code == "orders-of-days") return x.hint;
        }
        return std::string();
    };
    CHECK(warned().empty());  // two for today, one for tomorrow morning: one day's work
    for (std::size_t o = 0; o < 3; ++o)
        s->orders[o].due += model::hours(24 * static_cast<int>(o));
    // One order a day, and 33 of a hundred of the three that it would be.
    const std::string hint = warned();
    CHECK(hint.find("orders of 3 days") != std::string::npos);
    CHECK(hint.find("--orders-a-day 1.0") != std::string::npos);
    CHECK(hint.find("--load 33") != std::string::npos);
    CHECK(warned(true).empty());
}
