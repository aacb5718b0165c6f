// The document against itself. Each list of it is derived once more from the operations and laid
// beside what is written: whoever edits one line of a plan by hand has to find all the others.
// Nothing here asks the planner's code how it made them.

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "sched/check/room/judge.hpp"
#include "sched/check/room/trade.hpp"
#include "sched/report/document/fingerprint.hpp"

namespace sched::check::room {

using model::Seconds;
using model::SimTime;
using report::OperationLine;
using report::PlanDocument;

namespace {

bool holds(const std::vector<std::string>& list, const std::string& name) {
    return std::find(list.begin(), list.end(), name) != list.end();
}

// A word of its own: A1-1 is no part of A1-12.
bool names(const std::string& text, const std::string& tag) {
    for (std::size_t at = text.find(tag); at != std::string::npos; at = text.find(tag, at + 1)) {
        const std::size_t after = at + tag.size();
        const bool begins = at == 0 || text[at - 1] == ' ';
        if (begins && (after == text.size() || text[after] == ' ' || text[after] == ','))
            return true;
    }
    return false;
}

class DocumentJudge {
public:
    explicit DocumentJudge(const PlanDocument& document) : d_(document) {}

    std::vector<Finding> judge() {
        if (d_.operations.size() != d_.schedule.placements.size() ||
            d_.operations.size() != d_.problem.operations.size()) {
            say("operations", "there are not as many operations as in problem and schedule.");
            return std::move(out_);
        }
        head();
        for (std::size_t i = 0; i < d_.operations.size(); ++i)
            operation(i);
        screens();
        orders();
        aims();
        places_and_people();
        loads();
        fills();
        mixes();
        turns();
        reclaims();
        returns();
        again();
        cautions();
        return std::move(out_);
    }

private:
    void say(std::string rule, std::string words) {
        out_.push_back({std::move(rule), std::move(words)});
    }

    void head() {
        if (d_.fingerprint != report::fingerprint_of(d_.inputs))
            say("digest", "the fingerprint is not that of the listed files.");
        if (d_.run.from != d_.problem.horizon_start || d_.run.until != d_.problem.horizon_end)
            say("run", "the run's beginning or end is not that of the problem.");
        if (d_.operations.empty()) return;
        SimTime first = d_.operations.front().start, last = d_.run.from;
        for (const OperationLine& line : d_.operations) {
            first = std::min(first, line.start);
            last = std::max(last, line.end);
        }
        if (d_.run.first_start != first || d_.run.last_end != last)
            say("run", "the first start or the last end is not that of the operations.");
    }

    void operation(std::size_t i) {
        const OperationLine& line = d_.operations[i];
        const core::Operation& asked = d_.problem.operations[i];
        const core::Placement& at = d_.schedule.placements[i];
        if (line.words != asked.name)
            say("operations", fmt::format("number {} is \"{}\", the problem says \"{}\".", i,
                                          line.words, asked.name));
        if (line.batch != at.batch)
            say("operations", line.words + " shares its exposure otherwise than in the schedule.");
        std::string screen, order;
        if (asked.job.valid() && asked.job.index() < d_.problem.jobs.size()) {
            const core::Job& job = d_.problem.jobs[asked.job.index()];
            screen = job.name;
            if (job.order.valid() && job.order.index() < d_.problem.orders.size())
                order = d_.problem.orders[job.order.index()].name;
        }
        if (line.screen != screen || line.order != order)
            say("operations", fmt::format("{} is on {} of {}, the problem says {} of {}.",
                                          line.words, line.screen, line.order, screen, order));
        if (!line.screen.empty() && !names(line.words, line.screen))
            say("operations", line.words + " is said of " + line.screen + ".");
        uses(line, asked, at);
    }

