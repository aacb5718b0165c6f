// Plans invented rooms with a small budget and lets both judges read each plan: how many break a
// rule, by rule, with the seed of each. docs/checking.md says what the last long run gave.
//
//     coatroom-judge --rooms 10000 --evaluations 12

#include <CLI/CLI.hpp>
#include <cstdio>
#include <map>

#include "tests/room_judge/planned.hpp"
#include "tests/room_judge/random_scenario.hpp"

int main(int argc, char** argv) {
    CLI::App app("Random rooms, planned and judged");
    std::uint64_t first = 1;
    int rooms = 1000, shown = 3;
    std::int64_t evaluations = 12;
    app.add_option("--first", first, "First seed");
    app.add_option("--rooms", rooms, "How many");
    app.add_option("--evaluations", evaluations, "Schedules tried for each plan");
    app.add_option("--show", shown, "Findings shown of each rule");
    CLI11_PARSE(app, argc, argv);
    int unsound = 0, without = 0, planned_rooms = 0, broken = 0, screens = 0;
    std::map<std::string, int> by_rule;
    for (int k = 0; k < rooms; ++k) {
        const std::uint64_t seed = first + static_cast<std::uint64_t>(k);
        const auto scenario = random_scenario::make(seed);
        const auto result = planned::plan(scenario, random_scenario::first_day(), evaluations);
        if (!result.plan) {
            ++(result.sound ? without : unsound);
            continue;
        }
        ++planned_rooms;
        screens += static_cast<int>(result.plan->screens.size());
        auto found = planned::verdict(*result.plan, scenario);
        for (const auto& words : result.broken)
            found.push_back("problem: " + words);
        if (!found.empty()) ++broken;
        for (const auto& words : found) {
            const std::string rule = words.substr(0, words.find(':'));
            if (by_rule[rule]++ < shown)
                std::printf("seed %llu %s\n", static_cast<unsigned long long>(seed), words.c_str());
        }
    }
    std::printf(
        "%d rooms: %d planned (%d screens), %d without a plan, %d unsound; %d break a rule\n",
        rooms, planned_rooms, screens, without, unsound, broken);
    for (const auto& [rule, count] : by_rule)
        std::printf("  %-22s %d\n", rule.c_str(), count);
    return broken == 0 ? 0 : 1;
}
