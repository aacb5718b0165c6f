#include "sched/report/reasons.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "sched/report/wording.hpp"
#include "sched/search/explain.hpp"

namespace sched::report {

namespace {

using search::Cause;
using search::ChainLink;
using search::ResourceUse;

#ifdef COATROOM_NO_EXPLAIN
std::vector<ChainLink> chain(const core::Problem&, const core::Schedule&, core::OrderId) {
    return {};
}
std::vector<ResourceUse> uses(const core::Problem&, const core::Schedule&) {
    return {};
}
#else
std::vector<ChainLink> chain(const core::Problem& p, const core::Schedule& s, core::OrderId o) {
    return search::chain_of(p, s, o);
}
std::vector<ResourceUse> uses(const core::Problem& p, const core::Schedule& s) {
    return search::resource_use(p, s);
}
#endif

std::string cause_key(Cause cause) {
    switch (cause) {
        case Cause::Begin:
            return "begin";
        case Cause::Release:
            return "release";
        case Cause::Predecessor:
            return "predecessor";
        case Cause::Resource:
            return "resource";
        case Cause::Calendar:
            return "calendar";
        case Cause::Store:
            return "store";
        case Cause::Choice:
            return "choice";
    }
    return {};
}

class ReasonWriter {
public:
    ReasonWriter(const compile::RoomProblem& room, const core::Schedule& schedule,
                 const PlanDocument& document)
        : room_(room), schedule_(schedule), d_(document) {}

    std::vector<ReasonLine> lines(const std::vector<ChainLink>& chain) const {
        std::vector<ReasonLine> out;
        for (auto link = chain.rbegin(); link != chain.rend(); ++link) {
            ReasonLine line;
            line.cause = cause_key(link->cause);
            line.operation = link->operation.value;
            if (link->because) line.because = link->because->value;
            if (link->resource) line.resource = name(*link->resource);
            line.waited = link->waited;
            const OperationLine& operation = d_.operations[link->operation.index()];
            line.words = fmt::format("{} {}: {}", when(d_.run, operation.start), operation.words,
                                     because(*link));
            out.push_back(std::move(line));
        }
        return out;
    }

    std::string story(const OrderLine& order, const std::vector<ChainLink>& chain) const {
        if (!order.ready) return "Nothing is left to do for it.";
        std::string out = fmt::format("Ready {}", when(d_.run, *order.ready));
        if (order.due)
            out += fmt::format(", {} (due {})", lateness_words(order), when(d_.run, *order.due));
        out += ".";
        if (chain.empty()) return out;
        const core::Placement& first = schedule_.placements[chain.back().operation.index()];
        Seconds waits{0};
        for (const ChainLink& link : chain) {
            if (&link != &chain.back()) waits += link.waited;
        }
        const Seconds whole = *order.ready - first.start;
        out += fmt::format(
            " The chain that holds it begins {} with {} and lasts {}: {} of work, drying and "
            "standing, {} of waiting.",
            when(d_.run, first.start), d_.operations[chain.back().operation.index()].words,
            model::format_duration(whole), model::format_duration(whole - waits),
            model::format_duration(waits));
        const std::string longest = longest_waits(chain);
        if (!longest.empty()) out += " " + longest;
        return out;
    }

private:
    std::string name(core::ResourceId id) const { return room_.problem.resources[id.index()].name; }
    std::string work(core::OperationId id) const { return d_.operations[id.index()].words; }

    std::string because(const ChainLink& link) const {
        const core::Placement& at = schedule_.placements[link.operation.index()];
        const std::string wait = model::format_duration(link.waited);
        const bool waited = link.waited > Seconds{0};
        switch (link.cause) {
            case Cause::Begin:
                return "first on the chain; nothing held it";
            case Cause::Release:
                return waited ? fmt::format("waits {}, it may not start before {}", wait,
                                            when(d_.run, at.start))
                              : fmt::format("may not start before {}", when(d_.run, at.start));
            case Cause::Predecessor: {
                const std::string of = link.because ? work(*link.because) : "the step before";
                return waited ? fmt::format("waits {} for {}", wait, of)
                              : fmt::format("follows {}", of);
            }
            case Cause::Resource: {
                std::string out = fmt::format("waits {} for {}", wait,
                                              link.resource ? name(*link.resource) : "a place");
                if (link.because) out += fmt::format(", taken by {}", work(*link.because));
                return out;
            }
            case Cause::Calendar:
                return fmt::format("waits {} until {} is there", wait,
                                   link.resource ? name(*link.resource) : "somebody");
            case Cause::Store:
                return fmt::format("waits {} for its emulsion{}", wait,
                                   link.because ? " (" + work(*link.because) + ")" : "");
            case Cause::Choice:
                return waited ? fmt::format("starts {} later than it could, on purpose", wait)
                              : "starts here by choice of the plan";
        }
        return {};
    }