    // Who and what is taken, and until when.
    void uses(const OperationLine& line, const core::Operation& asked, const core::Placement& at) {
        if (at.mode < 0 || static_cast<std::size_t>(at.mode) >= asked.modes.size()) return;
        const auto& needs = asked.modes[static_cast<std::size_t>(at.mode)].needs;
        if (needs.size() != at.chosen.size()) return;
        std::string place;
        int places = 0;
        std::vector<std::string> people;
        std::optional<SimTime> place_until, people_until;
        for (std::size_t n = 0; n < needs.size(); ++n) {
            if (at.chosen[n].index() >= d_.problem.resources.size()) return;
            const std::string& name = d_.problem.resources[at.chosen[n].index()].name;
            const SimTime until = needs[n].span == core::Span::Whole ? at.end : at.work_end;
            if (is_person(name)) {
                people.push_back(name);
                people_until = std::max(people_until.value_or(until), until);
            } else if (place.empty()) {
                place = name;
                places = needs[n].amount;
                place_until = until;
            }
        }
        if (line.place != place || line.places != places || line.place_until != place_until)
            say("operations", line.words + ": place, slots or how long are not the schedule's.");
        if (line.people != people || line.people_until != people_until)
            say("operations", line.words + ": people or how long are not the schedule's.");
    }

    bool is_person(const std::string& name) const {
        return std::any_of(d_.people.begin(), d_.people.end(),
                           [&](const report::PersonLine& p) { return p.name == name; });
    }

    // Done when the work is, where it may stand on; else when it leaves.
    SimTime done(std::size_t i) const {
        return d_.problem.operations[i].max_stretch ? d_.operations[i].end
                                                    : d_.operations[i].work_end;
    }

    void screens() {
        std::set<std::string> tags;
        for (const report::ReturnLine& line : d_.returns)
            tags.insert(line.tag);
        for (const report::ScreenLine& line : d_.screens) {
            if (!tags.insert(line.tag).second) say("screens", line.tag + " is listed twice.");
            std::optional<SimTime> ready;
            std::set<std::string> steps;
            for (std::size_t i = 0; i < d_.operations.size(); ++i) {
                const OperationLine& op = d_.operations[i];
                if (op.screen != line.tag) continue;
                steps.insert(op.step);
                ready = std::max(ready.value_or(done(i)), done(i));
                if (op.order != line.order) say("screens", line.tag + " is of another order.");
                const bool two = holds(op.cautions, "two-people");
                if (two != (line.two_people && !op.people.empty()))
                    say("screens", op.words + ": whether it takes two is said two ways.");
                // What stands after its coat has no words of its own.
                if (op.step == "coat" && !op.people.empty() &&
                    op.words.find(line.coat_plan) == std::string::npos)
                    say("screens", line.tag + " has another coat plan in its operations.");
            }
            if (line.ready != ready)
                say("screens", line.tag + " is not ready when its last step is done.");
            if (!steps.empty() && line.made_on != made_on(steps))
                say("screens", fmt::format("{} is made on {}, its steps begin with {}.", line.tag,
                                           line.made_on, made_on(steps)));
            const bool known = std::any_of(d_.orders.begin(), d_.orders.end(),
                                           [&](const auto& o) { return o.name == line.order; });
            if (!known) say("screens", line.tag + " is of an order that is not listed.");
        }
        for (const OperationLine& op : d_.operations) {
            if (!op.screen.empty() && tags.count(op.screen) == 0)
                say("screens", op.words + " is on a screen that is not listed.");
        }
    }

    // What the first steps tell of the frame.
    static std::string made_on(const std::set<std::string>& steps) {
        if (steps.count("ink-off") != 0) return "inky";
        if (steps.count("strip") != 0) return "old-stencil";
        if (steps.count("abrade") != 0) return "new-mesh";
        if (steps.count("degrease") != 0) return "ready";
        return steps.count("expose") != 0 ? "coated" : "kept-stencil";
    }

