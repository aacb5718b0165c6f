#include "tests/room_judge/day_figures.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <tuple>

namespace planned {

namespace {

struct Moment {
    std::int64_t at;
    std::size_t step;  // its number
    bool ends;
    auto operator<=>(const Moment&) const = default;
};

struct Screen {
    std::int64_t came = 0;
    int round = 0;
    int under_way = 0;
    bool bad = false, ready = false;
};

}  // namespace

DayFigures figures_of(const std::vector<LoggedStep>& steps) {
    std::vector<Moment> moments;
    for (std::size_t i = 0; i < steps.size(); ++i) {
        moments.push_back({steps[i].from, i, false});
        moments.push_back({steps[i].to, i, true});
    }
    // What ends at the instant at which the next step of the screen begins comes first: it stands
    // before it in the log.
    std::sort(moments.begin(), moments.end());
    DayFigures day;
    std::map<int, Screen> screens;
    std::int64_t before = moments.empty() ? 0 : moments.front().at;
    const auto wrong = [&](int screen, const char* words) {
        day.wrong.push_back(fmt::format("screen {} {}", screen, words));
    };
    for (const Moment& m : moments) {
        const LoggedStep& step = steps[m.step];
        day.area += day.inside * (m.at - before);
        before = m.at;
        const auto [found, came] = screens.try_emplace(step.screen);
        Screen& screen = found->second;
        if (m.ends) {
            --screen.under_way;
            if (screen.under_way < 0) wrong(step.screen, "ends a step before it begins");
            screen.bad |= step.bad;
            if (!step.last || step.bad) continue;
            screen.ready = true;
            ++day.ready;
            --day.inside;
            day.stays += m.at - screen.came;
            day.ready_at[step.screen] = m.at;
            continue;
        }
        if (came) {
            screen.came = m.at;
            screen.round = step.round;
            ++day.came;
            ++day.inside;
        }
        if (screen.ready) wrong(step.screen, "is worked on after it is ready");
        if (screen.under_way > 0) wrong(step.screen, "is in two steps at a time");
        if (step.round != screen.round + (screen.bad ? 1 : 0))
            wrong(step.screen,
                  screen.bad ? "goes on after it was found bad" : "is made again, and was not bad");
        day.again += screen.bad ? 1 : 0;
        screen.round = step.round;
        screen.bad = false;
        ++screen.under_way;
    }
    return day;
}

}  // namespace planned
