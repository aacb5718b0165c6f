#pragma once
// Every row of queueing.csv that the engine can express, simulated: the exact value against a t
// interval from independent replications. Shared by the short test and the coatroom-validate
// program.

#include <functional>
#include <map>
#include <string>
#include <thread>
#include <vector>

#include "sched/statistics/output_analysis.hpp"
#include "tests/study/table.hpp"
#include "tests/study/truth_line.hpp"
#include "tests/study/truth_network.hpp"

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

struct Truth {
    std::vector<TruthRow> rows;
    std::vector<std::string> not_expressed;  // models left out
    int outside_at_first = 0;
};

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

/// @param simulate simulate_any or one layer of the engine.
inline Truth run_truth(const std::string& table, const TruthSize& size,
                       const Replicate& simulate = simulate_any,
                       const std::function<bool(const std::string&)>& wanted = {}) {
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
        if (row[4] != "exact" || (wanted && !wanted(row[0]))) continue;
        if (!simulate(row[0], json::parse(row[1]), 1, 0, 200, 10)) {
            if (std::find(truth.not_expressed.begin(), truth.not_expressed.end(), row[0]) ==
                truth.not_expressed.end()) {
                truth.not_expressed.push_back(row[0]);
            }
            continue;
        }
        const auto& all = *at(row[0], row[1], size);
        if (!all[0].contains(row[2])) continue;
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
