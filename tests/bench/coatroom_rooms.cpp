// coatroom-rooms: how good the planner's search is on rooms. A scenario, with its due dates moved
// earlier and its orders repeated on demand, goes through the best single rule, iterated greedy and
// the search; every schedule is judged by sched/check. CSV or Markdown on stdout, a curve as SVG.

#include <sys/resource.h>

#include <algorithm>
#include <chrono>
#include <cstdint>
#include <cstdio>
#include <fstream>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include <CLI/CLI.hpp>

#include "sched/check/checker.hpp"
#include "sched/core/objective.hpp"
#include "sched/search/solve.hpp"
#include "tests/bench/curve_svg.hpp"
#include "tests/bench/iterated_greedy.hpp"
#include "tests/bench/random_rooms.hpp"
#include "tests/bench/room_workloads.hpp"
#include "tests/oracle/room_referee.hpp"
#include "tests/support/small_room.hpp"

namespace {

namespace core = sched::core;
using Clock = std::chrono::steady_clock;

std::string parts(const core::Value& value) {
    std::string text;
    for (const auto v : value.parts)
        text += (text.empty() ? "" : " ") + std::to_string(v);
    return text;
}

struct BestRule {
    core::Value value;
    std::string name;
};

std::optional<BestRule> best_rule(const core::Problem& problem) {
    const sched::engine::CompiledProblem compiled(problem);
    const auto views = sched::engine::rule_views(compiled);
    sched::engine::Decoder decoder(compiled);
    std::optional<BestRule> best;
    for (const auto& rule : sched::engine::rules()) {
        if (!decoder.decode(sched::engine::rule_sequence(compiled, views, rule))) continue;
        const core::Value v{decoder.value()};
        if (!best || v < best->value) best = BestRule{v, rule.name};
    }
    return best;
}

double peak_megabytes() {
    rusage usage{};
    getrusage(RUSAGE_SELF, &usage);
    return static_cast<double>(usage.ru_maxrss) / 1024.0;  // Linux counts kilobytes
}

double since(Clock::time_point begin) {
    return std::chrono::duration<double>(Clock::now() - begin).count();
}

struct Effort {
    std::int64_t evaluations = 0;  // 0: no limit
    double seconds = 0.0;          // 0: no limit
    int threads = 1;
    std::uint64_t seed = 1;
};

struct Searched {
    core::Solution solution;
    double seconds = 0.0;
    bool right = false;  // judged by sched/check, value computed again
    bench::Curve curve;
};

Searched search(const core::Problem& problem, const Effort& effort) {
    Searched out;
    sched::search::SearchOptions options;
    if (effort.evaluations > 0) options.budget.evaluations = effort.evaluations;
    if (effort.seconds > 0.0) options.budget.seconds = effort.seconds;
    options.threads = effort.threads;
    options.seed = effort.seed;
    options.progress = [&](const sched::search::Progress& p) {
        if (p.value && !p.value->parts.empty())
            out.curve.emplace_back(p.seconds, p.value->parts[0]);
    };
    const auto begin = Clock::now();
    out.solution = sched::search::solve(problem, options);
    out.seconds = since(begin);
    if (out.solution.schedule) {
        out.right = sched::check::check(problem, *out.solution.schedule).empty() &&
                    core::evaluate(problem, *out.solution.schedule) == out.solution.value;
        out.curve.emplace_back(out.seconds, out.solution.value.parts[0]);
    }
    return out;
}

std::string minutes(std::int64_t weighted_seconds) {
    char text[32];
    std::snprintf(text, sizeof text, "%.1f", static_cast<double>(weighted_seconds) / 60.0);
    return text;
}

std::string short_name(const std::string& folder, int earlier) {
    const auto slash = folder.find_last_of('/');
    std::string name = slash == std::string::npos ? folder : folder.substr(slash + 1);
    if (earlier > 0) name += " due " + std::to_string(earlier) + " min sooner";
    return name;
}

/// One row a scenario and budget: weighted tardiness in minutes. @returns 1 if a schedule is wrong.
int table(const std::vector<std::string>& folders, const std::vector<int>& earlier,
          const std::vector<double>& budgets, const Effort& effort, const std::string& svg) {
    int status = 0;
    std::vector<bench::Panel> panels;
    std::printf(
        "| scenario | budget | best rule | iterated greedy | full search | bound | better than the "
        "rule | schedules | checked |\n|---|---|---|---|---|---|---|---|---|\n");
    for (const auto& folder : folders) {
        for (const int sooner : earlier) {
            const auto problem =
                room_workloads::make(folder, {.earlier = core::Seconds{60 * sooner}});
            if (!problem) return 2;
            const auto rule = best_rule(*problem);
            bench::Panel panel{.title = short_name(folder, sooner)};
            for (const double budget : budgets) {
                const auto begin = Clock::now();
                const auto greedy = iterated_greedy::run(
                    *problem, effort.seed, [&](std::int64_t) { return since(begin) >= budget; });
                Effort mine = effort;
                mine.evaluations = 0;
                mine.seconds = budget;
                const auto s = search(*problem, mine);
                if (!s.right) status = 1;
                const std::int64_t v = s.solution.value.parts.at(0);
                const std::int64_t r = rule ? rule->value.parts[0] : 0;
                std::printf("| %s | %g s | %s (%s) | %s | %s | %s | %s | %lld | %s |\n",
                            panel.title.c_str(), budget, minutes(r).c_str(),
                            rule ? rule->name.c_str() : "none",
                            greedy.value.empty() ? "none" : minutes(greedy.value[0]).c_str(),
                            minutes(v).c_str(), minutes(s.solution.bound.parts.at(0)).c_str(),
                            r > 0 ? (std::to_string((r - v) * 100 / r) + " %").c_str() : "-",
                            static_cast<long long>(s.solution.evaluations),
                            s.right ? "yes" : "WRONG");
                std::fflush(stdout);
                if (budget == budgets.back()) {
                    panel.lines = {{"iterated greedy", "#9a6700", greedy.curve},
                                   {"full search", "#0b57a4", s.curve}};
                    panel.levels = {{"best rule", "#777777", r},
                                    {"bound", "#1a7f37", s.solution.bound.parts[0]}};
                    panel.seconds = budget;
                }
            }
            panels.push_back(std::move(panel));
        }
    }
    if (!svg.empty()) std::ofstream(svg) << bench::curves_svg(panels);
    return status;
}

/// Rooms first..rooms of random_rooms.hpp: a CSV line each, the sums last.
int random_table(int first, int rooms, int screens, const Effort& effort) {
    int made = 0, beaten = 0, beaten15 = 0, equal = 0, in_time = 0, proved = 0, best = 0, wrong = 0;
    std::printf(
        "room,screens,tightness,range,rule,search,bound,status,evaluations,seconds,checked\n");
    for (int seed = first; seed <= rooms; ++seed) {
        const auto room = random_rooms::make(static_cast<std::uint64_t>(seed), screens);
        if (!room) {
            std::printf("%d,,,,none,,,no rule finds a schedule,,,\n", seed);
            continue;
        }
        ++made;
        const auto rule = best_rule(room->problem);
        const auto s = search(room->problem, effort);
        const bool optimal = s.solution.status == core::Status::Optimal;
        std::printf(
            "%d,%d,%.1f,%.1f,%s,%s,%s,%s,%lld,%.2f,%s\n", seed, room->screens, room->tightness,
            room->range, rule ? parts(rule->value).c_str() : "", parts(s.solution.value).c_str(),
            parts(s.solution.bound).c_str(), optimal ? "optimal" : "feasible",
            static_cast<long long>(s.solution.evaluations), s.seconds, s.right ? "yes" : "WRONG");
        std::fflush(stdout);
        wrong += !s.right;
        best += optimal;
        if (!rule || !s.solution.schedule) continue;
        const std::int64_t r = rule->value.parts[0], v = s.solution.value.parts[0];
        proved += v == s.solution.bound.parts[0];
        in_time += r == 0;
        beaten += v < r;
        beaten15 += 100 * v <= 85 * r && v < r;
        equal += v == r && r > 0;
    }
    std::printf(
        "# %d rooms; best rule without lateness in %d; of the rest the search is better in %d (by "
        "15 %% or more in %d), equal in %d; lateness proved least in %d, all criteria in %d; "
        "wrong by the checker: %d\n",
        made, in_time, beaten, beaten15, equal, proved, best, wrong);
    return wrong > 0 ? 1 : 0;
}

/// Rooms first..rooms of small_room.hpp against the exhaustive referee, which looks for anything
/// better than the search found.
int small_table(int first, int rooms, const Effort& effort) {
    constexpr std::int64_t kStates = 6'000'000;
    int made = 0, optimal = 0, within_one = 0, open = 0, wrong = 0;
    double sum = 0.0, most = 0.0;
    std::printf("room,screens,operations,search,best,gap_percent,referee,evaluations,checked\n");
    for (int seed = first; seed <= rooms; ++seed) {
        const auto problem = small_room::make(static_cast<std::uint64_t>(seed));
        const auto s = search(problem, effort);
        if (!s.solution.schedule) continue;
        const std::int64_t v = s.solution.value.parts[0];
        const auto best = oracle::best_of_room(problem, v, kStates);
        const bool right =
            s.right &&
            (!best.schedule || (sched::check::check(problem, *best.schedule).empty() &&
                                core::evaluate(problem, *best.schedule).parts[0] == best.value));
        // A best of 0 that was missed counts as if it were one minute.
        const double gap = 100.0 * static_cast<double>(v - best.value) /
                           static_cast<double>(std::max<std::int64_t>(60, best.value));
        ++made;
        wrong += !right;
        open += !best.finished;
        optimal += v == best.value;
        within_one += gap <= 1.0;
        sum += gap;
        most = std::max(most, gap);
        std::printf("%d,%zu,%zu,%lld,%lld,%.2f,%s,%lld,%s\n", seed, problem.jobs.size(),
                    problem.operations.size(), static_cast<long long>(v),
                    static_cast<long long>(best.value), gap, best.finished ? "finished" : "open",
                    static_cast<long long>(s.solution.evaluations), right ? "yes" : "WRONG");
        std::fflush(stdout);
    }
    std::printf(
        "# %d rooms: mean gap %.2f %%, largest %.2f %%; none better in %d, within 1 %% in %d; "
        "referee not finished in %d; wrong by the checker: %d\n",
        made, made > 0 ? sum / made : 0.0, most, optimal, within_one, open, wrong);
    return wrong > 0 ? 1 : 0;
}

}  // namespace

