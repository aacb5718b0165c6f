// How it works: a kit compiles the run and every spare way once, as parts (assembly.hpp). A day
// puts together the parts that its disturbances name, with their factors, closes what fails or
// is missing, ranks blocks by the policy and runs the decoder on the rows.

#include "sched/simulate/day_run.hpp"

#include "sched/core/index.hpp"

#include <algorithm>
#include <numeric>

namespace sched::study {

namespace {

engine::Tick tick_of(core::SimTime t) {
    return t.time_since_epoch().count();
}

/// First and last operation that a constraint names.
std::pair<int, int> span_of(const core::Constraint& constraint) {
    return std::visit(
        [](const auto& c) -> std::pair<int, int> {
            using T = std::decay_t<decltype(c)>;
            if constexpr (std::is_same_v<T, core::TimeLag>) {
                return std::minmax(c.from.value, c.to.value);
            } else if constexpr (std::is_same_v<T, core::SameMode> ||
                                 std::is_same_v<T, core::SameResource>) {
                return std::minmax(c.a.value, c.b.value);
            } else {
                static_assert(std::is_same_v<T, core::StartWindow> ||
                              std::is_same_v<T, core::Take> || std::is_same_v<T, core::Give>);
                return {c.operation.value, c.operation.value};
            }
        },
        constraint);
}

/// What nobody planned stands in a list of work as far behind the screen that it is like as it is
/// due later, s.
double later_due(const core::Problem& nominal, int operation, const engine::CompiledProblem& day,
                 std::int32_t order) {
    const core::JobId job = nominal.operations[ix(operation)].job;
    if (!job.valid()) return 0.0;
    const std::int32_t like = nominal.jobs[job.index()].order.value;
    if (like < 0 || day.order_due[ix(like)] >= engine::never ||
        day.order_due[ix(order)] >= engine::never)
        return 0.0;
    return static_cast<double>(day.order_due[ix(order)] - day.order_due[ix(like)]);
}

}  // namespace

int DayKit::part(int first, int count) const {
    for (const auto& [own_count, number] : part_[ix(first)]) {
        if (own_count == count) return number;
    }
    return -1;
}

std::unique_ptr<DayKit> DayKit::make(const Disturbances& disturbances, const Policy& policy,
                                     bool windows, core::Ties ties) {
    std::unique_ptr<DayKit> kit(new DayKit());
    kit->problem_ = disturbances.room().problem;
    kit->problem_.ties = ties;
    kit->windows_ = windows;
    const core::Problem& problem = kit->problem_;
    const std::size_t n = problem.operations.size();
    const auto parts = disturbances.all_parts();
    // Constraints by the first operation that they name.
    std::vector<std::vector<int>> by_first(n);
    std::vector<int> longest(n, 0);  // per operation: end of the longest part that holds it
    for (const auto& [first, count] : parts) {
        for (int i = first; i < first + count; ++i)
            longest[ix(i)] = std::max(longest[ix(i)], first + count);
    }
    kit->window_.assign(n, -engine::never);
    for (std::size_t c = 0; c < problem.constraints.size(); ++c) {
        const auto [low, high] = span_of(problem.constraints[c]);
        if (high >= longest[ix(low)]) {
            const auto* lag = std::get_if<core::TimeLag>(&problem.constraints[c]);
            if (lag == nullptr || lag->max || lag->min.count() < 0) return nullptr;
            kit->links_.push_back({lag->from.value, lag->to.value, lag->edge, lag->min.count()});
            continue;
        }
        const auto* window = std::get_if<core::StartWindow>(&problem.constraints[c]);
        if (window != nullptr && !windows) continue;
        by_first[ix(low)].push_back(static_cast<int>(c));
        if (window != nullptr && window->not_before)
            kit->window_[ix(low)] = tick_of(*window->not_before);
    }
    kit->disturbances_ = &disturbances;
    kit->policy_ = &policy;
    kit->book_ = std::make_unique<engine::PartBook>(problem);
    kit->part_.resize(n);
    std::vector<int> inside;
    for (const auto& [first, count] : parts) {
        inside.clear();
        for (int i = first; i < first + count; ++i) {
            for (const int c : by_first[ix(i)]) {
                if (span_of(problem.constraints[ix(c)]).second < first + count) inside.push_back(c);
            }
        }
        std::sort(inside.begin(), inside.end());
        kit->part_[ix(first)].emplace_back(count, kit->book_->add(first, count, inside));
    }
    return kit;
}

DayRun::DayRun(const DayKit& kit)
    : kit_(kit), assembly_(*kit.book_), decoder_(assembly_.problem()) {}

void DayRun::set_up(const DayDisturbances& disturbances, const engine::Draws& draws,
                    const std::vector<double>* list) {
    const core::Problem& nominal = kit_.disturbances().room().problem;
    const auto planned_jobs = static_cast<int>(nominal.jobs.size());
    const auto planned_orders = static_cast<int>(nominal.orders.size());
    assembly_.begin();
    engine::CompiledProblem& p = assembly_.problem();
    for (const auto& o : disturbances.orders) {
        assembly_.add_order(tick_of(o.release), o.due ? tick_of(*o.due) : engine::never, o.weight);
    }
    for (const auto& opened : disturbances.opened)
        p.stores[opened.store.index()].initial = opened.volume;
    begin_.clear();
    key_.clear();
    planned_.clear();
    turn_.assign(ix(planned_jobs) + disturbances.jobs.size(), 0.0);
    const bool listed = list != nullptr || kit_.policy().listed();
    const bool ruled = listed || kit_.policy().ruled();
    const auto& keys = list != nullptr ? *list : kit_.policy().nominal_keys();
    for (const DayPart& part : disturbances.parts) {
        factor_.clear();
        for (int i = part.first; i < part.first + part.count; ++i)
            factor_.push_back(kit_.disturbances().factor(i, part.attempt, draws));
        engine::Assembly::Place place{.job = part.job};
        if (part.job >= 0) {
            place.order = part.job < planned_jobs
                              ? nominal.jobs[ix(part.job)].order.value
                              : disturbances.jobs[ix(part.job - planned_jobs)].order;
            place.release = p.order_release[ix(place.order)];
        } else if (part.release) {
            place.release = tick_of(*part.release);
        }
        if (part.after >= 0)
            place.after = begin_[ix(part.after)] + disturbances.parts[ix(part.after)].count - 1;
        begin_.push_back(assembly_.add(kit_.part(part.first, part.count), place, factor_));
        if (part.volume > 0 && !p.gives.empty()) p.gives.back().amount = part.volume;

        for (int i = part.first; i < part.first + part.count; ++i) {
            double key = keys[ix(i)];
            if (listed && place.order >= planned_orders)
                key += later_due(nominal, i, p, place.order);
            if (!ruled && part.round == 0) {
                if (part.job >= 0) turn_[ix(part.job)] = std::max(turn_[ix(part.job)], key);
            } else if (!ruled) {
                key = part.round > 0 ? turn_[ix(part.job)]
                      : part.job < 0 ? static_cast<double>(tick_of(nominal.horizon_start))
                                     : static_cast<double>(p.order_release[ix(place.order)]);
            }
            key_.push_back(key);
            if (kit_.policy().reviewed()) planned_.push_back(kit_.policy().lengths()[ix(i)]);
        }
    }
    if (!kit_.links_.empty() || kit_.policy().agreements() != nullptr) {
        place_.assign(nominal.operations.size(), -1);
        for (std::size_t k = 0; k < disturbances.parts.size(); ++k) {
            const DayPart& part = disturbances.parts[k];
            for (int i = 0; part.round == 0 && i < part.count; ++i)
                place_[ix(part.first + i)] = begin_[k] + i;
        }
        for (const auto& l : kit_.links_) {
            const int from = place_[ix(l.from)], to = place_[ix(l.to)];
            if (from >= 0 && to >= 0) assembly_.link(from, l.edge, l.min, to);
        }
    }
    for (const auto& c : disturbances.closed)
        assembly_.close(c.resource, tick_of(c.from), tick_of(c.to));
    for (const auto& late : disturbances.late) {
        for (std::size_t k = 0; k < disturbances.parts.size(); ++k) {
            const DayPart& part = disturbances.parts[k];
            if (part.round != 0 || late.operation < part.first ||
                late.operation >= part.first + part.count)
                continue;
            auto& o = p.operations[ix(begin_[k] + late.operation - part.first)];
            o.not_before =
                std::max(o.not_before, kit_.window_[ix(late.operation)] + late.by.count());
            break;
        }
    }
    assembly_.finish(static_cast<std::int32_t>(turn_.size()));
}

// Ranks by key, equal keys by number.
void DayRun::rank() {
    by_.resize(key_.size());
    std::iota(by_.begin(), by_.end(), 0);
    std::sort(by_.begin(), by_.end(), [&](std::int32_t a, std::int32_t b) {
        const double x = key_[ix(a)], y = key_[ix(b)];
        return x < y || (x == y && a < b);
    });
    sequence_.rank.resize(key_.size());
    for (std::size_t r = 0; r < by_.size(); ++r)
        sequence_.rank[ix(by_[r])] = static_cast<std::int32_t>(r);
    sequence_.lookahead = 0;  // nobody knows what comes: work is taken up as it becomes ready
    sequence_.keeps_turn = true;
}

bool DayRun::simulate(const DayDisturbances& disturbances, const engine::Draws& draws,
                      const std::vector<double>* list) {
    set_up(disturbances, draws, list);
    rank();
    improvised_ = false;
    tied_set_up_ = false;
    const engine::Agreements* agreements = list == nullptr ? kit_.policy().agreements() : nullptr;
    const auto ends = [&](const engine::Recourse* recourse) {
        return follow(recourse, disturbances, draws, list);
    };
    if (agreements == nullptr) return ends(nullptr);
    const engine::Recourse planned = kit_.policy().recourse(), freely = engine::Recourse::Free;
    if (ends(&planned)) return true;
    improvised_ = true;
    if (planned != freely && ends(&freely)) return true;
    return ends(nullptr);
}

// The plan as the policy has it, or no plan. Where that leads to no end, more of what limits of
// hours tie is booked at once, as simulate_by_keys has it.
bool DayRun::follow(const engine::Recourse* recourse, const DayDisturbances& disturbances,
                    const engine::Draws& draws, const std::vector<double>* list) {
    on_tied_ = false;
    sequence_.baseline = nullptr;
    if (recourse != nullptr) {
        baseline_.set(assembly_.problem(), *kit_.policy().agreements(), place_, *recourse);
        sequence_.baseline = &baseline_;
    }
    if (list != nullptr ? decoder_.decode(sequence_) : run()) return true;
    const auto ties = core::tighter(kit_.problem_);
    if (!ties) return false;
    if (!tied_) {
        tied_kit_ = DayKit::make(kit_.disturbances(), kit_.policy(), kit_.windows_, *ties);
        if (!tied_kit_) return false;
        tied_ = std::make_unique<DayRun>(*tied_kit_);
    }
    if (!tied_set_up_) {
        tied_->set_up(disturbances, draws, list);
        tied_->rank();
        tied_->tied_set_up_ = false;
        tied_set_up_ = true;
    }
    on_tied_ = tied_->follow(recourse, disturbances, draws, list);
    return on_tied_;
}

bool DayRun::run() {
    if (kit_.policy().reviewed()) {
        rank();  // a run before that led to no end has ranked anew
        return decode_with_reviews(decoder_, {}, key_, planned_, sequence_, review_);
    }
    return decoder_.decode(sequence_);
}

}  // namespace sched::study
