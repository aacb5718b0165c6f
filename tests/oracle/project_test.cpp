// Projects: the critical path of two textbook networks.

#include "tests/oracle/answers.hpp"

using namespace oracle;

namespace {

struct Activity {
    std::int64_t duration;
    std::string after;  // letters
};

/// Activity k is letter 'A' + k.
Problem network(const std::vector<Activity>& activities, bool reversed) {
    Builder b({Criterion::Makespan});
    for (const auto& a : activities)
        b.operation(b.job(), a.duration);
    for (std::size_t k = 0; k < activities.size(); ++k) {
        for (const char c : activities[k].after) {
            const OperationId before{static_cast<std::size_t>(c - 'A')};
            reversed ? b.before(OperationId{k}, before) : b.before(before, OperationId{k});
        }
    }
    return b.done();
}

struct CriticalPath {
    std::int64_t length = 0;
    std::vector<std::int64_t> es, ef, ls, lf, slack;
    std::string critical;
};

/// Forward: earliest starts. Backward: the network run from its end, its time turned round.
CriticalPath critical_path(const std::vector<Activity>& activities) {
    const Problem forward = network(activities, false);
    const auto s = left_shifted(forward, {});
    REQUIRE(s);
    CriticalPath c{.length = evaluate(forward, *s).parts[0], .es = starts(*s), .ef = ends(*s)};
    is_worth(forward, s, {c.length});
    const auto back = left_shifted(network(activities, true), {});
    REQUIRE(back);
    Schedule latest = *s;
    for (std::size_t k = 0; k < activities.size(); ++k) {
        c.lf.push_back(c.length - starts(*back)[k]);
        c.ls.push_back(c.length - ends(*back)[k]);
        c.slack.push_back(c.ls[k] - c.es[k]);
        if (c.slack[k] == 0) c.critical += static_cast<char>('A' + k);
        latest.placements[k].start = at(c.ls[k]);
        latest.placements[k].work_end = latest.placements[k].end = at(c.lf[k]);
    }
    is_worth(forward, latest, {c.length});  // the latest starts are a schedule, no longer
    for (std::size_t k = 0; k < activities.size(); ++k) {  // and none of them can be later
        Schedule later = latest;
        auto& p = later.placements[k];
        p.start += Seconds{1};
        p.work_end += Seconds{1};
        p.end += Seconds{1};
        CHECK((!sched::check::check(forward, later).empty() ||
               evaluate(forward, later).parts[0] > c.length));
    }
    return c;
}

using Numbers = std::vector<std::int64_t>;

}  // namespace

TEST_CASE("Milwaukee Paper: 15 weeks along A C E G H", "[oracle][project]") {
    // J. Heizer & B. Render, Operations Management.
    const CriticalPath c = critical_path(
        {{2, ""}, {3, ""}, {2, "A"}, {4, "B"}, {4, "C"}, {3, "C"}, {5, "DE"}, {2, "FG"}});
    CHECK(c.length == 15);
    CHECK(c.es == Numbers{0, 0, 2, 3, 4, 4, 8, 13});
    CHECK(c.ef == Numbers{2, 3, 4, 7, 8, 7, 13, 15});
    CHECK(c.ls == Numbers{0, 1, 2, 4, 4, 10, 8, 13});
    CHECK(c.lf == Numbers{2, 4, 4, 8, 8, 13, 13, 15});
    CHECK(c.slack == Numbers{0, 1, 0, 1, 0, 6, 0, 0});
    CHECK(c.critical == "ACEGH");
}

TEST_CASE("Milwaukee Paper: least extra cost of a shorter project", "[oracle][project]") {
    // Heizer & Render, project crashing (costs from memory, recomputed by trying all whole weeks).
    const std::vector<Activity> normal{{2, ""},  {3, ""},  {2, "A"},  {4, "B"},
                                       {4, "C"}, {3, "C"}, {5, "DE"}, {2, "FG"}};
    const std::vector<std::int64_t> crash{1, 1, 1, 3, 2, 2, 2, 1},
        per_week{750, 2000, 1000, 1000, 1000, 500, 1500, 3000};
    std::map<std::int64_t, std::int64_t> least;  // length -> extra cost
    auto now = normal;
    const auto go = [&](const auto& self, std::size_t k, std::int64_t cost) -> void {
        if (k == now.size()) {
            const Problem p = network(now, false);
            const std::int64_t length = evaluate(p, *left_shifted(p, {})).parts[0];
            const auto [it, fresh] = least.try_emplace(length, cost);
            if (!fresh) it->second = std::min(it->second, cost);
            return;
        }
        for (std::int64_t d = normal[k].duration; d >= crash[k]; --d) {
            now[k].duration = d;
            self(self, k + 1, cost + (normal[k].duration - d) * per_week[k]);
        }
    };
    go(go, 0, 0);
    Numbers costs;
    std::int64_t best = 1'000'000;
    for (const auto& [length, cost] :
         least) {  // shorter for the same money counts for the longer as well
        best = std::min(best, cost);
        costs.push_back(best);
    }
    CHECK(least.begin()->first == 7);
    REQUIRE(least.size() == 9);  // every length from 7 to 15 weeks
    std::reverse(costs.begin(), costs.end());
    CHECK(costs == Numbers{0, 750, 2250, 3750, 5250, 7250, 10250, 13250, 16250});
}

TEST_CASE("Reliable Construction: 44 weeks along A B C E F J L N", "[oracle][project]") {
    // F. S. Hillier & G. J. Lieberman, Introduction to Operations Research.
    const CriticalPath c = critical_path({{2, ""},
                                          {4, "A"},
                                          {10, "B"},
                                          {6, "C"},
                                          {4, "C"},
                                          {5, "E"},
                                          {7, "D"},
                                          {9, "EG"},
                                          {7, "C"},
                                          {8, "FI"},
                                          {4, "J"},
                                          {5, "J"},
                                          {2, "H"},
                                          {6, "KL"}});
    CHECK(c.length == 44);
    CHECK(c.critical == "ABCEFJLN");
    CHECK(c.slack == Numbers{0, 0, 0, 4, 0, 0, 4, 4, 2, 0, 1, 0, 4, 0});
}
