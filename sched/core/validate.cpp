// How it works: one pass over each list of the problem, in its order; constraints by a visitor
// that has a case for every kind. All faults are collected; ids are looked at before anything
// is indexed by them.

#include <utility>
#include <variant>

#include "sched/core/problem.hpp"

namespace sched::core {

namespace {

class Validator {
public:
    explicit Validator(const Problem& problem) : p_(problem) {}

    std::vector<std::string> run() {
        if (p_.horizon_end <= p_.horizon_start) say("the horizon ends before it starts");
        for (const auto& r : p_.resources)
            resource(r);
        for (const auto& j : p_.jobs) {
            if (j.order.valid() && j.order.index() >= p_.orders.size())
                say("job " + j.name + " names an order that does not exist");
        }
        for (const auto& o : p_.orders) {
            if (o.weight < 0) say("order " + o.name + " has a negative weight");
        }
        for (const auto& o : p_.operations)
            operation(o);
        for (const auto& c : p_.constraints) {
            std::visit([this](const auto& x) { constraint(x); }, c);
        }
        begun();
        stores();
        for (const auto& o : p_.overtime) {
            if (o.resource.index() >= p_.resources.size())
                say("an overtime window names a resource that does not exist");
        }
        for (const auto& x : p_.pauses) {
            if (!x.resource.valid() || x.resource.index() >= p_.resources.size())
                say("a pause names a resource that does not exist");
            if (x.length.count() < 0 || x.earliest > x.latest) say("a pause has no place");
        }
        return std::move(found_);
    }

private:
    void say(std::string text) { found_.push_back(std::move(text)); }
    bool known(OperationId id) const { return id.valid() && id.index() < p_.operations.size(); }
    bool known(StoreId id) const { return id.valid() && id.index() < p_.stores.size(); }

    // What keeps for a while only is filled once.
    void stores() {
        std::vector<int> gives(p_.stores.size(), 0);
        for (const auto& c : p_.constraints) {
            const auto* give = std::get_if<Give>(&c);
            if (give != nullptr && known(give->store)) ++gives[give->store.index()];
        }
        for (std::size_t s = 0; s < p_.stores.size(); ++s) {
            const Store& x = p_.stores[s];
            if (x.life && (*x.life <= Seconds{0} || x.initial != 0 || gives[s] > 1))
                say("store " + x.name + " has a life, and not one filling that it counts from");
        }
    }

    void resource(const Resource& r) {
        if (r.capacity < 1) say("resource " + r.name + " has no capacity");
        if (r.walk.count() < 0 || (r.walk.count() > 0 && r.capacity != 1))
            say("resource " + r.name + " walks, and is not one");
        if (r.beside &&
            (r.beside->index() >= p_.resources.size() || p_.resources[r.beside->index()].beside))
            say("resource " + r.name + " is beside nothing that stands by itself");
        if (r.calendar) {
            for (std::size_t i = 0; i < r.calendar->size(); ++i) {
                if ((*r.calendar)[i].from >= (*r.calendar)[i].to)
                    say("resource " + r.name + " has an empty window");
                if (i > 0 && (*r.calendar)[i].from <= (*r.calendar)[i - 1].to)
                    say("resource " + r.name +
                        " has windows that overlap, touch or stand out of order");
            }
        }
        if (r.shared) {
            if (r.shared->steps.empty())
                say("resource " + r.name + " shares a rate that is not given");
            for (std::size_t i = 0; i < r.shared->steps.size(); ++i) {
                const auto& s = r.shared->steps[i];
                if (!(s.base >= 0.0)) say("resource " + r.name + " has a negative rate");
                if (s.cap && !(*s.cap > 0.0))
                    say("resource " + r.name + " has a cap that is not positive");
                if (!(s.cap_shift >= 0.0))
                    say("resource " + r.name + " has a cap shift that is negative");
                if ((s.crowd && !(*s.crowd > 0.0)) || !(s.crowd_shift > 0.0))
                    say("resource " + r.name + " has a crowded rate that is not positive");
                if (i > 0 && s.from <= r.shared->steps[i - 1].from)
                    say("resource " + r.name + " has rate steps out of order");
            }
        }
        if (r.batch && (r.batch->width_mm < 1 || r.batch->height_mm < 1 || r.batch->gap_mm < 0 ||
                        r.batch->max_members < 1)) {
            say("resource " + r.name + " has an unusable batch area");
        }
    }

