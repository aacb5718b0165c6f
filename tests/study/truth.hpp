#pragma once
// Every row of queueing.csv that a Problem can say, through the engine that `coatroom weeks` runs
// on: the exact value against a t interval from independent replications. Shared by the short test
// and the coatroom-validate program.

#include <exception>
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <thread>
#include <vector>

#include "sched/statistics/output_analysis.hpp"
#include "tests/study/table.hpp"
#include "tests/support/queue_systems.hpp"

namespace study_test {

struct TruthRow {
    std::string model;
    std::string parameters;
    std::string measure;
    std::string source;
    double exact = 0.0;
    sched::study::MeanInterval simulated;  // at the confidence of the run
    bool second_look =
        false;  // outside at first: repeated with fresh random variation, four times as long
    bool inside() const { return simulated.interval().holds(exact); }
};

struct TruthSize {
    std::uint64_t seed = 1;
    std::size_t replications = 20;
    std::size_t customers = 20'000;
    std::size_t warm_up = 5'000;
    double confidence = 0.99;
    int threads = 2;
};

/// Rows that no Problem says.
struct NotSaid {
    std::string model, parameters, measure, why;
};

struct Truth {
    std::vector<TruthRow> rows;
    std::vector<NotSaid> not_said;
    int outside_at_first = 0;
};

/// @returns true for the rows of the first parameters of each model: a selection that is cheap.
inline std::function<bool(const Row&)> first_of_each_model() {
    auto first = std::make_shared<std::map<std::string, std::string>>();
    return [first](const Row& row) {
        return first->try_emplace(row[0], row[1]).first->second == row[1];
    };
}

using Replicate = std::function<std::optional<Figures>(
    const std::string&, const json&, std::uint64_t, std::uint64_t, std::size_t, std::size_t)>;

/// Replications of one system; per measure the values in replication order. Independent of threads.
inline std::vector<Figures> replicate_figures(const Replicate& simulate, const std::string& model,
                                              const json& p, const TruthSize& size) {
    std::vector<Figures> all(size.replications);
    std::vector<std::exception_ptr> errors(static_cast<std::size_t>(size.threads));
    {
        std::vector<std::jthread> pool;
        for (int t = 0; t < size.threads; ++t) {
            pool.emplace_back([&, t] {
                try {
                    for (std::size_t r = static_cast<std::size_t>(t); r < all.size();
                         r += static_cast<std::size_t>(size.threads)) {
                        all[r] = *simulate(model, p, size.seed, r, size.customers, size.warm_up);
                    }
                } catch (...) {
                    errors[static_cast<std::size_t>(t)] = std::current_exception();
                }
            });
        }
    }
    for (const auto& error : errors) {
        if (error) std::rethrow_exception(error);
    }
    return all;
}

/// @param wanted row of the table; empty: all.
inline Truth run_truth(const std::string& table, const TruthSize& size,
                       const std::function<bool(const Row&)>& wanted = {},
                       const Replicate& simulate = simulate_system) {
    Truth truth;
    std::map<std::string, std::vector<Figures>> runs;
    const auto at = [&](const std::string& model, const std::string& p, const TruthSize& s) {
        const std::string key = model + p + std::to_string(s.seed);
        auto found = runs.find(key);
        if (found == runs.end()) {
            found = runs.emplace(key, replicate_figures(simulate, model, json::parse(p), s)).first;
        }
        return &found->second;
    };
    const auto interval = [&](const std::vector<Figures>& all, const std::string& measure) {
        std::vector<double> values;
        for (const auto& f : all)
            values.push_back(f.at(measure));
        return sched::study::mean_interval(values, size.confidence);
    };
    for (const auto& row : read_table(table)) {
        if (row[4] != "exact" || (wanted && !wanted(row))) continue;
        if (auto why = why_not(row[0], json::parse(row[1]), row[2]); !why.empty()) {
            truth.not_said.push_back({row[0], row[1], row[2], std::move(why)});
            continue;
        }
        const auto& all = *at(row[0], row[1], size);
        TruthRow r{row[0], row[1], row[2], row[5], std::stod(row[3]), interval(all, row[2])};
        if (!r.inside()) {
            ++truth.outside_at_first;
            TruthSize longer = size;
            longer.seed = size.seed + 1;
            longer.replications *= 4;
            r.simulated = interval(*at(row[0], row[1], longer), row[2]);
            r.second_look = true;
        }
        truth.rows.push_back(r);
    }
    return truth;
}

}  // namespace study_test
