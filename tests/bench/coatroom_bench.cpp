// coatroom-bench: public instances through the planner's search, each schedule judged apart.
// CSV on stdout, one progress line an instance on stderr.

#include <charconv>
#include <chrono>
#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <map>
#include <optional>
#include <sstream>
#include <string>
#include <vector>

#include <CLI/CLI.hpp>

#include "sched/check/checker.hpp"
#include "sched/core/objective.hpp"
#include "sched/search/room/room_search.hpp"
#include "sched/search/solve.hpp"
#include "tests/classes/instance_lags.hpp"
#include "tests/classes/instance_shop.hpp"

namespace {

namespace core = sched::core;

using Parts = std::vector<std::int64_t>;  // one per criterion, in the units of the file

struct Known {
    bool infeasible = false;
    Parts lower, upper;
};

struct Row {
    std::string instance;
    std::optional<Parts> value, bound;
    bool proven = false, feasible = false;
    std::int64_t evaluations = 0;
    double seconds = 0.0;
    std::string checked = "no";
    std::int64_t path = 0;  // longest path without resources
};

/// "30s" or "50000sch".
std::optional<sched::search::Budget> parse_budget(const std::string& text) {
    sched::search::Budget budget;
    std::size_t used = 0;
    try {
        const double value = std::stod(text, &used);
        const std::string unit = text.substr(used);
        if (!(value > 0)) return std::nullopt;
        if (unit == "s") {
            budget.seconds = value;
        } else if (unit == "sch") {
            budget.evaluations = static_cast<std::int64_t>(value);
        } else {
            return std::nullopt;
        }
    } catch (const std::exception&) {
        return std::nullopt;
    }
    return budget;
}

std::optional<std::string> slurp(const std::string& path) {
    std::ifstream in(path, std::ios::binary);
    if (!in) return std::nullopt;
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

/// instance,lower_bound,upper_bound,...; of rooms: instance,weighted_tardiness,makespan,...
/// (optima).
std::map<std::string, Known> read_known(const std::string& text, bool room) {
    std::map<std::string, Known> known;
    std::istringstream lines(text);
    std::string line;
    while (std::getline(lines, line)) {
        std::istringstream cells(line);
        std::string name, first, second;
        std::getline(cells, name, ',');
        std::getline(cells, first, ',');
        std::getline(cells, second, ',');
        if (first == "infeasible") {
            known[name].infeasible = true;
            continue;
        }
        std::int64_t x = 0, y = 0;
        const auto a = std::from_chars(first.data(), first.data() + first.size(), x);
        const auto b = std::from_chars(second.data(), second.data() + second.size(), y);
        if (a.ec != std::errc{} || b.ec != std::errc{}) continue;
        Known& k = known[name];
        k.lower = room ? Parts{x, y} : Parts{x};
        k.upper = room ? Parts{x, y} : Parts{y};
    }
    return known;
}

std::optional<core::Problem> read_problem(const std::string& kind, const std::string& text,
                                          const std::string& file,
                                          model::Diagnostics& diagnostics) {
    using sched::compile::ShopFormat;
    static const std::map<std::string, ShopFormat> formats = {
        {"jsp", ShopFormat::JobShop},
        {"fjsp", ShopFormat::FlexibleJobShop},
        {"hfs", ShopFormat::HybridFlowShop},
        {"jsp-twt", ShopFormat::TardinessJobShop},
        {"rcpsp", ShopFormat::Project}};
    if (const auto it = formats.find(kind); it != formats.end()) {
        return sched::compile::read_shop(text, file, it->second, diagnostics);
    }
    if (kind == "rcpsp-max") return sched::compile::read_project_max(text, file, diagnostics);
    return sched::compile::read_small_room(text, file, diagnostics);
}

/// Longest path through the lags with the shortest modes: the "critical path" of the project
/// literature.
std::int64_t critical_path(const core::Problem& p) {
    std::vector<std::int64_t> start(p.operations.size(), 0);
    std::vector<std::int64_t> length;
    for (const auto& o : p.operations) {
        std::int64_t best = o.modes[0].work.count();
        for (const auto& m : o.modes)
            best = std::min(best, m.work.count());
        length.push_back(best);
    }
    std::int64_t longest = 0;
    bool changed = true;
    for (std::size_t round = 0; changed && round <= p.operations.size(); ++round) {
        changed = false;
        for (const auto& c : p.constraints) {
            const auto* lag = std::get_if<core::TimeLag>(&c);
            if (lag == nullptr) continue;
            const auto from = lag->from.index();
            const std::int64_t at = start[from] + lag->min.count() +
                                    (lag->edge == core::Edge::Start ? 0 : length[from]);
            if (at > start[lag->to.index()]) {
                start[lag->to.index()] = at;
                changed = true;
            }
        }
    }
    for (std::size_t o = 0; o < length.size(); ++o)
        longest = std::max(longest, start[o] + length[o]);
    return longest;
}

/// In the units of the file: the room files count minutes, all others what becomes seconds.
Parts in_units(const core::Value& value, std::int64_t unit) {
    Parts parts = value.parts;
    for (auto& p : parts)
        p /= unit;
    return parts;
}

/// Start times, one an operation, for a judge outside the program (verify_project.py).
void write_starts(const std::string& folder, const std::string& name, const core::Schedule& s) {
    std::filesystem::create_directories(folder);
    std::ofstream out(folder + "/" + name + ".starts");
    for (const auto& p : s.placements)
        out << p.start.time_since_epoch().count() << '\n';
}

Row run(const core::Problem& problem, const sched::search::SearchOptions& options,
        std::int64_t unit, const std::string& starts, const std::string& name, bool alone) {
    Row row;
    const auto begin = std::chrono::steady_clock::now();
    const core::Solution s = alone ? sched::search::search_room(problem, options)
                                   : sched::search::solve(problem, options);
    row.seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
    row.evaluations = s.evaluations;
    row.proven = s.status == core::Status::Optimal || s.status == core::Status::Infeasible;
    if (!s.bound.parts.empty()) row.bound = in_units(s.bound, unit);
    if (s.schedule) {
        row.feasible = true;
        row.value = in_units(s.value, unit);
        bool right = core::evaluate(problem, *s.schedule) == s.value;
        right = right && sched::check::check(problem, *s.schedule).empty();
        row.checked = right ? "yes" : "WRONG";
        if (!starts.empty()) write_starts(starts, name, *s.schedule);
    }
    row.path = critical_path(problem);
    return row;
}

/// "930"; "54/217" for several criteria.
std::string number(const std::optional<Parts>& parts) {
    std::string text;
    if (!parts) return text;
    for (const auto p : *parts)
        text += (text.empty() ? "" : "/") + std::to_string(p);
    return text;
}

/// Relative error of the first criterion that differs, in percent of the best known.
double gap_percent(const Parts& value, const Parts& best) {
    for (std::size_t k = 0; k < std::min(value.size(), best.size()); ++k) {
        if (value[k] == best[k]) continue;
        if (best[k] == 0) return value[k] > 0 ? 100.0 : -100.0;
        return 100.0 * static_cast<double>(value[k] - best[k]) / static_cast<double>(best[k]);
    }
    return 0.0;
}

std::string percent(double v) {
    char text[32];
    std::snprintf(text, sizeof text, "%.3f", v);
    return text;
}

}  // namespace

int main(int argc, char** argv) {
    CLI::App app{"Runs public benchmark instances through the search and prints CSV."};
    std::string kind, budget_text = "10s", known_file, starts, which = "plan";
    std::vector<std::string> files;
    int threads = 1;
    std::uint64_t seed = 1;
    app.add_option("--class", kind, "problem class")
        ->required()
        ->check(CLI::IsMember({"jsp", "fjsp", "rcpsp", "rcpsp-max", "hfs", "jsp-twt", "room"}));
    app.add_option("--budget", budget_text, "seconds (30s) or schedules (50000sch)");
    app.add_option("--threads", threads, "parallel starts")->check(CLI::Range(1, 256));
    app.add_option("--seed", seed, "seed");
    app.add_option("--known", known_file, "best-known.csv: adds gap columns and a class mean");
    app.add_option("--search", which,
                   "plan: what coatroom plan enters; room: its room search alone, no proof by the "
                   "exact search")
        ->check(CLI::IsMember({"plan", "room"}));
    app.add_option("--starts", starts, "folder for the start times of each schedule");
    app.add_option("files", files, "instances")->required();
    CLI11_PARSE(app, argc, argv);
    const auto budget = parse_budget(budget_text);
    if (!budget) {
        std::cerr << "coatroom-bench: --budget " << budget_text << ": write 30s or 50000sch\n";
        return 2;
    }
    std::map<std::string, Known> known;
    if (!known_file.empty()) {
        const auto text = slurp(known_file);
        if (!text) {
            std::cerr << "coatroom-bench: cannot read " << known_file << '\n';
            return 2;
        }
        known = read_known(*text, kind == "room");
    }
    std::cout << "instance,value,bound,proven,feasible,evaluations,seconds,checked";
    if (!known_file.empty()) std::cout << ",known_lower,known_upper,gap_percent,over_path_percent";
    std::cout << std::endl;
    int status = 0;
    const bool makespan = kind != "jsp-twt" && kind != "room";
    int with_gap = 0, optimal = 0, with_path = 0;
    int feasible_known = 0, infeasible_known = 0, infeasible_proven = 0;
    double gap_sum = 0.0, path_sum = 0.0, known_path_sum = 0.0, seconds_sum = 0.0;
    std::int64_t value_sum = 0, known_sum = 0;
    for (std::size_t k = 0; k < files.size(); ++k) {
        const std::string name = std::filesystem::path(files[k]).stem().string();
        const auto text = slurp(files[k]);
        model::Diagnostics diagnostics;
        if (!text) diagnostics.error({files[k], 0, 0}, "unreadable", "the file cannot be read");
        std::optional<core::Problem> problem;
        if (text) problem = read_problem(kind, *text, files[k], diagnostics);
        if (!problem) {
            for (const auto& d : diagnostics.all())
                std::cerr << model::to_text(d) << '\n';
            status = 2;
            continue;
        }
        sched::search::SearchOptions options{.budget = *budget, .threads = threads, .seed = seed};
        Row row = run(*problem, options, kind == "room" ? 60 : 1, starts, name, which == "room");
        row.instance = name;
        if (row.checked == "WRONG") status = std::max(status, 1);
        std::cout << name << ',' << number(row.value) << ',' << number(row.bound) << ','
                  << (row.proven ? "yes" : "no") << ',' << (row.feasible ? "yes" : "no") << ','
                  << row.evaluations << ',' << percent(row.seconds) << ',' << row.checked;
        std::string gap_text;
        if (!known_file.empty()) {
            const auto it = known.find(name);
            if (it == known.end()) {
                std::cout << ",,,,";
            } else if (it->second.infeasible) {
                ++infeasible_known;
                if (!row.feasible && row.proven) ++infeasible_proven;
                if (row.feasible) status = std::max(status, 1);
                std::cout << ",infeasible,infeasible,,";
            } else {
                const Known& best = it->second;
                ++feasible_known;
                std::cout << ',' << number(best.lower) << ',' << number(best.upper) << ',';
                if (row.value) {
                    if (*row.value < best.lower)
                        status = std::max(status, 1);  // a bug, not a record
                    if (*row.value == best.upper) ++optimal;
                    const double gap = gap_percent(*row.value, best.upper);
                    gap_sum += gap;
                    ++with_gap;
                    gap_text = percent(gap);
                    value_sum += row.value->front();
                    known_sum += best.upper.front();
                    std::cout << gap_text;
                }
                std::cout << ',';
                if (row.value && row.path > 0 && makespan) {
                    const auto path = static_cast<double>(row.path);
                    const double over =
                        100.0 * (static_cast<double>(row.value->front()) - path) / path;
                    path_sum += over;
                    known_path_sum +=
                        100.0 * (static_cast<double>(best.upper.front()) - path) / path;
                    ++with_path;
                    std::cout << percent(over);
                }
            }
        }
        std::cout << std::endl;
        seconds_sum += row.seconds;
        std::cerr << '[' << k + 1 << '/' << files.size() << "] " << name << ' '
                  << (row.value    ? number(row.value)
                      : row.proven ? "infeasible"
                                   : "none")
                  << (gap_text.empty() ? "" : " gap " + gap_text + " %") << '\n';
    }
    if (with_gap > 0) {
        // The mean over the instances that have a schedule here and a best-known value; sum over
        // sum beside it, for classes with optima near 0.
        std::cout << "mean,,,,," << with_gap << ',' << percent(seconds_sum) << ',' << optimal
                  << " at best-known,,," << percent(gap_sum / with_gap) << ','
                  << (with_path ? percent(path_sum / with_path) : "") << '\n';
        std::cerr << "mean gap " << percent(gap_sum / with_gap) << " % over " << with_gap << ", "
                  << optimal << " at best-known";
        if (known_sum > 0) {
            std::cerr << "; sum " << value_sum << " against " << known_sum << " ("
                      << percent(100.0 * static_cast<double>(value_sum - known_sum) /
                                 static_cast<double>(known_sum))
                      << " %)";
        }
        if (with_path > 0)
            std::cerr << "; over the longest path " << percent(path_sum / with_path)
                      << " % (best-known " << percent(known_path_sum / with_path) << " %)";
        std::cerr << '\n';
    }
    if (feasible_known > with_gap || infeasible_known > 0) {
        std::cerr << "schedules for " << with_gap << " of " << feasible_known
                  << "; infeasibility proved for " << infeasible_proven << " of "
                  << infeasible_known << '\n';
    }
    return status;
}
