// How it works. Depth first over what is started at each event: one of the operations that can
// start now, or none of them any more before the next event. Branches end where the cost already
// certain, each screen alone from here on, reaches the best found; or where an earlier state had
// the same screens equally far, in everything no later (it could wait and do the same).
//
// The clock is integrated from event to event in real time; an operation that dries is done at the
// first whole second by which its stages are through (a millionth of a second late still counts).

#include "tests/oracle/room_referee.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <vector>

namespace oracle {

using namespace sched::core;

namespace {

constexpr double kTouch = 1e-6;  // s
constexpr std::int64_t kNever = std::numeric_limits<std::int64_t>::max() / 4;
constexpr std::size_t kMostKept = 3'000'000;

enum class Phase : std::int8_t { Away, Working, Drying, Standing };

struct ChainStep {
    std::size_t operation = 0;
    std::int64_t work = 0;
    const Mode* mode = nullptr;
    bool held = false;  // keeps its places until the next step starts
};

struct ScreenState {
    int next = 0;  // step to start; the one before is in `phase`
    Phase phase = Phase::Away;
    int stage = 0;
    double left = 0.0;       // of the stage, in clock units
    std::int64_t until = 0;  // work end, where known
    std::vector<int> chosen;
};

struct RoomState {
    std::int64_t now = 0;
    std::vector<ScreenState> screens;
    std::vector<int> used;  // per resource
    std::int64_t cost = 0;  // of the orders whose last steps have all started
};

class Referee {
public:
    Referee(const Problem& p, std::int64_t upper, std::int64_t most)
        : p_(p), most_(most), best_(upper) {
        std::vector<char> held(p.operations.size(), 0);
        for (const auto& c : p.constraints) {
            if (const auto* lag = std::get_if<TimeLag>(&c))
                held[lag->from.index()] = lag->max && lag->max->count() == 0;
        }
        chains_.resize(p.jobs.size());
        for (std::size_t i = 0; i < p.operations.size(); ++i) {
            const Mode& m = p.operations[i].modes[0];
            chains_[p.operations[i].job.index()].push_back({i, m.work.count(), &m, held[i] != 0});
        }
        least_rest_.resize(chains_.size());
        for (std::size_t j = 0; j < chains_.size(); ++j) {
            least_rest_[j].assign(chains_[j].size() + 1, 0.0);
            for (std::size_t k = chains_[j].size(); k-- > 0;)
                least_rest_[j][k] = least_rest_[j][k + 1] + alone(chains_[j][k]);
        }
        starts_.assign(p.operations.size(), 0);
        ends_.assign(p.operations.size(), 0);
        places_.resize(p.operations.size());
    }

    RoomOptimum run() {
        RoomState s;
        s.screens.resize(chains_.size());
        s.used.assign(p_.resources.size(), 0);
        decide(s, std::vector<char>(chains_.size(), 0));
        RoomOptimum out;
        out.schedule = std::move(schedule_);
        out.value = best_;
        out.finished = states_ <= most_;
        out.states = states_;
        return out;
    }

private:
    std::int64_t since(SimTime t) const { return (t - p_.horizon_start).count(); }
    const sched::core::Order& order_of(std::size_t j) const {
        return p_.orders[p_.jobs[j].order.index()];
    }

    static double speed(const RateStep& step, double load) {
        double rate = step.base / (1.0 + load);
        if (step.cap && step.cap_shift + load > 0.0)
            rate = std::min(rate, *step.cap / (step.cap_shift + load));
        return rate;
    }
    double best_speed(const Resource& r, double share) const {
        double rate = 0.0;
        for (const auto& step : r.shared->steps)
            rate = std::max(rate, speed(step, share));
        return rate;
    }
    double alone(const ChainStep& step) const {
        if (step.mode->stages.empty()) return static_cast<double>(step.work);
        const Resource& r = p_.resources[step.mode->needs[0].any_of[0].index()];
        double seconds = 0.0;
        for (const auto& stage : step.mode->stages)
            seconds += stage.work / best_speed(r, stage.share);
        return seconds;
    }