    void orders() {
        for (std::size_t k = 0; k < d_.orders.size(); ++k) {
            const report::OrderLine& line = d_.orders[k];
            int screens = 0;
            std::optional<SimTime> ready;
            for (const report::ScreenLine& s : d_.screens) {
                if (s.order != line.name) continue;
                ++screens;
                if (s.ready) ready = std::max(ready.value_or(*s.ready), *s.ready);
            }
            if (line.screens != screens)
                say("orders", fmt::format("order {} is said to have {} screens, {} are listed.",
                                          line.name, line.screens, screens));
            if (line.ready != ready)
                say("orders", "order " + line.name + " is not ready with its last screen.");
            std::optional<Seconds> lateness;
            if (line.due && line.ready) lateness = *line.ready - *line.due;
            if (line.lateness != lateness)
                say("orders", "the lateness of order " + line.name + " is not ready less due.");
            if (k < d_.problem.orders.size() && (d_.problem.orders[k].weight != line.weight ||
                                                 d_.problem.orders[k].due != line.due ||
                                                 d_.problem.orders[k].release != line.release ||
                                                 d_.problem.orders[k].name != line.name))
                say("orders", "order " + line.name + " is another in the problem.");
        }
        if (d_.orders.size() != d_.problem.orders.size())
            say("orders", "there are not as many orders as in the problem.");
    }

    std::optional<std::int64_t> value_of(const std::string& criterion) const {
        std::int64_t sum = 0;
        if (criterion == "weighted-tardiness" || criterion == "late-orders" ||
            criterion == "flow-time") {
            for (const report::OrderLine& o : d_.orders) {
                if (!o.ready) continue;
                const std::int64_t late = o.due ? (*o.ready - *o.due).count() : 0;
                if (criterion == "flow-time") {
                    sum += (*o.ready - o.release).count();
                } else if (late > 0) {
                    sum += criterion == "late-orders" ? 1 : late * o.weight;
                }
            }
            return sum;
        }
        if (criterion == "makespan" || criterion == "holding") {
            for (std::size_t i = 0; i < d_.operations.size(); ++i) {
                if (d_.problem.operations[i].filler) continue;
                const OperationLine& op = d_.operations[i];
                if (criterion == "holding")
                    sum += (op.end - op.work_end).count();
                else
                    sum = std::max(sum, (done(i) - d_.run.from).count());
            }
            return sum;
        }
        if (criterion == "overtime") return overtime();
        return std::nullopt;
    }

    // A person's overtime once, however many screens are in the hands.
    std::int64_t overtime() const {
        std::int64_t sum = 0;
        for (const core::OvertimeWindow& w : d_.problem.overtime) {
            if (w.resource.index() >= d_.problem.resources.size()) continue;
            const std::string& name = d_.problem.resources[w.resource.index()].name;
            std::vector<report::Period> work;
            std::map<int, std::int64_t> loads;  // that are told, by batch: as long as its longest
            for (const OperationLine& op : d_.operations) {
                if (!holds(op.people, name) || !op.people_until) continue;
                const SimTime from = std::max(op.start, w.window.from);
                const SimTime to = std::min(*op.people_until, w.window.to);
                // What is told may have her at two things at once; each counts.
                const bool told = d_.again && op.start < d_.again->now;
                if (from >= to) continue;
                if (!told) {
                    work.push_back({from, to});
                } else if (op.batch) {
                    std::int64_t& longest = loads[*op.batch];
                    longest = std::max(longest, (to - from).count());
                } else {
                    sum += (to - from).count();
                }
            }
            for (const auto& [batch, seconds] : loads)
                sum += seconds;
            std::sort(work.begin(), work.end(),
                      [](const auto& a, const auto& b) { return a.from < b.from; });
            SimTime counted = SimTime::min();
            for (const report::Period& p : work) {
                const SimTime from = std::max(p.from, counted);
                if (from < p.to) sum += (p.to - from).count();
                counted = std::max(counted, p.to);
            }
        }
        return sum;
    }

