// Writes docs/validation.md: what the simulator says where the truth is known. Fixed seeds, so the
// page is the same on every run and for every number of threads.
//   coatroom-validate [FILE] [--short]     FILE: where to write; none: standard output

#include <fmt/format.h>

#include <fstream>
#include <iostream>
#include <string>

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
    std::string left_out;
    for (const auto& m : truth.not_expressed)
        left_out += (left_out.empty() ? "" : "; ") + m;

    std::string page = fmt::format(
        "# Validation\n\n"
        "What the simulator says where the truth is known. This page is written by "
        "`coatroom-validate` (build target\n"
        "`validate`); seeds are fixed, the number of threads changes nothing. A shorter run of the "
        "same checks is part of the\n"
        "tests (`tests/study/truth_test.cpp`).\n\n"
        "<!-- figures: validation\nmade by hand: ninja validate\nrests on: queues "
        "tests/bench/coatroom_validate.cpp tests/data/study\nstamp: unknown -->\n"
        "Theory: `tests/data/study/queueing.csv`, whose rows name their textbook. Simulated: "
        "`sched/engine`, open lines\n"
        "(`line.hpp`) and, for processor sharing, the drying clock (`drying_clock.hpp`) with the "
        "cap that makes it share evenly;\n"
        "interrupted work, customers that come back and batches on its event list and draws "
        "(`tests/study/truth_network.hpp`).\n"
        "{} replications of {} customers each, the first {} of each left out. Interval: Student t "
        "over the replications, 99 %.\n"
        "Of {} rows {} lay outside at first ({:.1f} expected from a right simulator); those were "
        "run again with fresh draws and four\n"
        "times the replications: {} outside. In every run Little's law (area under the number "
        "inside = sum of the times inside) and\n"
        "conservation (who enters is served, lost or inside) are checked to the tick, and the "
        "program stops if they fail.\n\n",
        size.replications, size.customers, size.warm_up, truth.rows.size(), truth.outside_at_first,
        0.01 * static_cast<double>(truth.rows.size()), outside);
    page += rows_of(truth);
    page +=
        "\nNot run, because they are formulas with nothing to simulate (the load at which a loss "
        "system blocks so often; the\nmean and variance of a process time with failures): " +
        left_out + "; M/M/c/c with a given blocking.\n";
    page +=
        "\nThe engine that plans rooms (`decoder.hpp`) is held to the same theory in "
        "`tests/study/truth_room_test.cpp`: queues\n"
        "with one, two and three servers and with two classes come out instant for instant as in "
        "the lines above; machine\n"
        "repair and bulk service as Problems hold their exact values in 99 % intervals.\n";

    page +=
        "\n## Do the intervals hold?\n\n"
        "Macro-replications with a known answer; the last column is what is asked.\n\n"
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
