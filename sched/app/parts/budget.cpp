#include "sched/app/parts/budget.hpp"

#include <algorithm>
#include <charconv>
#include <cstdio>
#include <thread>

#include "sched/app/parts/interrupt.hpp"

namespace sched::app {

std::optional<search::Budget> parse_budget(const std::string& text) {
    const char* first = text.data();
    const char* last = first + text.size();
    double number = 0.0;
    const auto [end, error] = std::from_chars(first, last, number, std::chars_format::fixed);
    if (error != std::errc{} || !(number > 0.0) || number > 1e12) return std::nullopt;
    std::string unit(end, last);
    unit.erase(std::remove(unit.begin(), unit.end(), ' '), unit.end());
    search::Budget budget;
    if (unit == "s") {
        budget.seconds = number;
    } else if (unit == "min") {
        budget.seconds = 60.0 * number;
    } else if (unit == "sch") {
        budget.evaluations = static_cast<std::int64_t>(number);
    } else {
        return std::nullopt;
    }
    return budget;
}

std::optional<search::SearchOptions> search_options(const BudgetArgs& args) {
    search::SearchOptions options;
    const auto budget = parse_budget(args.budget);
    if (!budget) {
        std::fprintf(stderr,
                     "coatroom: '%s' is not a valid budget. Write seconds (10s), minutes (2min) or "
                     "schedules "
                     "(50000sch).\n",
                     args.budget.c_str());
        return std::nullopt;
    }
    options.budget = *budget;
    options.seed = args.seed;
    const unsigned cores = std::max(1U, std::thread::hardware_concurrency());
    options.threads = args.threads > 0 ? args.threads : static_cast<int>(cores);
    options.stop = [] { return interrupted(); };
    return options;
}

}  // namespace sched::app