    // The least that the orders can still cost, each screen alone from here on.
    std::int64_t least(const RoomState& s) const {
        std::vector<double> done(p_.orders.size(), 0.0);
        std::vector<char> open(p_.orders.size(), 0);
        for (std::size_t j = 0; j < s.screens.size(); ++j) {
            const ScreenState& x = s.screens[j];
            const auto o = p_.jobs[j].order.index();
            double t = static_cast<double>(std::max(s.now, since(p_.orders[o].release)));
            if (x.phase == Phase::Working) t = static_cast<double>(x.until);
            if (x.phase == Phase::Drying) {
                const ChainStep& step = chains_[j][static_cast<std::size_t>(x.next - 1)];
                const Resource& r = p_.resources[static_cast<std::size_t>(x.chosen[0])];
                const auto& stages = step.mode->stages;
                const auto stage = static_cast<std::size_t>(x.stage);
                t += x.left / best_speed(r, stages[stage].share);
                for (std::size_t k = stage + 1; k < stages.size(); ++k)
                    t += stages[k].work / best_speed(r, stages[k].share);
                t = std::floor(t);
            }
            if (x.next < static_cast<int>(chains_[j].size())) open[o] = 1;
            done[o] = std::max(done[o], t + least_rest_[j][static_cast<std::size_t>(x.next)]);
        }
        std::int64_t cost = s.cost;
        for (std::size_t o = 0; o < p_.orders.size(); ++o) {
            if (!open[o] || !p_.orders[o].due) continue;
            const double late = done[o] - static_cast<double>(since(*p_.orders[o].due));
            if (late > 0.0)
                cost += p_.orders[o].weight * static_cast<std::int64_t>(std::ceil(late - 1.0));
        }
        return cost;
    }

    // Seen before, no later in anything? Else it is kept.
    bool dominated(const RoomState& s) {
        std::vector<int> key;
        std::vector<double> late{static_cast<double>(s.now), static_cast<double>(s.cost)};
        for (const ScreenState& x : s.screens) {
            key.push_back(x.next * 64 + static_cast<int>(x.phase) * 16 + x.stage);
            for (const int r : x.chosen)
                key.push_back(-1 - r);
            if (x.phase == Phase::Working) late.push_back(static_cast<double>(x.until));
            if (x.phase == Phase::Drying) late.push_back(x.left);
        }
        auto& kept = seen_[key];
        const auto no_later = [](const std::vector<double>& a, const std::vector<double>& b) {
            for (std::size_t k = 0; k < a.size(); ++k) {
                if (a[k] > b[k]) return false;
            }
            return true;
        };
        for (const auto& k : kept) {
            if (no_later(k, late)) return true;
        }
        std::erase_if(kept, [&](const auto& k) { return no_later(late, k); });
        if (kept_ < kMostKept) {
            kept.push_back(std::move(late));
            ++kept_;
        }
        return false;
    }

    bool open_for(const Resource& r, std::int64_t from, std::int64_t length) const {
        if (!r.calendar || length == 0) return true;
        return std::any_of(r.calendar->begin(), r.calendar->end(), [&](const Window& w) {
            return since(w.from) <= from && from + length <= since(w.to);
        });
    }
    // Open alike from now on: one of them need not be tried after the other.
    bool alike(int a, int b, std::int64_t now) const {
        const Resource& x = p_.resources[static_cast<std::size_t>(a)];
        const Resource& y = p_.resources[static_cast<std::size_t>(b)];
        if (x.capacity != y.capacity || x.shared || y.shared) return false;
        if (!x.calendar || !y.calendar) return !x.calendar && !y.calendar;
        const auto rest = [&](const Calendar& c) {
            Calendar later;
            for (const Window& w : c) {
                if (since(w.to) <= now) continue;
                later.push_back(w);
                if (since(w.from) < now) later.back().from = p_.horizon_start + Seconds{now};
            }
            return later;
        };
        return rest(*x.calendar) == rest(*y.calendar);
    }

    void leave(RoomState& s, std::size_t j, bool people_only) const {
        ScreenState& x = s.screens[j];
        const ChainStep& step = chains_[j][static_cast<std::size_t>(x.next - 1)];
        for (std::size_t n = 0; n < step.mode->needs.size(); ++n) {
            const bool works = step.mode->needs[n].span == Span::Work;
            if (x.chosen[n] < 0 || (people_only && !works)) continue;
            s.used[static_cast<std::size_t>(x.chosen[n])] -= step.mode->needs[n].amount;
            x.chosen[n] = -1;
        }
    }

