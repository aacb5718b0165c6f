// coatroom-prove: public instances through the exact solver alone, each schedule judged apart.
// CSV on stdout: instance,status,value,second,bound,evaluations,seconds,checked

#include <chrono>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <sstream>
#include <string>
#include <vector>

#include <CLI/CLI.hpp>

#include "sched/check/checker.hpp"
#include "sched/core/objective.hpp"
#include "sched/search/bounds/bounds.hpp"
#include "sched/search/exact/exact.hpp"
#include "tests/classes/instance_lags.hpp"
#include "tests/classes/instance_shop.hpp"

namespace {

std::optional<sched::core::Problem> read(const std::string& kind, const std::string& text,
                                         const std::string& file, model::Diagnostics& d) {
    using sched::compile::ShopFormat;
    if (kind == "rcpsp-max") return sched::compile::read_project_max(text, file, d);
    if (kind == "room") return sched::compile::read_small_room(text, file, d);
    const ShopFormat format = kind == "jsp"       ? ShopFormat::JobShop
                              : kind == "fjsp"    ? ShopFormat::FlexibleJobShop
                              : kind == "hfs"     ? ShopFormat::HybridFlowShop
                              : kind == "jsp-twt" ? ShopFormat::TardinessJobShop
                                                  : ShopFormat::Project;
    return sched::compile::read_shop(text, file, format, d);
}

const char* status_words(sched::core::Status s) {
    switch (s) {
        case sched::core::Status::Optimal:
            return "optimal";
        case sched::core::Status::Feasible:
            return "feasible";
        case sched::core::Status::Infeasible:
            return "infeasible";
        case sched::core::Status::Unknown:
            return "unknown";
    }
    return "";
}

}  // namespace

int main(int argc, char** argv) {
    CLI::App app{"Runs public benchmark instances through the exact solver and prints CSV."};
    std::string kind;
    double seconds = 10;
    std::int64_t conflicts = 0;
    std::vector<std::string> files;
    app.add_option("--class", kind, "problem class")
        ->required()
        ->check(CLI::IsMember({"jsp", "fjsp", "rcpsp", "rcpsp-max", "hfs", "jsp-twt", "room"}));
    app.add_option("--seconds", seconds, "wall clock an instance");
    app.add_option("--conflicts", conflicts, "conflicts an instance, instead of seconds");
    bool only_bounds = false;
    app.add_flag("--bounds", only_bounds,
                 "print lower_bounds() alone: instance,bound,second,seconds");
    app.add_option("files", files, "instances")->required();
    CLI11_PARSE(app, argc, argv);
    int status = 0;
    if (!only_bounds)
        std::cout << "instance,status,value,second,bound,evaluations,seconds,checked" << std::endl;
    for (const auto& file : files) {
        std::ifstream in(file, std::ios::binary);
        std::ostringstream text;
        text << in.rdbuf();
        model::Diagnostics diagnostics;
        const auto problem = read(kind, text.str(), file, diagnostics);
        if (!problem) {
            for (const auto& d : diagnostics.all())
                std::cerr << model::to_text(d) << '\n';
            status = 2;
            continue;
        }
        sched::search::SearchOptions options;
        if (conflicts > 0)
            options.budget.evaluations = conflicts;
        else
            options.budget.seconds = seconds;
        const auto begin = std::chrono::steady_clock::now();
        const auto since = [begin] {
            return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
        };
        const auto part = [](const sched::core::Value& v, std::size_t k) {
            return v.parts.size() > k ? std::to_string(v.parts[k]) : std::string{};
        };
        const std::string name = std::filesystem::path(file).stem().string();
        if (only_bounds) {
            const auto v = sched::search::lower_bounds(*problem);
            std::printf("%s,%s,%s,%.4f\n", name.c_str(), part(v, 0).c_str(), part(v, 1).c_str(),
                        since());
            continue;
        }
        const auto s = sched::search::solve_exact(*problem, options);
        const double took = since();
        const char* checked = "no";
        if (s.schedule) {
            const auto wrong = sched::check::check(*problem, *s.schedule);
            const bool right =
                wrong.empty() && sched::core::evaluate(*problem, *s.schedule) == s.value;
            checked = right ? "yes" : "WRONG";
            if (!right) status = 1;
            for (const auto& v : wrong)
                std::cerr << v.words << '\n';
        }
        std::printf("%s,%s,%s,%s,%s,%lld,%.2f,%s\n", name.c_str(), status_words(s.status),
                    s.schedule ? part(s.value, 0).c_str() : "",
                    s.schedule ? part(s.value, 1).c_str() : "", part(s.bound, 0).c_str(),
                    static_cast<long long>(s.evaluations), took, checked);
        std::fflush(stdout);
    }
    return status;
}
