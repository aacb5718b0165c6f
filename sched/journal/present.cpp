// How it works: of each screen that somebody spoke of since the plan was posted, the last of its
// marks says where it is; that becomes one line of a state, unless the plan says the same.
// Stations, people and films are told as they are.

#include "sched/journal/present.hpp"

#include <algorithm>
#include <iterator>
#include <map>
#include <set>
#include <utility>

#include "model/room/steps.hpp"

namespace sched::journal {

namespace {

constexpr model::Seconds tolerance{59};  // marks are made to the minute

// A plan is made from a whole minute on, marks bear seconds: what is marked within that minute has
// happened when it is made.
SimTime end_of_minute(SimTime now) {
    const model::Seconds past = model::time_of_day(now) % model::minutes(1);
    return past.count() == 0 ? now + model::minutes(1) - model::Seconds{1} : now;
}

std::vector<Entry> by_the_minute(std::vector<Entry> entries, SimTime now) {
    for (Entry& e : entries) {
        if (e.time > now && e.time <= end_of_minute(now)) e.time = now;
    }
    return entries;
}

std::optional<model::Step> step_with(const std::string& key) {
    for (const model::StepRow& row : model::step_rows()) {
        if (row.key == key) return row.step;
    }
    return std::nullopt;
}

bool dries(const std::string& key) {
    const auto step = step_with(key);
    return step && model::dries_alone(*step);
}

/// Where a screen is: in a step or behind it.
struct Position {
    std::size_t at = 0;  // into the way; without a way unused
    std::string step;
    int round = 1;
    bool in = false;
    SimTime since{};
    std::string station, person;
};

std::size_t place_in(const Way* way, const std::string& step, int round) {
    if (way == nullptr) return 0;
    for (std::size_t k = 0; k < way->steps.size(); ++k) {
        if (way->steps[k].step == step && way->steps[k].round == round) return k;
    }
    return way->steps.size();
}

// By the last of its marks; of two at one time the later step.
std::optional<Position> position_of(const ScreenSoFar& screen, const Way* way) {
    std::optional<Position> last;
    for (const StepSoFar& s : screen.steps) {
        if (step_with(s.step) == model::Step::TakeOut) continue;
        const bool in = s.start && !s.done;
        const auto since = in ? s.start : s.done;
        if (!since) continue;
        const std::size_t at = place_in(way, s.step, s.round);
        if (way != nullptr && at == way->steps.size()) continue;  // not on its way
        if (last && (*since < last->since || (*since == last->since && at < last->at))) continue;
        last = Position{at, s.step, s.round, in, *since, s.station, s.person};
    }
    return last;
}

std::optional<Position> planned_position(const Way& way, SimTime now) {
    std::optional<Position> last;
    for (std::size_t k = 0; k < way.steps.size(); ++k) {
        const PlannedStep& s = way.steps[k];
        if (s.start >= now) break;
        const bool in = s.end > now;
        last = Position{k, s.step, s.round, in, in ? s.start : s.end, s.station, s.person};
    }
    return last;
}

bool same(const Position& marked, const Position& planned) {
    const auto apart = marked.since - planned.since;
    const bool there = marked.station.empty() || marked.station == planned.station;
    const bool theirs = marked.person.empty() || marked.person == planned.person;
    return marked.at == planned.at && marked.in == planned.in && there && theirs &&
           std::max(apart, -apart) <= tolerance;
}

class Teller {
public:
    Teller(const std::vector<Entry>& entries, const std::vector<Way>& ways, const Moment& moment)
        : ways_(ways),
          moment_(moment),
          day_(model::midnight(model::date_of(moment.now))),
          entries_(by_the_minute(entries, moment.now)),
          so_far_(so_far(entries_, moment.from, moment.now)) {
        std::map<std::int64_t, const Entry*> by_id;
        for (const Entry& e : entries_)
            by_id[e.id] = &e;
        for (const Entry& e : entries_) {
            const Entry* about = &e;
            while (about->mark == Mark::Undo && by_id.count(about->undoes) > 0)
                about = by_id.at(about->undoes);
            if (row_of(about->mark).about != About::Screen || about->time < moment.from ||
                about->time > moment.now)
                continue;
            const bool news = e.id > moment.seen ||
                              (moment.seen_now && about->time > end_of_minute(*moment.seen_now));
            if (news) spoken_of_.insert(about->what);
            // What the plan took for begun and is not.
            if (e.mark == Mark::Undo && about->id <= moment.seen && about->mark == Mark::Start)
                taken_back_[about->what] = about;
        }
    }

