// How it works: marks are walked through by time; each screen and step has at most one start that
// waits for its done. Then lengths get what is known of them: touches in bunches and work that
// reaches into the person's next one are upper limits, pauses are taken out.

#include "sched/tune/work.hpp"

#include <algorithm>
#include <set>
#include <tuple>

#include "model/physics/exposure.hpp"
#include "model/room/steps.hpp"
#include "sched/core/index.hpp"
#include "sched/statistics/late_marks.hpp"
#include "sched/tune/time_off.hpp"

namespace sched::tune {

using model::MarkKind;
using model::PastMark;
using model::SimTime;
using model::Step;
using study::Observed;

namespace {

template <class Named>
const Named* named_in(const std::vector<Named>& list, const std::string& name) {
    const auto found =
        std::find_if(list.begin(), list.end(), [&](const Named& x) { return x.name == name; });
    return found == list.end() ? nullptr : &*found;
}

double stamp(SimTime t) {
    return static_cast<double>(t.time_since_epoch().count());
}

/// A start and what came of it.
struct Piece {
    Step step = Step::Coat;
    int round = 1;
    std::string what, station, person, device;
    SimTime start{};
    std::optional<SimTime> done, dry;
    std::string dry_device;
    std::optional<SimTime> went_on;  // the screen's next start
};

struct Walk {
    std::vector<Piece> pieces;
    std::size_t without_start = 0;
    std::vector<std::tuple<std::string, Step, SimTime, bool>> tried;  // tag, step, when, found bad
};

/// What is wet after the step and dries next.
std::optional<Step> dries_after(Step step) {
    switch (step) {
        case Step::Degrease:
            return Step::DryMesh;
        case Step::Coat:
            return Step::DryCoat;
        case Step::FaceCoat:
            return Step::DryFace;
        case Step::WashOut:
            return Step::DryStencil;
        case Step::Inspect:
            return Step::DryTouchUp;
        default:
            return std::nullopt;
    }
}

using Key = std::tuple<std::string, Step, int>;

/// The drying that the screen is in, by the last of them to begin.
std::optional<Key> drying_of(const std::vector<Piece>& pieces,
                             const std::map<Key, std::size_t>& open, const std::string& screen) {
    std::optional<Key> out;
    SimTime since{};
    for (const auto& [key, at] : open) {
        if (std::get<0>(key) != screen || !model::dries_alone(std::get<1>(key))) continue;
        if (out && pieces[at].start <= since) continue;
        out = key;
        since = pieces[at].start;
    }
    return out;
}

Walk walk_through(const std::vector<PastMark>& marks) {
    Walk out;
    std::map<Key, std::size_t> open;           // piece under way
    std::map<std::string, std::size_t> tries;  // of the screen, that may still turn out bad
    std::map<std::string, std::size_t> last;   // piece of the screen before
    // What was made wet hangs from then on, also where nobody marks that it was hung up.
    std::map<std::string, std::size_t> hanging;
    const auto taken_down = [&](const PastMark& m) {
        const auto found = hanging.find(m.what);
        if (found == hanging.end()) return;
        Piece& p = out.pieces[found->second];
        p.went_on = m.at;
        open.erase({p.what, p.step, p.round});
        hanging.erase(found);
    };
    for (const PastMark& m : marks) {
        Key key{m.what, m.step.value_or(Step::Inspect), m.round};
        // A screen is found bad in the step that was its last one.
        if (m.mark == MarkKind::Remake) {
            const auto before = last.find(m.what);
            const auto done = tries.find(m.what);
            const Step found = before != last.end()  ? out.pieces[before->second].step
                               : done != tries.end() ? std::get<1>(out.tried[done->second])
                                                     : Step::Inspect;
            key = {m.what, found, before != last.end() ? out.pieces[before->second].round : 1};
        }
        // Dry without a step is said of what the screen dries in.
        if (m.mark == MarkKind::Dry && !m.step) {
            const auto drying = drying_of(out.pieces, open, m.what);
            if (!drying) continue;
            key = *drying;
        }
        const Step step = std::get<1>(key);
        const auto at = open.find(key);
        Piece* piece = at == open.end() ? nullptr : &out.pieces[at->second];
        switch (m.mark) {
            case MarkKind::Start:
                if (const auto before = last.find(m.what); before != last.end()) {
                    Piece& p = out.pieces[before->second];
                    if (!p.went_on) p.went_on = m.at;
                }
                if (piece && hanging.contains(m.what) && at->second == hanging[m.what]) {
                    piece->start = m.at;
                    piece->station = m.station;
                    last[m.what] = at->second;
                    hanging.erase(m.what);
                    break;
                }
                taken_down(m);
                open[key] = last[m.what] = out.pieces.size();
                tries.erase(m.what);
                out.pieces.push_back({.step = step,
                                      .round = m.round,
                                      .what = m.what,
                                      .station = m.station,
                                      .person = m.person,
                                      .device = m.device,
                                      .start = m.at,
                                      .done = {},
                                      .dry = {},
                                      .dry_device = {},
                                      .went_on = {}});
                break;
            case MarkKind::Dry:
                if (piece && !piece->dry) {
                    piece->dry = m.at;
                    piece->dry_device = m.device;
                    if (piece->station.empty()) piece->station = m.station;
                }
                break;
            case MarkKind::Remake:
            case MarkKind::Done: {
                const bool bad = m.mark == MarkKind::Remake;
                const bool went_on = piece && piece->went_on;
                if (piece) {
                    piece->done = m.at;
                    piece->device = m.device;
                    if (piece->station.empty()) piece->station = m.station;
                    if (piece->person.empty()) piece->person = m.person;
                    open.erase(at);
                } else if (!bad) {
                    ++out.without_start;
                }
                const auto before = tries.find(m.what);
                if (bad && before != tries.end() &&
                    std::get<1>(out.tried[before->second]) == step) {
                    std::get<3>(out.tried[before->second]) = true;
                    tries.erase(before);
                } else {
                    if (!bad) tries[m.what] = out.tried.size();
                    out.tried.emplace_back(m.what, step, m.at, bad);
                }
                if (model::dries_alone(step)) break;
                // A done that was touched late, after the screen had gone on, hangs nothing up.
                if (went_on) break;
                taken_down(m);
                if (const auto next = dries_after(step);
                    next && !bad && !open.contains({m.what, *next, m.round})) {
                    open[{m.what, *next, m.round}] = hanging[m.what] = out.pieces.size();
                    out.pieces.push_back({.step = *next,
                                          .round = m.round,
                                          .what = m.what,
                                          .station = {},
                                          .person = {},
                                          .device = {},
                                          .start = m.at,
                                          .done = {},
                                          .dry = {},
                                          .dry_device = {},
                                          .went_on = {}});
                }
                break;
            }
            default:
                break;
        }
    }
    return out;
}

/// The one station that does the step; empty: several do, and nobody said which.
std::string only_station(const model::Room& room, Step step) {
    std::string found;
    for (const model::Station& s : room.stations) {
        if (!model::does_step(s, step)) continue;
        if (!found.empty()) return {};
        found = s.name;
    }
    return found;
}

/// "Ada + Ben": both.
std::vector<std::string> people_in(const std::string& names) {
    std::vector<std::string> out;
    for (std::size_t from = 0; from < names.size();) {
        const std::size_t to = std::min(names.find(" + ", from), names.size());
        out.push_back(names.substr(from, to - from));
        from = to + 3;
    }
    return out;
}

std::string first_of(const std::string& names) {
    return names.substr(0, names.find(" + "));
}

bool differs_by_screen(Step step) {
    return step == Step::Coat || step == Step::WashOut;
}

/// Ends that say at most: touched in a bunch.
std::vector<char> touched_late(const std::vector<Piece>& pieces, bool dry) {
    std::map<std::string, int> devices;
    std::vector<study::NotedEnd> ends;
    for (const Piece& p : pieces) {
        const auto& end = dry ? p.dry : p.done;
        const std::string& device = dry ? p.dry_device : p.device;
        const bool counts = end && (dry || by_hand(p.step));
        ends.push_back(
            {stamp(p.start), counts ? stamp(*end) : 0.0,
             counts ? devices.emplace(device, static_cast<int>(devices.size())).first->second
                    : -1});
    }
    return study::in_bunches(ends);
}

}  // namespace

bool by_hand(Step step) {
    return !model::dries_alone(step) && step != Step::Expose;
}

Screens::Screens(const model::Room& room, const std::vector<std::vector<model::Order>>& days) {
    for (const auto& orders : days) {
        for (std::size_t o = 0; o < orders.size(); ++o) {
            const model::Order& order = orders[o];
            // As the compiler names them: long names by the order's place in its file.
            const std::string stem =
                order.name.size() <= 6 ? order.name : "#" + std::to_string(o + 1);
            int number = 0;
            for (const model::ScreenLine& line : order.lines) {
                for (int k = 0; k < line.count; ++k) {
                    ScreenKind kind{.emulsion = line.emulsion,
                                    .mesh = line.mesh.value_or(""),
                                    .coat_plan = line.coat_plan,
                                    .frame = line.frame,
                                    .known = named_in(room.emulsions, line.emulsion) != nullptr};
                    by_tag_[stem + "-" + std::to_string(++number)].push_back({order.due, kind});
                }
            }
        }
    }
    for (auto& [tag, list] : by_tag_)
        std::stable_sort(list.begin(), list.end(),
                         [](const Known& a, const Known& b) { return a.due < b.due; });
}

ScreenKind Screens::find(const std::string& tag, SimTime at) const {
    const auto found = by_tag_.find(tag);
    if (found == by_tag_.end()) return {};
    const auto& list = found->second;
    const auto next = std::lower_bound(list.begin(), list.end(), at,
                                       [](const Known& k, SimTime t) { return k.due < t; });
    return next == list.end() ? list.back().kind : next->kind;
}

double planned_seconds(const model::Room& room, Step step, const ScreenKind& screen,
                       const std::string& station, const std::string& person) {
    const model::Station* at = named_in(room.stations, station);
    const model::CoatPlan* plan = named_in(room.coat_plans, screen.coat_plan);
    const model::StepTime time = model::time_of(room, step, plan,
                                                {.at = at,
                                                 .frame = screen.known ? &screen.frame : nullptr,
                                                 .by = named_in(room.people, person)});
    double seconds = static_cast<double>(time.attended.count());
    if (step == Step::WashOut) {
        const auto* mesh = named_in(room.meshes, screen.mesh);
        const auto* emulsion = named_in(room.emulsions, screen.emulsion);
        if (mesh && plan && emulsion)
            seconds *= model::physics::wash_out_factor(*mesh, *plan, *emulsion);
    }
    if (at) seconds += static_cast<double>(at->walk.count());
    return std::max(1.0, seconds);
}

std::optional<double> typed_drying_seconds(const model::Room& room, Step step,
                                           const ScreenKind& screen, const std::string& station) {
    const auto seconds = [](model::Seconds s) { return static_cast<double>(s.count()); };
    if (const auto* plan = named_in(room.coat_plans, screen.coat_plan)) {
        if (step == Step::DryCoat && plan->dry_coat) return seconds(*plan->dry_coat);
        if (step == Step::DryFace && plan->dry_face) return seconds(*plan->dry_face);
    }
    const double typed = std::max(1.0, seconds(model::time_of(room, step).stand));
    const auto found = room.steps.find(step);
    if (model::row_of(step).dries == model::Dries::ByTime ||
        (found != room.steps.end() && found->second.stand_said))
        return typed;
    const auto airy = [&](const model::Station& s) { return s.air && model::does_step(s, step); };
    const model::Station* at = named_in(room.stations, station);
    const bool computed =
        room.climate &&
        (at ? at->air.has_value() : std::any_of(room.stations.begin(), room.stations.end(), airy));
    return computed ? std::nullopt : std::optional(typed);
}

namespace {

/// Drying that somebody saw the end of, as a length against the typed minutes.
std::optional<Work> typed_drying(const model::Room& room, const Hung& h) {
    if (!h.dry) return std::nullopt;
    const auto typed = typed_drying_seconds(room, h.step, h.screen, h.station);
    if (!typed) return std::nullopt;
    const auto begins = h.start + model::time_of(room, h.step).attended;
    if (*h.dry <= begins) return std::nullopt;
    return Work{.step = h.step,
                .what = h.what,
                .screen = h.screen,
                .station = h.station,
                .person = {},
                .start = h.start,
                .end = *h.dry,
                .known = h.late ? Known::Late : Known::Whole,
                .length = Observed::exact(static_cast<double>((*h.dry - begins).count())),
                .planned = *typed};
}

}  // namespace

Observations observe(const model::Room& room, const Screens& screens,
                     const std::vector<PastMark>& said) {
    Observations out;
    out.marks = said.size();
    if (said.empty()) return out;
    const auto marks = set_clocks_right(said, out.clocks);
    std::set<SimTime> days;
    for (const PastMark& m : marks) {
        // A film or a station may be told of for a time to come.
        if (!m.step && m.mark != MarkKind::Remake && m.mark != MarkKind::Dry) continue;
        if (!out.first) out.first = m.at;
        out.last = m.at;
        days.insert(model::midnight(model::date_of(m.at)));
    }
    out.days = static_cast<int>(days.size());
    if (days.empty()) return out;
    const TimeOff off(room, *days.begin() - std::chrono::days{1},
                      *days.rbegin() + std::chrono::days{3});

    Walk walk = walk_through(marks);
    out.without_start = walk.without_start;
    for (const auto& [tag, step, at, bad] : walk.tried)
        out.tried.push_back({step, screens.find(tag, at), bad});
    const auto late = touched_late(walk.pieces, false);
    const auto late_dry = touched_late(walk.pieces, true);

    // Starts of each person's attended work, by time: nobody attends to two things.
    std::map<std::string, std::vector<SimTime>> starts;
    for (const Piece& p : walk.pieces) {
        if (!by_hand(p.step) && p.step != Step::Expose) continue;
        for (const std::string& person : people_in(p.person))
            starts[person].push_back(p.start);
    }
    for (std::size_t i = 0; i < walk.pieces.size(); ++i) {
        const Piece& p = walk.pieces[i];
        const ScreenKind kind = screens.find(p.what, p.start);
        if (model::dries_alone(p.step)) {
            out.hung.push_back(
                {.step = p.step,
                 .what = p.what,
                 .screen = kind,
                 .station = p.station.empty() ? only_station(room, p.step) : p.station,
                 .start = p.start,
                 .dry = p.dry,
                 .out = p.done ? p.done : p.went_on,
                 .late = late_dry[i] != 0});
            if (auto typed = typed_drying(room, out.hung.back()))
                out.work.push_back(*std::move(typed));
            continue;
        }
        if (!by_hand(p.step)) continue;
        if (!kind.known && differs_by_screen(p.step)) {
            ++out.unknown_screen;
            continue;
        }
        Work w{.step = p.step,
               .what = p.what,
               .screen = kind,
               .station = p.station,
               .person = p.person,
               .start = p.start,
               .planned = planned_seconds(room, p.step, kind, p.station, first_of(p.person))};
        std::optional<SimTime> next_work;
        const auto sooner = [](const std::optional<SimTime>& a, const std::optional<SimTime>& b) {
            return a && b ? std::min(*a, *b) : a ? a : b;
        };
        for (const std::string& person : people_in(p.person)) {
            const auto& mine = starts.at(person);
            const auto next = std::upper_bound(mine.begin(), mine.end(), p.start);
            if (next != mine.end()) next_work = sooner(next_work, *next);
        }
        const std::optional<SimTime> limit = sooner(next_work, p.went_on);
        if (p.done) {
            w.end = *p.done;
            if (late[i]) w.known = Known::Late;
            if (limit && *limit < w.end) {
                w.known = Known::Late;
                w.end = *limit;
            }
        } else if (limit) {
            w.known = Known::Lost;
            w.end = *limit;
        } else if (model::date_of(p.start) == model::date_of(*out.last)) {
            w.known = Known::Running;
            w.end = *out.last;
        } else {
            ++out.forgotten;
            continue;
        }
        const Off gone = off.between(first_of(p.person), w.start, w.end);
        const double span = static_cast<double>((w.end - w.start).count());
        const double most = span - gone.least, least = std::max(0.0, span - gone.most);
        if (w.known == Known::Whole && most < std::max(5.0, 0.1 * w.planned)) {
            ++out.at_once;
            continue;
        }
        switch (w.known) {
            case Known::Whole:
                w.length = {least, most};
                break;
            case Known::Late:
            case Known::Lost:
                w.length = Observed::at_most(most);
                break;
            case Known::Running:
                w.length = Observed::at_least(least);
                break;
        }
        if (w.length.tells()) out.work.push_back(std::move(w));
    }
    return out;
}

}  // namespace sched::tune
