// Stores: what goes out and comes in over time. Batches: who goes together.

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <variant>

#include "sched/check/case.hpp"
#include "sched/check/packing.hpp"

namespace sched::check {

using core::ResourceId;
using core::SimTime;

namespace {

struct Flow {
    SimTime at;
    std::int64_t amount;  // > 0 in, < 0 out
    std::size_t operation;
};

struct StoreLedger {
    Case& c;
    std::vector<std::vector<Flow>> flows;
    std::vector<std::size_t> takes_seen;  // per operation

    // When what has a life is over: that long after its only giver is done.
    std::optional<SimTime> over(core::StoreId store) const {
        const auto& life = c.problem.stores[store.index()].life;
        if (!life) return std::nullopt;
        for (const auto& constraint : c.problem.constraints) {
            const auto* give = std::get_if<core::Give>(&constraint);
            if (give != nullptr && give->store == store)
                return c.placement(give->operation.index()).work_end + *life;
        }
        return std::nullopt;
    }

    void operator()(const core::Take& take) {
        const std::size_t i = take.operation.index();
        const std::size_t k = takes_seen[i]++;
        const auto& p = c.placement(i);
        if (k >= p.stores.size()) return;  // reported by check_stores
        const core::StoreId store = p.stores[k];
        if (!c.has_begun(i) &&
            std::find(take.any_of.begin(), take.any_of.end(), store) == take.any_of.end()) {
            c.say(Rule::Choice, i,
                  fmt::format("{} takes from a store that it may not use", c.operation(i).name));
            return;
        }
        if (take.amount == 0) return;
        flows[store.index()].push_back({.at = p.start, .amount = -take.amount, .operation = i});
        const auto& s = c.problem.stores[store.index()];
        if (c.has_begun(i)) return;
        const auto end = over(store);
        if ((s.from && p.start < *s.from) || (s.until && p.start >= *s.until) ||
            (end && p.start >= *end)) {
            c.say(Rule::Store, i,
                  fmt::format("{} takes from {} at {}, outside the time of its use",
                              c.operation(i).name, s.name, model::format_date_time(p.start)))
                .at = p.start;
        }
    }
    void operator()(const core::Give& give) {
        const std::size_t i = give.operation.index();
        flows[give.store.index()].push_back(
            {.at = c.placement(i).work_end, .amount = give.amount, .operation = i});
    }
    void operator()(const core::TimeLag&) const {}
    void operator()(const core::StartWindow&) const {}
    void operator()(const core::SameMode&) const {}
    void operator()(const core::SameResource&) const {}
};

}  // namespace

void check_stores(Case& c) {
    StoreLedger ledger{c, std::vector<std::vector<Flow>>(c.problem.stores.size()),
                       std::vector<std::size_t>(c.size(), 0)};
    for (const auto& constraint : c.problem.constraints)
        std::visit(ledger, constraint);
    for (std::size_t i = 0; i < c.size(); ++i) {
        if (ledger.takes_seen[i] == c.placement(i).stores.size()) continue;
        c.say(Rule::Choice, i,
              fmt::format("{} takes {} times, but {} stores are chosen", c.operation(i).name,
                          ledger.takes_seen[i], c.placement(i).stores.size()));
    }
    for (std::size_t s = 0; s < ledger.flows.size(); ++s) {
        auto& flows = ledger.flows[s];
        std::stable_sort(flows.begin(), flows.end(), [](const Flow& a, const Flow& b) {
            return a.at != b.at ? a.at < b.at : (a.amount > 0) > (b.amount > 0);
        });
        std::int64_t level = c.problem.stores[s].initial;
        for (const Flow& f : flows) {
            level += f.amount;
            if (f.amount > 0 || level >= 0 || c.has_begun(f.operation)) continue;
            c.say(Rule::Store, f.operation,
                  fmt::format("{} takes {} from {} at {}, {} are missing",
                              c.operation(f.operation).name, -f.amount, c.problem.stores[s].name,
                              model::format_date_time(f.at), -level))
                .at = f.at;
        }
    }
}

std::vector<ResourceId> batching(const Case& c, std::size_t i) {
    std::vector<ResourceId> result;
    for (const ResourceId r : c.placement(i).chosen) {
        if (c.resource(r).batch) result.push_back(r);
    }
    std::sort(result.begin(), result.end());
    return result;
}

namespace {

void check_one_batch(Case& c, const std::vector<std::size_t>& members) {
    if (std::all_of(members.begin(), members.end(), [&](std::size_t i) { return c.has_begun(i); }))
        return;  // it was made as it was made
    const std::size_t first = members.front();
    const auto resources = batching(c, first);
    const auto broken = [&](std::size_t i, std::string text) {
        auto& v = c.say(Rule::Batch, i, std::move(text));
        if (i != first) v.other = core::OperationId{first};
        if (!resources.empty()) v.resource = resources.front();
        v.at = c.placement(i).start;
    };
    bool shaped = true;
    for (const std::size_t i : members) {
        const auto& o = c.operation(i);
        if (batching(c, i).empty()) {
            broken(i, fmt::format("{} is in a batch, but uses nothing that takes batches", o.name));
            shaped = false;
        } else if (!o.batch) {
            broken(i, fmt::format("{} has no size and family for a batch", o.name));
            shaped = false;
        }
    }
    if (!shaped) return;
    const auto& lead = c.operation(first);
    for (const std::size_t i : members) {
        const auto& o = c.operation(i);
        if (batching(c, i) != resources) {
            broken(i, fmt::format("{} and {} share a batch, but not its place", o.name, lead.name));
        }
        if (c.placement(i).start != c.placement(first).start ||
            c.placement(i).end != c.placement(first).end) {
            broken(i, fmt::format("{} and {} share a batch, but do not start and end together",
                                  o.name, lead.name));
        }
        if (o.batch->family != lead.batch->family) {
            broken(i, fmt::format("{} and {} share a batch, but are of different families", o.name,
                                  lead.name));
        }
    }
    std::vector<Rectangle> shapes;
    for (const std::size_t i : members) {
        shapes.push_back({c.operation(i).batch->width_mm, c.operation(i).batch->height_mm});
    }
    for (const ResourceId r : resources) {
        const auto& area = *c.resource(r).batch;
        if (members.size() > static_cast<std::size_t>(area.max_members)) {
            broken(first,
                   fmt::format("{} of the batch of {} are more than the {} that {} takes",
                               members.size(), lead.name, area.max_members, c.resource(r).name));
            continue;
        }
        const Fit fit = fits(shapes, area.width_mm, area.height_mm, area.gap_mm);
        if (fit == Fit::No) {
            broken(first, fmt::format("the batch of {} does not fit on {}", lead.name,
                                      c.resource(r).name));
        } else if (fit == Fit::Unknown) {
            broken(first, fmt::format("the batch of {} could not be shown to fit on {}", lead.name,
                                      c.resource(r).name));
        }
    }
}

}  // namespace

void check_batches(Case& c) {
    std::map<int, std::vector<std::size_t>> numbered;
    for (std::size_t i = 0; i < c.size(); ++i) {
        if (!c.sound[i]) continue;
        if (c.placement(i).batch) {
            numbered[*c.placement(i).batch].push_back(i);
        } else if (!batching(c, i).empty()) {
            check_one_batch(c, {i});
        }
    }
    for (const auto& [number, members] : numbered)
        check_one_batch(c, members);
}

}  // namespace sched::check
