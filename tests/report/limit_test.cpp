// "Limits the day" is said of what saves something when there is more of it, and of nothing else.

#include <algorithm>

#include "sched/report/plan/what_if_lines.hpp"
#include "tests/catch.hpp"
#include "tests/report/fixture.hpp"

using namespace sched;
using report::PlanDocument;

namespace {

/// One more of resource `r`, with these savings per criterion of the fixture's objective.
search::WhatIf one_more(int r, std::int64_t first, std::int64_t rest, bool certain = true) {
    search::WhatIf w;
    w.resource = core::ResourceId{r};
    const auto room = fixture::room();
    const auto& objective = room.problem.objective;
    for (std::size_t k = 0; k < objective.size(); ++k)
        w.saved.push_back(k == 0 ? first : objective[k] == core::Criterion::Makespan ? rest : 0);
    w.certain = certain;
    return w;
}

PlanDocument said(const std::vector<search::WhatIf>& tried) {
    PlanDocument d = fixture::document();
    report::add_limit(fixture::room(), tried, d);
    return d;
}

}  // namespace

TEST_CASE("what saves lateness limits the day, not what is waited for", "[limit]") {
    const auto room = fixture::room();
    REQUIRE(room.problem.objective.front() == core::Criterion::WeightedTardiness);
    const auto name = [&](int r) {
        return room.problem.resources[static_cast<std::size_t>(r)].name;
    };
    // Waited for longest, tried first, saves nothing.
    auto d = said({one_more(2, 600, 0), one_more(0, 0, 0)});
    CHECK(d.bottleneck.resource == name(2));
    CHECK(d.bottleneck.sentences[1].find("saves 10 min of lateness") != std::string::npos);

    d = said({one_more(0, 0, 0), one_more(2, 0, 0)});
    CHECK(d.bottleneck.resource.empty());
    CHECK(d.bottleneck.sentences[0].rfind("Nothing limits the day: planned again with", 0) == 0);
    CHECK(d.bottleneck.sentences[0].find(name(0)) != std::string::npos);
    CHECK(d.bottleneck.sentences[0].find(name(2)) != std::string::npos);

    // After six schedules with each change nobody knows.
    auto one = one_more(0, 0, 0), other = one_more(2, 0, 0);
    one.schedules = other.schedules = 6;
    const auto few = said({one, other});
    CHECK(few.bottleneck.sentences[0].rfind("It is not known what limits the day: with", 0) == 0);
    other.schedules = 100;
    CHECK(said({one, other}).bottleneck.sentences[0].rfind("Nothing limits the day", 0) == 0);

    if (std::any_of(d.orders.begin(), d.orders.end(),
                    [](const auto& o) { return o.lateness && *o.lateness > model::Seconds{0}; }))
        CHECK(d.bottleneck.sentences[0].find("no late order is in time") != std::string::npos);
    CHECK(said({}).bottleneck.sentences[0] ==
          "Nothing limits the day: no step waits because a place or a person is taken.");
}

TEST_CASE("hours that save something limit the day where nothing else does", "[limit]") {
    const auto room = fixture::room();
    const auto of_person = std::find_if(room.resources.begin(), room.resources.end(), [](auto& x) {
        return x.kind == compile::ResourceKind::Person;
    });
    const auto person = static_cast<int>(of_person - room.resources.begin());
    const std::string name = room.problem.resources[static_cast<std::size_t>(person)].name;
    auto longer = one_more(person, 600, 0);
    longer.kind = search::WhatIf::Kind::Longer;
    auto d = said({longer, one_more(0, 0, 0)});
    CHECK(d.bottleneck.resource == name);
    CHECK(d.bottleneck.sentences[0] == "The hours of " + name + " limit the day.");
    CHECK(d.bottleneck.sentences[1].find("half an hour longer: saves 10 min of lateness") !=
          std::string::npos);
    // A place has hours in which it is closed.
    auto closed = room;
    const core::SimTime from = closed.problem.horizon_start + model::hours(12);
    closed.problem.resources[0].calendar = core::Calendar{
        {closed.problem.horizon_start, from}, {from + model::hours(1), closed.problem.horizon_end}};
    auto open = one_more(0, 600, 0);
    open.kind = search::WhatIf::Kind::Longer;
    PlanDocument of_place = fixture::document();
    report::add_limit(closed, {open}, of_place);
    CHECK(of_place.bottleneck.sentences[1].find(" is not closed (" +
                                                model::format_time_of_day(from) + " to " +
                                                model::format_time_of_day(from + model::hours(1)) +
                                                "): saves 10 min") != std::string::npos);
    // One more of something saves as well: that is said, as before.
    d = said({longer, one_more(0, 300, 0)});
    CHECK(d.bottleneck.sentences[0].find("The hours of") == std::string::npos);
    // Luck may have won: nothing is claimed.
    longer.certain = false;
    CHECK(said({longer}).bottleneck.resource.empty());
}