    void aims() {
        std::string open;  // the first aim that is not at its bound
        for (const report::AimLine& aim : d_.aims) {
            const auto value = value_of(aim.criterion);
            if (!value) {
                say("aims", aim.criterion + " is no aim.");
            } else if (*value != aim.value) {
                say("aims",
                    fmt::format("{} is {}, the plan says {}.", aim.words, *value, aim.value));
            }
            const bool met = aim.bound == aim.value;
            if (!met && open.empty())
                open = fmt::format("{}: {}, bound {}", aim.words, aim.value,
                                   aim.bound ? std::to_string(*aim.bound) : "unknown");
            if (aim.bound && *aim.bound > aim.value)
                say("aims", aim.words + " is better than its bound.");
            const bool said = met         ? aim.gap_words == "proven best"
                              : aim.bound ? aim.gap_words.starts_with("could be up to ")
                                          : aim.gap_words == "no bound known";
            if (!said)
                say("aims",
                    aim.words + ": \"" + aim.gap_words + "\" is not what bound and value say.");
        }
        if (d_.aims.size() != d_.problem.objective.size())
            say("aims", "there are not as many aims as in the problem.");
        if (d_.status != "optimal" && d_.status != "feasible")
            say("status", "\"" + d_.status + "\" is no status.");
        if (d_.status == "optimal" && !open.empty())
            say("status",
                "the plan calls itself optimal, but not every aim is at its bound (" + open + ").");
    }

    void places_and_people() {
        std::set<std::string> stations, people;
        for (const report::StationLine& line : d_.stations) {
            stations.insert(line.name);
            const core::Resource* r = resource(line.name);
            if (r == nullptr || r->capacity != line.places)
                say("room", line.name + " is another in the problem.");
        }
        for (const report::PersonLine& line : d_.people) {
            people.insert(line.name);
            const core::Resource* r = resource(line.name);
            std::vector<report::Period> present;
            if (r != nullptr) {
                for (const core::Window& w : r->calendar.value_or(core::Calendar{}))
                    present.push_back({w.from, w.to});
            }
            if (r == nullptr || present != line.present)
                say("room", line.name + " is there at other times in the problem.");
        }
        for (const core::Resource& r : d_.problem.resources) {
            if (stations.count(r.name) + people.count(r.name) != 1)
                say("room", r.name + " of the problem is listed not once.");
        }
        std::set<std::string> breaks;
        for (const core::Pause& p : d_.problem.pauses) {
            if (p.resource.index() >= d_.problem.resources.size()) continue;
            breaks.insert(fmt::format("{} {} {}", d_.problem.resources[p.resource.index()].name,
                                      p.at.time_since_epoch().count(), p.length.count()));
        }
        for (const report::BreakLine& line : d_.breaks) {
            if (breaks.count(fmt::format("{} {} {}", line.person,
                                         line.from.time_since_epoch().count(),
                                         (line.to - line.from).count())) == 0)
                say("break", "a break of " + line.person + " is not in the problem.");
        }
    }

    const core::Resource* resource(const std::string& name) const {
        for (const core::Resource& r : d_.problem.resources) {
            if (r.name == name) return &r;
        }
        return nullptr;
    }

    // Time that a place or person is at work, and that finished screens hold it.
    std::pair<Seconds, Seconds> use_of(const std::string& name) const {
        Seconds working{0}, holding{0};
        std::set<std::pair<int, SimTime>> batches;  // of a shared exposure once
        for (const OperationLine& op : d_.operations) {
            const bool here = op.place == name;
            const bool mine = holds(op.people, name);
            if (!here && !mine && !holds(op.also_at, name)) continue;
            const core::Resource* r = resource(name);
            const bool shared = op.batch && r != nullptr && r->capacity == 1;
            if (shared && !batches.insert({*op.batch, op.start}).second) continue;
            const SimTime until =
                here ? op.place_until.value_or(op.start) : op.people_until.value_or(op.start);
            const int amount = here ? op.places : 1;
            working += (std::min(op.work_end, until) - op.start) * amount;
            if (until > op.work_end) holding += (until - op.work_end) * amount;
        }
        return {working, holding};
    }

