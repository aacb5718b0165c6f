#include "sched/app/parts/verdict.hpp"

#include <cstdio>

#include "sched/check/checker.hpp"
#include "sched/check/room/judge.hpp"

namespace sched::app {

bool passes(const core::Problem& problem, const core::Schedule& schedule) {
    const auto violations = check::check(problem, schedule);
    for (const auto& v : violations) {
        std::fprintf(stderr, "broken rule [%s]: %s\n", check::words(v.rule).c_str(),
                     v.words.c_str());
    }
    return violations.empty();
}

namespace {

bool print_findings(const std::vector<check::room::Finding>& findings, const char* what) {
    std::size_t printed = 0;
    for (const auto& f : findings) {
        if (++printed > most_breaches) {
            std::fprintf(stderr, "and %zu more.\n", findings.size() - most_breaches);
            break;
        }
        std::fprintf(stderr, "%s [%s]: %s\n", what, f.rule.c_str(), f.words.c_str());
    }
    return findings.empty();
}

}  // namespace

bool passes_room(const report::PlanDocument& document, const model::Scenario& scenario,
                 const std::vector<report::InputFile>& inputs) {
    return print_findings(check::room::judge_room(document, scenario, {.inputs = inputs}),
                          "broken rule of the room");
}

bool agrees(const report::PlanDocument& document) {
    return print_findings(check::room::judge_document(document), "the plan contradicts itself");
}

bool passes_all(const report::PlanDocument& document, const model::Scenario& scenario) {
    const bool itself = agrees(document);
    // Who contradicts himself is not asked further: the second part relies on the first.
    if (itself && passes_room(document, scenario, {})) return true;
    std::fprintf(stderr,
                 "coatroom plan: nothing is written. The plan that was found is not what the room "
                 "says: a fault of the program, not of your files. Please report the lines above "
                 "with the scenario and the command; another --seed may do for today.\n");
    return false;
}

}  // namespace sched::app
