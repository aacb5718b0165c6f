// coatroom-rooms: how good the planner's search is on rooms. A scenario, with its due dates moved
// earlier and its orders repeated on demand, goes through the best single rule and through the
// search; every schedule is judged by sched/check. CSV on stdout.

#include <sys/resource.h>

#include <chrono>
#include <cstdint>
#include <cstdio>
#include <optional>
#include <string>
#include <vector>

#include <CLI/CLI.hpp>

#include "sched/check/checker.hpp"
#include "sched/core/objective.hpp"
#include "sched/engine/decoder.hpp"
#include "sched/engine/rules.hpp"
#include "sched/search/floor_search.hpp"
#include "tests/bench/room_workloads.hpp"

namespace {

namespace core = sched::core;

std::string parts(const core::Value& value) {
    std::string text;
    for (const auto v : value.parts)
        text += (text.empty() ? "" : " ") + std::to_string(v);
    return text;
}

std::optional<core::Value> best_rule(const core::Problem& problem) {
    const sched::engine::CompiledProblem compiled(problem);
    const auto views = sched::engine::rule_views(compiled);
    sched::engine::Decoder decoder(compiled);
    std::optional<core::Value> best;
    for (const auto& rule : sched::engine::rules()) {
        if (!decoder.decode(sched::engine::rule_sequence(compiled, views, rule))) continue;
        const core::Value v{decoder.value()};
        if (!best || v < *best) best = v;
    }
    return best;
}

double peak_megabytes() {
    rusage usage{};
    getrusage(RUSAGE_SELF, &usage);
    return static_cast<double>(usage.ru_maxrss) / 1024.0;  // Linux counts kilobytes
}

}  // namespace

int main(int argc, char** argv) {
    CLI::App app{"Rooms through the search: best rule, search, bound, as CSV."};
    std::vector<std::string> folders;
    std::vector<int> earlier{0};
    std::int64_t evaluations = 0;
    double seconds = 0.0;
    int threads = 1, seeds = 1, repeat = 1;
    app.add_option("folders", folders, "scenario folders")->required();
    app.add_option("--earlier", earlier, "minutes by which every due date moves earlier");
    app.add_option("--evaluations", evaluations, "budget in schedules");
    app.add_option("--seconds", seconds, "budget in seconds");
    app.add_option("--threads", threads, "parallel starts")->check(CLI::Range(1, 256));
    app.add_option("--seeds", seeds, "seeds 1..N, a line each")->check(CLI::Range(1, 1000));
    app.add_option("--repeat", repeat, "the orders this many times over (one a day)");
    CLI11_PARSE(app, argc, argv);
    if (evaluations <= 0 && seconds <= 0.0) evaluations = 2000;
    std::printf(
        "scenario,earlier_min,seed,rule,search,bound,status,evaluations,seconds,peak_mb,checked\n");
    int status = 0;
    for (const auto& folder : folders) {
        for (const int minutes : earlier) {
            const auto problem = room_workloads::make(
                folder, {.earlier = core::Seconds{60 * minutes}, .repeat = repeat});
            if (!problem) return 2;
            const auto rule = best_rule(*problem);
            for (int seed = 1; seed <= seeds; ++seed) {
                sched::search::SearchOptions options;
                if (evaluations > 0) options.budget.evaluations = evaluations;
                if (seconds > 0.0) options.budget.seconds = seconds;
                options.threads = threads;
                options.seed = static_cast<std::uint64_t>(seed);
                const auto begin = std::chrono::steady_clock::now();
                const auto s = sched::search::search_floor(*problem, options);
                const double took =
                    std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
                const char* judged = "none";
                if (s.schedule) {
                    const bool right = sched::check::check(*problem, *s.schedule).empty() &&
                                       core::evaluate(*problem, *s.schedule) == s.value;
                    judged = right ? "yes" : "WRONG";
                    if (!right) status = 1;
                }
                std::printf("%s,%d,%d,%s,%s,%s,%s,%lld,%.2f,%.0f,%s\n", folder.c_str(), minutes,
                            seed, rule ? parts(*rule).c_str() : "", parts(s.value).c_str(),
                            parts(s.bound).c_str(),
                            s.status == core::Status::Optimal ? "optimal" : "feasible",
                            static_cast<long long>(s.evaluations), took, peak_megabytes(), judged);
                std::fflush(stdout);
            }
        }
    }
    return status;
}