    void loads() {
        std::set<std::string> listed;
        for (const report::LoadLine& line : d_.loads) {
            if (!listed.insert(line.resource).second)
                say("loads", line.resource + " stands twice.");
            const core::Resource* r = resource(line.resource);
            if (r == nullptr || r->capacity != line.capacity ||
                (line.kind == "person") != is_person(line.resource)) {
                say("loads", line.resource + " is another in the problem.");
                continue;
            }
            const auto [working, holding] = use_of(line.resource);
            // A place counts only while the room is staffed, and of those that share an exposure
            // each waits another time for the last: there it can be less.
            const bool whole = is_person(line.resource);
            const bool right = whole ? line.working == working && line.holding == holding
                                     : line.working <= working && line.holding <= holding;
            if (!right && !r->batch && !d_.again)
                say("loads",
                    fmt::format("{} works {} and holds {}, the plan says {} and {}.", line.resource,
                                model::format_duration(working), model::format_duration(holding),
                                model::format_duration(line.working),
                                model::format_duration(line.holding)));
            ratio(line.availability, line.working, line.staffed, line.resource);
            ratio(line.allocation_efficiency, line.working + line.holding, line.staffed,
                  line.resource);
            ratio(line.utilisation_efficiency, line.working, line.working + line.holding,
                  line.resource);
        }
        if (!d_.operations.empty()) {
            for (const core::Resource& r : d_.problem.resources) {
                if (listed.count(r.name) == 0) say("loads", r.name + " has no line.");
            }
        }
        if (!d_.bottleneck.resource.empty() && resource(d_.bottleneck.resource) == nullptr)
            say("loads", "the bottleneck is nothing of this room.");
    }

    void ratio(const std::optional<double>& said, Seconds part, Seconds whole,
               const std::string& name) {
        const bool none = whole <= Seconds{0};
        const double wanted =
            none ? 0.0 : static_cast<double>(part.count()) / static_cast<double>(whole.count());
        if (said.has_value() == none || (said && std::abs(*said - wanted) > 1e-9))
            say("loads", "a ratio of " + name + " is not that of its times.");
    }

    using Steps = std::vector<std::tuple<SimTime, int, int>>;

    Steps fill_of(const std::string& station) const {
        std::map<SimTime, std::pair<int, int>> change;
        for (const OperationLine& op : d_.operations) {
            if (op.place != station || !op.place_until || *op.place_until <= op.start) continue;
            const SimTime finished = std::min(op.work_end, *op.place_until);
            change[op.start].first += op.places;
            change[finished].first -= op.places;
            change[finished].second += op.places;
            change[*op.place_until].second -= op.places;
        }
        Steps steps;
        int working = 0, holding = 0;
        for (const auto& [at, by] : change) {
            working += by.first;
            holding += by.second;
            if (by != std::pair{0, 0}) steps.emplace_back(at, working, holding);
        }
        return steps;
    }

    void fills() {
        std::set<std::string> listed;
        for (const report::FillLine& line : d_.fills) {
            listed.insert(line.station);
            Steps steps;
            for (const report::FillStep& s : line.steps)
                steps.emplace_back(s.from, s.working, s.holding);
            const core::Resource* r = resource(line.station);
            if (steps != fill_of(line.station) || r == nullptr || r->capacity != line.places)
                say("fills", "the fill of " + line.station + " is not that of the operations.");
        }
        for (const report::StationLine& line : d_.stations) {
            if (line.dries != (listed.count(line.name) == 1))
                say("fills", line.name + ": its fill is missing, or of no use.");
        }
    }

