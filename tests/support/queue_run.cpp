// How it works: customers are let in window by window. Each window is put together from the visits
// of who is inside (RunWindow), decoded up to its end, and asked what has begun; visits that are
// over are told to the caller and dropped, customers without any have left.

#include "tests/support/queue_run.hpp"

#include <algorithm>
#include <stdexcept>
#include <variant>

#include "sched/core/index.hpp"
#include "sched/engine/sequence.hpp"

namespace queue_run {

using namespace sched::core;
using sched::ix;
using sched::engine::never;
using sched::study::RunWindow;

namespace {

constexpr std::int64_t end_of_time = std::int64_t{1} << 50;

OperationId moved(OperationId id, std::size_t by) {
    return OperationId{id.index() + by};
}

Constraint moved(Constraint c, std::size_t by) {
    std::visit(
        [by](auto& x) {
            using T = std::decay_t<decltype(x)>;
            if constexpr (std::is_same_v<T, TimeLag>) {
                x.from = moved(x.from, by);
                x.to = moved(x.to, by);
            } else if constexpr (std::is_same_v<T, SameMode> || std::is_same_v<T, SameResource>) {
                x.a = moved(x.a, by);
                x.b = moved(x.b, by);
            } else {
                x.operation = moved(x.operation, by);
            }
        },
        c);
    return c;
}

}  // namespace

Ways::Ways() {
    problem_.name = "queue";
    problem_.horizon_end = SimTime{Seconds{end_of_time}};
    problem_.objective = {Criterion::FlowTime};
}

ResourceId Ways::station(int servers) {
    problem_.resources.push_back({.name = "station", .capacity = servers});
    return ResourceId{problem_.resources.size() - 1};
}

ResourceId Ways::unit_for(int most) {
    problem_.resources.push_back(
        {.name = "unit",
         .batch = BatchArea{.width_mm = 100 * most, .height_mm = 100, .max_members = most}});
    return ResourceId{problem_.resources.size() - 1};
}

// Base 2 and a cap of 1: min(2 / (1 + n), 1 / n) = 1 / n with n inside.
ResourceId Ways::shared() {
    problem_.resources.push_back(
        {.name = "shared",
         .capacity = 1 << 20,
         .shared = SharedRate{{{.from = SimTime{}, .base = 2.0, .cap = 1.0}}}});
    return ResourceId{problem_.resources.size() - 1};
}

Operation Ways::work(ResourceId at, bool pausable) {
    Operation o{.name = "work", .pausable = pausable};
    Mode m{.work = Seconds{nominal}};
    if (at.valid()) m.needs = {{.any_of = {at}}};
    o.modes = {m};
    return o;
}

int Ways::way(std::vector<Operation> operations, std::vector<Constraint> among) {
    const std::size_t first = problem_.operations.size();
    problem_.orders.push_back({.name = "way"});
    problem_.jobs.push_back({.name = "way", .order = OrderId{problem_.orders.size() - 1}});
    for (Operation& o : operations) {
        o.job = JobId{problem_.jobs.size() - 1};
        problem_.operations.push_back(std::move(o));
    }
    for (const Constraint& c : among)
        problem_.constraints.push_back(moved(c, first));
    parts_.emplace_back(static_cast<int>(first),
                        static_cast<int>(problem_.operations.size() - first));
    return static_cast<int>(parts_.size()) - 1;
}

void Customer::then(int way, std::initializer_list<Tick> work) {
    Visit& v = visits.emplace_back();
    v.way = way;
    for (const Tick w : work)
        v.part.factor.push_back(static_cast<double>(w) / static_cast<double>(nominal));
    v.part.operations.assign(work.size(), {});
}

namespace {

class Run {
public:
    Run(const Ways& ways, const Traffic& traffic)
        : ways_(ways), traffic_(traffic), book_(ways.problem()), window_(fill()) {}

    Count simulate() {
        window_.sequence().first_come = traffic_.first_come;
        more_ = come();
        Tick from = 0;
        while (more_ || !inside_.empty()) {
            const Tick to = let_in(from);
            set_up(from, to);
            if (!window_.run())
                throw std::logic_error("no way on: " +
                                       sched::engine::words(window_.decoder().failure().why));
            keep(to);
            ++count_.windows;
            from = to;
            if (traffic_.until > 0 && to > traffic_.until) break;
            if (traffic_.until == 0 && to >= never) break;
        }
        return count_;
    }

private:
    const sched::engine::PartBook& fill() {
        const auto faults = validate(ways_.problem());
        if (!faults.empty()) throw std::logic_error(faults.front());
        const auto& all = ways_.problem().constraints;
        for (const auto& [first, count] : ways_.parts()) {
            std::vector<int> own;
            for (std::size_t c = 0; c < all.size(); ++c) {
                const int op = std::visit(
                    [](const auto& x) {
                        using T = std::decay_t<decltype(x)>;
                        if constexpr (std::is_same_v<T, TimeLag>)
                            return static_cast<int>(x.from.index());
                        else if constexpr (std::is_same_v<T, SameMode> ||
                                           std::is_same_v<T, SameResource>)
                            return static_cast<int>(x.a.index());
                        else
                            return static_cast<int>(x.operation.index());
                    },
                    all[c]);
                if (op >= first && op < first + count) own.push_back(static_cast<int>(c));
            }
            book_.add(first, count, own);
        }
        return book_;
    }

