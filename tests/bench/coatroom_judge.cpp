// Plans invented rooms with a small budget and lets both judges read each plan; simulates some days
// of it; then something happens in the middle of each day, and it is planned again: how many break
// a rule, by rule, with the seed of each. docs/checking.md says what the last long run gave.
//
//     coatroom-judge --rooms 10000 --evaluations 8 --days 3 --shrink

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cstdio>
#include <map>
#include <utility>

#include "model/room/steps.hpp"
#include "tests/room_judge/odd_days.hpp"
#include "tests/room_judge/planned.hpp"
#include "tests/room_judge/random_scenario.hpp"
#include "tests/room_judge/shrink.hpp"
#include "tests/room_judge/simulated_days.hpp"

namespace {

struct Tally {
    const char* what;
    int asked = 0, unsound = 0, without = 0, plans = 0, broken = 0, screens = 0;
};

// What has happened, to see it beside what is said.
std::string told(const sched::app::Question& question) {
    if (!question.midday) return {};
    const auto& midday = *question.midday;
    std::string out = " now " + model::format_date_time(midday.now);
    for (const auto& s : midday.state.screens) {
        const auto& steps = !s.in.empty() ? s.in : !s.done.empty() ? s.done : s.back_to;
        out += ", " + s.screen +
               (!s.in.empty()     ? " in "
                : !s.done.empty() ? " has done "
                                  : " back to ") +
               std::string(model::words_of(steps.front()));
    }
    const auto away = [&](const model::AwayNow& a) {
        out += ", without " + a.name;
        if (a.from) out += " from " + model::format_duration(*a.from);
        if (a.until) out += " until " + model::format_duration(*a.until);
    };
    for (const auto& a : midday.state.people)
        away(a);
    for (const auto& a : midday.state.stations)
        away(a);
    return out;
}

class Run {
public:
    Run(int shown, bool whole) : shown_(shown), whole_(whole) {}

    planned::Planned judged(Tally& tally, std::uint64_t seed,
                            const sched::app::Question& question) {
        ++tally.asked;
        auto result = planned::plan(question);
        if (!result.plan) {
            ++(result.sound ? tally.without : tally.unsound);
            if (none_[std::string(tally.what) + (result.sound ? "" : " unsound")]++ < shown_)
                std::printf("%s seed %llu%s: none: %s\n", tally.what,
                            static_cast<unsigned long long>(seed), told(question).c_str(),
                            result.why_none.c_str());
            if (whole_ && question.midday) print_plan(*question.midday->posted);
            return result;
        }
        ++tally.plans;
        tally.screens += static_cast<int>(result.plan->screens.size());
        const auto found = findings(result, question.scenario);
        if (!found.empty()) ++tally.broken;
        say(tally.what, seed, told(question), found);
        if (!found.empty() && whole_) print_plan(*result.plan);
        return result;
    }

    static std::vector<std::string> findings(const planned::Planned& result,
                                             const model::Scenario& scenario) {
        auto found = planned::verdict(*result.plan, scenario);
        for (const auto& words : result.broken)
            found.push_back("problem: " + words);
        return found;
    }

    void simulate(Tally& tally, std::uint64_t seed, const sched::app::Question& question,
                  const planned::Planned& result, int days) {
        const auto simulated = planned::simulated_days(question.scenario, result, days, seed);
        ++tally.asked;
        tally.plans += simulated.days;
        tally.without += simulated.unfinished;
        improvised_ += simulated.improvised;
        ready_ += simulated.screens;
        stays_ += simulated.stays;
        tally.screens += static_cast<int>(result.plan->screens.size()) * simulated.days;
        if (!simulated.broken.empty()) ++tally.broken;
        say(tally.what, seed, "", simulated.broken);
    }

    void say(const char* what, std::uint64_t seed, const std::string& told,
             const std::vector<std::string>& found) {
        for (const auto& words : found) {
            const std::string rule = words.substr(0, words.find(':'));
            if (first_rule_.empty()) first_rule_ = rule;
            if (by_rule_[rule]++ < shown_)
                std::printf("%s seed %llu%s: %s\n", what, static_cast<unsigned long long>(seed),
                            told.c_str(), words.c_str());
        }
    }

    void print_days(const Tally& t) const {
        std::printf(
            "%d days simulated of %d rooms (%d screens), %d unfinished, %d improvised; "
            "%d rooms break a rule\n",
            t.plans, t.asked, t.screens, t.without, improvised_, t.broken);
        std::printf(
            "  %lld screens ready, inside for %.2f h on average\n", static_cast<long long>(ready_),
            ready_ > 0 ? static_cast<double>(stays_) / 3600.0 / static_cast<double>(ready_) : 0.0);
    }

    /// The rule of the first finding since it was last asked; "": none.
    std::string take_first_rule() { return std::exchange(first_rule_, {}); }

