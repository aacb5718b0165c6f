#include "tests/support/line.hpp"

#include <algorithm>
#include <limits>

namespace sched::engine {

Line::Line(const LineModel& model) : model_(model), pools_(model.pools.size()) {}

std::uint32_t Line::take_first(Pool& pool) {
    const auto item = static_cast<std::uint32_t>(pool.first);
    pool.first = items_[item].next;
    if (pool.first < 0) pool.last = -1;
    --pool.waiting;
    return item;
}

void Line::append(Pool& pool, std::uint32_t item) {
    items_[item].next = -1;
    items_[item].since = now_;
    ++pool.waiting;
    if (pool.first < 0) {
        pool.first = pool.last = static_cast<std::int32_t>(item);
        return;
    }
    if (pool.queueing == Queueing::Priority && !input_.priority.empty()) {
        const std::int32_t mine = input_.priority[item];
        if (mine < input_.priority[static_cast<std::size_t>(pool.last)]) {
            std::int32_t* link =
                &pool.first;  // never runs off the end: the last one is less urgent
            while (input_.priority[static_cast<std::size_t>(*link)] <= mine) {
                link = &items_[static_cast<std::size_t>(*link)].next;
            }
            items_[item].next = *link;
            *link = static_cast<std::int32_t>(item);
            return;
        }
    }
    items_[static_cast<std::size_t>(pool.last)].next = static_cast<std::int32_t>(item);
    pool.last = static_cast<std::int32_t>(item);
}

// True: the unit is held and the item goes on within this call of the caller. A grant continues
// through the event list; where nothing else is due at this instant that event would be the next
// one, and is left out.
bool Line::ask(std::int32_t pool, std::uint32_t item, What then) {
    Pool& p = pools_[static_cast<std::size_t>(pool)];
    if (p.first < 0 && p.free > 0) {
        --p.free;
        if (queue_.alone(now_)) return true;
        queue_.push_now(now_, then, item);
        return false;
    }
    if (p.places >= 0 && p.waiting >= p.places) {
        ++result_.lost;
        if (!departures_.empty()) departures_[item] = -1;
        return false;
    }
    append(p, item);
    if (p.free > 0)
        serve(pool);  // deferred hand-over: the queue is looked at again when somebody asks
    return false;
}

void Line::serve(std::int32_t pool) {
    Pool& p = pools_[static_cast<std::size_t>(pool)];
    while (p.free > 0 && p.first >= 0) {
        --p.free;
        const std::uint32_t item = take_first(p);
        const LineStep& step = model_.steps[static_cast<std::size_t>(items_[item].step)];
        if (!queued_.empty()) queued_[item] += now_ - items_[item].since;
        queue_.push_now(now_, step.pool == pool ? Granted : GrantedAlso, item);
    }
}

void Line::give_back(std::int32_t pool) {
    Pool& p = pools_[static_cast<std::size_t>(pool)];
    ++p.free;
    if (model_.hand_over == HandOver::AtOnce) {
        if (p.first >= 0) serve(pool);
    } else {
        queue_.push_now(now_, Serve, static_cast<std::uint32_t>(pool));
    }
}

void Line::begin(std::uint32_t item) {
    const Tick d =
        input_.duration[item * model_.steps.size() + static_cast<std::size_t>(items_[item].step)];
    queue_.push(now_ + d, Finish, item);
}

void Line::have_pool(std::uint32_t item) {
    const std::int32_t also = model_.steps[static_cast<std::size_t>(items_[item].step)].also;
    if (also < 0 || ask(also, item, GrantedAlso)) begin(item);
}

void Line::enter_step(std::uint32_t item) {
    if (ask(model_.steps[static_cast<std::size_t>(items_[item].step)].pool, item, Granted))
        have_pool(item);
}

void Line::arrive(std::uint32_t item) {
    const std::size_t next = item + std::size_t{1};
    if (next < input_.interarrival.size()) {
        queue_.push(now_ + input_.interarrival[next], Arrive, static_cast<std::uint32_t>(next));
    }
    ++result_.logical_events;
    items_[item].step = 0;
    arrived_[item] = now_;
    enter_step(item);
}

void Line::leave(std::uint32_t item) {
    ++result_.served;
    result_.departures_sum += now_;
    result_.in_system_sum += now_ - arrived_[item];
    result_.last_departure = now_;
    if (!departures_.empty()) departures_[item] = now_;
}

void Line::finish(std::uint32_t item) {
    ++result_.logical_events;
    const LineStep step = model_.steps[static_cast<std::size_t>(items_[item].step)];
    if (step.also >= 0) give_back(step.also);
    give_back(step.pool);
    if (static_cast<std::size_t>(++items_[item].step) == model_.steps.size()) {
        leave(item);
    } else {
        enter_step(item);
    }
}

LineResult Line::run(const LineInput& input, std::span<Tick> departures, std::span<Tick> queued) {
    input_ = input;
    departures_ = departures;
    queued_ = queued;
    result_ = {};
    now_ = 0;
    queue_.clear();
    items_.resize(input.interarrival.size());
    arrived_.resize(input.interarrival.size());
    std::fill(queued_.begin(), queued_.end(), 0);
    for (std::size_t i = 0; i < pools_.size(); ++i) {
        const LinePool& p = model_.pools[i];
        pools_[i] = {.free = p.capacity < 0 ? std::numeric_limits<std::int32_t>::max() : p.capacity,
                     .places = p.places,
                     .queueing = p.queueing};
    }
    if (!input.interarrival.empty()) queue_.push(input.interarrival[0], Arrive, 0);
    while (!queue_.empty()) {
        const Event e = queue_.pop();
        now_ = e.time;
        ++result_.events;
        switch (static_cast<What>(e.what)) {
            case Arrive:
                arrive(e.whom);
                break;
            case Finish:
                finish(e.whom);
                break;
            case Granted:
                have_pool(e.whom);
                break;
            case GrantedAlso:
                begin(e.whom);
                break;
            case Serve:
                serve(static_cast<std::int32_t>(e.whom));
                break;
        }
    }
    return result_;
}

}  // namespace sched::engine
