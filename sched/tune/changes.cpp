// How it works: each fit that contradicts its old value gives one or more changes. A step's factor
// goes to its time, to the times of coat plans and to its exceptions alike; a person who differs
// clearly gets an exception of his own, and the others' time is then that of the others.

#include "sched/tune/changes.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "model/base/units.hpp"
#include "model/room/steps.hpp"
#include "sched/chance/chance.hpp"
#include "sched/core/index.hpp"

namespace sched::tune {

using model::ChanceSettings;
using model::Room;
using model::Seconds;
using model::Step;

namespace {

constexpr double least_change = 0.02;        // of a planned time
constexpr std::size_t least_of_person = 20;  // marks of one person, for an exception
constexpr double least_exception = 0.1;
constexpr std::size_t least_for_law = 40;  // whole lengths, for a law of its own
constexpr double least_spread_ratio = 1.3;
constexpr double screens_of_old_rate = 20.0;

std::string words(Seconds s) {
    return model::format_duration(s);
}

Seconds whole_seconds(double s) {
    return Seconds{std::max<std::int64_t>(1, std::llround(s))};
}

std::string percent(double share) {
    return fmt::format("{:.3g} %", 100.0 * share);
}

std::string item(std::size_t i) {
    return "#" + std::to_string(i);
}

std::string spread_words(const Estimate& e) {
    return fmt::format("{:.2f} times the planned ({:.2f} to {:.2f})", e.value, e.interval.low,
                       e.interval.high);
}

/// Law of chance.yaml for that step alone; -1: none.
int law_of_step(const ChanceSettings& chance, Step step) {
    for (std::size_t i = 0; i < chance.times.size(); ++i) {
        if (chance.times[i].steps == std::vector<Step>{step}) return static_cast<int>(i);
    }
    return -1;
}

bool in_some_law(const ChanceSettings& chance, Step step) {
    return std::any_of(chance.times.begin(), chance.times.end(), [&](const model::StepLaw& l) {
        return std::find(l.steps.begin(), l.steps.end(), step) != l.steps.end();
    });
}

model::StepTime time_in(const Room& room, Step step) {
    const auto found = room.steps.find(step);
    return found == room.steps.end() ? model::row_of(step).usual : found->second;
}

/// What a person's exception and the others' time are multiplied by.
struct People {
    double others = 1.0;
    std::vector<std::pair<std::string, double>> apart;
};

/// Whoever has most marks and all who are like them have the plain time; who differs from them by a
/// tenth, beyond chance, one of their own.
People people_of(const StepFit& fit, double ratio) {
    People out{ratio, {}};
    std::vector<const GroupEffect*> people;
    for (const GroupEffect& g : fit.groups) {
        if (g.factor == "person") people.push_back(&g);
    }
    const auto most = std::max_element(people.begin(), people.end(),
                                       [](const auto* a, const auto* b) { return a->n < b->n; });
    if (most == people.end()) return out;
    const auto log_of = [](const GroupEffect& g) { return std::log(g.ratio.value); };
    const auto half = [](const GroupEffect& g) {
        return 0.5 * std::log(g.ratio.interval.high / g.ratio.interval.low);
    };
    double sum = 0.0, n = 0.0;
    for (const auto* g : people) {
        const double apart = std::abs(log_of(*g) - log_of(**most));
        if (g->n >= least_of_person && apart >= std::log1p(least_exception) &&
            apart > std::hypot(half(*g), half(**most))) {
            out.apart.emplace_back(g->name, ratio * g->ratio.value);
        } else {
            sum += static_cast<double>(g->n) * log_of(*g);
            n += static_cast<double>(g->n);
        }
    }
    out.others = ratio * std::exp(sum / n);
    return out;
}

/// Typed drying minutes of a step and of the coat plans that have their own.
void change_drying_minutes(const Room& room, const StepFit& fit, double ratio,
                           const std::string& why, std::vector<Change>& out) {
    const Step step = fit.step;
    const std::string word(model::words_of(step));
    const auto found = room.steps.find(step);
    const auto longer = [ratio](Seconds s) {
        return whole_seconds(static_cast<double>(s.count()) * ratio);
    };
    const Seconds old = model::time_of(room, step).stand;
    const Seconds now = longer(old);
    if (now != old) {
        std::vector<std::string> path{"times", word};
        if (found != room.steps.end()) path.emplace_back("stands");
        out.push_back(
            {"room.yaml", path, words(now), words(old), why, [step, now](Room& r, ChanceSettings&) {
                 model::StepTime t = time_in(r, step);
                 t.stand = now;
                 t.stand_said = true;
                 r.steps[step] = std::move(t);
             }});
    }
    const auto plan_time = [&](const char* key, std::optional<Seconds> model::CoatPlan::*member) {
        for (std::size_t k = 0; k < room.coat_plans.size(); ++k) {
            const auto& typed = room.coat_plans[k].*member;
            if (!typed || longer(*typed) == *typed) continue;
            const Seconds then = longer(*typed);
            out.push_back(
                {"room.yaml",
                 {"coat plans", item(k), key},
                 words(then),
                 words(*typed),
                 why,
                 [k, member, then](Room& r, ChanceSettings&) { r.coat_plans[k].*member = then; }});
        }
    };
    if (step == Step::DryCoat) plan_time("drying time", &model::CoatPlan::dry_coat);
    if (step == Step::DryFace) plan_time("face drying time", &model::CoatPlan::dry_face);
}

void change_time(const Room& room, const StepFit& fit, double ratio, const std::string& why,
                 std::vector<Change>& out) {
    if (!by_hand(fit.step)) return change_drying_minutes(room, fit, ratio, why, out);
    const Step step = fit.step;
    const std::string word(model::words_of(step));
    const model::StepTime time = time_in(room, step);
    const bool named = room.steps.contains(step);
    const People people = people_of(fit, ratio);
    const Seconds now = whole_seconds(static_cast<double>(time.attended.count()) * people.others);
    const auto set = [step](const std::function<void(model::StepTime&)>& how) {
        return [step, how](Room& r, ChanceSettings&) {
            model::StepTime t = time_in(r, step);
            how(t);
            r.steps[step] = std::move(t);
        };
    };
    if (now != time.attended) {
        const auto make = set([now](model::StepTime& t) { t.attended = now; });
        if (named)
            out.push_back({"room.yaml",
                           {"times", word, "attended"},
                           words(now),
                           words(time.attended),
                           why,
                           make});
        else if (time.stand == Seconds{0})
            out.push_back(
                {"room.yaml", {"times", word}, words(now), words(time.attended), why, make});
        else
            out.push_back({"room.yaml",
                           {"times", word},
                           "{attended: " + words(now) + ", stands: " + words(time.stand) + "}",
                           words(time.attended),
                           why,
                           make});
    }
    std::vector<std::string> has_own;
    for (std::size_t k = 0; k < time.but.size(); ++k) {
        const model::TimeException& e = time.but[k];
        if (!e.attended) continue;
        double by = people.others;
        if (e.by.size() == 1) {
            has_own.push_back(e.by.front());
            for (const auto& [name, factor] : people.apart) {
                if (name == e.by.front()) by = factor;
            }
        }
        const Seconds then = whole_seconds(static_cast<double>(e.attended->count()) * by);
        if (then == *e.attended) continue;
        out.push_back({"room.yaml",
                       {"times", word, "but", item(k), "attended"},
                       words(then),
                       words(*e.attended),
                       why,
                       set([k, then](model::StepTime& t) { t.but[k].attended = then; })});
    }
    std::size_t added = time.but.size();
    for (const auto& [name, factor] : people.apart) {
        if (std::find(has_own.begin(), has_own.end(), name) != has_own.end()) continue;
        // Of coats the plan says the time; an exception has one for all plans.
        if (step == Step::Coat && !fit.one_time) continue;
        const Seconds own = whole_seconds(static_cast<double>(time.attended.count()) * factor);
        model::TimeException e;
        e.by = {name};
        e.attended = own;
        out.push_back({"room.yaml",
                       {"times", word, "but", item(added++)},
                       "{by: " + name + ", attended: " + words(own) + "}",
                       "",
                       name + " differs from the others",
                       set([e](model::StepTime& t) { t.but.push_back(e); })});
    }
    if (step != Step::Coat) return;
    for (std::size_t k = 0; k < room.coat_plans.size(); ++k) {
        const auto& plan = room.coat_plans[k];
        if (!plan.coat) continue;
        const Seconds then = whole_seconds(static_cast<double>(plan.coat->count()) * people.others);
        if (then == *plan.coat) continue;
        out.push_back({"room.yaml",
                       {"coat plans", item(k), "coat time"},
                       words(then),
                       words(*plan.coat),
                       why,
                       [k, then](Room& r, ChanceSettings&) { r.coat_plans[k].coat = then; }});
    }
}

/// The law of a step anew, by its own family; `one` = s of a factor of 1.
void change_law(const ChanceSettings& chance, std::size_t i, const StepFit& fit, double one,
                std::vector<Change>& out) {
    const model::TimeLaw& law = chance.times[i].time;
    const auto seconds = [&](const char* key, std::optional<Seconds> model::TimeLaw::*member,
                             double to) {
        const Seconds now = whole_seconds(to * one);
        if (law.*member == now) return;
        out.push_back(
            {"chance.yaml",
             {"times", item(i), "time", key},
             words(now),
             law.*member ? words(*(law.*member)) : "",
             "its law, fitted anew",
             [i, member, now](Room&, ChanceSettings& c) { c.times[i].time.*member = now; }});
    };
    const auto number = [&](const char* key, std::optional<double> model::TimeLaw::*member,
                            double to) {
        const double now = std::round(to * 1000.0) / 1000.0;
        out.push_back(
            {"chance.yaml",
             {"times", item(i), "time", key},
             fmt::format("{:g}", now),
             law.*member ? fmt::format("{:g}", *(law.*member)) : "",
             "its law, fitted anew",
             [i, member, now](Room&, ChanceSettings& c) { c.times[i].time.*member = now; }});
    };
    switch (law.law) {
        case model::LawKind::Lognormal:
            if (law.p50 && law.p90) {
                seconds("p50", &model::TimeLaw::p50, fit.law.quantile(0.5));
                seconds("p90", &model::TimeLaw::p90, fit.law.quantile(0.9));
                break;
            }
            [[fallthrough]];
        case model::LawKind::Gamma:
            seconds("mean", &model::TimeLaw::mean, fit.law.mean());
            number("cv", &model::TimeLaw::cv, fit.law.cv());
            break;
        case model::LawKind::Weibull:
            seconds("mean", &model::TimeLaw::mean, fit.law.mean());
            number("shape", &model::TimeLaw::shape, fit.law.shape);
            break;
        default:
            break;
    }
}

bool fitted_law(model::LawKind kind) {
    return kind == model::LawKind::Lognormal || kind == model::LawKind::Gamma ||
           kind == model::LawKind::Weibull;
}

/// A law for a step that varies clearly more or less than work does.
bool wants_law(const Tuning& tuning, const StepFit& fit) {
    if (!tuning.work_cv || !by_hand(fit.step) || !fit.one_time || fit.whole < least_for_law)
        return false;
    const double all = tuning.work_cv->value;
    const double times = fit.cv.value > all ? fit.cv.value / all : all / fit.cv.value;
    return times >= least_spread_ratio && !fit.cv.interval.holds(all);
}

void add_law(const StepFit& fit, std::size_t place, std::vector<Change>& out) {
    const double one = fit.planned;
    model::StepLaw law;
    law.steps = {fit.step};
    std::string time;
    switch (fit.family) {
        case study::Family::Lognormal:
            law.time.p50 = whole_seconds(one * fit.law.quantile(0.5));
            law.time.p90 = whole_seconds(one * fit.law.quantile(0.9));
            time = "{p50: " + words(*law.time.p50) + ", p90: " + words(*law.time.p90) + "}";
            break;
        case study::Family::Gamma:
            law.time.law = model::LawKind::Gamma;
            law.time.mean = whole_seconds(one * fit.law.mean());
            law.time.cv = std::round(fit.law.cv() * 1000.0) / 1000.0;
            time = fmt::format("{{law: gamma, mean: {}, cv: {:g}}}", words(*law.time.mean),
                               *law.time.cv);
            break;
        case study::Family::Weibull:
            law.time.law = model::LawKind::Weibull;
            law.time.mean = whole_seconds(one * fit.law.mean());
            law.time.shape = std::round(fit.law.shape * 1000.0) / 1000.0;
            time = fmt::format("{{law: weibull, mean: {}, shape: {:g}}}", words(*law.time.mean),
                               *law.time.shape);
            break;
    }
    out.push_back({"chance.yaml",
                   {"times", item(place)},
                   "{step: " + std::string(model::words_of(fit.step)) + ", time: " + time + "}",
                   "",
                   fmt::format("it varies by {} ({} to {}), other work by less or more",
                               percent(fit.cv.value), percent(fit.cv.interval.low),
                               percent(fit.cv.interval.high)),
                   [law](Room&, ChanceSettings& c) { c.times.push_back(law); }});
}

std::string round_words(double x) {
    return fmt::format("{:.3g}", x);
}

template <class List>
std::size_t place_of(const List& list, const std::string& name) {
    std::size_t i = 0;
    while (i < list.size() && list[i].name != name)
        ++i;
    return i;
}

void change_drying(const Room& room, const ChanceSettings& chance, const Tuning& tuning,
                   std::vector<Change>& out) {
    std::vector<std::string> done;  // emulsions: the first cabinet that tells counts
    for (const DryingFit& d : tuning.drying) {
        if (!d.fitted) continue;
        if (!d.interval.holds(d.old_factor) &&
            std::abs(d.factor / d.old_factor - 1.0) >= least_change) {
            const std::size_t i = place_of(room.stations, d.station);
            const double now = std::stod(round_words(d.factor));
            out.push_back(
                {"room.yaml",
                 {"stations", item(i), "air", "transfer factor"},
                 round_words(d.factor),
                 round_words(d.old_factor),
                 fmt::format("{}: {} to {}", d.station, round_words(d.interval.low),
                             round_words(d.interval.high)),
                 [i, now](Room& r, ChanceSettings&) { r.stations[i].air->transfer_factor = now; }});
        }
        for (const CriticalFit& c : d.critical) {
            if (c.interval.holds(c.old_value) ||
                std::find(done.begin(), done.end(), c.emulsion) != done.end())
                continue;
            done.push_back(c.emulsion);
            const std::size_t i = place_of(room.emulsions, c.emulsion);
            const double now = std::stod(round_words(c.value));
            out.push_back(
                {"room.yaml",
                 {"emulsions", item(i), "critical moisture"},
                 round_words(c.value),
                 round_words(c.old_value),
                 fmt::format("{} to {}", round_words(c.interval.low), round_words(c.interval.high)),
                 [i, now](Room& r, ChanceSettings&) { r.emulsions[i].critical_moisture = now; }});
        }
    }
    // Of several cabinets the one with most marks says how much drying varies.
    const DryingFit* most = nullptr;
    for (const DryingFit& d : tuning.drying) {
        if (d.fitted && (most == nullptr || d.n > most->n)) most = &d;
    }
    if (most == nullptr || most->cv_interval.holds(chance.drying_cv.value)) return;
    const double cv = std::round(1000.0 * most->cv) / 1000.0;
    out.push_back({"chance.yaml",
                   {"drying varies"},
                   percent(cv),
                   percent(chance.drying_cv.value),
                   fmt::format("seen: {} to {}", percent(most->cv_interval.low),
                               percent(most->cv_interval.high)),
                   [cv](Room&, ChanceSettings& c) { c.drying_cv = model::Fraction{cv}; }});
}

bool contradicts(const Estimate& e) {
    return !e.interval.holds(1.0) && std::abs(e.value - 1.0) >= least_change;
}

bool has_apart(const StepFit& fit) {
    return !people_of(fit, 1.0).apart.empty();
}

}  // namespace

std::string Change::line() const {
    std::string out;
    for (const std::string& key : path)
        out += key.front() == '#' ? "item " + std::to_string(std::stoul(key.substr(1)) + 1) + ": "
                                  : key + ": ";
    return out + value;
}

std::vector<Change> changes_of(const Room& room, const ChanceSettings& chance,
                               const Tuning& tuning) {
    std::vector<Change> out;
    std::size_t laws = chance.times.size();
    for (const StepFit& fit : tuning.steps) {
        if (!fit.fitted) continue;
        const int law = law_of_step(chance, fit.step);
        if (law >= 0) {
            // Planned is the law's median.
            if (!fitted_law(chance.times[ix(law)].time.law)) continue;
            const double median = study::time_law(chance.times[ix(law)].time).quantile(0.5);
            const Estimate& m = fit.median;
            const study::Interval seconds{m.interval.low * fit.planned,
                                          m.interval.high * fit.planned};
            if (!seconds.holds(median)) change_law(chance, ix(law), fit, fit.planned, out);
            if (contradicts(m))
                change_time(room, fit, m.value, "half of the marks are above " + spread_words(m),
                            out);
            continue;
        }
        if (in_some_law(chance, fit.step)) continue;
        if (wants_law(tuning, fit)) {
            add_law(fit, laws++, out);
            if (std::abs(fit.median.value - 1.0) >= 0.005)
                change_time(room, fit, fit.median.value,
                            "the median of its law: " + spread_words(fit.median), out);
            continue;
        }
        if (contradicts(fit.mean) || has_apart(fit))
            change_time(room, fit, contradicts(fit.mean) ? fit.mean.value : 1.0,
                        spread_words(fit.mean), out);
    }
    if (tuning.work_cv && !tuning.work_cv->interval.holds(chance.work_cv.value)) {
        const double cv = std::round(1000.0 * tuning.work_cv->value) / 1000.0;
        out.push_back({"chance.yaml",
                       {"work varies"},
                       percent(cv),
                       percent(chance.work_cv.value),
                       fmt::format("seen: {} to {}", percent(tuning.work_cv->interval.low),
                                   percent(tuning.work_cv->interval.high)),
                       [cv](Room&, ChanceSettings& c) { c.work_cv = model::Fraction{cv}; }});
    }
    change_drying(room, chance, tuning, out);
    for (const RemakeFit& r : tuning.remakes) {
        if (r.tried < 30 || r.interval.holds(r.old_rate)) continue;
        // None seen does not mean never: the old rate counts as so many screens.
        const double seen = (static_cast<double>(r.bad) + screens_of_old_rate * r.old_rate) /
                            (static_cast<double>(r.tried) + screens_of_old_rate);
        const double rate = std::round(1000.0 * seen) / 1000.0;
        const std::string why = fmt::format("{} of {} ({} to {})", r.bad, r.tried,
                                            percent(r.interval.low), percent(r.interval.high));
        if (r.rule >= 0) {
            const auto i = ix(r.rule);
            out.push_back({"chance.yaml",
                           {"remakes", item(i), "chance"},
                           percent(rate),
                           percent(r.old_rate),
                           why,
                           [i, rate](Room&, ChanceSettings& c) {
                               (*c.remakes)[i].chance = model::Fraction{rate};
                           }});
            continue;
        }
        model::RemakeLaw rule;
        rule.at = {r.at};
        rule.chance = model::Fraction{rate};
        out.push_back(
            {"chance.yaml",
             {"remakes", item(0)},
             "{at: " + std::string(model::words_of(r.at)) + ", chance: " + percent(rate) + "}",
             percent(r.old_rate),
             why,
             [rule](Room&, ChanceSettings& c) {
                 c.remakes = std::vector<model::RemakeLaw>{rule};
             }});
    }
    return out;
}

}  // namespace sched::tune
