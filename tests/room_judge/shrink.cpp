// How it works: every way to make a room smaller or plainer has a name, with the number of what it
// takes out. One after the other is tried, large ones first; what still goes wrong is kept, until
// nothing more can go (delta debugging, Zeller and Hildebrandt 2002, one at a time).

#include "tests/room_judge/shrink.hpp"

#include <algorithm>

namespace random_scenario {

using namespace model;

namespace {

using Change = std::function<void(Scenario&)>;
using Changes = std::vector<std::pair<std::string, Change>>;

template <class List>
void each(Changes& out, const std::string& name, const List& list,
          const std::function<void(Scenario&, std::size_t)>& change) {
    for (std::size_t i = list.size(); i-- > 0;)
        out.emplace_back(name + " " + std::to_string(i),
                         [change, i](Scenario& s) { change(s, i); });
}

template <class List>
void drop(List& list, std::size_t i) {
    if (i < list.size()) list.erase(list.begin() + static_cast<std::ptrdiff_t>(i));
}

// What can be taken out of this room now.
Changes changes_of(const Scenario& s) {
    Changes out;
    const auto at = [](Scenario& x, std::size_t i) -> Station& { return x.room.stations[i]; };
    each(out, "order", s.orders, [](Scenario& x, std::size_t i) {
        if (x.orders.size() > 1) drop(x.orders, i);
    });
    for (std::size_t o = 0; o < s.orders.size(); ++o) {
        const std::string of = "order " + std::to_string(o) + " line";
        each(out, of, s.orders[o].lines, [o](Scenario& x, std::size_t i) {
            if (x.orders[o].lines.size() > 1) drop(x.orders[o].lines, i);
        });
        each(out, of + " one less", s.orders[o].lines, [o](Scenario& x, std::size_t i) {
            if (x.orders[o].lines[i].count > 1) --x.orders[o].lines[i].count;
        });
        each(out, of + " film", s.orders[o].lines,
             [o](Scenario& x, std::size_t i) { x.orders[o].lines[i].film_ready.reset(); });
    }
    each(out, "frame", s.frames, [](Scenario& x, std::size_t i) { drop(x.frames, i); });
    each(out, "person", s.room.people, [](Scenario& x, std::size_t i) { drop(x.room.people, i); });
    each(out, "station", s.room.stations,
         [](Scenario& x, std::size_t i) { drop(x.room.stations, i); });
    each(out, "pot", s.room.pots, [](Scenario& x, std::size_t i) { drop(x.room.pots, i); });
    out.emplace_back("weather", [](Scenario& x) { x.weather.clear(); });
    out.emplace_back("climate", [](Scenario& x) {
        x.room.climate.reset();
        for (Station& station : x.room.stations)
            station.air.reset();
    });
    out.emplace_back("walks", [](Scenario& x) {
        x.room.walks.clear();
        for (Station& station : x.room.stations)
            station.stands_in.clear();
    });
    out.emplace_back("beside", [](Scenario& x) {
        for (Station& station : x.room.stations)
            station.beside.clear();
    });
    out.emplace_back("limits", [](Scenario& x) { x.room.limits = Limits{}; });
    out.emplace_back("two people", [](Scenario& x) { x.room.limits.two_people_from.reset(); });
    out.emplace_back("walks", [](Scenario& x) { x.room.between_stations = Seconds{0}; });
    out.emplace_back("haze", [](Scenario& x) { x.room.haze_share = Fraction{0.0}; });
    for (int k = 0; k < step_count; ++k) {
        if (s.room.steps.count(static_cast<Step>(k)) != 0)
            out.emplace_back("time of step " + std::to_string(k),
                             [k](Scenario& x) { x.room.steps.erase(static_cast<Step>(k)); });
    }
    for (std::size_t p = 0; p < s.room.people.size(); ++p)
        each(out, "person " + std::to_string(p) + " break", s.room.people[p].breaks,
             [p](Scenario& x, std::size_t i) { drop(x.room.people[p].breaks, i); });
    each(out, "overtime", s.room.people,
         [](Scenario& x, std::size_t i) { x.room.people[i].overtime = Seconds{0}; });
    each(out, "absent", s.room.people,
         [](Scenario& x, std::size_t i) { x.room.people[i].absent.clear(); });
    each(out, "skills", s.room.people,
         [](Scenario& x, std::size_t i) { x.room.people[i].can.clear(); });
    each(out, "closed", s.room.stations,
         [at](Scenario& x, std::size_t i) { at(x, i).closed.clear(); });
    each(out, "hand-over", s.room.stations,
         [at](Scenario& x, std::size_t i) { at(x, i).walk = Seconds{0}; });
    each(out, "double slots", s.room.stations,
         [at](Scenario& x, std::size_t i) { at(x, i).double_from.reset(); });
    each(out, "largest frame", s.room.stations,
         [at](Scenario& x, std::size_t i) { at(x, i).largest_frame.reset(); });
    each(out, "blanket", s.room.stations,
         [at](Scenario& x, std::size_t i) { at(x, i).blanket.reset(); });
    each(out, "lamp", s.room.stations, [at](Scenario& x, std::size_t i) {
        if (!at(x, i).lamp) return;
        at(x, i).lamp->warm_up = at(x, i).lamp->draw_down = Seconds{0};
    });
    each(out, "places", s.room.stations, [at](Scenario& x, std::size_t i) { at(x, i).places = 1; });
    each(out, "coat plan", s.room.coat_plans, [](Scenario& x, std::size_t i) {
        auto& plan = x.room.coat_plans[i];
        plan.coat.reset();
        plan.coat_stand.reset();
        plan.dry_coat.reset();
        plan.dry_face.reset();
    });
    each(out, "face coats", s.room.coat_plans,
         [](Scenario& x, std::size_t i) { x.room.coat_plans[i].face = 0; });
    each(out, "back at", s.frames, [](Scenario& x, std::size_t i) { x.frames[i].from.reset(); });
    each(out, "haze of", s.frames, [](Scenario& x, std::size_t i) { x.frames[i].haze.reset(); });
    return out;
}

}  // namespace

Shrunk shrink(Scenario scenario, const std::function<bool(const Scenario&)>& wrong) {
    Shrunk out{std::move(scenario), {}, 0};
    for (bool smaller = true; smaller;) {
        smaller = false;
        // Anew after each: numbers have moved.
        for (std::size_t k = 0;; ++k) {
            const Changes changes = changes_of(out.scenario);
            if (k >= changes.size()) break;
            Scenario next = out.scenario;
            changes[k].second(next);
            if (next == out.scenario) continue;
            ++out.tried;
            if (!wrong(next)) continue;
            out.scenario = std::move(next);
            out.cuts.push_back(changes[k].first);
            smaller = true;
        }
    }
    return out;
}

Scenario cut(Scenario scenario, const std::vector<std::string>& cuts) {
    for (const std::string& name : cuts) {
        const Changes changes = changes_of(scenario);
        const auto found = std::find_if(changes.begin(), changes.end(),
                                        [&](const auto& c) { return c.first == name; });
        if (found != changes.end()) found->second(scenario);
    }
    return scenario;
}

}  // namespace random_scenario
