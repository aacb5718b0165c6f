// How it works: each working day is put together from what is inside: for each screen the part
// of its way that is left, what has begun with its known ends, and the orders that came in. It
// is decoded by the rule's ranks until the next day begins; what is booked or under way then is
// kept, what is ready moves out, and every entry and exit is counted.

#include "sched/simulate/weeks_run.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "sched/core/calendar.hpp"
#include "sched/core/index.hpp"
#include "sched/engine/rules.hpp"
#include "sched/simulate/review.hpp"

namespace sched::study {

namespace {

constexpr Tick weeks_hour = 3600, weeks_day = 86'400, weeks_week = 7 * weeks_day;

}  // namespace

WeeksRun::WeeksRun(const model::Scenario& scenario,
                   const std::vector<std::unique_ptr<WeeksRoom>>& rooms,
                   const LongRunOptions& options)
    : rooms_(rooms),
      options_(options),
      draws_(options.seed, options.replication),
      week_(open_week(scenario.room)),
      pots_(rooms.front()->room) {
    const WeeksRoom& first = *rooms.front();
    const core::Problem& p = first.room.problem;
    screens_of_ = first.disturbances->screens_by_order();
    for (const auto& o : p.orders)
        weight_of_.push_back(static_cast<int>(o.weight));
    for (std::size_t k = 0; k < rooms.size(); ++k) {
        windows_.push_back(std::make_unique<RunWindow>(rooms[k]->kit->book()));
    }
    length_ = lengths_alone(first.kit->book().whole());
    // Days meet an hour before the first shift, when least is going on.
    cut_ = std::max(0, week_.from_hour - 1) * weeks_hour;
    from_ = cut_;
    double most = 0.0;  // orders on the busiest weekday
    for (std::size_t d = 0; d < 7; ++d) {
        double orders = std::accumulate(options.arrivals.per_hour[d].begin(),
                                        options.arrivals.per_hour[d].end(), 0.0);
        const auto& past = options.arrivals.history[d];
        for (const auto& day : past)
            orders += static_cast<double>(day.size()) / static_cast<double>(past.size());
        most = std::max(most, orders);
    }
    const auto& weight = options.arrivals.kind_weight;
    const double all = std::accumulate(weight.begin(), weight.end(), 0.0);
    day_use_.assign(first.room.spare_emulsions.size(), 0.0);
    for (std::size_t k = 0; k < screens_of_.size(); ++k) {
        for (const int s : screens_of_[k]) {
            parts_.clear();
            first.disturbances->draw_screen(s, -1, 0, draws_, parts_);
            for (int i = parts_[0].first; i < parts_[0].first + parts_[0].count; ++i) {
                if (first.disturbances->emulsion(i) < 0) continue;
                day_use_[ix(first.disturbances->emulsion(i))] +=
                    most * weight[k] / all * static_cast<double>(first.disturbances->takes(i));
            }
        }
    }
    for (std::size_t r = 0; r < first.room.resources.size(); ++r) {
        const auto& info = first.room.resources[r];
        if (info.kind != compile::ResourceKind::Station) continue;
        const auto& lamp = scenario.room.stations[ix(info.index)].lamp;
        if (lamp && lamp->warm_up.count() > 0)
            warm_up_.emplace_back(static_cast<std::int32_t>(r), lamp->warm_up.count());
    }
    for (std::size_t e = 0; e < day_use_.size(); ++e) {
        level_.push_back(static_cast<std::int64_t>(2 * day_use_[e]));
        if (pots_.mixed(e) && level_.back() > 0)
            pots_.add(e, -1, level_.back(), from_ + pots_.life(e));
    }
    for (std::size_t f = 0; f < options.chance.failures.size(); ++f) {
        for (std::size_t r = 0; r < p.resources.size(); ++r) {
            if (p.resources[r].name == options.chance.failures[f].station)
                failing_.push_back({.rule = f, .resource = static_cast<std::int32_t>(r)});
        }
    }
}

InsideOrder& WeeksRun::order_of(const InsideScreen& screen) {
    return *std::lower_bound(
        orders_.begin(), orders_.end(), static_cast<std::uint64_t>(screen.order),
        [](const InsideOrder& o, std::uint64_t number) { return o.number < number; });
}

const WeeksRoom& WeeksRun::kind_of_day() const {
    return *rooms_[today_];
}

// Orders of this day and their screens.
void WeeksRun::take_in() {
    arrivals_.clear();
    flow_.clear();
    options_.arrivals.draw(from_, draws_, arrivals_);
    for (const Arrival& a : arrivals_) {
        const auto& kinds = screens_of_[ix(a.kind)];
        if (kinds.empty()) continue;
        InsideOrder order{.number = static_cast<std::uint64_t>(++orders_in),
                          .kind = a.kind,
                          .at = a.at,
                          .due = a.at,
                          .left = static_cast<int>(kinds.size())};
        // Due so long after it came in, days off not counted.
        for (Tick left = options_.allowed.count(); left > 0;) {
            const Tick next = (order.due / weeks_day + 1) * weeks_day;
            const Tick step = next - order.due;
            const bool open = week_.weekdays[ix(order.due / weeks_day % 7)];
            if (open && step > left) {
                order.due += left;
                break;
            }
            order.due = next;
            left -= open ? step : 0;
        }
        while (!week_.weekdays[ix(order.due / weeks_day % 7)])
            order.due += weeks_day;
        orders_.push_back(order);
        int number = 0;
        for (const int s : kinds) {
            InsideScreen screen;
            if (!old_.empty()) {
                screen = std::move(old_.back());
                old_.pop_back();
            }
            screen.order = static_cast<std::int64_t>(order.number);
            screen.screen = s;
            screen.number = ++number;
            screen.emulsion = screen.mix = -1;
            parts_.clear();
            const Disturbances& disturbances = *rooms_.front()->disturbances;
            disturbances.draw_screen(s, -1, a.name * 8, draws_, parts_);
            screen.parts.resize(parts_.size());
            for (std::size_t k = 0; k < parts_.size(); ++k) {
                InsidePart& part = screen.parts[k];
                part.part = parts_[k];
                part.factor.clear();
                for (int i = parts_[k].first; i < parts_[k].first + parts_[k].count; ++i)
                    part.factor.push_back(disturbances.factor(i, parts_[k].attempt, draws_));
                part.operations.assign(ix(parts_[k].count), {});
            }
            remakes += static_cast<std::int64_t>(parts_.size()) - 1;
            screens_.push_back(std::move(screen));
            ++screens_in;
            flow_.emplace_back(a.at, 1);
        }
        if (options_.trace) {
            trace_.push_back({.what = TraceEvent::What::OrderIn,
                              .at = a.at,
                              .order = order.number,
                              .kind = a.kind,
                              .resources = {}});
        }
    }
}

// A day that could not be simulated has not been: whoever came in on it did not.
void WeeksRun::send_back() {
    std::erase_if(screens_, [&](const InsideScreen& s) {
        const bool came = s.order >= 0 && order_of(s).at >= from_;
        if (!came) return false;
        --screens_in;
        remakes -= static_cast<std::int64_t>(s.parts.size()) - 1;
        return true;
    });
    orders_in -= static_cast<std::int64_t>(
        std::erase_if(orders_, [&](const InsideOrder& o) { return o.at >= from_; }));
}

void WeeksRun::add_mixing(std::size_t emulsion, int mix, std::int64_t volume, bool asked_for) {
    const auto& way = rooms_.front()->room.spare_emulsions[emulsion].mixes[ix(mix)];
    InsideScreen screen;
    screen.emulsion = static_cast<int>(emulsion);
    screen.mix = mix;
    screen.asked_for = asked_for;
    InsidePart part;
    part.part = {.first = way.first,
                 .count = way.count,
                 .attempt = static_cast<std::uint64_t>(from_ / weeks_day),
                 .round = -2,
                 .volume = volume};
    for (int i = way.first; i < way.first + way.count; ++i)
        part.factor.push_back(rooms_.front()->disturbances->factor(i, part.part.attempt, draws_));
    part.operations.assign(ix(way.count), {});
    screen.parts.push_back(std::move(part));
    screens_.push_back(std::move(screen));
}

// In the morning, where less is left that keeps until the evening than a busy day takes, more is
// mixed: up to what two take, or one where it does not keep for two. Besides, a coat that finds no
// pot asks for one, and what does not keep for a day is mixed for no other reason.
void WeeksRun::mix_in_room(std::size_t e) {
    const auto& mixes = rooms_.front()->room.spare_emulsions[e].mixes;
    const std::int64_t batch = mixes.front().volume;
    std::vector<char> busy(mixes.size(), 0);
    const Tick closes = from_ / weeks_day * weeks_day + week_.to_hour * weeks_hour;
    std::int64_t coming = pots_.left_at(e, closes);
    for (const auto& s : screens_) {
        if (s.emulsion != static_cast<int>(e)) continue;
        busy[ix(s.mix)] = 1;
        coming += s.parts.front().part.volume;
    }
    const auto free = pots_.free_mixes(e, busy);
    std::size_t next = 0;
    const Tick life = pots_.life(e);
    if (working_day_ && life >= weeks_day && static_cast<double>(coming) < day_use_[e]) {
        const double days = life >= 2 * weeks_day ? 2.0 : 1.0;
        auto left = static_cast<std::int64_t>(days * day_use_[e]) - coming;
        for (; left > 0 && next < free.size() / 2; ++next) {
            const bool last = next + 1 == free.size() / 2;
            const std::int64_t volume = last ? std::max(left, batch) : batch;
            add_mixing(e, free[next], volume, false);
            left -= volume;
        }
    }
    const auto asked =
        std::min(free.size() - next,
                 static_cast<std::size_t>(2 + weeks_day / std::max<Tick>(1, life) +
                                          static_cast<std::int64_t>(day_use_[e]) / batch));
    for (std::size_t k = 0; k < asked; ++k, ++next) {
        const auto share = static_cast<std::int64_t>(2 * day_use_[e]) / static_cast<int>(asked);
        add_mixing(e, free[next], std::max(batch, share), true);
    }
}

// What comes ready is bought in the morning where less is left than a busy day takes.
void WeeksRun::mix() {
    const auto& emulsions = rooms_.front()->room.spare_emulsions;
    for (std::size_t e = 0; e < emulsions.size(); ++e) {
        const auto& mixes = emulsions[e].mixes;
        if (mixes.empty()) continue;
        if (pots_.mixed(e)) {
            mix_in_room(e);
            continue;
        }
        if (static_cast<double>(level_[e]) >= day_use_[e]) continue;
        const auto wanted = static_cast<std::int64_t>(2 * day_use_[e]) - level_[e];
        const std::int64_t volume = mixes.front().volume;
        level_[e] += std::max<std::int64_t>(1, (wanted + volume - 1) / volume) * volume;
    }
}

Tick WeeksRun::length_left(const InsideScreen& screen) const {
    Tick left = 0;
    for (const auto& part : screen.parts) {
        for (std::size_t i = 0; i < part.operations.size(); ++i) {
            if (part.operations[i].start < 0) left += length_[ix(part.part.first) + i];
        }
        if (left > 0) break;  // that it will be found bad is not known yet
    }
    return left;
}

// Who goes first today, from what is left of everybody.
void WeeksRun::rank() {
    const double now = static_cast<double>(from_);
    double total = 0.0;
    std::size_t waiting = 0;
    for (auto& s : screens_) {
        if (s.order < 0) continue;
        s.rank = static_cast<double>(std::max<Tick>(60, length_left(s)));
        total += s.rank;
        ++waiting;
    }
    const double mean = waiting > 0 ? total / static_cast<double>(waiting) : 1.0;
    for (auto& s : screens_) {
        if (s.order < 0) {
            s.rank = -std::numeric_limits<double>::infinity();
            continue;
        }
        const InsideOrder& o = order_of(s);
        const double left = s.rank;
        switch (options_.rule) {
            case LongRunRule::Urgency:
                s.rank = -engine::tardiness_cost_index(
                    static_cast<double>(weight_of_[ix(o.kind)]), left,
                    static_cast<double>(o.due) - now - left, 2.0 * mean);
                break;
            case LongRunRule::Due:
                s.rank = static_cast<double>(o.due);
                break;
            case LongRunRule::Arrival:
                s.rank = static_cast<double>(o.at);
                break;
        }
    }
    by_.resize(screens_.size());
    std::iota(by_.begin(), by_.end(), std::size_t{0});
    std::stable_sort(by_.begin(), by_.end(), [&](std::size_t a, std::size_t b) {
        return screens_[a].rank < screens_[b].rank;
    });
}

void WeeksRun::close_what_fails(const WeeksRoom& day) {
    const auto& chance = options_.chance;
    static const std::uint64_t between = engine::name_key("time to failure");
    static const std::uint64_t repair = engine::name_key("time to repair");
    const auto& resources = day.room.problem.resources;
    for (auto& f : failing_) {
        const FailureRule& rule = chance.failures[f.rule];
        const std::uint64_t subject = engine::name_key(rule.station);
        const auto next = [&] {
            const auto seconds = [](double s) { return std::max<Tick>(1, std::llround(s)); };
            f.from =
                f.to +
                seconds(rule.between.quantile(draws_.uniform({subject, 0, between, f.number})));
            f.to = f.from +
                   seconds(rule.repair.quantile(draws_.uniform({subject, 0, repair, f.number})));
            ++f.number;
        };
        if (f.number == 0) next();
        while (f.from < to_) {
            if (f.to > from_) {
                window_->assembly().close(f.resource, f.from - shift_, f.to - shift_);
                failures += f.from >= from_ ? 1 : 0;
            }
            if (f.to > to_) break;
            next();
        }
    }
    const Tick opens = from_ / weeks_day * weeks_day + week_.from_hour * weeks_hour - shift_;
    for (const auto& [resource, warm_up] : warm_up_)  // lamps are warmed up every morning
        window_->assembly().close(resource, opens, opens + warm_up);
    if (chance.absent <= 0.0) return;
    static const std::uint64_t absent = engine::name_key("absent");
    for (std::size_t r = 0; r < resources.size(); ++r) {
        if (day.room.resources[r].kind != compile::ResourceKind::Person) continue;
        const auto number = static_cast<std::uint64_t>(from_ / weeks_day);
        if (draws_.uniform({engine::name_key(resources[r].name), number, absent, 0}) >=
            chance.absent)
            continue;
        // The whole of a shift that begins today, also behind midnight.
        window_->assembly().close(static_cast<std::int32_t>(r), from_ - shift_, to_ - shift_);
        absences += working_day_ ? 1 : 0;
    }
}

void WeeksRun::set_up(const WeeksRoom& day, bool pots_keep) {
    window_ = windows_[today_].get();
    const Tick monday = day.room.problem.horizon_start.time_since_epoch().count();
    shift_ = from_ / weeks_week * weeks_week - monday;
    window_->open(from_, to_, shift_);
    engine::Assembly& assembly = window_->assembly();
    auto& p = assembly.problem();
    for (auto& s : p.stores)
        s = {0, -engine::never, engine::never};
    for (std::size_t e = 0; e < level_.size(); ++e) {
        const auto& mixes = day.room.spare_emulsions[e].mixes;
        if (pots_.mixed(e)) continue;
        if (!mixes.empty()) {
            p.stores[mixes.front().store.index()].initial = level_[e];
        } else {  // a batch is too small for a coat: somebody must have solved that
            for (auto& s : p.stores)
                s.initial = std::numeric_limits<std::int32_t>::max();
        }
    }
    pots_.put(p.stores, shift_, pots_keep);
    std::vector<std::int32_t> number_of;  // assembly's order per InsideOrder
    for (const auto& o : orders_) {
        number_of.push_back(
            assembly.add_order(o.at - shift_, o.due - shift_, weight_of_[ix(o.kind)]));
    }
    std::int32_t job = 0;
    for (auto& s : screens_) {
        engine::Assembly::Place place;
        place.release = from_ - shift_;
        if (s.order >= 0) {
            const InsideOrder& o = order_of(s);
            place.job = job++;
            place.order = number_of[ix(&o - orders_.data())];
            place.release = std::max(place.release, o.at - shift_);
        }
        std::int32_t before = -1;
        for (auto& part : s.parts) {
            place.after = before;
            window_->add(part, day.kit->part(part.part.first, part.part.count), place);
            before = part.begin + part.part.count - 1;
            if (part.part.volume > 0) p.gives.back().amount = part.part.volume;
        }
    }
    for (const auto& s : screens_) {
        for (const auto& part : s.parts)
            window_->fix(part);
        if (!s.asked_for) continue;
        const auto& mix = day.room.spare_emulsions[ix(s.emulsion)].mixes[ix(s.mix)];
        for (std::int32_t i = 0; i < mix.count; ++i) {
            const std::int32_t op = s.parts.front().begin + i;
            if (p.operations[ix(op)].gives.size() > 0) p.wait_to_be_asked(op, mix.store.value);
        }
    }
    close_what_fails(day);
    assembly.finish(job);
    rank();
    auto& turn = window_->sequence().rank;
    turn.assign(p.operations.size(), 0);
    std::int32_t next = 0;
    for (const std::size_t k : by_) {
        for (const auto& part : screens_[k].parts) {
            for (std::int32_t i = 0; i < part.part.count; ++i)
                turn[ix(part.begin + i)] = next++;
        }
    }
}

// What the day leaves behind.
void WeeksRun::keep(const WeeksRoom&) {
    const Disturbances& room = *rooms_.front()->disturbances;
    window_->look();
    for (auto& screen : screens_) {
        const bool mixing = screen.order < 0;
        const Tick before = mixing ? screen.parts.front().operations.back().work_end : 0;
        for (auto& part : screen.parts) {
            window_->keep(part, [&](std::size_t i, std::int64_t amount, std::int32_t store) {
                if (pots_.take(store, amount)) return;
                level_[ix(room.emulsion(part.part.first + static_cast<int>(i)))] -= amount;
            });
        }
        if (!mixing) continue;
        const Tick done_at = screen.parts.front().operations.back().work_end;
        if (done_at < 0 || done_at > to_ || (before >= 0 && before <= from_)) continue;
        if (pots_.mixed(ix(screen.emulsion)))
            fresh_.push_back({&screen, done_at});
        else
            level_[ix(screen.emulsion)] += screen.parts.front().part.volume;
    }
    for (const auto& [screen, at] : fresh_) {
        const auto e = ix(screen->emulsion);
        pots_.add(e, screen->mix, screen->parts.front().part.volume, at + pots_.life(e));
    }
    mixed += static_cast<std::int64_t>(fresh_.size());
    fresh_.clear();
    pots_.close(to_);
    // Whom nobody asked for is no work of tomorrow.
    std::erase_if(screens_, [](const InsideScreen& s) {
        return s.asked_for && s.parts.front().operations.front().start < 0;
    });
}

void WeeksRun::move_out() {
    ready_.clear();
    screens_ready_ = 0;
    std::size_t kept = 0;
    for (std::size_t k = 0; k < screens_.size(); ++k) {
        InsideScreen& s = screens_[k];
        Tick done = 0;
        for (const auto& part : s.parts)
            done = std::max(done, window_->over(part));
        if (done > to_) {
            if (kept != k) std::swap(screens_[kept], s);
            ++kept;
            continue;
        }
        if (s.order < 0) continue;
        InsideOrder& order = order_of(s);
        order.ready = std::max(order.ready, done);
        times += done - order.at;
        flow_.emplace_back(done, -1);
        ++screens_out;
        ++screens_ready_;
        if (--order.left == 0) ready_.push_back(order);
    }
    for (std::size_t k = kept; k < screens_.size(); ++k) {
        if (screens_[k].order >= 0) old_.push_back(std::move(screens_[k]));
    }
    screens_.resize(kept);
    std::erase_if(orders_, [](const InsideOrder& o) { return o.left == 0; });
    std::sort(ready_.begin(), ready_.end(), [](const InsideOrder& a, const InsideOrder& b) {
        return a.ready < b.ready || (a.ready == b.ready && a.number < b.number);
    });
}

void WeeksRun::measure() {
    const auto& p = window_->assembly().problem();
    const auto& s = window_->decoder().schedule();
    const Tick from = from_ - shift_, to = to_ - shift_;
    const Tick midnight = from_ / weeks_day * weeks_day - shift_;
    // Where somebody is there at all hours, the hour in which days meet is the night's last.
    const bool always = week_.to_hour >= week_.from_hour + 24;
    const Tick opens = always ? from : midnight + week_.from_hour * weeks_hour;
    const Tick closes = always ? to : midnight + week_.to_hour * weeks_hour;
    working_.assign(p.resources.size(), 0);
    allocated_.assign(p.resources.size(), 0);
    open_.assign(p.resources.size(), 0);
    if (!working_day_) return;
    for (std::size_t r = 0; r < p.resources.size(); ++r) {
        const auto& resource = p.resources[r];
        Tick open = resource.has_calendar ? 0 : closes - opens;
        for (std::int32_t w = resource.windows.begin; w < resource.windows.end; ++w) {
            const auto& window = p.windows[ix(w)];
            open +=
                core::overlap(window.from, window.to, std::max(from, opens), std::min(to, closes));
        }
        open_[r] = open * resource.capacity;
    }
    counted_.clear();
    for (std::size_t i = 0; i < p.operations.size(); ++i) {
        if (!window_->decoder().booked(static_cast<std::int32_t>(i)) || s.start[i] >= to) continue;
        const auto& o = p.operations[i];
        const auto ns = p.modes[ix(o.modes.begin + s.mode[i])].needs;
        const Tick work_end = s.work_end[i] >= 0 ? s.work_end[i] : to;
        const Tick end = s.end[i] >= 0 ? s.end[i] : to;
        for (std::int32_t n = 0; n < ns.size(); ++n) {
            const auto& need = p.needs[ix(ns.begin + n)];
            const std::int32_t r = s.chosen[ix(o.chosen + n)];
            if (need.amount == 0 || open_[ix(r)] == 0) continue;
            const auto& resource = p.resources[ix(r)];
            if (s.batch[i] >= 0 && (resource.has_batch || resource.capacity == 1)) {
                const std::pair<std::int32_t, std::int32_t> batch{s.batch[i], r};
                if (std::find(counted_.begin(), counted_.end(), batch) != counted_.end()) continue;
                counted_.push_back(batch);
            }
            const Tick a = std::max(from, opens), b = std::min(to, closes);
            working_[ix(r)] += need.amount * core::overlap(s.start[i], work_end, a, b);
            allocated_[ix(r)] +=
                need.amount * core::overlap(s.start[i], need.whole ? end : work_end, a, b);
        }
    }
}

// The number inside, counted event by event: the other side of Little's law.
void WeeksRun::count() {
    std::sort(flow_.begin(), flow_.end());
    Tick at = from_;
    for (const auto& [time, change] : flow_) {
        area += inside_ * (time - at);
        at = time;
        inside_ += change;
    }
    area += inside_ * (to_ - at);
}

std::int64_t WeeksRun::times_so_far() const {
    std::int64_t sum = times;
    for (const auto& s : screens_) {
        if (s.order < 0) continue;
        const auto o = std::lower_bound(
            orders_.begin(), orders_.end(), static_cast<std::uint64_t>(s.order),
            [](const InsideOrder& a, std::uint64_t number) { return a.number < number; });
        sum += from_ - o->at;
    }
    return sum;
}

void WeeksRun::tell(const WeeksRoom&) {
    for (const auto& s : screens_) {
        if (s.order < 0) continue;
        const auto& order = order_of(s);
        for (const auto& part : s.parts) {
            for (std::size_t i = 0; i < part.operations.size(); ++i) {
                const auto& o = part.operations[i];
                if (o.start < 0 || o.start >= to_) continue;
                TraceEvent event{.at = o.start,
                                 .order = order.number,
                                 .kind = order.kind,
                                 .screen = s.number,
                                 .operation = part.part.first + static_cast<int>(i),
                                 .round = part.part.round,
                                 .resources = {}};
                const auto& p = window_->assembly().problem();
                const auto& compiled = p.operations[ix(part.begin) + i];
                const auto needs = p.modes[ix(compiled.modes.begin + o.mode)].needs.size();
                event.resources.assign(o.chosen.begin(), o.chosen.begin() + needs);
                if (o.start >= from_) trace_.push_back(event);
                if (o.work_end < from_ || o.work_end >= to_) continue;
                event.what = TraceEvent::What::WorkEnd;
                event.at = o.work_end;
                trace_.push_back(std::move(event));
            }
        }
    }
}

// A day does not fail because a pot ends: then what is mixed is taken to keep on it.
bool WeeksRun::run_day(const WeeksRoom& day) {
    const auto failing = failing_;
    const auto failed = failures, absent = absences;
    set_up(day);
    if (window_->run()) return true;
    if (!pots_.end()) return false;
    failing_ = failing;
    failures = failed;
    absences = absent;
    set_up(day, true);
    const bool whole = window_->run();
    kept_pots += whole ? 1 : 0;
    return whole;
}

bool WeeksRun::simulate_day() {
    to_ = from_ + weeks_day;
    const auto calendar_day = static_cast<std::uint64_t>(from_ / weeks_day);
    working_day_ = week_.weekdays[ix(from_ / weeks_day % 7)];
    today_ = 0;
    double left = 0.0;
    for (const auto& r : rooms_)
        left += r->weight;
    left *= draws_.uniform({engine::name_key("weather"), calendar_day, 0, 0});
    while (today_ + 1 < rooms_.size() && left >= rooms_[today_]->weight)
        left -= rooms_[today_++]->weight;
    const WeeksRoom& day = kind_of_day();
    trace_.clear();
    take_in();
    mix();
    if (!run_day(day)) {
        const auto op = window_->decoder().failure().operation;
        stuck_ = "day " + std::to_string(calendar_day + 1) + ": " +
                 engine::words(window_->decoder().failure().why) + " (operation " +
                 std::to_string(op.value) + " of the day)";
        send_back();
        return false;
    }
    keep(day);
    if (options_.trace) tell(day);
    measure();
    move_out();
    count();
    if (options_.trace) {
        for (const auto& o : ready_) {
            trace_.push_back({.what = TraceEvent::What::OrderOut,
                              .at = o.ready,
                              .order = o.number,
                              .kind = o.kind,
                              .resources = {}});
        }
        std::stable_sort(trace_.begin(), trace_.end(),
                         [](const auto& a, const auto& b) { return a.at < b.at; });
        for (const auto& event : trace_)
            options_.trace(event);
    }
    from_ = to_;
    return true;
}

}  // namespace sched::study
