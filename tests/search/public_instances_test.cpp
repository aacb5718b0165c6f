// Published optima as ground truth for the searches over shops and projects. A value below one
// would be an error of reader, search or checker; the gaps are what the fixed seed and budget must
// reach.

#include "tests/search/public_instances.hpp"

using namespace sched;
using namespace public_instances;

namespace {

/// Never below the optimum, the bound never above it, and at most `percent` over it.
void hold_to_optimum(const std::string& kind, std::int64_t evaluations, double percent) {
    for (const auto& [name, optimum] : optima(kind)) {
        INFO(kind << ' ' << name << " optimum " << optimum);
        const auto s = solve_checked(load(kind, name), evaluations);
        INFO("value " << s.value.parts[0] << " bound " << s.bound.parts[0]);
        CHECK(s.value.parts[0] >= optimum);
        CHECK(s.bound.parts[0] <= optimum);
        CHECK(static_cast<double>(s.value.parts[0]) <=
              static_cast<double>(optimum) * (1.0 + percent / 100.0));
        if (s.status == core::Status::Optimal) CHECK(s.value.parts[0] == optimum);
    }
}

core::Problem job_shop(const std::string& text) {
    return parse(text, "example", compile::ShopFormat::JobShop);
}

}  // namespace

TEST_CASE("job shops come within 1 % of the published optimum", "[search][jsp]") {
    hold_to_optimum("jsp", 300'000, 1.0);
}

TEST_CASE("flexible job shops reach the published optimum", "[search][fjsp]") {
    hold_to_optimum("fjsp", 100'000, 0.0);
}

TEST_CASE("hybrid flow shops come within 3 % of the published optimum", "[search][hfs]") {
    // By the search for rooms; the one made for flow shops came within 2.5 %.
    hold_to_optimum("hfs", 50'000, 3.0);
}

TEST_CASE("weighted tardiness comes within 20 % of the published optimum", "[search][jsp-twt]") {
    // Small numbers: one unit is up to 2 %. Long budgets reach the optimum, see docs/benchmarks.md.
    hold_to_optimum("jsp-twt", 1'000'000, 20.0);
}

TEST_CASE("projects come within 5 % of the published optimum", "[search][rcpsp]") {
    // By the search for rooms; the one made for projects came within 4 % in 10,000.
    hold_to_optimum("rcpsp", 30'000, 5.0);
}

TEST_CASE("ft06 is solved to its 55", "[search][jsp]") {
    // Fisher & Thompson 1963; optimum 55 in every list since.
    CHECK(solve_checked(load("jsp", "ft06"), 20'000).value.parts[0] == 55);
}

TEST_CASE("the worked examples of the formats are solved to their optimum", "[search]") {
    // By hand: machine 1 alone has 2 + 4 = 6 units of work.
    CHECK(solve_checked(job_shop("2 2\n0 3 1 2\n1 4 0 1\n"), 1000).value.parts[0] == 6);
    // Job 1: 3 and then at least 4 on machine 1; job 2 meanwhile 6 on machine 2.
    CHECK(solve_checked(parse("2 2\n2 1 1 3 2 1 4 2 2\n1 2 1 5 2 6\n", "f",
                              compile::ShopFormat::FlexibleJobShop),
                        1000)
              .value.parts[0] == 7);
    // Job 1 first: [0,2) [2,7); job 0 [2,5) [5,9).
    CHECK(solve_checked(parse("2\n2\n1 2\n3 4\n2 5\n", "h", compile::ShopFormat::HybridFlowShop),
                        1000)
              .value.parts[0] == 9);
    // C_0 = 6 (due 5, weight 4), C_1 = 5 (due 4, weight 2): 4 + 2.
    CHECK(solve_checked(parse("2 2\n0 3 1 2 0 5 4\n1 4 0 1 0 4 2\n", "t",
                              compile::ShopFormat::TardinessJobShop),
                        1000)
              .value.parts[0] == 6);
    // 3 + 2 units that cannot overlap.
    CHECK(solve_checked(parse("4 1\n2\n0 0 2 2 3\n3 1 1 4\n2 2 1 4\n0 0 0\n", "p",
                              compile::ShopFormat::Project),
                        1000)
              .value.parts[0] == 5);
}

TEST_CASE("operations without length and a job that returns to a machine are handled",
          "[search][jsp]") {
    // Job 0: machine 0 for 2, again machine 0 for 0, then 3. Job 1: machine 0 for 4. All on one
    // machine: 9.
    const auto s = solve_checked(
        parse("2 1\n3 1 1 2 1 1 0 1 1 3\n1 1 1 4\n", "r", compile::ShopFormat::FlexibleJobShop),
        2000);
    CHECK(s.value.parts[0] == 9);
    CHECK(s.status == core::Status::Optimal);
}

TEST_CASE("the budget in evaluations decides, not the number of threads", "[search][determinism]") {
    for (const auto& [kind, name, evaluations] :
         {std::tuple<std::string, std::string, int>{"jsp", "la19", 2'200'000},
          {"fjsp", "mk04", 60'000},
          {"hfs", "pra0003_50x5_c3", 20'000},
          {"jsp-twt", "orb02_f16", 200'000},
          {"rcpsp", "j60_45_6", 10'000}}) {
        INFO(kind << ' ' << name);
        const auto p = load(kind, name);
        const auto one = solve_checked(p, evaluations, 7, 1);
        const auto again = solve_checked(p, evaluations, 7, 3);
        CHECK(one.schedule == again.schedule);
        CHECK(one.evaluations == again.evaluations);
    }
}

TEST_CASE("an interrupted search hands back a schedule", "[search][interrupt]") {
    for (const auto& [kind, name] : {std::pair<std::string, std::string>{"jsp", "ft10"},
                                     {"fjsp", "mk01"},
                                     {"hfs", "pra0003_50x5_c3"},
                                     {"jsp-twt", "orb02_f16"},
                                     {"rcpsp", "j120_1_2"}}) {
        INFO(kind << ' ' << name);
        const auto p = load(kind, name);
        int asked = 0;
        search::SearchOptions options;
        options.stop = [&asked] { return ++asked > 3; };
        const auto s = search::solve(p, options);
        CHECK(s.interrupted);
        REQUIRE(s.schedule);
        CHECK(check::check(p, *s.schedule).empty());
    }
}