    static void print_plan(const sched::report::PlanDocument& plan) {
        for (const auto& o : plan.operations)
            std::printf("    %s %s %s %s..%s..%s at %s%s%s\n", o.screen.c_str(), o.step.c_str(),
                        o.batch ? std::to_string(*o.batch).c_str() : "-",
                        model::format_date_time(o.start).c_str(),
                        model::format_date_time(o.work_end).c_str(),
                        model::format_date_time(o.end).c_str(), o.place.c_str(),
                        o.people.empty() ? "" : " by ",
                        o.people.empty() ? "" : o.people.front().c_str());
    }

    void print(const Tally& t) const {
        std::printf(
            "%-12s %6d: %d planned (%d screens), %d without a plan, %d unsound; %d break a rule\n",
            t.what, t.asked, t.plans, t.screens, t.without, t.unsound, t.broken);
    }
    void print_rules() const {
        for (const auto& [rule, count] : by_rule_)
            std::printf("  %-22s %d\n", rule.c_str(), count);
    }

private:
    int shown_;
    int improvised_ = 0;
    std::int64_t ready_ = 0, stays_ = 0;
    bool whole_;  // print the plans that break a rule
    std::map<std::string, int> by_rule_, none_;
    std::string first_rule_;
};

// Whether the rule is broken somewhere on the way that main() goes with each room.
bool breaks(const std::string& rule, const sched::app::Question& question, std::uint64_t seed,
            int days) {
    const auto has = [&](const std::vector<std::string>& found) {
        return std::any_of(found.begin(), found.end(), [&](const std::string& words) {
            return words.substr(0, words.find(':')) == rule;
        });
    };
    const auto result = planned::plan(question);
    if (!result.plan) return false;
    if (has(Run::findings(result, question.scenario))) return true;
    if (days > 0 && has(planned::simulated_days(question.scenario, result, days, seed).broken))
        return true;
    if (rule.starts_with("day ")) return false;
    const auto midday = random_scenario::happened(question, *result.plan, seed);
    const auto again = planned::plan(midday);
    return again.plan && has(Run::findings(again, midday.scenario));
}

void print_small(const std::string& rule, const sched::app::Question& question, std::uint64_t seed,
                 int days) {
    const auto small =
        random_scenario::shrink(question.scenario, [&](const model::Scenario& scenario) {
            sched::app::Question smaller = question;
            smaller.scenario = scenario;
            return breaks(rule, smaller, seed, days);
        });
    std::size_t screens = 0;
    for (const auto& order : small.scenario.orders) {
        for (const auto& line : order.lines)
            screens += static_cast<std::size_t>(line.count);
    }
    std::printf(
        "seed %llu, %s: still there with %zu screens, %zu people, %zu stations (%d tried)\n",
        static_cast<unsigned long long>(seed), rule.c_str(), screens,
        small.scenario.room.people.size(), small.scenario.room.stations.size(), small.tried);
    std::printf("    cut {");
    for (const auto& name : small.cuts)
        std::printf("\"%s\", ", name.c_str());
    std::printf("}\n");
}

}  // namespace

int main(int argc, char** argv) {
    CLI::App app("Random rooms, planned and judged");
    std::uint64_t first = 1;
    int rooms = 1000, shown = 3;
    std::int64_t evaluations = 12;
    int days = 0;
    bool whole = false, shrinks = false;
    app.add_option("--first", first, "First seed");
    app.add_option("--rooms", rooms, "How many; every other one is odd");
    app.add_option("--evaluations", evaluations, "Schedules tried for each plan");
    app.add_option("--show", shown, "Findings shown of each rule");
    app.add_option("--days", days, "Simulated days of each plan");
    app.add_flag("--shrink", shrinks, "Make a room that breaks a rule as small as it goes");
    app.add_flag("--plans", whole,
                 "Print every plan that breaks a rule, and that to which there is none");
    CLI11_PARSE(app, argc, argv);
    std::setvbuf(stdout, nullptr, _IOLBF, 0);  // a crash leaves what was found
    Tally plain{"plain"}, odd{"odd"}, again{"again"}, odd_again{"odd again"}, simulated{"days"};
    Run run(shown, whole);
    for (int k = 0; k < rooms; ++k) {
        const std::uint64_t seed = first + static_cast<std::uint64_t>(k);
        const bool is_odd = seed % 2 == 0;
        sched::app::Question question{.scenario = is_odd ? random_scenario::make_odd(seed / 2)
                                                         : random_scenario::make(seed / 2 + 1),
                                      .start = random_scenario::first_day()};
        question.how.threads = 1;
        question.how.budget.evaluations = evaluations;
        const auto result = run.judged(is_odd ? odd : plain, seed, question);
        if (!result.plan) continue;
        if (days > 0) run.simulate(simulated, seed, question, result, days);
        run.judged(is_odd ? odd_again : again, seed,
                   random_scenario::happened(question, *result.plan, seed));
        const std::string rule = run.take_first_rule();
        if (shrinks && !rule.empty()) print_small(rule, question, seed, days);
    }
    for (const Tally* t : {&plain, &odd, &again, &odd_again})
        run.print(*t);
    if (days > 0) run.print_days(simulated);
    run.print_rules();
    const int broken =
        plain.broken + odd.broken + again.broken + odd_again.broken + simulated.broken;
    return broken == 0 ? 0 : 1;
}
