#pragma once
// Simulated shops whose truth is known: their files say one thing, their days another, and what the
// marks of these days give back. Used by the tests with few shops, by coatroom-tune with many.

#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "sched/engine/draws.hpp"
#include "sched/simulate/executor.hpp"
#include "sched/simulate/realise.hpp"
#include "sched/tune/changes.hpp"
#include "tests/tune/simulated_marks.hpp"

namespace tune_tests {

/// How the days of a shop differ from its files.
struct Truth {
    double work = 1.15;    // times of what people do, over those of room.yaml
    double spread = 0.0;   // of the steps about that, standard deviation of the logarithm
    double drying = 1.15;  // of the drying that a coat needs: less transfer
    double work_cv = 0.25;
    double drying_cv = 0.1;
    std::string slow;  // somebody who takes so many times as long as the others
    double slow_by = 1.0;
};

inline double factor_of(const Truth& truth, model::Step step) {
    const sched::engine::Draws draws(2026, 1);
    const double u = draws.uniform({static_cast<std::uint64_t>(step), 0, 0, 0});
    return truth.work * std::exp(truth.spread * sched::engine::normal_inverse(u));
}

/// The room as it really is.
inline model::Room true_room(model::Room room, const Truth& truth) {
    double times = truth.work;
    const auto longer = [&](model::Seconds s) {
        return model::Seconds{std::llround(static_cast<double>(s.count()) * times)};
    };
    for (const auto& row : model::step_rows()) {
        if (!sched::tune::by_hand(row.step)) continue;
        times = factor_of(truth, row.step);
        auto found = room.steps.find(row.step);
        if (found == room.steps.end()) found = room.steps.emplace(row.step, row.usual).first;
        found->second.attended = longer(found->second.attended);
        for (auto& e : found->second.but) {
            if (e.attended) e.attended = longer(*e.attended);
        }
        if (truth.slow.empty() || row.step == model::Step::TakeOut ||
            row.step == model::Step::Coat || row.step >= model::Step::MixDissolve)
            continue;
        model::TimeException slow;
        slow.by = {truth.slow};
        slow.attended = model::Seconds{
            std::llround(static_cast<double>(found->second.attended.count()) * truth.slow_by)};
        found->second.but.push_back(slow);
    }
    times = factor_of(truth, model::Step::Coat);
    for (auto& plan : room.coat_plans) {
        if (plan.coat) plan.coat = longer(*plan.coat);
    }
    for (auto& station : room.stations) {
        if (station.air) station.air->transfer_factor /= truth.drying;
    }
    return room;
}

inline sched::study::Chance true_chance(const Truth& truth) {
    sched::study::Chance chance = sched::study::Chance::none();
    chance.work_cv = truth.work_cv;
    chance.drying_cv = truth.drying_cv;
    return chance;
}

/// A shop that works by a rule, day after day.
class Shop {
public:
    Shop(model::Scenario scenario, const model::SimTime start, const Truth& truth)
        : files_(scenario), scenario_(std::move(scenario)) {
        scenario_.room = true_room(scenario_.room, truth);
        sched::compile::CompileOptions options;
        options.start = start;
        options.days = 5;
        options.spare_ways = true;
        model::Diagnostics diagnostics;
        room_ = sched::compile::compile_room(scenario_, options, diagnostics);
        if (!room_) return;
        chance_ = true_chance(truth);
        realiser_ = std::make_unique<sched::study::Realiser>(scenario_, *room_, chance_);
        policy_ = sched::study::Policy::make("edd", *room_, nullptr);
    }
    bool sound() const { return policy_ != nullptr; }
    const model::Scenario& files() const { return files_; }

    /// Marks of `days` days, each a week after the last.
    std::vector<model::PastMark> marks(std::uint64_t seed, int days, const Habits& habits) const {
        std::vector<model::PastMark> out;
        for (int d = 0; d < days; ++d) {
            auto reality =
                realiser_->realise(sched::engine::Draws(seed, static_cast<std::uint64_t>(d)));
            const auto day = policy_->simulate(reality);
            if (!day.complete) continue;
            const auto more = marks_of_day(*room_, day.schedule, d, habits, seed);
            out.insert(out.end(), more.begin(), more.end());
        }
        return out;
    }

    sched::tune::Tuning tune(const std::vector<model::PastMark>& marks,
                             const sched::tune::FitOptions& options = {}) const {
        const sched::tune::Screens screens(files_.room, {files_.orders});
        return sched::tune::fit_marks(files_.room, {},
                                      sched::tune::observe(files_.room, screens, marks),
                                      files_.weather, options);
    }

    /// How many times as long as the files say the works of a step really take on average: not
    /// quite factor_of, since times are whole seconds and ways are as long as they are.
    double true_factor(const sched::tune::Tuning& tuning, model::Step step) const {
        double sum = 0.0, n = 0.0;
        for (const auto& w : tuning.seen.work) {
            if (w.step != step) continue;
            sum +=
                sched::tune::planned_seconds(scenario_.room, step, w.screen, w.station, w.person) /
                w.planned;
            ++n;
        }
        return sum / n;
    }

private:
    model::Scenario files_;     // what the shop believes
    model::Scenario scenario_;  // what is so
    std::optional<sched::compile::RoomProblem> room_;
    sched::study::Chance chance_;
    std::unique_ptr<sched::study::Realiser> realiser_;
    std::unique_ptr<sched::study::Policy> policy_;
};

/// How often an interval held the truth, and how far its middle was from it.
struct Coverage {
    std::size_t n = 0, held = 0;
    double off = 0.0;  // sum of estimate / truth - 1
    void add(const sched::tune::Estimate& e, double truth) {
        ++n;
        held += e.interval.holds(truth);
        off += e.value / truth - 1.0;
    }
    double share() const {
        return n > 0 ? static_cast<double>(held) / static_cast<double>(n) : 0.0;
    }
    double bias() const { return n > 0 ? off / static_cast<double>(n) : 0.0; }
};

struct Recovery {
    Coverage times;                        // of all steps
    std::map<model::Step, Coverage> each;  // of one
    Coverage work_cv;
    Coverage factor;  // of the cabinet
    Coverage drying_cv;
    std::size_t shops = 0, late = 0, lost = 0, whole = 0;
};

inline Recovery recover(const Shop& shop, const Truth& truth, std::uint64_t first,
                        std::size_t shops, int days, const Habits& habits,
                        const sched::tune::FitOptions& options = {}) {
    Recovery out;
    for (std::size_t s = 0; s < shops; ++s) {
        const auto tuning = shop.tune(shop.marks(first + s, days, habits), options);
        ++out.shops;
        for (const auto& fit : tuning.steps) {
            out.late += fit.late;
            out.lost += fit.lost;
            out.whole += fit.whole;
            if (!fit.fitted || !sched::tune::by_hand(fit.step)) continue;
            const double factor = shop.true_factor(tuning, fit.step);
            out.times.add(fit.mean, factor);
            out.each[fit.step].add(fit.mean, factor);
        }
        if (tuning.work_cv) out.work_cv.add(*tuning.work_cv, truth.work_cv);
        for (const auto& d : tuning.drying) {
            if (!d.fitted) continue;
            out.factor.add({d.factor, d.interval}, d.old_factor / truth.drying);
            out.drying_cv.add({d.cv, d.cv_interval}, truth.drying_cv);
        }
    }
    return out;
}

}  // namespace tune_tests
