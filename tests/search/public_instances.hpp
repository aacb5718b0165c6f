#pragma once
// Public instances for the search tests: read, solved and judged.

#include <fstream>
#include <map>
#include <sstream>
#include <string>

#include "sched/check/checker.hpp"
#include "sched/core/objective.hpp"
#include "sched/search/solve.hpp"
#include "tests/catch.hpp"
#include "tests/classes/instance_shop.hpp"

namespace public_instances {

inline std::string text_of(const std::string& path) {
    std::ifstream in(path, std::ios::binary);
    REQUIRE(in);
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

inline std::string folder() {
    return std::string(COATROOM_TEST_DATA) + "/data/benchmarks/";
}

inline sched::core::Problem parse(const std::string& text, const std::string& name,
                                  sched::compile::ShopFormat format) {
    model::Diagnostics d;
    auto p = sched::compile::read_shop(text, name, format, d);
    REQUIRE(p);
    REQUIRE(sched::core::validate(*p).empty());
    return *p;
}

inline sched::core::Problem load(const std::string& kind, const std::string& name) {
    using sched::compile::ShopFormat;
    static const std::map<std::string, ShopFormat> formats = {
        {"jsp", ShopFormat::JobShop},
        {"fjsp", ShopFormat::FlexibleJobShop},
        {"hfs", ShopFormat::HybridFlowShop},
        {"jsp-twt", ShopFormat::TardinessJobShop},
        {"rcpsp", ShopFormat::Project}};
    const std::string end = kind == "rcpsp" ? ".rcp" : ".txt";
    return parse(text_of(folder() + kind + '/' + name + end), name, formats.at(kind));
}

/// instance -> published optimum (all instances of the tests have one).
inline std::map<std::string, std::int64_t> optima(const std::string& kind) {
    std::istringstream lines(text_of(folder() + kind + "/best-known.csv"));
    std::map<std::string, std::int64_t> known;
    std::string line;
    std::getline(lines, line);
    while (std::getline(lines, line)) {
        std::istringstream cells(line);
        std::string name, lower, upper;
        std::getline(cells, name, ',');
        std::getline(cells, lower, ',');
        std::getline(cells, upper, ',');
        REQUIRE(lower == upper);
        known[name] = std::stoll(upper);
    }
    REQUIRE_FALSE(known.empty());
    return known;
}

/// Solves and has the schedule judged by the checker, which shares no code with the search.
inline sched::core::Solution solve_checked(const sched::core::Problem& p, std::int64_t evaluations,
                                           std::uint64_t seed = 1, int threads = 1) {
    sched::search::SearchOptions options;
    options.budget.evaluations = evaluations;
    options.seed = seed;
    options.threads = threads;
    sched::core::Solution s = sched::search::solve(p, options);
    REQUIRE(s.schedule);
    const auto wrong = sched::check::check(p, *s.schedule);
    INFO((wrong.empty() ? std::string{} : wrong[0].words));
    CHECK(wrong.empty());
    CHECK(sched::core::evaluate(p, *s.schedule) == s.value);
    CHECK(s.bound <= s.value);
    CHECK(s.evaluations <= evaluations);
    return s;
}

}  // namespace public_instances