    model::RoomState tell() {
        model::RoomState state;
        find_all();
        make_room();
        for (const std::string& tag : spoken_of_)
            screen(tag, state);
        state.marked.emplace();
        for (const ScreenSoFar& screen : so_far_.screens)
            state.marked->push_back(screen.tag);
        away(so_far_.stations, state.stations);
        away(so_far_.people, state.people);
        for (const ThingSoFar& thing : so_far_.things) {
            const bool later = thing.time > moment_.now;
            if (thing.mark == Mark::Film) {
                model::FilmNow film{.order = thing.name};
                if (later) film.from = thing.time - day_;
                state.films.push_back(std::move(film));
            } else if (thing.mark == Mark::Returned) {
                state.returned.push_back({.frame = thing.name, .from = thing.time - day_});
            } else if (!later) {
                pot(thing, state, day_);
            }
        }
        return state;
    }

private:
    // Opened and empty, of one pot: what happened last. Things come with opened first.
    static void pot(const ThingSoFar& thing, model::RoomState& state, SimTime day) {
        const auto since = thing.time - day;
        auto known = std::find_if(state.pots.begin(), state.pots.end(),
                                  [&](const auto& p) { return p.pot == thing.name; });
        if (known == state.pots.end()) {
            state.pots.push_back({.pot = thing.name, .opened = {}, .empty = {}});
            known = std::prev(state.pots.end());
        } else if (known->opened && thing.mark == Mark::Empty && *known->opened > since) {
            return;
        }
        known->opened.reset();
        (thing.mark == Mark::Opened ? known->opened : known->empty) = since;
    }

    struct Where {
        Position at;
        bool marked = false;
        bool not_begun = false;  // not even its first step
        bool assumed = false;    // a mark is missing: make_room
    };

    void find_all() {
        std::set<std::string> tags = spoken_of_;
        for (const Way& way : ways_)
            tags.insert(way.tag);
        for (const std::string& tag : tags) {
            const Way* way = way_of(ways_, tag);
            const ScreenSoFar* marks = so_far_.screen(tag);
            auto at = marks != nullptr ? position_of(*marks, way) : std::nullopt;
            const bool marked = at.has_value();
            // Where the plan has it on its way to the cabinet still, it is.
            const auto planned =
                way != nullptr ? planned_position(*way, moment_.now) : std::optional<Position>{};
            if (marked && !(planned && same(*at, *planned))) hung_up(way, *at);
            const bool back = marks != nullptr && marks->remake.has_value();
            if (!marked && way != nullptr && !back && taken_back_.count(tag) == 0)
                at = planned_position(*way, moment_.now);
            if (at) where_[tag] = {*at, marked};
        }
    }

    // The step after it follows at once in the same place: it stays there.
    static bool stays(const Way& way, std::size_t k) {
        constexpr model::Seconds at_once{120};
        return k + 1 < way.steps.size() && way.steps[k + 1].station == way.steps[k].station &&
               way.steps[k + 1].start - way.steps[k].end <= at_once;
    }
    const std::string& station_of(const std::string& tag, const Where& where) const {
        static const std::string none;
        const Way* way = way_of(ways_, tag);
        if (way == nullptr || where.not_begun) return none;
        if (!where.at.in && !stays(*way, where.at.at)) return none;
        return where.at.station.empty() ? way->steps[where.at.at].station : where.at.station;
    }

