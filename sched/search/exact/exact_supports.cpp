// What the exact model says in full, as an allow list. Every structure of the problem is taken
// apart into all its members by name and every alternative of Constraint has its function, so that
// a new member or a new kind does not compile here before somebody has decided; whatever is not
// allowed below is "not supported", and then nothing is called optimal.

#include <cstdlib>

#include "sched/core/objective.hpp"
#include "sched/search/exact/exact.hpp"
#include "sched/search/exact/exact_model.hpp"

namespace sched::search {

namespace {

using core::Problem;

constexpr std::int64_t kMostGrains = std::int64_t{1} << 29;

/// Each call returns why not; empty: it is modelled.
class SupportReader {
public:
    explicit SupportReader(const Problem& problem) : p_(problem), grain_(time_grain(problem)) {}

    std::string whole() const {
        const auto& [name, horizon_start, horizon_end, resources, stores, orders, jobs, operations,
                     constraints, objective, overtime, now, begun, pauses, ties] = p_;
        if (too_long(horizon_end - horizon_start)) return "the horizon is too long";
        if (now || !begun.empty()) return "work that has begun";
        // A pause stands in the calendar of its resource where the plan has it; jobs only name
        // their order; stores and overtime are asked for where something uses them.
        static_cast<void>(name);
        static_cast<void>(stores);
        static_cast<void>(jobs);
        static_cast<void>(overtime);
        static_cast<void>(pauses);
        static_cast<void>(ties);  // how it is booked, not what is asked
        return first(first(each(resources), each(orders)),
                     first(first(each(operations), each(constraints)), each(objective)));
    }

private:
    template <class T>
    std::string each(const std::vector<T>& all) const {
        for (const T& one : all) {
            if (std::string why = of(one); !why.empty()) return why;
        }
        return {};
    }
    static std::string first(std::string a, std::string b) { return a.empty() ? b : a; }
    bool too_long(core::Seconds s) const { return std::abs(s.count()) / grain_ > kMostGrains; }

    std::string of(const core::Resource& r) const {
        const auto& [name, capacity, calendar, shared, batch, walk, beside] = r;
        static_cast<void>(capacity);
        static_cast<void>(calendar);  // with of(Operation)
        static_cast<void>(beside);    // means something to who walks only
        if (shared) return "drying clock of " + name;
        if (batch) return "batches of " + name;
        if (walk.count() > 0) return "walks of " + name;
        return {};
    }

    std::string of(const core::Order& o) const {
        const auto& [name, release, due, deadline, weight] = o;
        for (const auto& t : {std::optional(release), due, deadline}) {
            if (t && too_long(*t - p_.horizon_start)) return "the dates of " + name;
        }
        static_cast<void>(weight);  // with of(Criterion)
        return {};
    }

    std::string of(const core::Operation& o) const {
        const auto& [name, job, modes, max_stretch, pausable, batch, filler, dries] = o;
        static_cast<void>(job);
        static_cast<void>(batch);  // only says something to a resource with batches
        static_cast<void>(dries);  // what is booked together, never what is allowed
        if (filler) return name + " is for a later run";
        if (max_stretch && too_long(*max_stretch)) return "stretch of " + name;
        for (const core::Mode& m : modes) {
            const auto& [work, needs, stages] = m;
            if (!stages.empty()) return "drying of " + name;
            if (too_long(work)) return "length of " + name;
            for (const core::Need& need : needs) {
                const auto& [any_of, amount, span] = need;
                static_cast<void>(amount);
                static_cast<void>(span);
                for (const auto r : any_of) {
                    if (!p_.resources[r.index()].calendar) continue;
                    if (pausable) return "pauses of " + name;
                    // An empty use needs no open window, a longer one does: not told apart.
                    if (work.count() == 0 && max_stretch != core::Seconds{0})
                        return "stretch of " + name + ", which has no work";
                }
            }
        }
        return {};
    }

    std::string of(const core::Constraint& c) const {
        return std::visit([this](const auto& one) { return says(one); }, c);
    }
    std::string says(const core::TimeLag& l) const {
        const auto& [from, edge, to, min, max] = l;
        static_cast<void>(from);
        static_cast<void>(to);
        static_cast<void>(edge);
        return too_long(min) || (max && too_long(*max)) ? "a time lag is too long" : "";
    }
    std::string says(const core::StartWindow& w) const {
        const auto& [operation, not_before, not_after] = w;
        static_cast<void>(operation);
        for (const auto& t : {not_before, not_after}) {
            if (t && too_long(*t - p_.horizon_start)) return "a start window is too far away";
        }
        return {};
    }
    std::string says(const core::SameMode&) const { return {}; }
    std::string says(const core::SameResource&) const { return {}; }
    std::string says(const core::Take&) const { return "stores"; }
    std::string says(const core::Give&) const { return "stores"; }

    std::string of(core::Criterion criterion) const {
        const std::int64_t span = (p_.horizon_end - p_.horizon_start).count() / grain_;
        std::int64_t most = 0;
        switch (criterion) {
            case core::Criterion::WeightedTardiness:
                for (const auto& o : p_.orders) {
                    if (!o.due) continue;
                    const std::int64_t late =
                        std::max<std::int64_t>(0, (p_.horizon_end - *o.due).count() / grain_);
                    if (o.weight > kMostGrains || late > kMostGrains)
                        return "weights are too large";
                    most += o.weight * late;
                }
                break;
            case core::Criterion::Overtime:
                if (!p_.overtime.empty()) return "overtime windows";
                break;
            case core::Criterion::Holding:
                most = span * static_cast<std::int64_t>(p_.operations.size());
                break;
            case core::Criterion::FlowTime:
                most = span * static_cast<std::int64_t>(p_.orders.size());
                break;
            case core::Criterion::LateOrders:
            case core::Criterion::Makespan:
                break;
        }
        if (most > kMostGrains) return "the " + core::words(criterion) + " may grow too large";
        return {};
    }

    const Problem& p_;
    std::int64_t grain_;
};

}  // namespace

bool exact_supports(const Problem& p, std::string* why) {
    std::string reason = SupportReader(p).whole();
    const bool supported = reason.empty();
    if (why && !supported) *why = std::move(reason);
    return supported;
}

}  // namespace sched::search