    /// "Longest waits: Cabinet 1 1 h 5 min, Ada 20 min."
    std::string longest_waits(const std::vector<ChainLink>& chain) const {
        std::vector<std::pair<std::string, Seconds>> sums;
        for (const ChainLink& link : chain) {
            if (link.waited <= Seconds{0}) continue;
            std::string of = link.resource ? name(*link.resource) : "";
            if (of.empty()) {
                of = link.cause == Cause::Store     ? "emulsion"
                     : link.cause == Cause::Choice  ? "the plan's choice"
                     : link.cause == Cause::Release ? "film or frame"
                                                    : "earlier steps";
            }
            const auto found = std::find_if(sums.begin(), sums.end(),
                                            [&](const auto& s) { return s.first == of; });
            if (found == sums.end()) {
                sums.emplace_back(of, link.waited);
            } else {
                found->second += link.waited;
            }
        }
        if (sums.empty()) return {};
        std::stable_sort(sums.begin(), sums.end(),
                         [](const auto& a, const auto& b) { return a.second > b.second; });
        std::string out = "Longest waits: ";
        for (std::size_t i = 0; i < std::min<std::size_t>(sums.size(), 3); ++i) {
            if (i > 0) out += ", ";
            out += fmt::format("{} {}", sums[i].first, model::format_duration(sums[i].second));
        }
        return out + ".";
    }

    const compile::RoomProblem& room_;
    const core::Schedule& schedule_;
    const PlanDocument& d_;
};

std::optional<double> ratio(Seconds part, Seconds whole) {
    if (whole <= Seconds{0}) return std::nullopt;
    return static_cast<double>(part.count()) / static_cast<double>(whole.count());
}

std::vector<LoadLine> loads_of(const compile::RoomProblem& room,
                               const std::vector<ResourceUse>& uses) {
    std::vector<LoadLine> out;
    for (const ResourceUse& use : uses) {
        const core::Resource& resource = room.problem.resources[use.resource.index()];
        const bool person =
            room.resources[use.resource.index()].kind == compile::ResourceKind::Person;
        LoadLine line;
        line.resource = resource.name;
        line.kind = person ? "person" : "station";
        line.capacity = resource.capacity;
        line.staffed = use.staffed;
        line.working = use.working;
        line.holding = use.holding;
        line.waited_for = use.waited_for;
        line.on_late_chains = use.on_late_chains;
        line.availability = ratio(use.working, use.staffed);
        line.allocation_efficiency = ratio(use.working + use.holding, use.staffed);
        line.utilisation_efficiency = ratio(use.working, use.working + use.holding);
        out.push_back(std::move(line));
    }
    return out;
}

Bottleneck bottleneck_of(const PlanDocument& d) {
    Bottleneck out;
    const auto late = std::count_if(d.orders.begin(), d.orders.end(), [](const OrderLine& o) {
        return o.lateness && *o.lateness > Seconds{0};
    });
    std::vector<const LoadLine*> order;
    for (const LoadLine& load : d.loads)
        order.push_back(&load);
    const auto key = [](const LoadLine* x) {
        return std::tuple(x->on_late_chains, x->waited_for, x->allocation_efficiency.value_or(0.0));
    };
    std::stable_sort(order.begin(), order.end(), [&](auto* a, auto* b) { return key(a) > key(b); });
    if (order.empty()) return out;
    const LoadLine& top = *order.front();
    const auto shares = [](const LoadLine& x) {
        std::string text =
            fmt::format("In use {} of its time there", percent(x.allocation_efficiency));
        if (x.holding > Seconds{0}) {
            text += fmt::format("; {} of that it only holds finished screens",
                                percent(ratio(x.holding, x.working + x.holding)));
        }
        return text + ".";
    };
    if (top.on_late_chains == 0 && top.waited_for <= Seconds{0}) {
        const auto busiest =
            std::max_element(d.loads.begin(), d.loads.end(), [](const auto& a, const auto& b) {
                return a.allocation_efficiency.value_or(0.0) <
                       b.allocation_efficiency.value_or(0.0);
            });
        out.sentences.push_back("Nothing limits the day: no step waits for a place or a person.");
        out.sentences.push_back(fmt::format("The busiest is {}, in use {} of its time there.",
                                            busiest->resource,
                                            percent(busiest->allocation_efficiency)));
        return out;
    }
    out.resource = top.resource;
    out.sentences.push_back(fmt::format("{} limits the day.", top.resource));
    if (top.waited_for > Seconds{0}) {
        out.sentences.push_back(fmt::format("Steps wait {} in all because of it alone.",
                                            model::format_duration(top.waited_for)));
    }
    if (late > 0 && top.on_late_chains > 0) {
        out.sentences.push_back(
            fmt::format("It stands {} {} on the {} that make {} late.", top.on_late_chains,
                        top.on_late_chains == 1 ? "time" : "times", late == 1 ? "chain" : "chains",
                        late == 1 ? "an order" : fmt::format("{} orders", late)));
    }
    out.sentences.push_back(shares(top));
    if (order.size() > 1 && (order[1]->waited_for > Seconds{0} || order[1]->on_late_chains > 0)) {
        out.sentences.push_back(fmt::format("Next comes {}: steps wait {} for it, in use {}.",
                                            order[1]->resource,
                                            model::format_duration(order[1]->waited_for),
                                            percent(order[1]->allocation_efficiency)));
    }
    return out;
}

}  // namespace

void explain(const compile::RoomProblem& room, const core::Schedule& schedule,
             PlanDocument& document) {
    const ReasonWriter writer(room, schedule, document);
    for (std::size_t i = 0; i < document.orders.size(); ++i) {
        const auto links = chain(room.problem, schedule, core::OrderId{i});
        document.orders[i].reasons = writer.lines(links);
        document.orders[i].story = writer.story(document.orders[i], links);
    }
    document.loads = loads_of(room, uses(room.problem, schedule));
    document.bottleneck = bottleneck_of(document);
}

}  // namespace sched::report
