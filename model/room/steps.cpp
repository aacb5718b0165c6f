// How it works: one row a step, in the order of the enum, and the words that lists of steps know; a
// time is the row's or the room's, then the coat plan's, then what exceptions say of the case.

#include "model/room/steps.hpp"

#include <algorithm>

namespace model {

namespace {

constexpr StepTime usual(std::int64_t attended_s, std::int64_t stand_s) {
    return StepTime{Seconds{attended_s}, Seconds{stand_s}, std::nullopt};
}

template <typename... Each>
constexpr Hazards all(Each... each) {
    return static_cast<Hazards>((static_cast<unsigned>(each) | ...));
}
constexpr Hazards none = 0;
constexpr Hazards wash = all(Hazard::Jet, Hazard::WaterAndPower, Hazard::Drain);
constexpr Hazards bucket = all(Hazard::WaterAndPower, Hazard::Drain);
constexpr Hazards warm = all(Hazard::WarmAir);
constexpr Hazards light = all(Hazard::Ultraviolet);
constexpr Hazards powder = all(Hazard::Sensitizer);
constexpr Hazards with(Hazard one, Hazards others) {
    return static_cast<Hazards>(all(one) | others);
}

// Figures: common practice of the trade, typical ranges, no published source; middle of the range.
// The attended part of drying is hanging the screen up.
// clang-format off
constexpr std::array<StepRow, step_count> rows{{
    {Step::InkOff, "ink off", "ink-off", "ink off",
     usual(270, 0), false, Dries::No, all(Hazard::Cleaner, Hazard::WarmAir, Hazard::Drain),
     Step::InkDegrease},
    {Step::InkDegrease, "degrease after ink", "ink-degrease", "degrease after ink",
     usual(120, 60), false, Dries::No, with(Hazard::Cleaner, bucket), {}, Step::InkOff},
    {Step::Strip, "strip", "strip", "remover on",
     usual(90, 0), false, Dries::No, all(Hazard::Remover, Hazard::Drain), Step::Rinse},
    {Step::Rinse, "rinse", "rinse", "rinse the stencil off",
     usual(240, 0), false, Dries::No, with(Hazard::Remover, wash), {}, Step::Strip, true},
    {Step::Haze, "haze", "haze", "haze off",
     usual(240, 300), false, Dries::No, with(Hazard::Paste, wash)},
    {Step::Abrade, "abrade", "abrade", "abrade new mesh",
     usual(300, 0), false, Dries::No, with(Hazard::Paste, bucket)},
    {Step::Degrease, "degrease", "degrease", "degrease",
     usual(210, 90), false, Dries::No, with(Hazard::Cleaner, bucket)},
    {Step::DryMesh, "dry mesh", "dry-mesh", "dry the mesh",
     usual(20, 1200), false, Dries::ByAir, warm},
    {Step::Coat, "coat", "coat", "coat",
     usual(240, 0), true, Dries::No, none},
    {Step::DryCoat, "dry coat", "dry-coat", "dry the coat",
     usual(20, 2400), true, Dries::ByAir, warm},
    {Step::FaceCoat, "face coat", "face-coat", "face coat",
     usual(90, 0), true, Dries::No, none},
    {Step::DryFace, "dry face", "dry-face", "dry face coat",
     usual(20, 1500), true, Dries::ByAir, warm},
    {Step::Expose, "expose", "expose", "expose",
     usual(120, 0), true, Dries::No, light},
    {Step::WashOut, "wash out", "wash-out", "wash out",
     usual(240, 90), true, Dries::No, wash},
    {Step::DryStencil, "dry stencil", "dry-stencil", "dry the stencil",
     usual(20, 1200), false, Dries::ByAir, warm},
    {Step::Inspect, "inspect", "inspect", "inspect and block out",
     usual(240, 0), false, Dries::No, none},
    {Step::DryTouchUp, "touch-up dry", "dry-touch-up", "let the block-out dry",
     usual(20, 720), false, Dries::ByTime, none},
    {Step::PostHarden, "post-harden", "post-harden", "post-harden",
     usual(180, 0), false, Dries::No, light},
    {Step::MixDissolve, "dissolve", "mix-dissolve", "dissolve the sensitizer",
     usual(240, 900), false, Dries::No, powder},
    {Step::MixStir, "stir in", "mix-stir", "stir the sensitizer in",
     usual(300, 3600), true, Dries::No, powder},
    {Step::TakeOut, "take out", "take-out", "take out",
     usual(60, 0), false, Dries::No, warm},
}};
// clang-format on

constexpr bool in_the_order_of_the_enum() {
    for (std::size_t i = 0; i < rows.size(); ++i) {
        if (static_cast<std::size_t>(rows[i].step) != i) return false;
    }
    return true;
}
static_assert(in_the_order_of_the_enum());

}  // namespace

std::span<const StepRow> step_rows() {
    return rows;
}

const StepRow& row_of(Step step) {
    return rows[static_cast<std::size_t>(step)];
}

bool dries_alone(Step step) {
    return row_of(step).dries != Dries::No;
}

bool larger_frame(const Area& frame, const Area& than) {
    const auto [short_side, long_side] = std::minmax(frame.width, frame.height);
    const auto [short_limit, long_limit] = std::minmax(than.width, than.height);
    return short_side > short_limit || long_side > long_limit;
}

namespace {

bool is_among(const std::string* name, const std::vector<std::string>& names) {
    return names.empty() ||
           (name != nullptr && std::find(names.begin(), names.end(), *name) != names.end());
}

bool holds(const TimeException& e, const StepCase& of) {
    return is_among(of.at ? &of.at->name : nullptr, e.at) &&
           is_among(of.by ? &of.by->name : nullptr, e.by) &&
           (!e.frames_from || (of.frame && larger_frame(*of.frame, *e.frames_from)));
}

template <class Says>
bool any_exception(const Room& room, Step step, Says says) {
    const auto found = room.steps.find(step);
    return found != room.steps.end() &&
           std::any_of(found->second.but.begin(), found->second.but.end(), says);
}

}  // namespace

bool names_step(const std::vector<Step>& list, Step step) {
    const auto has = [&](Step s) { return std::find(list.begin(), list.end(), s) != list.end(); };
    const std::optional<Step> in = row_of(step).included;
    return has(step) || (in && has(*in));
}

bool does_step(const Station& station, Step step) {
    return names_step(station.does, step);
}

bool stand_differs(const Room& room, Step step) {
    return any_exception(room, step, [](const TimeException& e) {
        return e.stand && !(e.at.empty() && e.by.empty());
    });
}

bool differs_by_person(const Room& room, Step step) {
    return any_exception(room, step, [](const TimeException& e) { return !e.by.empty(); });
}

StepTime time_of(const Room& room, Step step, const CoatPlan* plan, const StepCase& of) {
    const auto found = room.steps.find(step);
    StepTime time = found == room.steps.end() ? row_of(step).usual : found->second;
    if (!time.stand_said) time.stand = row_of(step).usual.stand;
    if (step == Step::Coat && plan && (plan->coat || plan->coat_stand)) {
        if (plan->coat) time.attended = *plan->coat;
        time.stand = plan->coat_stand.value_or(Seconds{0});
    }
    for (const TimeException& e : time.but) {
        if (!holds(e, of)) continue;
        time.attended = e.attended.value_or(time.attended);
        time.stand = e.stand.value_or(time.stand);
    }
    return time;
}

const std::vector<StepWord>& step_words() {
    static const std::vector<StepWord> table = [] {
        std::vector<StepWord> out;
        for (const StepRow& row : rows) {
            out.push_back({row.word, {row.step}});
            if (row.also) out.back().steps.push_back(*row.also);
        }
        out.push_back({"mix", {Step::MixDissolve, Step::MixStir}});
        return out;
    }();
    return table;
}

std::string_view words_of(Step step) {
    return row_of(step).word;
}

std::optional<Step> step_of(std::string_view word) {
    const auto found =
        std::find_if(rows.begin(), rows.end(), [&](const StepRow& r) { return r.word == word; });
    if (found == rows.end()) return std::nullopt;
    return found->step;
}

std::vector<Step> steps_of(std::string_view word) {
    for (const StepWord& row : step_words()) {
        if (row.word == word) return row.steps;
    }
    return {};
}

std::vector<std::string> all_step_words() {
    std::vector<std::string> out;
    for (const StepWord& row : step_words())
        out.emplace_back(row.word);
    return out;
}

}  // namespace model
