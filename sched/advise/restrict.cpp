#include "sched/advise/restrict.hpp"

#include <algorithm>

namespace sched::search {

namespace {

constexpr const char* nobody_name = "nobody";

bool impossible(const core::Problem& problem, const core::Mode& mode) {
    return std::any_of(mode.needs.begin(), mode.needs.end(), [&](const core::Need& need) {
        return need.any_of.size() == 1 &&
               problem.resources[need.any_of.front().index()].name == nobody_name;
    });
}

// Nobody is never there; but what is fixed minds no calendar, so it asks for one more than there
// is. What takes no time needs nobody: it has to take some.
void rule_out(core::Mode& mode, core::ResourceId none, bool fixed) {
    mode.needs.push_back({.any_of = {none}, .amount = fixed ? 2 : 1});
    mode.work = std::max(mode.work, core::Seconds{1});
}

}  // namespace

core::ResourceId nobody(core::Problem& problem) {
    for (std::size_t r = problem.resources.size(); r-- > 0;) {
        const auto& x = problem.resources[r];
        if (x.name == nobody_name && x.calendar && x.calendar->empty()) return core::ResourceId{r};
    }
    problem.resources.push_back({.name = nobody_name, .calendar = core::Calendar{}});
    return core::ResourceId{problem.resources.size() - 1};
}

bool keep_resources(core::Problem& problem, core::OperationId operation,
                    const std::vector<char>& allowed) {
    bool left = false;
    const auto count = problem.operations[operation.index()].modes.size();
    for (std::size_t m = 0; m < count; ++m) {
        bool none_left = false;
        for (auto& need : problem.operations[operation.index()].modes[m].needs) {
            std::vector<core::ResourceId> kept;
            for (const core::ResourceId r : need.any_of) {
                if (r.index() >= allowed.size() || allowed[r.index()]) kept.push_back(r);
            }
            if (kept.empty())
                none_left = true;  // the list stays as it was: drying needs its clock
            else
                need.any_of = std::move(kept);
        }
        auto& mode = problem.operations[operation.index()].modes[m];
        if (none_left && !impossible(problem, mode)) {
            const core::ResourceId none = nobody(problem);
            rule_out(problem.operations[operation.index()].modes[m], none, false);
        }
        left = left || !impossible(problem, problem.operations[operation.index()].modes[m]);
    }
    return left;
}

void fix_choice(core::Problem& problem, core::OperationId operation, const core::Placement& to) {
    const core::ResourceId none = nobody(problem);
    auto& modes = problem.operations[operation.index()].modes;
    for (std::size_t m = 0; m < modes.size(); ++m) {
        if (static_cast<int>(m) == to.mode) {
            for (std::size_t k = 0; k < modes[m].needs.size(); ++k)
                modes[m].needs[k].any_of = {to.chosen[k]};
        } else {
            rule_out(modes[m], none, true);
        }
    }
    std::size_t take = 0;
    for (auto& c : problem.constraints) {
        auto* t = std::get_if<core::Take>(&c);
        if (t && t->operation == operation && take < to.stores.size())
            t->any_of = {to.stores[take++]};
    }
}

}  // namespace sched::search