    void make_room() {
        for (const auto& [station, places] : moment_.places) {
            // Each time one leaves for good, or is a step further: it ends.
            for (std::size_t most = 8 * (where_.size() + 1); most > 0; --most) {
                int used = 0;
                std::set<int> batches;
                std::string unmarked, first;
                SimTime last_came{};
                for (const auto& [tag, where] : where_) {
                    if (station_of(tag, where) != station) continue;
                    const PlannedStep& step = way_of(ways_, tag)->steps[where.at.at];
                    if (!step.batch || batches.insert(*step.batch).second) used += step.places;
                    if (!where.marked) {
                        if (unmarked.empty() || where.at.since > where_.at(unmarked).at.since)
                            unmarked = tag;
                        continue;
                    }
                    last_came = std::max(last_came, where.at.since);
                    if (first.empty() || where.at.since < where_.at(first).at.since) first = tag;
                }
                if (used <= places || first.empty()) break;
                if (!unmarked.empty())
                    not_yet(unmarked);
                else
                    gone_on(first, last_came);
            }
        }
    }
    void not_yet(const std::string& tag) {
        const Way& way = *way_of(ways_, tag);
        Where& where = where_.at(tag);
        spoken_of_.insert(tag);
        std::size_t k = where.at.at;
        while (k > 0 && stays(way, k - 1))
            --k;
        where.not_begun = k == 0;
        const PlannedStep& step = way.steps[k == 0 ? 0 : k - 1];
        where.assumed = true;
        where.at = {k == 0 ? 0 : k - 1, step.step, step.round, false, step.end, {}, {}};
        if (!where.not_begun) hung_up(&way, where.at);
    }
    void gone_on(const std::string& tag, SimTime t) {
        const Way& way = *way_of(ways_, tag);
        Where& where = where_.at(tag);
        spoken_of_.insert(tag);
        std::size_t k = where.at.at;
        while (stays(way, k))
            ++k;
        const bool waits = !where.at.in && k == where.at.at;
        const PlannedStep& step = way.steps[k];
        where.assumed = true;
        where.at = {k, step.step, step.round, false, std::max(t, where.at.since), {}, {}};
        if (!waits) hung_up(&way, where.at);
    }

    void screen(const std::string& tag, model::RoomState& state) const {
        const Way* way = way_of(ways_, tag);
        const ScreenSoFar* marks = so_far_.screen(tag);
        const auto found = where_.find(tag);
        if (found == where_.end() || (!found->second.marked && found->second.not_begun)) {
            const Entry* back = marks != nullptr && marks->remake ? &*marks->remake : nullptr;
            const auto undone = taken_back_.find(tag);
            if (back == nullptr && undone != taken_back_.end()) back = undone->second;
            if (back != nullptr) {
                goes_back(tag, *back, way, state);
            } else if (found != where_.end()) {
                const auto first = step_with(way->steps.front().step);
                if (first)
                    state.screens.push_back({.screen = tag,
                                             .back_to = {*first},
                                             .place = {},
                                             .assumed = found->second.assumed});
            }
            return;
        }
        Position marked = found->second.at;
        if (way != nullptr) {
            const auto planned = planned_position(*way, moment_.now);
            if (planned && same(marked, *planned)) return;
            const PlannedStep& step = way->steps[marked.at];
            if (marked.station == step.station) marked.station.clear();
            if (marked.person == step.person) marked.person.clear();
        }
        const auto step = step_with(marked.step);
        if (!step) return;
        model::ScreenNow now{.screen = tag, .round = marked.round, .since = marked.since - day_};
        (marked.in ? now.in : now.done).assign(1, *step);
        if (way != nullptr && !marked.in) carried(way->steps[marked.at], now);
        now.assumed = found->second.assumed;
        now.at = marked.station;
        // Several people: who else is with it the plan knows better.
        if (marked.person.find(" + ") == std::string::npos) now.by = marked.person;
        state.screens.push_back(std::move(now));
    }

    // Nobody marks carrying: what is dry is taken out when the plan says, or as soon as it was dry.
    void carried(const PlannedStep& step, model::ScreenNow& now) const {
        if (!step.out) return;
        const SimTime out = std::max(*step.out, day_ + *now.since);
        const SimTime by = out + (*step.out_by - *step.out);
        if (out >= moment_.now) return;
        const bool there = by <= moment_.now;
        (there ? now.in : now.done).clear();
        (there ? now.done : now.in).assign(1, model::Step::TakeOut);
        now.since = (there ? by : out) - day_;
        now.round = 1;
    }

    // Nobody marks that a wet screen hangs: it does when what made it wet is done, unless the place
    // that it was to hang in is out of work.
    void hung_up(const Way* way, Position& marked) const {
        if (marked.in) return;
        if (way == nullptr) {
            const std::string drying = drying_after(marked.step);
            if (!drying.empty()) marked = {0, drying, marked.round, true, marked.since, {}, {}};
            return;
        }
        if (marked.at + 1 >= way->steps.size()) return;
        const PlannedStep& next = way->steps[marked.at + 1];
        if (!dries(next.step)) return;
        const bool down = std::any_of(
            so_far_.stations.begin(), so_far_.stations.end(),
            [&](const AwaySoFar& a) { return a.name == next.station && a.from <= marked.since; });
        if (down) return;
        marked = {marked.at + 1, next.step, next.round, true, marked.since, {}, {}};
    }

