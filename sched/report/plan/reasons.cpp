// How it works: chains of sched/advise become lines of reasons and, for a late order, a story;
// waits are counted from the moment at which the screen's own step before had ended. Loads are
// the uses of resources over paid and staffed time.

#include "sched/report/plan/reasons.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <string_view>
#include <tuple>

#include "sched/advise/chains.hpp"
#include "sched/advise/explain.hpp"
#include "sched/report/plan/chain_story.hpp"
#include "sched/report/words/wording.hpp"

namespace sched::report {

namespace {

using search::Cause;
using search::ChainLink;
using search::ResourceUse;

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

bool is_late(const OrderLine& order) {
    return order.lateness && *order.lateness > Seconds{0};
}

/// What a link cost in waiting. A predecessor's work is no waiting, nor is the screen's own step
/// that still had the place; and a screen cannot wait for a step while it is in the one before, nor
/// before the run begins.
class WaitMeter {
public:
    WaitMeter(const core::Schedule& schedule, const PlanDocument& d) : schedule_(schedule), d_(d) {
        for (std::size_t i = 0; i < d.operations.size(); ++i)
            by_screen_[d.operations[i].screen].push_back(i);
    }

    Seconds of(const ChainLink& link) const {
        switch (link.cause) {
            case Cause::Begin:
            case Cause::Predecessor:
                return Seconds{0};
            case Cause::Release:
            case Cause::Resource:
            case Cause::Calendar:
            case Cause::Store:
            case Cause::Choice:
                break;
        }
        if (link.cause == Cause::Resource && own_step(link)) return Seconds{0};
        const SimTime start = schedule_.placements[link.operation.index()].start;
        const SimTime since = std::max(start - link.waited, stands_since(link.operation));
        return std::max(Seconds{0}, start - since);
    }

    /// When the screen's own step before had ended; the run's beginning, if there is none.
    SimTime stands_since(core::OperationId id) const {
        const SimTime start = schedule_.placements[id.index()].start;
        SimTime since = d_.run.first_start;
        const std::string& screen = d_.operations[id.index()].screen;
        if (screen.empty()) return since;
        for (const std::size_t i : by_screen_.at(screen)) {
            const OperationLine& op = d_.operations[i];
            if (i != id.index() && op.start < start)
                since = std::max(since, std::min(op.work_end, start));
        }
        return since;
    }

    /// The place was taken by the screen itself, in the step before.
    bool own_step(const ChainLink& link) const {
        if (!link.because) return false;
        const std::string& screen = d_.operations[link.operation.index()].screen;
        return !screen.empty() && screen == d_.operations[link.because->index()].screen;
    }

private:
    const core::Schedule& schedule_;
    const PlanDocument& d_;
    std::map<std::string, std::vector<std::size_t>> by_screen_;
};

/// To the minute, from one minute on: nobody plans a screen room by the second.
std::string about(Seconds d) {
    if (d < model::minutes(1)) return model::format_duration(d);
    return model::format_duration(model::minutes((d.count() + 30) / 60));
}

class ReasonWriter {
public:
    ReasonWriter(const compile::RoomProblem& room, const core::Schedule& schedule,
                 const PlanDocument& document)
        : room_(room),
          schedule_(schedule),
          d_(document),
          waits_(schedule, document),
          tied_(room.problem.operations.size()) {
        for (const core::Constraint& c : room.problem.constraints) {
            const auto* lag = std::get_if<core::TimeLag>(&c);
            if (lag && lag->max && lag->from != lag->to) tied_[lag->from.index()].push_back(lag);
        }
    }

