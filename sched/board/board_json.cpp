#include "sched/board/board_json.hpp"

#include <map>
#include <nlohmann/json.hpp>

namespace sched::board {

namespace {

using Json = nlohmann::ordered_json;

std::int64_t seconds(model::SimTime t) {
    return t.time_since_epoch().count();
}

Json seconds(const std::optional<model::SimTime>& t) {
    return t ? Json(seconds(*t)) : Json(nullptr);
}

// Names in the order in which they come, each once.
class Names {
public:
    int of(const std::string& name) {
        if (name.empty()) return -1;
        const auto [at, isnew] = index_.try_emplace(name, static_cast<int>(index_.size()));
        if (isnew) names_.push_back(name);
        return at->second;
    }
    Json list() const { return names_; }

private:
    std::map<std::string, int> index_;
    std::vector<std::string> names_;
};

}  // namespace

std::string board_json(const report::PlanDocument& document) {
    Names tags, steps, stations, people;
    for (const auto& s : document.stations)
        stations.of(s.name);
    for (const auto& p : document.people)
        people.of(p.name);
    Json out{{"room", document.room},
             {"invented", document.invented},
             {"t0", seconds(document.run.first_start)},
             {"t1", seconds(document.run.last_end)},
             {"now", document.again ? Json(seconds(document.again->now)) : Json(nullptr)},
             {"stations", Json::array()},
             {"people", Json::array()},
             {"breaks", Json::array()},
             {"orders", Json::array()},
             {"pots", Json::array()}};
    for (const auto& s : document.stations)
        out["stations"].push_back({{"name", s.name}, {"places", s.places}, {"dries", s.dries}});
    for (const auto& p : document.people) {
        Json present = Json::array();
        for (const auto& period : p.present)
            present.push_back({seconds(period.from), seconds(period.to)});
        out["people"].push_back({{"name", p.name}, {"present", std::move(present)}});
    }
    for (const auto& b : document.breaks)
        out["breaks"].push_back({people.of(b.person), seconds(b.from), seconds(b.to)});
    for (const auto& o : document.orders) {
        out["orders"].push_back({{"name", o.name},
                                 {"customer", o.customer},
                                 {"due", seconds(o.due)},
                                 {"ready", seconds(o.ready)},
                                 {"likely", seconds(o.ready_p50)},
                                 {"late", o.chance_late ? Json(*o.chance_late) : Json(nullptr)}});
    }
    for (const auto& m : document.mixes) {
        out["pots"].push_back({{"name", m.pot},
                               {"emulsion", m.emulsion},
                               {"usable", seconds(m.usable)},
                               {"until", seconds(m.good_until)}});
    }
    Json rows = Json::array(), tag_orders = Json::array();
    for (const auto& o : document.operations) {
        const int tag = tags.of(o.screen);
        if (tag == static_cast<int>(tag_orders.size())) tag_orders.push_back(o.order);
        Json also = Json::array(), crew = Json::array();
        for (const auto& place : o.also_at)
            also.push_back(stations.of(place));
        for (const auto& person : o.people)
            crew.push_back(people.of(person));
        rows.push_back({tag, steps.of(o.step), o.round, o.screen.empty() ? o.words : "",
                        stations.of(o.place), std::move(also), std::move(crew), o.places,
                        seconds(o.start), seconds(o.work_end), seconds(o.end),
                        seconds(o.place_until), seconds(o.people_until),
                        o.batch ? Json(*o.batch) : Json(nullptr)});
    }
    out["tags"] = tags.list();
    out["tag_orders"] = std::move(tag_orders);
    out["steps"] = steps.list();
    out["over"] = document.again ? Json(document.again->over) : Json::array();
    out["rows"] = std::move(rows);
    return out.dump(-1, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace sched::board