TEST_CASE("a try that luck may have won, or under a minute, limits nothing", "[limit]") {
    CHECK(said({one_more(2, 600, 0, false)}).bottleneck.resource.empty());
    CHECK(said({one_more(2, 59, 0)}).bottleneck.resource.empty());
    // An earlier finish paid for with lateness is none.
    CHECK(said({one_more(2, -60, 3600)}).bottleneck.resource.empty());
    const auto room = fixture::room();
    const auto& aims = room.problem.objective;
    if (std::count(aims.begin(), aims.end(), core::Criterion::Makespan) > 0) {
        const auto d = said({one_more(2, 0, 1800)});
        CHECK_FALSE(d.bottleneck.resource.empty());
        CHECK(d.bottleneck.sentences[1].find("the run ends 30 min sooner") != std::string::npos);
    }
}

TEST_CASE("one more person is there as long as the night, not up to the first break", "[limit]") {
    auto room = fixture::room();
    std::size_t r = 0;
    while (room.resources[r].kind != compile::ResourceKind::Person)
        ++r;
    const auto at = [](const char* text) { return *model::parse_date_time(text); };
    room.problem.resources[r].calendar =
        core::Calendar{{at("2026-11-26T22:00"), at("2026-11-27T00:45")},
                       {at("2026-11-27T01:05"), at("2026-11-27T06:00")},
                       {at("2026-11-27T22:00"), at("2026-11-28T06:00")}};
    PlanDocument d = fixture::document();
    report::add_limit(room, {one_more(static_cast<int>(r), 600, 0)}, d);
    CHECK(d.bottleneck.sentences[1].find("(22:00 to 06:00)") != std::string::npos);
    // Whoever is copied may stay an hour longer when asked: that is no shift.
    room.problem.resources[r].calendar->front().from = at("2026-11-26T21:00");
    room.problem.resources[r].calendar->at(1).to = at("2026-11-27T07:00");
    room.problem.overtime = {{.resource = core::ResourceId{r},
                              .window = {at("2026-11-27T06:00"), at("2026-11-27T07:00")}}};
    report::add_limit(room, {one_more(static_cast<int>(r), 600, 0)}, d = fixture::document());
    CHECK(d.bottleneck.sentences[1].find("(21:00 to 06:00)") != std::string::npos);
    // A long midday closes no day, and nobody is there in it.
    room.problem.resources[r].calendar =
        core::Calendar{{at("2026-11-26T08:00"), at("2026-11-26T13:00")},
                       {at("2026-11-26T16:00"), at("2026-11-26T20:00")},
                       {at("2026-11-27T08:00"), at("2026-11-27T13:00")}};
    report::add_limit(room, {one_more(static_cast<int>(r), 600, 0)}, d = fixture::document());
    CHECK(d.bottleneck.sentences[1].find("(08:00 to 13:00 and 16:00 to 20:00)") !=
          std::string::npos);
}

TEST_CASE("a late order that is in time on paper needs no more of anything", "[limit]") {
    PlanDocument d = fixture::document();
    auto& late = *std::find_if(d.orders.begin(), d.orders.end(), [](const auto& o) {
        return o.lateness && *o.lateness > model::Seconds{0};
    });
    d.bottleneck.sentences = {"Nothing limits the day: so it was said.", "Waits."};
    std::vector<std::optional<model::SimTime>> ready(d.orders.size(), *late.due);
    report::add_in_time_on_paper(ready, d);
    REQUIRE(d.bottleneck.sentences.size() == 2);
    CHECK(d.bottleneck.sentences[0].find("With what the room has " + late.name + " (") == 0);
    CHECK(d.bottleneck.sentences[0].find("--pin \"" + late.name + " by ") != std::string::npos);
    CHECK(d.bottleneck.sentences[1] == "Waits.");
    // Late on paper as well: nothing is said.
    ready.assign(d.orders.size(), *late.due + model::Seconds{1});
    d.bottleneck.sentences = {"Nothing limits the day: so it was said."};
    report::add_in_time_on_paper(ready, d);
    CHECK(d.bottleneck.sentences.size() == 1);
    CHECK(d.bottleneck.sentences[0].find("Nothing limits") == 0);
}

