#include "sched/app/parts/plan_difference.hpp"

#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>

#include "sched/report/plan/compare.hpp"

namespace sched::app {

namespace {

using Json = nlohmann::ordered_json;

constexpr std::size_t most_rows = 12;  // of one person

Json time_of(const std::optional<model::SimTime>& t) {
    return t ? Json(model::format_date_time(*t)) : Json(nullptr);
}

}  // namespace

std::string plan_difference(const report::PlanDocument& was, const report::PlanDocument& is,
                            model::SimTime now) {
    const auto all = report::differences(was, is);
    Json orders = Json::array(), people = Json::array();
    std::vector<report::Changed<report::OrderLine>> by_risk;
    for (const auto& o : all.orders)
        by_risk.push_back(o);
    for (const auto& o : by_risk) {
        const auto* any = o.now ? o.now : o.was;
        const auto chance = [](const report::OrderLine* line) {
            return line && line->chance_late ? Json(*line->chance_late) : Json(nullptr);
        };
        orders.push_back({{"name", any->name},
                          {"due", time_of(any->due)},
                          {"was", o.was ? time_of(o.was->ready) : Json(nullptr)},
                          {"now", o.now ? time_of(o.now->ready) : Json(nullptr)},
                          {"late_was", chance(o.was)},
                          {"late_now", chance(o.now)}});
    }
    struct Row {
        model::SimTime at;
        Json json;
    };
    std::map<std::string, std::vector<Row>> rows;
    std::size_t steps = 0;
    for (const auto& s : all.steps) {
        const auto* any = s.now ? s.now : s.was;
        if (any->people.empty() || any->step == "put-in" || any->step == "take-out") continue;
        if (any->start < now && (!s.was || s.was->start < now)) continue;
        ++steps;
        std::vector<std::string> names = any->people;
        if (s.was) names.insert(names.end(), s.was->people.begin(), s.was->people.end());
        std::sort(names.begin(), names.end());
        names.erase(std::unique(names.begin(), names.end()), names.end());
        for (const auto& name : names) {
            const auto has = [&](const report::OperationLine* line) {
                return line && std::find(line->people.begin(), line->people.end(), name) !=
                                   line->people.end();
            };
            const bool before = has(s.was), after = has(s.now);
            Json row{{"screen", any->screen},
                     {"step", any->screen.empty() ? any->words : any->step},
                     {"was", before ? time_of(s.was->start) : Json(nullptr)},
                     {"now", after ? time_of(s.now->start) : Json(nullptr)},
                     {"place_was", before ? s.was->place : ""},
                     {"place", after ? s.now->place : ""}};
            rows[name].push_back({after ? s.now->start : any->start, std::move(row)});
        }
    }
    for (const auto& p : is.people) {
        auto found = rows.find(p.name);
        if (found == rows.end()) continue;
        auto& list = found->second;
        std::stable_sort(list.begin(), list.end(),
                         [](const Row& a, const Row& b) { return a.at < b.at; });
        Json out = Json::array();
        for (std::size_t i = 0; i < list.size() && i < most_rows; ++i)
            out.push_back(std::move(list[i].json));
        people.push_back({{"name", p.name},
                          {"rows", std::move(out)},
                          {"more", list.size() > most_rows ? list.size() - most_rows : 0}});
    }
    return Json{{"orders", std::move(orders)}, {"people", std::move(people)}, {"steps", steps}}
        .dump(-1, ' ', false, Json::error_handler_t::replace);
}

}  // namespace sched::app