    // All ways to choose resources for the needs from `n` on; each goes on with decide().
    void choose(const RoomState& s, std::size_t j, std::size_t n, std::vector<int>& chosen,
                const std::vector<char>& barred) {
        const ChainStep& step = chains_[j][static_cast<std::size_t>(s.screens[j].next)];
        if (n == step.mode->needs.size()) return start(s, j, chosen, barred);
        const Need& need = step.mode->needs[n];
        std::vector<int> tried;
        for (const auto id : need.any_of) {
            const int r = id.value;
            const Resource& resource = p_.resources[id.index()];
            if (s.used[id.index()] + need.amount > resource.capacity ||
                std::find(chosen.begin(), chosen.end(), r) != chosen.end() ||
                !open_for(resource, s.now, step.work))
                continue;
            if (std::any_of(tried.begin(), tried.end(),
                            [&](int other) { return alike(other, r, s.now); }))
                continue;
            tried.push_back(r);
            chosen.push_back(r);
            choose(s, j, n + 1, chosen, barred);
            chosen.pop_back();
        }
    }

    void start(const RoomState& before, std::size_t j, const std::vector<int>& chosen,
               const std::vector<char>& barred) {
        RoomState s = before;
        ScreenState& x = s.screens[j];
        const ChainStep& step = chains_[j][static_cast<std::size_t>(x.next)];
        for (std::size_t n = 0; n < chosen.size(); ++n)
            s.used[static_cast<std::size_t>(chosen[n])] += step.mode->needs[n].amount;
        x.chosen = chosen;
        ++x.next;
        starts_[step.operation] = s.now;
        places_[step.operation] = chosen;
        if (step.mode->stages.empty()) {
            x.phase = Phase::Working;
            x.until = s.now + step.work;
            ends_[step.operation] = x.until;
        } else {
            x.phase = Phase::Drying;
            x.stage = 0;
            x.left = step.mode->stages[0].work;
        }
        if (x.next == static_cast<int>(chains_[j].size())) {
            const auto o = p_.jobs[j].order;
            std::int64_t end = 0;
            for (std::size_t k = 0; k < s.screens.size(); ++k) {
                if (p_.jobs[k].order != o) continue;
                if (s.screens[k].next < static_cast<int>(chains_[k].size())) end = kNever;
                end = std::max(end, s.screens[k].until);
            }
            const sched::core::Order& order = p_.orders[o.index()];
            if (end < kNever && order.due)
                s.cost += order.weight * std::max<std::int64_t>(0, end - since(*order.due));
        }
        decide(s, barred);
    }

    // @param barred screens that do not start anything at this instant.
    void decide(const RoomState& s, std::vector<char> barred) {
        if (++states_ > most_ || least(s) >= best_) return;
        bool over = true;
        for (std::size_t j = 0; j < s.screens.size(); ++j)
            over = over && s.screens[j].next == static_cast<int>(chains_[j].size());
        if (over) {
            best_ = s.cost;
            note();
            return;
        }
        std::vector<std::size_t> turn;
        for (std::size_t j = 0; j < s.screens.size(); ++j) {
            const ScreenState& x = s.screens[j];
            if (barred[j] || x.next == static_cast<int>(chains_[j].size())) continue;
            if (x.phase == Phase::Working || x.phase == Phase::Drying) continue;
            if (since(order_of(j).release) > s.now) continue;
            turn.push_back(j);
        }
        // What is furthest and due first is tried first.
        std::stable_sort(turn.begin(), turn.end(), [&](std::size_t a, std::size_t b) {
            return order_of(a).due.value_or(p_.horizon_end) <
                   order_of(b).due.value_or(p_.horizon_end);
        });
        for (const std::size_t j : turn) {
            RoomState freed = s;  // who moves on gives its place free
            if (s.screens[j].phase == Phase::Standing) leave(freed, j, false);
            std::vector<int> chosen;
            choose(freed, j, 0, chosen, barred);
            barred[j] = 1;
        }
        advance(s);
    }