    std::vector<ReasonLine> lines(const std::vector<ChainLink>& chain) const {
        std::vector<ReasonLine> out;
        for (auto link = chain.rbegin(); link != chain.rend(); ++link) {
            ReasonLine line;
            line.cause = cause_key(link->cause);
            line.operation = link->operation.value;
            if (link->because) line.because = link->because->value;
            if (link->resource) line.resource = name(*link->resource);
            line.waited = wait_of(*link);
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
        if (order.due && *order.due < room_.problem.horizon_start)
            out += " It was due before this run begins.";
        // An order in time needs no excuse; its chain stands in `reasons`.
        if (chain.empty() || !is_late(order)) return out;
        const ChainLink& first = chain.back();
        auto parts = steps(order, chain);
        const std::string begins = beginning(first, order.name);
        // Since then it stood there, somebody having something else to do or being away.
        if (!begins.empty() && first.cause == Cause::Resource && first.because)
            parts.insert(parts.begin(), {.start = parts.front().start - first.stood});
        return out + chain_story(d_.run, begins, chain_parts(std::move(parts), *order.ready));
    }

private:
    std::string name(core::ResourceId id) const { return room_.problem.resources[id.index()].name; }
    std::string work(core::OperationId id) const { return d_.operations[id.index()].words; }

    /// What a release of this operation is in the room, told of its screen, or of an order whose
    /// chain may begin with the work of another; a time follows.
    std::string released(core::OperationId id, const std::string& told_of) const {
        const auto& info = room_.operations[id.index()];
        if (info.screen < 0) return "not before";
        const bool film = info.step == model::Step::Expose;
        const OperationLine& op = d_.operations[id.index()];
        if (told_of != op.order)
            return "the " + (film ? "film of " + op.order : "frame of " + op.screen) +
                   " is there at";
        return film ? "its film is there at" : "its frame is there at";
    }

    /// What the chain begins with, a time follows: "its film is there at". Empty: with the run.
    std::string beginning(const ChainLink& first, const std::string& order) const {
        const bool after = first.cause == Cause::Resource && !first.goes_on;
        const Cause what = after ? first.before : first.cause;
        if (what == Cause::Release && room_.operations[first.operation.index()].screen >= 0)
            return released(first.operation, order);
        if (what == Cause::Store && (after || !first.because)) {
            const std::string& of = d_.operations[first.operation.index()].order;
            return of == order ? "its emulsion is usable at"
                               : "the emulsion of " + of + " is usable at";
        }
        if (after && what == Cause::Calendar && first.resource)
            return name(*first.resource) + " is there at";
        return {};
    }

    bool uses(core::OperationId id, core::ResourceId resource) const {
        const auto& chosen = schedule_.placements[id.index()].chosen;
        return std::find(chosen.begin(), chosen.end(), resource) != chosen.end();
    }
    bool is_person(core::ResourceId id) const {
        return room_.resources[id.index()].kind == compile::ResourceKind::Person;
    }

    /// "Ada was at coat A4-1", "washout booth had wash out A4-1".
    std::string busy_words(core::ResourceId resource, core::OperationId by) const {
        return fmt::format("{} {} {}", name(resource), is_person(resource) ? "was at" : "had",
                           work(by));
    }

    /// Who had what the operation waited for: "Ada, who was at coat A4-1 until 09:12".
    std::string taken_words(const ChainLink& link, const std::string& until) const {
        if (!link.resource || !link.because) return "a place";
        const std::string by = work(*link.because);
        if (is_person(*link.resource))
            return fmt::format("{}, who was at {} until {}", name(*link.resource), by, until);
        if (!link.held)
            return fmt::format("{}, taken by {} until {}", name(*link.resource), by, until);
        return fmt::format("{}, where {} was done and stood until {}", name(*link.resource), by,
                           until);
    }

    std::string because(const ChainLink& link) const {
        const core::Placement& at = schedule_.placements[link.operation.index()];
        const Seconds length = wait_of(link);
        const std::string wait = about(length);
        const bool waited = length > Seconds{0};
        switch (link.cause) {
            case Cause::Begin:
                return "first on the chain; nothing held it";
            case Cause::Release:
                return fmt::format(
                    "{}{} {}", waited ? "waits " + wait + ", " : "",
                    released(link.operation, d_.operations[link.operation.index()].order),
                    when(d_.run, at.start));
            case Cause::Predecessor:
                return "follows " +
                       (link.because ? work(*link.because) : std::string("the step before"));
            case Cause::Resource: {
                if (waits_.own_step(link)) return "follows " + work(*link.because);
                const std::string taken = taken_words(link, when(d_.run, at.start));
                if (const auto gone = away(link.operation, at.start - length, at.start);
                    !gone.empty()) {
                    std::vector<std::string> until;
                    for (const ChainStep::Away& a : gone)
                        until.push_back(a.until + " at " + when(d_.run, a.to));
                    return fmt::format("waits {}, until {} and then for {}", wait, joined(until),
                                       taken);
                }
                if (!waited) return "follows: " + taken;
                const std::string since =
                    beginning(link, d_.operations[link.operation.index()].order);
                return fmt::format(
                    "waits {} for {}{}", wait, taken,
                    since.empty() ? "" : "; " + since + " " + when(d_.run, at.start - link.stood));
            }
            case Cause::Calendar:
                if (!waited) return "begins when " + back_words(link.resource);
                return fmt::format("waits {} until {}", wait, back_words(link.resource));
            case Cause::Store:
                return fmt::format("waits {} for its emulsion{}", wait,
                                   link.because ? " (" + work(*link.because) + ")" : "");
            case Cause::Choice: {
                const SimTime since = waits_.stands_since(link.operation);
                if (const auto place = shut_place(link.operation, since);
                    place && place->from < at.start)
                    return fmt::format("waits {} on purpose: {} at {}", about(at.start - since),
                                       back_words(place->who), when(d_.run, place->back));
                if (!waited && !link.waits_for) return "starts here by choice of the plan";
                std::string out = "waits ";
                if (waited) out += wait + " ";
                out += "on purpose";
                if (link.waits_for) out += ", for " + work(*link.waits_for);
                if (!link.resource) return out;
                const bool taken =
                    !link.away && link.because && uses(*link.because, *link.resource);
                return out + (taken ? fmt::format(", {}", busy_words(*link.resource, *link.because))
                                    : ", until " + back_words(link.resource));
            }
        }
        return {};
    }

    /// What the screen waited there since its step before, or since there was emulsion; before its
    /// first step what the link says.
    Seconds wait_of(const ChainLink& link) const {
        if (link.cause != Cause::Resource || link.before == Cause::Begin || waits_.own_step(link))
            return waits_.of(link);
        return link.stood;
    }

    /// "Ada is there", "booth can be used again"; a time may follow.
    std::string back_words(const std::optional<core::ResourceId>& id) const {
        if (!id) return "somebody is there";
        return name(*id) + (is_person(*id) ? " is there" : " can be used again");
    }

    struct Gone {
        core::ResourceId who;
        SimTime from, back;
    };
    /// The last of these to be there again between `since` and `until`, of those that were away for
    /// more than `slack`. @param people or places.
    std::optional<Gone> last_back(const std::vector<core::ResourceId>& chosen, bool people,
                                  SimTime since, SimTime until, Seconds slack = {}) const {
        std::optional<Gone> last;
        for (const core::ResourceId r : chosen) {
            const auto& calendar = room_.problem.resources[r.index()].calendar;
            if (is_person(r) != people || !calendar) continue;
            SimTime gone = since;
            for (const core::Window& w : *calendar) {
                if (w.from > until) break;
                if (w.from > since && w.from - gone > slack && (!last || w.from > last->back))
                    last = Gone{r, std::max(since, gone), w.from};
                gone = w.to;
            }
        }
        return last;
    }

    /// A place that it needs, or that what a limit ties to it needs: what is exposed must be washed
    /// out soon, so while the booth is out of work nothing is exposed.
    std::optional<Gone> shut_place(core::OperationId id, SimTime since, Seconds slack = {},
                                   int depth = 0) const {
        constexpr int far = 4;
        const core::Placement& p = schedule_.placements[id.index()];
        auto last = last_back(p.chosen, false, since, p.start, slack);
        if (depth == far) return last;
        for (const core::TimeLag* lag : tied_[id.index()]) {
            const auto more =
                shut_place(lag->to, since, slack + *lag->max + (p.end - p.start), depth + 1);
            if (more && (!last || more->back > last->back)) last = more;
        }
        return last;
    }

    /// Parts of a wait in which a place could not be used, or whoever does it was away: the last
    /// that came back. They do not overlap.
    std::vector<ChainStep::Away> away(core::OperationId id, SimTime since, SimTime until) const {
        std::vector<Gone> gone;
        if (auto place = shut_place(id, since); place && place->from < until) {
            place->back = std::min(place->back, until);
            gone.push_back(*place);
        }
        if (auto person = last_back(schedule_.placements[id.index()].chosen, true, since, until)) {
            if (!gone.empty() && person->back > gone.front().back)
                person->from = std::max(person->from, gone.front().back);
            else if (!gone.empty())
                person->back = std::min(person->back, gone.front().from);
            if (person->back > person->from) gone.push_back(*person);
        }
        std::sort(gone.begin(), gone.end(), [](auto& a, auto& b) { return a.from < b.from; });
        std::vector<ChainStep::Away> out;
        for (const Gone& g : gone)
            out.push_back({back_words(g.who), g.from, g.back});
        return out;
    }

    /// The order that an operation is of, "its other screens" where that is `order`, "mixing".
    std::string whose(core::OperationId id, std::string_view order) const {
        const OperationLine& op = d_.operations[id.index()];
        if (!op.order.empty()) return op.order == order ? "its other screens" : op.order;
        return room_.operations[id.index()].mix < 0 ? std::string() : "mixing";
    }

    std::string mixed_words(core::OperationId id) const {
        const int mix = room_.operations[id.index()].mix;
        if (mix < 0) return "until its emulsion is ready";
        return fmt::format("until {} is mixed and usable",
                           room_.mixes[static_cast<std::size_t>(mix)].pot);
    }

    /// Of each link: it mixes what the chain waits for, and not what keeps somebody busy.
    std::vector<bool> mixes_waited_for(const std::vector<ChainLink>& chain) const {
        std::vector<bool> out(chain.size(), false);
        const auto mix = [&](std::size_t k) {
            return room_.operations[chain[k].operation.index()].mix;
        };
        for (std::size_t k = 1; k < chain.size(); ++k) {
            const bool asked =
                chain[k - 1].cause == Cause::Store || chain[k - 1].before == Cause::Store;
            out[k] = mix(k) >= 0 && (asked || (out[k - 1] && mix(k) == mix(k - 1)));
        }
        return out;
    }

    std::vector<ChainStep> steps(const OrderLine& order,
                                 const std::vector<ChainLink>& chain) const {
        std::vector<ChainStep> out;
        const std::vector<bool> waited_for = mixes_waited_for(chain);
        // From the first to the last, so that of equal starts the later link stands last.
        for (std::size_t k = chain.size(); k-- > 0;) {
            const ChainLink& link = chain[k];
            const OperationLine& op = d_.operations[link.operation.index()];
            ChainStep step{.start = op.start,
                           .own = op.order == order.name,
                           .work = op.words,
                           .order = whose(link.operation, {})};
            if (link.resource) step.resource = name(*link.resource);
            if (waited_for[k]) step.mixes = mixed_words(link.operation);
            switch (link.cause) {
                case Cause::Begin:
                case Cause::Predecessor:
                    break;
                case Cause::Resource:
                    // The link before is of the screen's own way, or what had the resource.
                    // The chain's first has stood since what it begins with.
                    if ((k + 1 < chain.size() || !link.goes_on) && link.before != Cause::Begin) {
                        step.waited = wait_of(link);
                        if (link.because) step.busy = whose(*link.because, order.name);
                        step.away = away(link.operation, op.start - step.waited, op.start);
                    }
                    break;
                case Cause::Release:
                    step.why = "until it may start";
                    if (room_.operations[link.operation.index()].step == model::Step::Expose)
                        step.why = step.own ? "until its film is there"
                                            : "until the film of " + op.order + " is there";
                    break;
                case Cause::Calendar:
                    step.why = "until " + back_words(link.resource);
                    break;
                case Cause::Store:
                    step.why = link.because ? mixed_words(*link.because)
                                            : std::string("until its emulsion is ready");
                    break;
                case Cause::Choice:
                    // Where its follower's place or person was taken, that is the wait.
                    if (link.away)
                        step.why = "until " + back_words(link.resource);
                    else if (!link.resource || !link.because ||
                             !uses(*link.because, *link.resource))
                        step.why = "waiting on purpose";
                    break;
            }
            if (!step.why.empty()) step.waited = waits_.of(link);
            if (link.cause == Cause::Calendar || link.cause == Cause::Choice) {
                const SimTime since = waits_.stands_since(link.operation);
                const auto place = shut_place(link.operation, since);
                if (place && place->from < op.start) {
                    step.waited = op.start - since;
                    step.away = away(link.operation, since, op.start);
                }
            }
            out.push_back(std::move(step));
        }
        return out;
    }

    const compile::RoomProblem& room_;
    const core::Schedule& schedule_;
    const PlanDocument& d_;
    WaitMeter waits_;
    std::vector<std::vector<const core::TimeLag*>> tied_;  // per operation: limits to what follows
};

std::optional<double> ratio(Seconds part, Seconds whole) {
    if (whole <= Seconds{0}) return std::nullopt;
    return static_cast<double>(part.count()) / static_cast<double>(whole.count());
}

/// What each resource cost the others, in Problem order.
struct WaitSums {
    std::vector<Seconds> taken;  // operations waited because it was taken
    std::vector<Seconds>
        away;  // ... because it was not there, the time before the first start left out
    std::vector<Seconds> on_late_chain;  // part of `taken` on the chains of late orders
    std::vector<int> links;              // links of these chains that name it
};

WaitSums waits_of(const compile::RoomProblem& room, const core::Schedule& schedule,
                  const search::Chains& chains, const PlanDocument& d) {
    const std::size_t n = room.problem.resources.size();
    WaitSums sums{std::vector<Seconds>(n), std::vector<Seconds>(n), std::vector<Seconds>(n),
                  std::vector<int>(n)};
    const WaitMeter meter(schedule, d);
    for (std::size_t i = 0; i < schedule.placements.size(); ++i) {
        const ChainLink& link = chains.link(core::OperationId{i});
        if (!link.resource) continue;
        const Seconds wait = meter.of(link);
        if (link.cause == Cause::Resource) sums.taken[link.resource->index()] += wait;
        if (link.cause == Cause::Calendar) sums.away[link.resource->index()] += wait;
    }
    for (std::size_t o = 0; o < d.orders.size(); ++o) {
        if (!is_late(d.orders[o])) continue;
        const auto chain = chains.of(core::OrderId{o});
        for (std::size_t k = 0; k < chain.size(); ++k) {
            const ChainLink& link = chain[k];
            if (!link.resource || link.cause != Cause::Resource || meter.of(link) == Seconds{0})
                continue;
            // What waits since the morning for one after the other waits once: on the chain each
            // link has the time from the link before on.
            Seconds wait = meter.of(link);
            if (k + 1 < chain.size()) {
                const auto at = [&](const ChainLink& x) {
                    return schedule.placements[x.operation.index()].start;
                };
                wait = std::min(wait, at(link) - at(chain[k + 1]));
            }
            ++sums.links[link.resource->index()];
            sums.on_late_chain[link.resource->index()] += wait;
        }
    }
    return sums;
}

std::vector<LoadLine> loads_of(const compile::RoomProblem& room, const core::Schedule& schedule,
                               const WaitSums& waits) {
    std::vector<LoadLine> out;
    std::vector<core::ResourceId> people;
    for (std::size_t r = 0; r < room.resources.size(); ++r) {
        if (room.resources[r].kind == compile::ResourceKind::Person)
            people.push_back(core::ResourceId{r});
    }
    const auto staffed = search::staffed_time(room.problem, schedule, people);
    for (const ResourceUse& use : search::resource_use(room.problem, schedule, staffed)) {
        const std::size_t r = use.resource.index();
        const core::Resource& resource = room.problem.resources[r];
        LoadLine line;
        line.resource = resource.name;
        line.kind = room.resources[r].kind == compile::ResourceKind::Person ? "person" : "station";
        line.capacity = resource.capacity;
        line.staffed = use.staffed;
        line.working = use.working;
        line.holding = use.holding;
        line.waited_for = waits.taken[r];
        line.waited_away = waits.away[r];
        line.on_late_chains = waits.links[r];
        line.availability = ratio(use.working, use.staffed);
        line.allocation_efficiency = ratio(use.working + use.holding, use.staffed);
        line.utilisation_efficiency = ratio(use.working, use.working + use.holding);
        out.push_back(std::move(line));
    }
    return out;
}

std::string in_use(const LoadLine& x) {
    std::string text = fmt::format("In use {} of the time there", percent(x.allocation_efficiency));
    if (x.holding > Seconds{0}) {
        text += fmt::format(", {} of that only holding finished screens",
                            percent(ratio(x.holding, x.working + x.holding)));
    }
    return text + ".";
}

/// As the table beside it shows it: from an hour on without its seconds, not rounded.
std::string as_shown(Seconds d) {
    return d < model::minutes(1) ? model::format_duration(d)
                                 : model::format_duration(model::minutes(d.count() / 60));
}

/// What is waited for, which limits nothing by itself: `add_limit` says what does.
Bottleneck waits_story(const PlanDocument& d, const WaitSums& waits) {
    Bottleneck out;
    if (d.loads.empty()) return out;
    const auto late = std::count_if(d.orders.begin(), d.orders.end(), is_late);
    std::vector<std::size_t> order(d.loads.size());
    for (std::size_t r = 0; r < order.size(); ++r)
        order[r] = r;
    const auto key = [&](std::size_t r) {
        return std::tuple(waits.on_late_chain[r], d.loads[r].waited_for,
                          d.loads[r].allocation_efficiency.value_or(0.0));
    };
    std::stable_sort(order.begin(), order.end(), [&](auto a, auto b) { return key(a) > key(b); });
    const LoadLine& top = d.loads[order.front()];
    if (top.waited_for <= Seconds{0}) {
        const auto busiest =
            std::max_element(d.loads.begin(), d.loads.end(), [](const auto& a, const auto& b) {
                return a.allocation_efficiency.value_or(0.0) <
                       b.allocation_efficiency.value_or(0.0);
            });
        out.sentences.push_back(fmt::format("The busiest is {}, in use {} of the time there.",
                                            busiest->resource,
                                            percent(busiest->allocation_efficiency)));
        return out;
    }
    if (top.on_late_chains > 0) {
        out.sentences.push_back(fmt::format(
            "On the {} most waits are for {}: {} {}, {} in all.",
            late == 1 ? "chain that makes one order late"
                      : fmt::format("chains that make {} orders late", late),
            top.resource, top.on_late_chains, top.on_late_chains == 1 ? "time" : "times",
            as_shown(waits.on_late_chain[order.front()])));
    }
    out.sentences.push_back(fmt::format("Over the whole plan steps wait {} because {} is taken.",
                                        as_shown(top.waited_for), top.resource));
    out.sentences.push_back(in_use(top));
    if (order.size() > 1 && d.loads[order[1]].waited_for > Seconds{0}) {
        const LoadLine& next = d.loads[order[1]];
        out.sentences.push_back(fmt::format(
            "Next comes {}, with {} of waiting, in use {} of the time there.", next.resource,
            as_shown(next.waited_for), percent(next.allocation_efficiency)));
    }
    return out;
}

}  // namespace

void explain(const compile::RoomProblem& room, const core::Schedule& schedule,
             PlanDocument& document) {
    // Fillers took what was free: they are nobody's reason.
    const compile::RoomProblem run = compile::without_returns(room);
    core::Schedule held = schedule;
    held.placements.resize(run.operations.size());
    const search::Chains chains(run.problem, held);
    const ReasonWriter writer(run, held, document);
    for (std::size_t i = 0; i < document.orders.size(); ++i) {
        const auto links = chains.of(core::OrderId{i});
        document.orders[i].reasons = writer.lines(links);
        document.orders[i].story = writer.story(document.orders[i], links);
    }
    const WaitSums waits = waits_of(run, held, chains, document);
    document.loads = loads_of(room, schedule, waits);
    document.bottleneck = waits_story(document, waits);
}

}  // namespace sched::report