    void operation(const Operation& o) {
        if (o.modes.empty()) say("operation " + o.name + " has no mode");
        if (o.job.valid() && o.job.index() >= p_.jobs.size())
            say("operation " + o.name + " names a job that does not exist");
        if (o.max_stretch && o.max_stretch->count() < 0)
            say("operation " + o.name + " has a negative stretch");
        for (const auto& m : o.modes) {
            if (m.work.count() < 0) say("operation " + o.name + " has a negative length");
            if (!m.stages.empty() && m.needs.empty()) say("operation " + o.name + " dries nowhere");
            for (std::size_t n = 0; n < m.needs.size(); ++n)
                need(o, m, n);
            for (const auto& s : m.stages) {
                if (!(s.work >= 0.0) || !(s.share >= 0.0))
                    say("operation " + o.name + " has a negative drying stage");
            }
        }
    }

    void need(const Operation& o, const Mode& m, std::size_t n) {
        const Need& need = m.needs[n];
        if (need.any_of.empty()) say("operation " + o.name + " needs one of nothing");
        if (need.amount < 1) say("operation " + o.name + " needs an amount below 1");
        for (const ResourceId r : need.any_of) {
            if (!r.valid() || r.index() >= p_.resources.size()) {
                say("operation " + o.name + " needs a resource that does not exist");
                continue;
            }
            const Resource& resource = p_.resources[r.index()];
            if (need.amount > resource.capacity)
                say("operation " + o.name + " needs more of " + resource.name + " than there is");
            if (n == 0 && !m.stages.empty() && !resource.shared)
                say("operation " + o.name + " dries in " + resource.name +
                    ", which has no drying clock");
            if (resource.batch && !o.batch)
                say("operation " + o.name + " uses " + resource.name + " without a batch shape");
        }
    }

    void begun() {
        if (!p_.now && !p_.begun.empty()) say("work has begun before a moment that is not given");
        for (std::size_t k = 0; k < p_.begun.size(); ++k) {
            const Begun& b = p_.begun[k];
            if (!known(b.operation)) {
                say("begun work names an operation that does not exist");
                continue;
            }
            const Operation& o = p_.operations[b.operation.index()];
            for (std::size_t e = 0; e < k; ++e) {
                if (p_.begun[e].operation == b.operation)
                    say("operation " + p_.operations[b.operation.index()].name +
                        " has begun twice");
            }
            if (p_.now && (b.start > *p_.now || (b.end && *b.end > *p_.now)))
                say("operation " + o.name + " has begun or ended after the moment of the plan");
            if ((b.work_end && *b.work_end < b.start) ||
                (b.end && (!b.work_end || *b.end < *b.work_end)))
                say("operation " + o.name + " has begun, but its times are out of order");
            if (b.mode < 0 || static_cast<std::size_t>(b.mode) >= o.modes.size()) {
                say("operation " + o.name + " has begun in a mode that does not exist");
                continue;
            }
            if (b.chosen.size() != o.modes[static_cast<std::size_t>(b.mode)].needs.size())
                say("operation " + o.name +
                    " has begun with more or fewer resources than its mode needs");
            for (const ResourceId r : b.chosen) {
                if (!r.valid() || r.index() >= p_.resources.size())
                    say("operation " + o.name + " has begun on a resource that does not exist");
            }
            for (const StoreId s : b.stores) {
                if (!known(s))
                    say("operation " + o.name + " has begun from a store that does not exist");
            }
        }
    }

    void constraint(const TimeLag& c) {
        if (!known(c.from) || !known(c.to))
            return say("a time lag names an operation that does not exist");
        if (c.max && *c.max < c.min)
            say("the lag from " + p_.operations[c.from.index()].name + " to " +
                p_.operations[c.to.index()].name + " has its maximum below its minimum");
    }
    void constraint(const StartWindow& c) {
        if (!known(c.operation))
            return say("a start window names an operation that does not exist");
        if (c.not_before && c.not_after && *c.not_after < *c.not_before)
            say("the start window of " + p_.operations[c.operation.index()].name + " is empty");
    }
    void constraint(const SameMode& c) {
        if (!known(c.a) || !known(c.b))
            say("a same-mode rule names an operation that does not exist");
        else if (p_.operations[c.a.index()].modes.size() != p_.operations[c.b.index()].modes.size())
            say("a same-mode rule joins operations with different numbers of modes");
    }
    void constraint(const SameResource& c) {
        if (!known(c.a) || !known(c.b) || c.need_a < 0 || c.need_b < 0)
            say("a same-resource rule names what does not exist");
    }
    void constraint(const Take& c) {
        if (!known(c.operation)) say("a take names an operation that does not exist");
        if (c.any_of.empty() || c.amount < 0) say("a take of nothing");
        for (const StoreId s : c.any_of) {
            if (!known(s)) say("a take names a store that does not exist");
        }
    }
    void constraint(const Give& c) {
        if (!known(c.operation) || !known(c.store) || c.amount < 0)
            say("a give names what does not exist");
    }

    const Problem& p_;
    std::vector<std::string> found_;
};

}  // namespace

std::vector<std::string> validate(const Problem& problem) {
    return Validator(problem).run();
}

}  // namespace sched::core