    void advance(RoomState s) {
        // What comes next: work that ends, an opening, a release; or a stage that ends sooner.
        std::int64_t next = kNever;
        bool any = false;
        for (std::size_t j = 0; j < s.screens.size(); ++j) {
            const ScreenState& x = s.screens[j];
            if (x.phase == Phase::Working) next = std::min(next, x.until);
            any = any || x.phase == Phase::Drying;
            const std::int64_t release = since(order_of(j).release);
            if (release > s.now) next = std::min(next, release);
        }
        for (const Resource& r : p_.resources) {
            if (!r.calendar) continue;
            for (const Window& w : *r.calendar) {
                if (since(w.from) > s.now) next = std::min(next, since(w.from));
            }
        }
        if (next == kNever && !any) return;  // nothing moves any more
        double t = static_cast<double>(s.now);
        while (t < static_cast<double>(next) - kTouch) {
            double until = static_cast<double>(next);
            // Per shared resource: the speed now, and the first stage that ends at it.
            std::vector<double> rate(p_.resources.size(), 0.0);
            for (std::size_t r = 0; r < p_.resources.size(); ++r) {
                const auto& shared = p_.resources[r].shared;
                if (!shared) continue;
                double load = 0.0;
                for (std::size_t j = 0; j < s.screens.size(); ++j) {
                    if (in(s, j, r)) load += stage_of(s, j).share;
                }
                std::size_t k = 0;
                while (k + 1 < shared->steps.size() &&
                       static_cast<double>(since(shared->steps[k + 1].from)) <= t + kTouch)
                    ++k;
                if (k + 1 < shared->steps.size())
                    until = std::min(until, static_cast<double>(since(shared->steps[k + 1].from)));
                rate[r] = speed(shared->steps[k], load);
            }
            for (std::size_t j = 0; j < s.screens.size(); ++j) {
                for (std::size_t r = 0; r < rate.size(); ++r) {
                    if (in(s, j, r)) until = std::min(until, t + s.screens[j].left / rate[r]);
                }
            }
            for (std::size_t j = 0; j < s.screens.size(); ++j) {
                for (std::size_t r = 0; r < rate.size(); ++r) {
                    if (!in(s, j, r)) continue;
                    ScreenState& x = s.screens[j];
                    x.left -= rate[r] * (until - t);
                    if (x.left > rate[r] * kTouch) break;
                    const auto& stages =
                        chains_[j][static_cast<std::size_t>(x.next - 1)].mode->stages;
                    const auto whole = static_cast<std::int64_t>(std::ceil(until - kTouch));
                    next = std::min(next, whole);
                    if (++x.stage < static_cast<int>(stages.size())) {
                        x.left = stages[static_cast<std::size_t>(x.stage)].work;
                    } else {
                        x.phase = Phase::Working;  // till the whole second
                        x.stage = 0;
                        x.until = whole;
                        ends_[chains_[j][static_cast<std::size_t>(x.next - 1)].operation] = whole;
                    }
                    break;
                }
            }
            t = until;
        }
        s.now = next;
        for (std::size_t j = 0; j < s.screens.size(); ++j) {
            ScreenState& x = s.screens[j];
            if (x.phase != Phase::Working || x.until > s.now) continue;
            const ChainStep& step = chains_[j][static_cast<std::size_t>(x.next - 1)];
            leave(s, j, step.held);
            x.phase = step.held ? Phase::Standing : Phase::Away;
            if (!step.held) x.chosen.clear();
        }
        if (s.now > since(p_.horizon_end) || dominated(s)) return;
        decide(s, std::vector<char>(chains_.size(), 0));
    }
    bool in(const RoomState& s, std::size_t j, std::size_t r) const {
        return s.screens[j].phase == Phase::Drying && s.screens[j].chosen[0] == static_cast<int>(r);
    }
    const DryStage& stage_of(const RoomState& s, std::size_t j) const {
        const ScreenState& x = s.screens[j];
        return chains_[j][static_cast<std::size_t>(x.next - 1)]
            .mode->stages[static_cast<std::size_t>(x.stage)];
    }

    void note() {
        Schedule out;
        out.placements.resize(p_.operations.size());
        const auto at = [&](std::int64_t t) { return p_.horizon_start + Seconds{t}; };
        for (const auto& chain : chains_) {
            for (std::size_t k = 0; k < chain.size(); ++k) {
                const std::size_t i = chain[k].operation;
                Placement& x = out.placements[i];
                x.start = at(starts_[i]);
                x.work_end = at(ends_[i]);
                x.end = chain[k].held ? at(starts_[chain[k + 1].operation]) : x.work_end;
                for (const int r : places_[i])
                    x.chosen.push_back(ResourceId{static_cast<std::int32_t>(r)});
            }
        }
        schedule_ = std::move(out);
    }

    const Problem& p_;
    std::int64_t most_;
    std::int64_t best_;
    std::int64_t states_ = 0;
    std::vector<std::vector<ChainStep>> chains_;  // per job
    std::vector<std::vector<double>> least_rest_;
    std::vector<std::int64_t> starts_, ends_;  // along the present branch
    std::vector<std::vector<int>> places_;
    std::map<std::vector<int>, std::vector<std::vector<double>>> seen_;
    std::size_t kept_ = 0;
    std::optional<Schedule> schedule_;
};

}  // namespace

RoomOptimum best_of_room(const Problem& problem, std::int64_t upper, std::int64_t most_states) {
    return Referee(problem, upper, most_states).run();
}

}  // namespace oracle
