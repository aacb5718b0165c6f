#include "sched/advise/pins.hpp"

#include <algorithm>

#include "sched/advise/restrict.hpp"

namespace sched::search {

namespace {

using core::OperationId;

template <class T>
void lower(std::optional<T>& limit, const std::optional<T>& to) {
    if (to && (!limit || *to < *limit)) limit = to;
}

class PinApplier {
public:
    explicit PinApplier(core::Problem& problem) : p_(problem) {}

    void operator()(const PinStart& pin) {
        for (const OperationId op : pin.operations)
            p_.constraints.push_back(core::StartWindow{op, pin.not_before, pin.not_after});
    }
    void operator()(const PinOrder& pin) {
        auto& order = p_.orders[pin.order.index()];
        if (pin.not_before) order.release = std::max(order.release, *pin.not_before);
        lower(order.deadline, pin.done_by);
    }
    // Ways to do it that use none of the listed, where another does: what only they use is out.
    static void rule_out_modes(const core::Operation& o, const std::vector<char>& listed,
                               std::vector<char>& allowed) {
        std::vector<char> with(listed.size(), 0);
        std::vector<const core::Mode*> others;
        for (const auto& mode : o.modes) {
            const bool uses = std::any_of(mode.needs.begin(), mode.needs.end(), [&](const auto& n) {
                return std::any_of(n.any_of.begin(), n.any_of.end(), [&](auto r) {
                    return r.index() < listed.size() && listed[r.index()];
                });
            });
            if (!uses) {
                others.push_back(&mode);
                continue;
            }
            for (const auto& need : mode.needs) {
                for (const auto r : need.any_of)
                    if (r.index() < with.size()) with[r.index()] = 1;
            }
        }
        if (others.size() == o.modes.size()) return;  // it is about something else
        for (const auto* mode : others) {
            for (const auto& need : mode->needs) {
                for (const auto r : need.any_of)
                    if (r.index() < with.size() && !with[r.index()]) allowed[r.index()] = 0;
            }
        }
    }

    void operator()(const PinChoice& pin) {
        std::vector<char> listed(p_.resources.size(), 0);
        for (const auto r : pin.only)
            listed[r.index()] = 1;
        for (const OperationId op : pin.operations) {
            // Needs that have none of the listed are about something else.
            std::vector<char> allowed(listed.size(), 1);
            rule_out_modes(p_.operations[op.index()], listed, allowed);
            for (const auto& mode : p_.operations[op.index()].modes) {
                for (const auto& need : mode.needs) {
                    const bool about = std::any_of(
                        need.any_of.begin(), need.any_of.end(),
                        [&](auto r) { return r.index() < listed.size() && listed[r.index()]; });
                    if (!about) continue;
                    for (const auto r : need.any_of) {
                        if (r.index() < listed.size() && !listed[r.index()]) allowed[r.index()] = 0;
                    }
                }
            }
            keep_resources(p_, op, allowed);
        }
    }
    void operator()(const PinForbid& pin) {
        std::vector<char> allowed(p_.resources.size(), 1);
        allowed[pin.resource.index()] = 0;
        if (pin.operations.empty()) {
            for (std::size_t i = 0; i < p_.operations.size(); ++i)
                keep_resources(p_, OperationId{i}, allowed);
        }
        for (const OperationId op : pin.operations)
            keep_resources(p_, op, allowed);
    }
    void operator()(const PinAfter& pin) {
        for (const OperationId a : pin.first) {
            // What stretches without limit is done when its work is.
            const bool open = !p_.operations[a.index()].max_stretch;
            for (const OperationId b : pin.later) {
                p_.constraints.push_back(core::TimeLag{
                    .from = a, .edge = open ? core::Edge::WorkEnd : core::Edge::End, .to = b});
            }
        }
    }
    void operator()(const PinWeight& pin) { p_.orders[pin.order.index()].weight = pin.weight; }

private:
    core::Problem& p_;
};

}  // namespace

std::vector<OperationId> operations_of(const core::Problem& problem, core::JobId job) {
    std::vector<OperationId> found;
    for (std::size_t i = 0; i < problem.operations.size(); ++i) {
        if (problem.operations[i].job == job) found.emplace_back(i);
    }
    return found;
}

std::vector<OperationId> operations_of(const core::Problem& problem, core::OrderId order) {
    std::vector<OperationId> found;
    for (std::size_t i = 0; i < problem.operations.size(); ++i) {
        const core::JobId job = problem.operations[i].job;
        if (job.valid() && problem.jobs[job.index()].order == order) found.emplace_back(i);
    }
    return found;
}

core::Problem apply_pins(const core::Problem& problem, const std::vector<Pin>& pins) {
    core::Problem p = problem;
    PinApplier apply(p);
    for (const Pin& pin : pins)
        std::visit(apply, pin);
    return p;
}

}  // namespace sched::search