    void goes_back(const std::string& tag, const Entry& why, const Way* way,
                   model::RoomState& state) const {
        auto step = step_with(why.step);
        int round = why.round;
        if (!step && way != nullptr) {
            // As far as it must: its ink is off already.
            for (const PlannedStep& s : way->steps) {
                const auto one = step_with(s.step);
                if (!one || *one < model::Step::Strip) continue;
                step = one;
                round = s.round;
                break;
            }
        }
        if (!step) step = model::Step::Strip;
        model::ScreenNow now{.screen = tag,
                             .back_to = {*step},
                             .round = round,
                             .place = {},
                             .failed = why.mark == Mark::Remake};
        state.screens.push_back(std::move(now));
    }

    void away(const std::vector<AwaySoFar>& list, std::vector<model::AwayNow>& out) const {
        for (const AwaySoFar& a : list) {
            model::AwayNow now{.name = a.name};
            // A plan that knew of it begins nothing with it; what it took for begun has begun.
            const bool known = moment_.seen_now && a.last <= moment_.seen;
            const SimTime from = std::max(a.from, moment_.seen_now.value_or(day_));
            if (a.from > moment_.now || (a.from >= day_ && !known)) now.from = from - day_;
            if (a.until) now.until = *a.until - day_;
            out.push_back(std::move(now));
        }
    }

    const std::vector<Way>& ways_;
    const Moment& moment_;
    SimTime day_;
    const std::vector<Entry> entries_;
    SoFar so_far_;
    std::set<std::string> spoken_of_;
    std::map<std::string, const Entry*> taken_back_;
    std::map<std::string, Where> where_;
};

}  // namespace

std::string drying_after(const std::string& step) {
    using model::Step;
    for (const auto& [before, drying] :
         {std::pair{Step::Degrease, Step::DryMesh}, std::pair{Step::Coat, Step::DryCoat},
          std::pair{Step::FaceCoat, Step::DryFace}, std::pair{Step::WashOut, Step::DryStencil}}) {
        if (model::row_of(before).key == step) return std::string(model::row_of(drying).key);
    }
    return {};
}

const Way* way_of(const std::vector<Way>& ways, const std::string& tag) {
    const auto found =
        std::find_if(ways.begin(), ways.end(), [&](const Way& w) { return w.tag == tag; });
    return found == ways.end() ? nullptr : &*found;
}

model::RoomState present(const std::vector<Entry>& entries, const std::vector<Way>& ways,
                         const Moment& moment) {
    return Teller(entries, ways, moment).tell();
}

const PlannedStep* meant_step(const Way& way, const ScreenSoFar* marks, Mark mark, SimTime t) {
    const auto last = marks != nullptr ? position_of(*marks, &way) : std::nullopt;
    std::size_t next = 0;
    if (last) {
        next = last->in ? last->at : last->at + 1;
        if (last->in && mark == Mark::Start) ++next;
    } else if (marks != nullptr && marks->remake) {
        const std::size_t from = place_in(&way, marks->remake->step, marks->remake->round);
        if (from < way.steps.size()) next = from;
    } else {
        // Nothing marked: the plan's clock says which one is under way, else which comes next. Who
        // marks an end does it a little after; what has only just begun by then is not meant.
        while (next < way.steps.size() && way.steps[next].end <= t)
            ++next;
        const auto grace = [](const PlannedStep& s) {
            return std::min(model::minutes(2), (s.end - s.start) / 2);
        };
        if (mark == Mark::Done && next > 0 && next < way.steps.size() &&
            way.steps[next - 1].end <= t && t < way.steps[next].start + grace(way.steps[next]) &&
            t < way.steps[next - 1].end + model::minutes(2))
            --next;
    }
    if (mark == Mark::Dry) {
        while (next < way.steps.size() && !dries(way.steps[next].step))
            ++next;
    }
    return next < way.steps.size() ? &way.steps[next] : nullptr;
}

}  // namespace sched::journal