    void mixes() {
        std::set<int> mixed;
        for (const report::MixLine& line : d_.mixes) {
            std::optional<SimTime> start;
            SimTime last = SimTime::min(), usable = SimTime::min();
            std::set<std::string> people;
            for (const int i : line.operations) {
                const OperationLine& op = d_.operations[static_cast<std::size_t>(i)];
                if (!mixed.insert(i).second || !op.step.starts_with("mix-") ||
                    !names(op.words, line.pot))
                    say("mixes", op.words + " is not of " + line.pot + " alone.");
                if (op.start < last) say("mixes", line.pot + ": its steps are out of order.");
                last = op.start;
                start = std::min(start.value_or(op.start), op.start);
                usable = std::max(usable, op.work_end);
                people.insert(op.people.begin(), op.people.end());
            }
            if (line.start != start || std::set(line.people.begin(), line.people.end()) != people)
                say("mixes", "begin or people of " + line.pot + " are not those of its steps.");
            if (line.operations.empty() ? line.usable.has_value() : line.usable != usable)
                say("mixes", line.pot + " is not usable when its last step is done.");
            std::optional<SimTime> buy = start;
            if (!buy) buy = first_take(line.pot);
            if (line.buy_by != (line.to_buy ? buy : std::nullopt))
                say("mixes", line.pot + ": when it is to be bought is another time.");
            const core::Store* pot = store(line.pot);
            if (pot == nullptr || line.volume_ml < 0.0)
                say("mixes", line.pot + " is no pot of the problem.");
            else if (std::abs(static_cast<double>(volume_in(*pot)) - line.volume_ml) >= 1.0)
                say("mixes", line.pot + " has another volume in the problem.");
        }
        for (std::size_t i = 0; i < d_.operations.size(); ++i) {
            if (d_.operations[i].step.starts_with("mix-") && mixed.count(static_cast<int>(i)) == 0)
                say("mixes", d_.operations[i].words + " belongs to no pot that is listed.");
        }
    }

    const core::Store* store(const std::string& name) const {
        for (const core::Store& s : d_.problem.stores) {
            if (s.name == name) return &s;
        }
        return nullptr;
    }
    std::int64_t volume_in(const core::Store& pot) const {
        std::int64_t ml = pot.initial;
        for (const auto& constraint : d_.problem.constraints) {
            const auto* give = std::get_if<core::Give>(&constraint);
            if (give != nullptr && &d_.problem.stores[give->store.index()] == &pot)
                ml += give->amount;
        }
        return ml;
    }
    std::optional<SimTime> first_take(const std::string& pot) const {
        std::optional<SimTime> first;
        for (std::size_t i = 0; i < d_.operations.size(); ++i) {
            for (const core::StoreId id : d_.schedule.placements[i].stores) {
                if (id.index() >= d_.problem.stores.size() ||
                    d_.problem.stores[id.index()].name != pot)
                    continue;
                first = std::min(first.value_or(d_.operations[i].start), d_.operations[i].start);
            }
        }
        return first;
    }

    // Whoever is free takes the lowest: each number once, from 1, or nobody knows who goes first.
    void turns() {
        std::set<int> seen;
        for (const OperationLine& op : d_.operations) {
            if (op.turn && !seen.insert(*op.turn).second)
                say("turns", op.words + " has the same turn as another step.");
        }
        if (!seen.empty() &&
            (*seen.begin() != 1 || *seen.rbegin() != static_cast<int>(seen.size())))
            say("turns", "the turns of the steps do not count from 1 without gaps.");
    }

