// Writes docs/validation.md: what the simulator says where the truth is known. Fixed seeds, so the
// page is the same on every run and for every number of threads.
//   coatroom-validate [FILE] [--short]     FILE: where to write; none: standard output

#include <fmt/format.h>

#include <fstream>
#include <iostream>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "sched/statistics/probability.hpp"
#include "tests/study/truth.hpp"
#include "tests/study/truth_coverage.hpp"

#ifndef COATROOM_TEST_DATA
#error "the build names the folder of the tests"
#endif

using namespace study_test;

namespace {

std::string rows_of(const Truth& truth) {
    std::string text =
        "| system | parameters | measure | theory | simulated | 99 % interval | verdict |\n"
        "|---|---|---|---|---|---|---|\n";
    for (const auto& r : truth.rows) {
        const auto i = r.simulated.interval();
        std::string p = r.parameters;
        for (const char c : std::string("{}\""))
            std::erase(p, c);
        text += fmt::format("| {} | {} | {} | {:.6g} | {:.6g} | {:.6g} .. {:.6g} | {}{} |\n",
                            r.model, p, r.measure, r.exact, r.simulated.mean, i.low, i.high,
                            r.inside() ? "inside" : "OUTSIDE",
                            r.second_look ? " at the second look" : "");
    }
    return text;
}

/// Rows that no Problem says, those of one system and one reason together.
std::string not_said_of(const Truth& truth) {
    std::map<std::pair<std::string, std::string>, int> rows;
    std::vector<std::pair<std::string, std::string>> order;
    for (const auto& r : truth.not_said) {
        const std::pair<std::string, std::string> key{r.model, r.why};
        if (++rows[key] == 1) order.push_back(key);
    }
    std::string text =
        "\n## What a room cannot say\n\n| system | rows | why it is not run |\n|---|---|---|\n";
    for (const auto& key : order)
        text += fmt::format("| {} | {} | {} |\n", key.first, rows[key], key.second);
    return text;
}

std::string coverage_row(const char* what, const Coverage& c, const std::string& wanted) {
    const auto i = c.interval();
    return fmt::format("| {} | {} of {} | {:.1f} % | {:.1f} .. {:.1f} % | {} |\n", what, c.held,
                       c.of, 100 * c.share(), 100 * i.low, 100 * i.high, wanted);
}

/// Exact coverage of the 95 % Wilson interval at chance p: the binomial summed.
double wilson_exact(int n, double p) {
    using namespace sched::study;
    double sum = 0.0;
    for (int k = 0; k <= n; ++k) {
        if (wilson_interval(k, n, 0.95).holds(p)) {
            sum += binomial_cdf(k, n, p) - binomial_cdf(k - 1, n, p);
        }
    }
    return sum;
}

}  // namespace

int main(int argc, char** argv) {
    std::string file;
    bool brief = false;
    for (int i = 1; i < argc; ++i) {
        const std::string word = argv[i];
        if (word == "--short") {
            brief = true;
        } else {
            file = word;
        }
    }
    TruthSize size{.replications = 40, .customers = 100'000, .warm_up = 20'000};
    if (brief) size = {};
    const Truth truth = run_truth(COATROOM_TEST_DATA "/data/study/queueing.csv", size);
    int outside = 0;
    for (const auto& r : truth.rows)
        outside += r.inside() ? 0 : 1;
    std::string page = fmt::format(
        "# Validation\n\n"
        "What the simulator says where the truth is known. This page is written by "
        "`coatroom-validate` (build target\n"
        "`validate`); seeds are fixed, the number of threads changes nothing. A shorter run of the "
        "same checks is part of the\n"
        "tests (`tests/study/truth_test.cpp`).\n\n"
        "<!-- figures: validation\nmade by hand: ninja validate\nrests on: queues "
        "tests/bench/coatroom_validate.cpp tests/data/study\nstamp: unknown -->\n"
        "Theory: `tests/data/study/queueing.csv`, whose rows name their textbook. Simulated: what "
        "`coatroom weeks` runs on. Each\n"
        "system is a Problem whose customers come in over time: stations are resources, a visit is "
        "an operation, who is turned away\n"
        "takes the way that needs nobody, who is called away pauses while the station is closed to "
        "him, a batch is a shared\n"
        "exposure, processor sharing is the drying clock with the cap that makes it share evenly "
        "(`tests/support/queue_systems.cpp`).\n"
        "The run is cut into windows as weeks are cut into days (`sched/simulate/run_window.hpp`) "
        "and booked by the decoder without\n"
        "looking ahead; every figure is measured from the instants of its schedules.\n\n"
        "{} replications of {} customers each, the first {} of each left out. Interval: Student t "
        "over the replications, 99 %.\n"
        "Of {} rows {} lay outside at first ({:.1f} expected from a right simulator); those were "
        "run again with fresh draws and four\n"
        "times the replications: {} outside. In every open system Little's law (area under the "
        "number inside = sum of the times\n"
        "inside) and conservation (who enters is served or turned away) are checked to the tick, "
        "and the program stops if they fail.\n"
        "{} rows cannot be said by a room or a Problem and are not run; they stand below with the "
        "reason.\n\n",
        size.replications, size.customers, size.warm_up, truth.rows.size(), truth.outside_at_first,
        0.01 * static_cast<double>(truth.rows.size()), outside, truth.not_said.size());
    page += rows_of(truth);
    page += not_said_of(truth);
    page +=
        "\nBesides, `tests/study/truth_test.cpp` compares queues of one, two and three servers "
        "with "
        "their recursion (Kiefer and\n"
        "Wolfowitz 1955), instant by instant and for windows of four lengths; and workloads A and "
        "B "
        "of `coatroom-events` give\n"
        "their published check sums through the same door.\n";

    page +=
        "\n## Do the intervals hold?\n\n"
        "Macro-replications of a queue by its recursion, with a known answer; the last column is "
        "what is asked.\n\n"
        "| interval | held | share | 95 % interval of the share | asked |\n|---|---|---|---|---|\n";
    const CoverageSize macro;
    page += coverage_row("90 % t interval, M/M/1 at 50 %, 10 replications of 1,000 customers",
                         replication_coverage(macro, 0.90), "88 .. 92 %");
    CoverageSize long_run = macro;
    long_run.customers = 20'000;
    page += coverage_row("90 % batch means (20), M/M/1 at 50 %, one run of 20,000, MSER-5",
                         batch_coverage(long_run, 20, 0.90), "near 90 %");
    page += coverage_row("90 % order-statistic interval of the median, 50 values",
                         median_coverage(macro, 50, 0.90),
                         fmt::format("at least 90 % (exact {:.1f} %)",
                                     100 * sched::study::quantile_ranks(50, 0.5, 0.90).coverage));
    page += coverage_row("95 % Wilson interval, chance 0.1, 100 trials",
                         wilson_coverage(macro, 100, 0.1, 0.95),
                         fmt::format("near 95 % (exact {:.1f} %)", 100 * wilson_exact(100, 0.1)));

    if (file.empty()) {
        std::cout << page;
    } else {
        std::ofstream(file, std::ios::binary) << page;
    }
    return outside == 0 ? 0 : 1;
}
