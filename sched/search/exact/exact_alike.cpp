// Jobs that nothing tells apart are put in order, so that the solver need not look at every
// permutation.

#include <algorithm>
#include <map>
#include <utility>
#include <vector>

#include "sched/search/exact/exact_model.hpp"

namespace sched::search {

namespace {

/// A job without its names: equal values are interchangeable.
struct AlikeJob {
    core::OrderId order;
    std::vector<core::Operation> operations;
    std::vector<core::Constraint> constraints;
    bool tied = false;  // something joins it to operations outside
    friend bool operator==(const AlikeJob&, const AlikeJob&) = default;
};

std::vector<core::OperationId*> named_by(core::Constraint& c) {
    struct Names {
        std::vector<core::OperationId*> operator()(core::TimeLag& x) const {
            return {&x.from, &x.to};
        }
        std::vector<core::OperationId*> operator()(core::StartWindow& x) const {
            return {&x.operation};
        }
        std::vector<core::OperationId*> operator()(core::SameMode& x) const { return {&x.a, &x.b}; }
        std::vector<core::OperationId*> operator()(core::SameResource& x) const {
            return {&x.a, &x.b};
        }
        std::vector<core::OperationId*> operator()(core::Take& x) const { return {&x.operation}; }
        std::vector<core::OperationId*> operator()(core::Give& x) const { return {&x.operation}; }
    };
    return std::visit(Names{}, c);
}

}  // namespace

/// Two alike jobs may be swapped whole: the first starts no later. Where each operation has one way
/// only, more holds: sorting the starts, work ends and ends of each step among alike jobs keeps
/// every difference constraint, the number in use at any instant and the latest completion, so that
/// the first is no later at any of them.
void ExactModel::make_alike() {
    std::vector<AlikeJob> jobs(p_.jobs.size());
    std::vector<std::vector<std::size_t>> members(p_.jobs.size());
    std::vector<core::OperationId> place(p_.operations.size());
    for (std::size_t i = 0; i < p_.operations.size(); ++i) {
        const auto job = p_.operations[i].job;
        if (!job.valid()) continue;
        place[i] = core::OperationId{members[job.index()].size()};
        members[job.index()].push_back(i);
        core::Operation o = p_.operations[i];
        o.name.clear();
        o.job = core::JobId::none();
        jobs[job.index()].operations.push_back(std::move(o));
    }
    for (std::size_t j = 0; j < jobs.size(); ++j)
        jobs[j].order = p_.jobs[j].order;
    for (core::Constraint c : p_.constraints) {
        const auto names = named_by(c);
        const auto first = p_.operations[names[0]->index()].job;
        bool within = first.valid();
        for (const auto* id : names)
            within = within && p_.operations[id->index()].job == first;
        for (auto* id : names) {
            const auto job = p_.operations[id->index()].job;
            if (!within && job.valid()) jobs[job.index()].tied = true;
            *id = place[id->index()];
        }
        if (within) jobs[first.index()].constraints.push_back(c);
    }
    for (std::size_t b = 0; b < jobs.size(); ++b) {
        if (jobs[b].tied || members[b].empty()) continue;
        for (std::size_t a = b; a-- > 0;) {
            if (jobs[a] != jobs[b]) continue;
            bool one_way = true;
            for (const std::size_t i : members[b]) {
                const auto& m = operations_[i];
                one_way = one_way && m.modes.size() == 1;
                for (const auto& need : m.choices[0])
                    one_way = one_way && need.size() == 1;
            }
            for (std::size_t k = 0; k < members[b].size(); ++k) {
                const auto& x = operations_[members[a][k]];
                const auto& y = operations_[members[b][k]];
                engine_.add_difference(x.start, 0, y.start);
                if (!one_way) break;
                if (x.work_end.side != x.start.side)
                    engine_.add_difference(x.work_end, 0, y.work_end);
                if (x.end.side != x.work_end.side) engine_.add_difference(x.end, 0, y.end);
            }
            break;
        }
    }
}

}  // namespace sched::search
