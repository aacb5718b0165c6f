#include "sched/app/parts/given_too_late.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <vector>

#include "sched/core/index.hpp"
#include "sched/report/words/wording.hpp"
#include "sched/search/bounds/bounds.hpp"

namespace sched::app {

namespace {

constexpr std::size_t most_named = 3;

// What an order waits for and nobody in the room can bring sooner.
struct Given {
    std::optional<core::SimTime> frame, film;  // the last of them; none: there from the start
};

class Lateness {
public:
    Lateness(const model::Scenario& scenario, const compile::RoomProblem& room)
        : scenario_(scenario), room_(room), given_(room.problem.orders.size()) {}

    /// @returns false: everything is there from the start.
    bool look() {
        core::Problem at_once = room_.problem;
        bool any = false;
        for (core::Constraint& c : at_once.constraints) {
            auto* window = std::get_if<core::StartWindow>(&c);
            if (window == nullptr || !window->not_before) continue;
            if (std::optional<core::SimTime>* last = waits_for(*window)) {
                *last = std::max(last->value_or(core::SimTime::min()), *window->not_before);
                window->not_before.reset();
                any = true;
            }
        }
        if (!any) return false;
        as_it_is_ = soonest(room_.problem);
        at_once_ = soonest(at_once);
        return true;
    }

    /// What keeps it from being in time; nullopt: nothing that comes, or something else, too.
    std::optional<Given> cause(std::size_t order) const {
        const auto& due = room_.problem.orders[order].due;
        if (!due || as_it_is_[order] <= *due || at_once_[order] > *due) return std::nullopt;
        return given_[order];
    }

private:
    // Where the time belongs that this window has from frames.csv or orders.csv; a pin has none.
    std::optional<core::SimTime>* waits_for(const core::StartWindow& window) {
        if (window.operation.index() >= room_.operations.size()) return nullptr;
        const compile::OperationInfo& info = room_.operations[window.operation.index()];
        if (info.screen < 0) return nullptr;
        const compile::ScreenInfo& screen = room_.screens[ix(info.screen)];
        Given& mine = given_[order_of(window.operation)->index()];
        if (info.step == model::Step::Expose) {
            const auto& line = scenario_.orders[ix(screen.order)].lines[ix(screen.line)];
            return line.film_ready == window.not_before ? &mine.film : nullptr;
        }
        if (screen.stock < 0) return nullptr;
        return scenario_.frames[ix(screen.stock)].from == window.not_before ? &mine.frame : nullptr;
    }

    std::optional<core::OrderId> order_of(core::OperationId id) const {
        const core::JobId job = room_.problem.operations[id.index()].job;
        if (!job.valid()) return std::nullopt;
        const core::OrderId order = room_.problem.jobs[job.index()].order;
        return order.valid() ? std::optional(order) : std::nullopt;
    }

    // With everybody and every place free for each order alone.
    std::vector<core::SimTime> soonest(const core::Problem& problem) const {
        const auto early = search::earliest_times(problem);
        std::vector<core::SimTime> done(problem.orders.size(), core::SimTime::min());
        for (std::size_t i = 0; i < problem.operations.size(); ++i) {
            const auto order = order_of(core::OperationId{i});
            if (!order) continue;
            core::SimTime& last = done[order->index()];
            last = std::max(last, problem.horizon_start + core::Seconds{early.work_end[i]});
        }
        return done;
    }

    const model::Scenario& scenario_;
    const compile::RoomProblem& room_;
    std::vector<Given> given_;
    std::vector<core::SimTime> as_it_is_, at_once_;  // per order
};

}  // namespace

void add_given_too_late(const model::Scenario& scenario, const compile::RoomProblem& room,
                        report::PlanDocument& document) {
    Lateness lateness(scenario, room);
    if (!lateness.look()) return;
    std::vector<std::string> says;
    std::size_t more = 0;
    for (std::size_t o = 0; o < document.orders.size(); ++o) {
        const report::OrderLine& order = document.orders[o];
        if (!order.lateness || *order.lateness <= core::Seconds{0}) continue;
        const auto given = lateness.cause(o);
        if (!given) continue;
        if (says.size() == most_named) {
            ++more;
            continue;
        }
        std::vector<std::string> what, with;
        if (given->frame) {
            what.push_back("its last frame is there at " +
                           report::when(document.run, *given->frame));
            with.emplace_back("the frame");
        }
        if (given->film) {
            what.push_back("its film is there at " + report::when(document.run, *given->film));
            with.emplace_back("the film");
        }
        says.push_back(fmt::format(
            "{} cannot be in time, whoever helps: {}. With {} there from the start it could be.",
            order.name, report::joined(what), report::joined(with)));
    }
    if (more > 0)
        says.push_back(fmt::format("So it is with {}.", report::counted(more, "more order")));
    auto& sentences = document.bottleneck.sentences;
    sentences.insert(sentences.begin(), says.begin(), says.end());
}

}  // namespace sched::app