    void reclaims() {
        std::map<std::string, int> listed;
        for (const report::ReclaimLine& line : d_.reclaims) {
            ++listed[line.screen];
            const auto screen = std::find_if(d_.screens.begin(), d_.screens.end(),
                                             [&](const auto& s) { return s.tag == line.screen; });
            if (screen == d_.screens.end() || screen->frame != line.frame ||
                screen->mesh != line.mesh || screen->made_on != line.state) {
                say("reclaims", "the frame of " + line.screen + " is another in its line.");
                continue;
            }
            const OperationLine* first = nullptr;
            for (const OperationLine& op : d_.operations) {
                if (op.screen == line.screen && (first == nullptr || op.start < first->start))
                    first = &op;
            }
            if (first != nullptr && (line.start != first->start || line.people != first->people))
                say("reclaims", "begin or people of " + line.screen + " are not the operation's.");
        }
        for (const report::ScreenLine& s : d_.screens) {
            const bool used = s.made_on == "inky" || s.made_on == "old-stencil";
            if (listed[s.tag] != (used ? 1 : 0))
                say("reclaims", s.tag + " is listed as reclaimed not once, or for nothing.");
        }
    }

    void returns() {
        std::map<std::tuple<std::string, std::string, std::string>, int> came;
        std::map<std::string, std::vector<const OperationLine*>> of_frame;
        for (const OperationLine& op : d_.operations)
            of_frame[op.screen].push_back(&op);
        for (const report::ReturnLine& line : d_.returns) {
            std::optional<SimTime> start, end;
            std::set<std::string> people;
            for (const OperationLine* op : of_frame[line.tag]) {
                start = std::min(start.value_or(op->start), op->start);
                end = std::max(end.value_or(op->end), op->end);
                people.insert(op->people.begin(), op->people.end());
            }
            if (line.start != start || line.done != end ||
                std::set(line.people.begin(), line.people.end()) != people)
                say("returns", "times or people of " + line.tag + " are not the operations'.");
            ++came[{frame_words(line.frame), line.mesh, line.becomes}];
        }
        for (const report::StockLine& line : d_.stock_after) {
            came[{frame_words(line.frame), line.mesh, line.state}] -= line.count;
            if (line.count <= 0) say("returns", "stock_after has a line without frames.");
        }
        for (const auto& [kind, count] : came) {
            if (count > 0)
                say("returns",
                    fmt::format("{} {}, {}: more came back than stock_after has.",
                                std::get<0>(kind), std::get<1>(kind), std::get<2>(kind)));
        }
    }

    void again() {
        if (d_.again.has_value() != d_.problem.now.has_value()) {
            say("again", "whether the plan begins in the middle of the day is said two ways.");
            return;
        }
        if (!d_.again) return;
        std::vector<int> over, under_way;
        for (const core::Begun& b : d_.problem.begun)
            (b.end ? over : under_way).push_back(b.operation.value);
        std::sort(over.begin(), over.end());
        std::sort(under_way.begin(), under_way.end());
        if (d_.again->now != *d_.problem.now || d_.again->over != over ||
            d_.again->under_way != under_way)
            say("again", "what is over or under way, or the time, is not the problem's.");
        for (const report::ChangeLine& change : d_.again->changes) {
            const OperationLine& op = d_.operations[static_cast<std::size_t>(change.operation)];
            if (change.start != op.start || change.words.find(op.words) == std::string::npos)
                say("again", "the change \"" + change.words + "\" is not that of the operation.");
        }
        if (!d_.again->compared && (!d_.again->changes.empty() || d_.again->held != 0))
            say("again", "changes are listed, but nothing was compared.");
        if (d_.again->held < 0 || d_.again->relaxed < 0) say("again", "fewer than none were held.");
    }

    void cautions() {
        std::set<std::string> used, listed;
        for (const OperationLine& op : d_.operations)
            used.insert(op.cautions.begin(), op.cautions.end());
        for (const report::CautionLine& line : d_.cautions)
            listed.insert(line.key);
        if (used != listed) say("cautions", "the cautions are not those that the operations name.");
    }

    const PlanDocument& d_;
    std::vector<Finding> out_;
};

}  // namespace

std::vector<Finding> judge_document(const PlanDocument& document) {
    return DocumentJudge(document).judge();
}

}  // namespace sched::check::room
