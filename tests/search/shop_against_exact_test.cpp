// Small random shops and projects: the searches and the exact solver, two programs that share no
// search code, must agree on the optimum; the bound never lies above it.

#include "sched/search/base/rng.hpp"
#include "sched/search/exact/exact.hpp"
#include "tests/search/public_instances.hpp"

using namespace sched;
using namespace public_instances;

namespace {

/// Jobs with 1 to 4 operations, some without length, some with a choice, machines visited again.
std::string random_flexible(search::Rng& rng) {
    const int jobs = 2 + rng.below(3);
    const int machines = 2 + rng.below(2);
    std::string text = std::to_string(jobs) + ' ' + std::to_string(machines) + " 1.5\n";
    for (int j = 0; j < jobs; ++j) {
        const int steps = 1 + rng.below(4);
        text += std::to_string(steps);
        for (int k = 0; k < steps; ++k) {
            const int first = 1 + rng.below(machines);
            const bool choice = rng.below(3) == 0;
            text += choice ? " 2 " : " 1 ";
            text += std::to_string(first) + ' ' + std::to_string(rng.below(6));
            if (choice)
                text +=
                    ' ' + std::to_string(first % machines + 1) + ' ' + std::to_string(rng.below(8));
        }
        text += '\n';
    }
    return text;
}

std::string random_tardiness(search::Rng& rng) {
    const int jobs = 3 + rng.below(2);
    std::string text = std::to_string(jobs) + " 3\n";
    for (int j = 0; j < jobs; ++j) {
        int total = 0;
        const int shift = rng.below(3);
        for (int k = 0; k < 3; ++k) {
            const int time = rng.below(7);
            total += time;
            text += std::to_string((k + shift) % 3) + ' ' + std::to_string(time) + ' ';
        }
        text += std::to_string(rng.below(4)) + ' ' + std::to_string(total + rng.below(5)) + ' ' +
                std::to_string(1 + rng.below(4)) + '\n';
    }
    return text;
}

std::string random_project(search::Rng& rng) {
    const int n = 8;
    std::string text = "8 2\n3 4\n";
    for (int a = 1; a <= n; ++a) {
        text += std::to_string(rng.below(6)) + ' ' + std::to_string(rng.below(4)) + ' ' +
                std::to_string(rng.below(5));
        std::string successors;
        int count = 0;
        for (int b = a + 1; b <= n; ++b) {
            if (rng.below(4) != 0) continue;
            successors += ' ' + std::to_string(b);
            ++count;
        }
        text += ' ' + std::to_string(count) + successors + '\n';
    }
    return text;
}

void agree(const core::Problem& p) {
    search::SearchOptions options;
    options.budget.evaluations = 20'000;
    REQUIRE(search::exact_supports(p));
    const auto exact = search::solve_exact(p, options);
    REQUIRE(exact.status == core::Status::Optimal);
    const auto found = solve_checked(p, 20'000);
    CHECK(found.value == exact.value);
}

}  // namespace

TEST_CASE("searches over shops and projects agree with the exact solver", "[search][oracle]") {
    search::Rng rng(20261125);
    for (int k = 0; k < 25; ++k) {
        for (const auto& [text, format] :
             {std::pair{random_flexible(rng), compile::ShopFormat::FlexibleJobShop},
              std::pair{random_tardiness(rng), compile::ShopFormat::TardinessJobShop},
              std::pair{random_project(rng), compile::ShopFormat::Project}}) {
            INFO(text);
            agree(parse(text, "random", format));
        }
    }
}