namespace {

/// One more of resource `r` that saves 10 min on paper, judged on 100 days: `cost` h, `late` fewer
/// orders, `saved` s of the first aim, and the first order from late on all days to a quarter.
search::WhatIf judged(int r, double cost, double late, double saved, bool shows) {
    search::WhatIf w = one_more(r, 600, 0);
    search::WhatIf::OnDays days{.days = 100, .cost = cost, .shows = shows, .fewer_late = late};
    days.fewer_show = shows && late != 0.0;
    days.saved.assign(w.saved.size(), 0.0);
    days.saved_shows.assign(w.saved.size(), 0);
    days.saved[0] = saved;
    days.saved_shows[0] = shows ? 1 : 0;
    if (days.fewer_show) days.orders.push_back({core::OrderId{0}, 1.0, 0.25});
    w.on_days = days;
    return w;
}

}  // namespace

TEST_CASE("where days have judged, what shows on them limits the day", "[limit]") {
    const auto room = fixture::room();
    const auto name = [&](int r) {
        return room.problem.resources[static_cast<std::size_t>(r)].name;
    };
    auto d = said({judged(2, -1.5, 1.2, 5400.0, true), judged(0, 0.0, 0.0, 0.0, false)});
    CHECK(d.bottleneck.resource == name(2));
    CHECK(d.bottleneck.sentences[1].find("about 1.2 fewer late orders") != std::string::npos);
    CHECK(d.bottleneck.sentences[1].find("100 % -> 25 %") != std::string::npos);
    CHECK(d.bottleneck.sentences[1].find("saves 1 h 30 min of lateness") != std::string::npos);
    CHECK(d.bottleneck.sentences[2].find("100 simulated days") != std::string::npos);
    // A saving on paper that no day shows limits nothing.
    d = said({judged(2, -0.1, 0.0, 300.0, false)});
    CHECK(d.bottleneck.resource.empty());
    CHECK(d.bottleneck.sentences[0].find("chance") != std::string::npos);
}

TEST_CASE("changes of which the same is said share a line at the end", "[limit]") {
    const std::vector<report::WhatIfLine> lines = {
        {"one more Ada", "saves 20 min"},  {"Ben stays longer", "saves nothing"},
        {"one more sink", "saves 10 min"}, {"one more rack", "saves nothing"},
        {"one more booth", "no gain"},
    };
    const std::vector<report::WhatIfLine> said = {
        lines[0], lines[2], lines[4], {"Ben stays longer; one more rack", "saves nothing"}};
    CHECK(report::merged(lines) == said);
    CHECK(report::merged({}).empty());
}

TEST_CASE("the list says what days show, and what is so on paper only", "[limit]") {
    const auto room = fixture::room();
    PlanDocument d = fixture::document();
    auto unjudged = one_more(1, 600, 0);
    report::add_what_ifs(room,
                         {judged(2, -1.5, 1.2, 5400.0, true), judged(0, -0.1, 0.0, 300.0, false),
                          judged(1, 2.0, -0.5, -7200.0, true), unjudged},
                         d);
    const auto& lines = d.bottleneck.what_ifs;
    REQUIRE(lines.size() == 4);
    CHECK(lines[0].words.rfind("about 1.2 fewer late orders (late: ", 0) == 0);
    CHECK(lines[1].words ==
          "nothing that is more than chance (if nothing takes longer: saves 10 min of lateness "
          "(weighted))");
    CHECK(lines[2].words.rfind("makes it worse: about 0.5 more late orders", 0) == 0);
    CHECK(lines[3].words.find("on paper: no time was left to simulate it") != std::string::npos);
    CHECK(d.bottleneck.sentences.back() ==
          "What would help, on the same 100 simulated days with and without it:");
}