    bool come() {
        next_.visits.clear();
        next_.passed = 0;
        next_.at_once = next_.finds_nobody = false;
        if (!traffic_.next || !traffic_.next(next_)) return false;
        ++count_.customers;
        return true;
    }

    // Those who come before the window ends. @returns its end.
    Tick let_in(Tick from) {
        std::size_t came = 0;
        while (more_ && (traffic_.length > 0 ? next_.release < from + traffic_.length
                                             : came < traffic_.customers_a_window ||
                                                   (traffic_.only_empty && !next_.finds_nobody))) {
            inside_.push_back(std::move(next_));
            next_ = {};
            if (!old_.empty()) {
                next_ = std::move(old_.back());
                old_.pop_back();
            }
            ++came;
            more_ = come();
        }
        if (traffic_.length > 0) return from + traffic_.length;
        return more_ ? next_.release : never;
    }

    void set_up(Tick from, Tick to) {
        if (traffic_.first_come && count_.windows > 0 && !inside_.empty())
            throw std::logic_error("who has waited longest is known within one window only");
        window_.open(from, to);
        auto& assembly = window_.assembly();
        std::int32_t job = 0;
        for (Customer& c : inside_) {
            if (traffic_.inside) traffic_.inside(c, from, to);
            sched::engine::Assembly::Place place;
            place.release = std::max(from, c.release);
            place.job = job++;
            for (Customer::Visit& v : c.visits) {
                window_.add(v.part, v.way, place);
                place.after =
                    v.part.begin + static_cast<std::int32_t>(v.part.operations.size()) - 1;
                count_.operations += static_cast<std::int64_t>(v.part.operations.size());
            }
            if (c.at_once && c.passed == 0)
                assembly.problem().operations[ix(c.visits.front().part.begin)].not_after =
                    c.release;
        }
        for (const Customer& c : inside_) {
            for (const Customer::Visit& v : c.visits)
                window_.fix(v.part);
        }
        if (traffic_.closes) traffic_.closes(window_);
        assembly.finish(job);
        by_.resize(inside_.size());
        for (std::size_t i = 0; i < by_.size(); ++i)
            by_[i] = i;
        const auto before = [&](std::size_t a, std::size_t b) {
            return inside_[a].rank < inside_[b].rank;
        };
        if (!std::is_sorted(by_.begin(), by_.end(), before))
            std::stable_sort(by_.begin(), by_.end(), before);
        auto& rank = window_.sequence().rank;
        rank.resize(assembly.problem().operations.size());
        std::int32_t turn = 0;
        for (const std::size_t i : by_) {
            for (const Customer::Visit& v : inside_[i].visits) {
                for (std::size_t k = 0; k < v.part.operations.size(); ++k)
                    rank[ix(v.part.begin) + k] = turn++;
            }
        }
    }

    void keep(Tick to) {
        window_.look();
        std::size_t stay = 0;
        for (std::size_t i = 0; i < inside_.size(); ++i) {
            Customer& c = inside_[i];
            for (Customer::Visit& v : c.visits)
                window_.keep(v.part);
            std::size_t over = 0;
            while (over < c.visits.size() && window_.over(c.visits[over].part) <= to) {
                traffic_.passed(c, c.passed + over, c.visits[over].part);
                ++over;
            }
            c.passed += over;
            if (over < c.visits.size()) {
                c.visits.erase(c.visits.begin(),
                               c.visits.begin() + static_cast<std::ptrdiff_t>(over));
                if (stay != i) std::swap(inside_[stay], c);
                ++stay;
            }
        }
        for (std::size_t i = stay; i < inside_.size(); ++i)
            old_.push_back(std::move(inside_[i]));
        inside_.resize(stay);
    }

    const Ways& ways_;
    const Traffic& traffic_;
    sched::engine::PartBook book_;
    RunWindow window_;
    Customer next_;
    bool more_ = false;
    std::vector<Customer> inside_, old_;
    std::vector<std::size_t> by_;
    Count count_;
};

}  // namespace

Count run(const Ways& ways, const Traffic& traffic) {
    return Run(ways, traffic).simulate();
}

}  // namespace queue_run
