// What would make it sooner: films that come earlier, frames that it waits for, an hour more, an
// order that goes behind. Each is planned from the plan at hand, the best of its kind simulated
// with the same random variation.

#include <algorithm>
#include <atomic>
#include <functional>
#include <thread>

#include "sched/compile/frames_at_hand.hpp"
#include "sched/promise/promise_inside.hpp"

namespace sched::study::promising {

using core::Seconds;
using core::SimTime;

namespace {

constexpr Seconds worth = model::minutes(10);  // less is not worth a sentence
constexpr std::size_t most_displaced = 4;      // orders that are tried

struct Candidate {
    Remedy remedy;
    model::Scenario scenario;  // with the enquiry
    InsertHow how;
    std::optional<PromiseDesk::Planned> plan;
    SimTime planned{};
};

std::vector<Candidate> film_candidates(const PromiseDesk::Inside& desk,
                                       const PromiseDesk::Planned& plan) {
    std::vector<Candidate> out;
    Candidate c{.remedy = {.kind = "film"}, .scenario = plan.scenario, .how = {}};
    bool waits = false;
    for (auto& line : c.scenario.orders.back().lines) {
        waits = waits || (line.film_ready && *line.film_ready > desk.asked);
        line.film_ready = std::nullopt;
    }
    if (waits) out.push_back(std::move(c));
    return out;
}

std::vector<Candidate> frame_candidates(const PromiseDesk::Inside& desk,
                                        const PromiseDesk::Planned& plan) {
    Candidate c{.remedy = {.kind = "frame"}, .scenario = plan.scenario, .how = {}};
    const int mine = static_cast<int>(plan.scenario.orders.size()) - 1;
    const std::string frames = compile::frames_at_hand(plan.room, mine, desk.asked, c.scenario);
    if (frames.empty()) return {};
    c.remedy.words = "with " + frames + ", in the store now";
    std::vector<Candidate> out;
    out.push_back(std::move(c));
    return out;
}

std::vector<Candidate> hour_candidates(const PromiseDesk::Planned& plan) {
    std::vector<Candidate> out;
    for (std::size_t i = 0; i < plan.scenario.room.people.size(); ++i) {
        Candidate c{.remedy = {.kind = "hour"}, .scenario = plan.scenario, .how = {}};
        auto& person = c.scenario.room.people[i];
        for (auto& shift : person.shifts)
            shift.to += model::hours(1);
        c.remedy.words = "if " + person.name + " stays an hour longer";
        out.push_back(std::move(c));
    }
    return out;
}

std::vector<Candidate> displace_candidates(const PromiseDesk::Inside& desk,
                                           const PromiseDesk::Planned& plan, SimTime planned) {
    // Those that work is left of, most room until they are due first, then the less important.
    std::vector<std::size_t> orders;
    for (std::size_t o = 0; o < desk.planned.size(); ++o) {
        if (desk.planned[o] > desk.asked && desk.planned[o] > desk.room.problem.horizon_start)
            orders.push_back(o);
    }
    const auto slack = [&](std::size_t o) {
        return std::min(desk.scenario.orders[o].due - desk.planned[o],
                        std::max(Seconds{0}, planned - desk.planned[o]) + model::hours(1));
    };
    std::stable_sort(orders.begin(), orders.end(), [&](std::size_t a, std::size_t b) {
        if (slack(a) != slack(b)) return slack(a) > slack(b);
        return desk.scenario.orders[a].priority < desk.scenario.orders[b].priority;
    });
    if (orders.size() > most_displaced) orders.resize(most_displaced);
    std::vector<Candidate> out;
    for (const std::size_t o : orders) {
        Candidate c{.remedy = {.kind = "displace"}, .scenario = plan.scenario, .how = {}};
        c.how.displaced = static_cast<int>(o);
        c.remedy.order = desk.scenario.orders[o].name;
        c.remedy.words = "if order " + c.remedy.order + " goes behind it";
        out.push_back(std::move(c));
    }
    return out;
}

void plan_all(const PromiseDesk::Inside& desk, std::vector<Candidate>& all) {
    std::atomic<std::size_t> next{0};
    const auto work = [&] {
        for (std::size_t i = next++; i < all.size(); i = next++) {
            std::string why;
            all[i].plan = insert(desk, all[i].scenario, all[i].how, why);
            if (!all[i].plan) continue;
            const auto& p = all[i].plan->room.problem;
            all[i].planned = completion_of(p, *all[i].plan->solution.schedule, p.orders.size() - 1);
        }
    };
    std::vector<std::jthread> pool;
    for (int t = 1; t < desk.options.threads; ++t)
        pool.emplace_back(work);
    work();
}

/// When its first exposure is loaded: by then the films must be here.
std::optional<SimTime> films_needed(const PromiseDesk::Planned& plan) {
    std::optional<SimTime> first;
    const int mine = static_cast<int>(plan.scenario.orders.size()) - 1;
    for (std::size_t i = 0; i < plan.room.operations.size(); ++i) {
        const auto& info = plan.room.operations[i];
        if (info.step != model::Step::Expose || info.screen < 0 ||
            plan.room.screens[static_cast<std::size_t>(info.screen)].order != mine) {
            continue;
        }
        const SimTime start = plan.solution.schedule->placements[i].start;
        first = first ? std::min(*first, start) : start;
    }
    return first;
}

}  // namespace

std::vector<Remedy> find_remedies(const PromiseDesk::Inside& desk, const Promise& promise,
                                  const PromiseDesk::Planned& plan, const Replications& days) {
    std::vector<Candidate> all = film_candidates(desk, plan);
    const auto add = [&](std::vector<Candidate> more) {
        std::move(more.begin(), more.end(), std::back_inserter(all));
    };
    add(frame_candidates(desk, plan));
    add(hour_candidates(plan));
    add(displace_candidates(desk, plan, promise.planned));
    // Whoever is not displaced keeps the planned time.
    for (auto& c : all)
        c.how.care = Care::Times;
    tell(desk, "looking for what would make it sooner");
    plan_all(desk, all);

    // The best of each kind, if it is worth a word.
    std::vector<Candidate*> chosen;
    for (const char* kind : {"film", "frame", "hour", "displace"}) {
        Candidate* best = nullptr;
        for (auto& c : all) {
            if (c.remedy.kind != kind || !c.plan || c.planned + worth > promise.planned) continue;
            if (best == nullptr || c.planned < best->planned) best = &c;
        }
        if (best != nullptr) chosen.push_back(best);
    }

    const std::size_t mine = plan.room.problem.orders.size() - 1;
    const SimTime start = plan.room.problem.horizon_start;
    const auto ready_on = [&](std::size_t count) {
        Replications first;
        first.all.assign(days.all.begin(), days.all.begin() + static_cast<std::ptrdiff_t>(count));
        return quantile_of(ready_times(first, mine, start), count, promise.level).ready;
    };
    std::size_t n = std::min(desk.options.remedy_replications, days.all.size());
    auto today = ready_on(n);
    // Where these days alone would promise another time than is promised, all are simulated
    // through: else "2 h sooner" stands beside a date that is a week sooner.
    if (!today || !promise.recommended ||
        next_slot(desk.scenario.room, corrected(desk, *today)) != *promise.recommended) {
        n = days.all.size();
        today = ready_on(n);
    }
    std::vector<Remedy> out;
    for (Candidate* c : chosen) {
        if (c->remedy.kind == "film") {
            // Not at once, but in time for the first exposure; with what random variation may bring
            // forward.
            const auto needed = films_needed(*c->plan);
            if (!needed) continue;
            const Seconds since = *needed - desk.asked;
            const SimTime by = desk.asked + Seconds{since.count() / 900 * 900};
            for (auto& line : c->plan->scenario.orders.back().lines)
                line.film_ready = by > desk.asked ? std::optional(by) : std::nullopt;
            c->remedy.words = by > desk.asked ? "if the films are here by " + say_time(by)
                                              : "if the films are here at once";
        }
        const auto simulated = simulate(desk, *c->plan, n);
        if (!simulated) continue;
        Remedy r = c->remedy;
        const auto ready = ready_times(*simulated, mine, start);
        r.ready = quantile_of(ready, simulated->all.size(), promise.level).ready;
        if (r.ready) {
            r.ready = corrected(desk, *r.ready);
            r.recommended = next_slot(desk.scenario.room, *r.ready);
        }
        if (r.ready && today) {
            r.sooner_minutes =
                static_cast<double>((corrected(desk, *today) - *r.ready).count()) / 60.0;
        }
        if (promise.enquiry.wanted)
            r.wanted = odds_by(ready, simulated->all.size(), *promise.enquiry.wanted);
        r.consequences = compare_days(desk, *simulated, n);
        const bool surer =
            r.wanted && promise.wanted && r.wanted->share > promise.wanted->share + 0.02;
        // Nobody goes behind it for hours in which it only waits for its pick-up.
        const bool sooner =
            (r.kind != "displace" &&
             r.sooner_minutes * 60.0 >= static_cast<double>(worth.count())) ||
            (r.recommended && promise.recommended && *r.recommended < *promise.recommended);
        if (surer || sooner) out.push_back(std::move(r));
    }
    std::stable_sort(out.begin(), out.end(), [](const Remedy& a, const Remedy& b) {
        if (a.recommended != b.recommended) {
            return a.recommended.value_or(SimTime::max()) < b.recommended.value_or(SimTime::max());
        }
        return a.sooner_minutes > b.sooner_minutes;
    });
    return out;
}

}  // namespace sched::study::promising
