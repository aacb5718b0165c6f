#include "sched/check/room/trade.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>

namespace sched::check::room {

using model::Step;

namespace {

// The middle of the ranges that the trade gives; standing times after the person's. Of what dries
// the person's part is the hanging up.
constexpr std::array<TradeStep, model::step_count> steps{{
    {Step::InkOff, "ink-off", 270, 0, false, false},
    {Step::InkDegrease, "ink-degrease", 120, 60, false, false},
    {Step::Strip, "strip", 90, 0, false, false},
    {Step::Rinse, "rinse", 240, 0, false, false},
    {Step::Haze, "haze", 240, 300, false, false},
    {Step::Abrade, "abrade", 300, 0, false, false},
    {Step::Degrease, "degrease", 210, 90, false, false},
    {Step::DryMesh, "dry-mesh", 20, 1200, false, true},
    {Step::Coat, "coat", 240, 0, true, false},
    {Step::DryCoat, "dry-coat", 20, 2400, true, true},
    {Step::FaceCoat, "face-coat", 90, 0, true, false},
    {Step::DryFace, "dry-face", 20, 1500, true, true},
    {Step::Expose, "expose", 120, 0, true, false},
    {Step::WashOut, "wash-out", 240, 90, true, false},
    {Step::DryStencil, "dry-stencil", 20, 1200, false, true},
    {Step::Inspect, "inspect", 240, 0, false, false},
    {Step::DryTouchUp, "dry-touch-up", 20, 720, false, false},
    {Step::PostHarden, "post-harden", 180, 0, false, false},
    {Step::MixDissolve, "mix-dissolve", 240, 900, false, false},
    {Step::MixStir, "mix-stir", 300, 3600, true, false},
    {Step::TakeOut, "take-out", 60, 0, false, false},
}};
static_assert(steps.back().step == static_cast<Step>(model::step_count - 1), "a step has no row");

}  // namespace

const TradeStep& trade(Step step) {
    return *std::find_if(steps.begin(), steps.end(),
                         [&](const TradeStep& t) { return t.step == step; });
}

std::optional<Step> step_of_key(std::string_view key) {
    for (const TradeStep& t : steps) {
        if (t.key == key) return t.step;
    }
    return std::nullopt;
}

model::StepTime usual_time(const model::Room& room, Step step) {
    const model::StepTime usual{
        model::Seconds{trade(step).attended_s}, model::Seconds{trade(step).stands_s}, {}};
    const auto named = room.steps.find(step);
    if (named == room.steps.end()) return usual;
    model::StepTime time = named->second;
    // Of a drying step only the hanging up may be named.
    if (!time.stand_said) time.stand = usual.stand;
    return time;
}

model::StepTime time_here(const model::Room& room, Step step, model::StepTime usual,
                          const std::string& station, const model::Area& frame,
                          const std::vector<std::string>& people) {
    const auto named = room.steps.find(step);
    if (named == room.steps.end()) return usual;
    const auto lists = [](const std::vector<std::string>& list, const std::string& name) {
        return std::count(list.begin(), list.end(), name) > 0;
    };
    const auto by = [&](const std::string* person) {
        model::StepTime time = usual;
        for (const model::TimeException& e : named->second.but) {
            if (!e.at.empty() && !lists(e.at, station)) continue;
            if (e.frames_from && !larger(frame, *e.frames_from)) continue;
            if (!e.by.empty() && (person == nullptr || !lists(e.by, *person))) continue;
            if (e.attended) time.attended = *e.attended;
            if (e.stand) time.stand = *e.stand;
        }
        return time;
    };
    if (people.empty()) return by(nullptr);
    model::StepTime slowest = by(&people.front());
    for (const std::string& person : people) {
        const model::StepTime time = by(&person);
        if (time.attended > slowest.attended ||
            (time.attended == slowest.attended && time.stand < slowest.stand))
            slowest = time;
    }
    return slowest;
}

bool larger(const model::Area& frame, const model::Area& limit) {
    const auto [short_side, long_side] = std::minmax(frame.width, frame.height);
    const auto [short_limit, long_limit] = std::minmax(limit.width, limit.height);
    return short_side > short_limit || long_side > long_limit;
}

bool same_size(const model::Area& a, const model::Area& b) {
    const auto near = [](model::Centimetres x, model::Centimetres y) {
        return std::abs(x.value - y.value) < 0.05;
    };
    return (near(a.width, b.width) && near(a.height, b.height)) ||
           (near(a.width, b.height) && near(a.height, b.width));
}

// To 0.01 cm. What is cut off lies between the sixty-fourths of an inch, so that 20.75 in and
// 52.705 cm are the same whatever the last digit of a product.
std::string frame_words(double a_cm, double b_cm) {
    const auto cut = [](double cm) { return std::floor(100.0 * cm + 0.237) / 100.0; };
    return fmt::format("{:g} x {:g} cm", cut(std::min(a_cm, b_cm)), cut(std::max(a_cm, b_cm)));
}

std::string frame_words(const std::string& written) {
    const std::size_t x = written.find("x ");
    if (x == std::string::npos) return written;
    const double per = written.size() > 2 && written.substr(written.size() - 2) == "in" ? 2.54 : 1;
    return frame_words(std::strtod(written.c_str(), nullptr) * per,
                       std::strtod(written.c_str() + x + 1, nullptr) * per);
}

std::string clock_words(model::SimTime t) {
    static constexpr std::array<const char*, 7> days{"Mon", "Tue", "Wed", "Thu",
                                                     "Fri", "Sat", "Sun"};
    const auto date = model::date_of(t);
    const auto s = model::time_of_day(t).count();
    std::string text = fmt::format("{} {} {:02}:{:02}",
                                   days.at(static_cast<std::size_t>(model::weekday_index(date))),
                                   model::format_date(date).substr(5), s / 3600, s / 60 % 60);
    if (s % 60 != 0) text += fmt::format(":{:02}", s % 60);
    return text;
}

}  // namespace sched::check::room