int main(int argc, char** argv) {
    CLI::App app{"Rooms through the search: best rule, iterated greedy, search, bound."};
    std::vector<std::string> folders;
    std::vector<int> earlier{0};
    std::vector<double> budgets;
    std::string svg;
    Effort effort;
    int seeds = 1, repeat = 1, random = 0, small = 0, first = 1, screens = 0;
    app.add_option("folders", folders, "scenario folders");
    app.add_option("--earlier", earlier, "minutes by which every due date moves earlier");
    app.add_option("--evaluations", effort.evaluations, "budget in schedules");
    app.add_option("--seconds", effort.seconds, "budget in seconds");
    app.add_option("--threads", effort.threads, "parallel starts")->check(CLI::Range(1, 256));
    app.add_option("--seeds", seeds, "seeds 1..N, a line each")->check(CLI::Range(1, 1000));
    app.add_option("--repeat", repeat, "the orders this many times over (one a day)");
    app.add_option("--table", budgets, "Markdown table with these budgets in seconds: 1 10 60");
    app.add_option("--svg", svg, "with --table: value over time, drawn into this file");
    app.add_option("--random", random, "instead: random rooms 1..N (random_rooms.hpp)");
    app.add_option("--small", small,
                   "instead: small rooms 1..N (small_room.hpp) against an exhaustive referee");
    app.add_option("--first", first, "with --random, --small: rooms FIRST..N");
    app.add_option("--screens", screens, "with --random: so many screens each, not those drawn")
        ->check(CLI::Range(0, 5000));
    CLI11_PARSE(app, argc, argv);
    if (effort.evaluations <= 0 && effort.seconds <= 0.0) effort.evaluations = 2000;
    if (small > 0) return small_table(first, small, effort);
    if (random > 0) return random_table(first, random, screens, effort);
    if (!budgets.empty()) return table(folders, earlier, budgets, effort, svg);
    std::printf(
        "scenario,earlier_min,seed,rule,search,bound,status,evaluations,seconds,peak_mb,checked\n");
    int status = 0;
    for (const auto& folder : folders) {
        for (const int sooner : earlier) {
            const auto problem = room_workloads::make(
                folder, {.earlier = core::Seconds{60 * sooner}, .repeat = repeat});
            if (!problem) return 2;
            const auto rule = best_rule(*problem);
            for (int seed = 1; seed <= seeds; ++seed) {
                effort.seed = static_cast<std::uint64_t>(seed);
                const auto s = search(*problem, effort);
                if (!s.right) status = 1;
                std::printf("%s,%d,%d,%s,%s,%s,%s,%lld,%.2f,%.0f,%s\n", folder.c_str(), sooner,
                            seed, rule ? parts(rule->value).c_str() : "",
                            parts(s.solution.value).c_str(), parts(s.solution.bound).c_str(),
                            s.solution.status == core::Status::Optimal ? "optimal" : "feasible",
                            static_cast<long long>(s.solution.evaluations), s.seconds,
                            peak_megabytes(), s.right ? "yes" : "WRONG");
                std::fflush(stdout);
            }
        }
    }
    return status;
}
