// How it works: one table, old against new, a line a step; then who differs, remakes, drift and
// what told nothing; last the values to write. The JSON has the same things as numbers.

#include "sched/report/tune/tune_report.hpp"

#include <fmt/format.h>

#include <cmath>

#include "model/base/units.hpp"
#include "model/room/steps.hpp"
#include "sched/report/document/json_reader.hpp"
#include "sched/report/words/columns.hpp"
#include "sched/report/words/wording.hpp"

namespace sched::report {

namespace {

using tune::Change;
using tune::Estimate;
using tune::StepFit;
using tune::Tuning;

const char* family_words(study::Family f) {
    switch (f) {
        case study::Family::Lognormal:
            return "lognormal";
        case study::Family::Gamma:
            return "gamma";
        case study::Family::Weibull:
            return "weibull";
    }
    return "";
}

std::string minutes_of(double seconds) {
    return fmt::format("{}:{:02}", static_cast<long>(std::lround(seconds)) / 60,
                       static_cast<long>(std::lround(seconds)) % 60);
}

std::string steps_table(const Tuning& t) {
    std::string out =
        fmt::format(" {} {:>8} {:>8}  {:<16} {:>6}  {:>6}  {:<14} {}\n", padded("step", 18),
                    "planned", "seen", "90 % interval", "marks", "varies", "90 %", "law");
    for (const StepFit& s : t.steps) {
        const std::string name = padded(std::string(model::words_of(s.step)), 18);
        if (!s.fitted) {
            out += fmt::format(" {} {:>8} {:>8}  {:<16} {:>6}  too few to say\n", name,
                               minutes_of(s.planned), "", "", s.n);
            continue;
        }
        const auto at = [&](double factor) { return minutes_of(s.planned * factor); };
        out += fmt::format(" {} {:>8} {:>8}  {:<16} {:>6}  {:>4.0f} %  {:<14} {}\n", name,
                           minutes_of(s.planned), at(s.mean.value),
                           at(s.mean.interval.low) + " to " + at(s.mean.interval.high), s.n,
                           100.0 * s.cv.value,
                           fmt::format("{:.0f} to {:.0f} %", 100.0 * s.cv.interval.low,
                                       100.0 * s.cv.interval.high),
                           family_words(s.family));
    }
    out += " (min:s; planned and seen are means over the screens that were marked)\n";
    return out;
}

std::string drying_text(const Tuning& t) {
    std::string out;
    for (const auto& d : t.drying) {
        out += fmt::format(" {} {} marks of dry", padded(printable(d.station), 18), d.n);
        if (!d.fitted) {
            out += ": too few to say anything of the air\n";
            continue;
        }
        out += fmt::format(
            "; took {:.2f} of what is planned\n   transfer factor: planned {:.3g}, seen {:.3g} "
            "({:.3g} to {:.3g}); drying varies: planned {:.0f} %, seen {:.1f} % ({:.1f} to "
            "{:.1f})\n",
            d.old_ratio, d.old_factor, d.factor, d.interval.low, d.interval.high,
            100.0 * t.old_drying_cv, 100.0 * d.cv, 100.0 * d.cv_interval.low,
            100.0 * d.cv_interval.high);
        for (const auto& c : d.critical)
            out += fmt::format(
                "   critical moisture of {}: planned {:.3g}, seen {:.3g} ({:.3g} to "
                "{:.3g})\n",
                printable(c.emulsion), c.old_value, c.value, c.interval.low, c.interval.high);
    }
    return out.empty() ? out : "\nDrying\n" + out;
}

std::string groups_text(const Tuning& t) {
    std::string out;
    for (const StepFit& s : t.steps) {
        for (const auto& g : s.groups) {
            if (!g.differs()) continue;
            out += fmt::format(" {} {} {}: {:.2f} of the mean ({:.2f} to {:.2f}), {} marks\n",
                               padded(std::string(model::words_of(s.step)), 18), g.factor,
                               printable(g.name), g.ratio.value, g.ratio.interval.low,
                               g.ratio.interval.high, g.n);
        }
    }
    return out.empty() ? out : "\nWho and what differs\n" + out;
}

std::string rate_words(const tune::RemakeFit& r) {
    std::string of;
    for (const std::string* part : {&r.emulsion, &r.mesh, &r.coat_plan}) {
        if (!part->empty()) of += (of.empty() ? "" : ", ") + printable(*part);
    }
    return padded(of.empty() ? std::string(model::words_of(r.at)) : of, 34);
}

std::string remakes_text(const Tuning& t) {
    std::string out;
    const auto line = [](const tune::RemakeFit& r, bool old) {
        return fmt::format(" {} {}{:>5.1f} % ({:.1f} to {:.1f}), {} of {}\n", rate_words(r),
                           old ? fmt::format("planned {:>4.1f} %  seen ", 100.0 * r.old_rate) : "",
                           100.0 * r.rate(), 100.0 * r.interval.low, 100.0 * r.interval.high, r.bad,
                           r.tried);
    };
    for (const auto& r : t.remakes) {
        if (r.tried > 0) out += line(r, true);
    }
    if (t.remake_groups.size() > 1) {
        for (const auto& r : t.remake_groups)
            out += line(r, false);
    }
    return out.empty() ? out : "\nMade again (Wilson, 90 %)\n" + out;
}

std::string drift_text(const Tuning& t) {
    std::string out;
    for (const StepFit& s : t.steps) {
        if (!s.drift) continue;
        out += fmt::format(
            " {}: takes {} since about {} (seen at {}). Tune from then on: --since {}\n",
            std::string(model::words_of(s.step)), s.drift->longer ? "longer" : "less",
            model::format_date_time(s.drift->since), model::format_date_time(s.drift->signal),
            model::format_date(model::date_of(s.drift->since)));
    }
    return out.empty() ? out : "\nSomething has changed\n" + out;
}

std::string told_nothing(const tune::Observations& o) {
    std::string out;
    const auto add = [&](std::size_t n, const char* words) {
        if (n > 0) out += fmt::format("{}{} {}", out.empty() ? "" : ", ", n, words);
    };
    add(o.without_start, "done without a start");
    add(o.forgotten, "begun and never followed");
    add(o.at_once, "begun and done in one touch");
    add(o.unknown_screen, "of screens that no order has");
    return out.empty() ? out : "Marks that tell nothing: " + out + ".\n";
}

std::string clocks_text(const tune::Clocks& c) {
    if (c.ahead == 0) return "";
    std::string out = fmt::format("Entered before {} happened: {} mark{}",
                                  c.ahead == 1 ? "it" : "they", c.ahead, c.ahead == 1 ? "" : "s");
    if (c.devices.empty())
        return out + (c.ahead == 1 ? "; its time stands as it was said.\n"
                                   : "; their times stand as they were said.\n");
    out += ". Set back, since the clock was ahead:\n";
    for (const auto& d : c.devices)
        out += fmt::format(" {}  {} day{}, by up to {} min:s\n", printable(d.device), d.days,
                           d.days == 1 ? "" : "s", minutes_of(static_cast<double>(d.most.count())));
    return out;
}

std::string changes_text(const std::vector<Change>& changes, const std::string& scenario) {
    if (changes.empty()) return "\nThe files say what the marks say: nothing to change.\n";
    std::string out;
    for (const char* file : {"room.yaml", "chance.yaml"}) {
        bool any = false;
        for (const Change& c : changes) {
            if (c.file != file) continue;
            if (!any) out += fmt::format("\nFor {}\n", file);
            any = true;
            out += " " + printable(c.line()) +
                   (c.was.empty() ? "" : "   (was " + printable(c.was) + ")") + "\n";
        }
    }
    return out + fmt::format("\nTo write them, comments kept: add --write (coatroom tune {} ...)\n",
                             printable(scenario));
}

Json estimate_json(const Estimate& e) {
    return Json{{"value", e.value}, {"low", e.interval.low}, {"high", e.interval.high}};
}

Json rate_json(const tune::RemakeFit& r, bool old) {
    Json out{{"at", std::string(model::row_of(r.at).key)},
             {"emulsion", r.emulsion},
             {"mesh", r.mesh},
             {"coat_plan", r.coat_plan},
             {"bad", r.bad},
             {"of", r.tried},
             {"low", r.interval.low},
             {"high", r.interval.high}};
    if (old) out["planned"] = r.old_rate;
    return out;
}

Json step_json(const StepFit& s) {
    Json out{{"step", std::string(model::row_of(s.step).key)},
             {"n", s.n},
             {"whole", s.whole},
             {"late", s.late},
             {"lost", s.lost},
             {"running", s.running},
             {"planned_seconds", s.planned},
             {"fitted", s.fitted}};
    if (!s.fitted) return out;
    out["mean"] = estimate_json(s.mean);
    out["median"] = estimate_json(s.median);
    out["cv"] = estimate_json(s.cv);
    out["law"] = family_words(s.family);
    Json scores = Json::object();
    for (const auto f : {study::Family::Lognormal, study::Family::Gamma, study::Family::Weibull}) {
        const auto& score = s.score[static_cast<std::size_t>(f)];
        scores[family_words(f)] = score ? Json(*score) : Json(nullptr);
    }
    out["score"] = scores;
    out["groups"] = Json::array();
    for (const auto& g : s.groups)
        out["groups"].push_back({{"factor", g.factor},
                                 {"name", g.name},
                                 {"n", g.n},
                                 {"ratio", estimate_json(g.ratio)}});
    out["drift"] = s.drift ? Json{{"since", model::format_date_time(s.drift->since)},
                                  {"signal", model::format_date_time(s.drift->signal)},
                                  {"longer", s.drift->longer}}
                           : Json(nullptr);
    return out;
}

}  // namespace

std::string tune_text(const Tuning& t, const std::vector<Change>& changes,
                      const std::string& scenario) {
    const auto& o = t.seen;
    std::string out = !o.first ? std::string("No marks of steps.\n")
                               : fmt::format("{} of {}, {} to {}\n\n",
                                             counted(static_cast<std::size_t>(o.marks), "mark"),
                                             counted(static_cast<std::size_t>(o.days), "day"),
                                             model::format_date(model::date_of(*o.first)),
                                             model::format_date(model::date_of(*o.last)));
    if (!t.steps.empty()) out += steps_table(t);
    if (t.work_cv)
        out += fmt::format(" work varies: planned {:.0f} %, seen {:.1f} % ({:.1f} to {:.1f})\n",
                           100.0 * t.old_work_cv, 100.0 * t.work_cv->value,
                           100.0 * t.work_cv->interval.low, 100.0 * t.work_cv->interval.high);
    out += drying_text(t) + groups_text(t) + remakes_text(t) + drift_text(t);
    const std::string nothing = told_nothing(o);
    if (!nothing.empty()) out += "\n" + nothing;
    const std::string clocks = clocks_text(o.clocks);
    if (!clocks.empty()) out += "\n" + clocks;
    return out + changes_text(changes, scenario);
}

std::string tune_json(const Tuning& t, const std::vector<Change>& changes) {
    const auto& o = t.seen;
    Json out{{"marks", o.marks},
             {"days", o.days},
             {"confidence", tune::confidence},
             {"steps", Json::array()},
             {"work_varies", t.work_cv ? estimate_json(*t.work_cv) : Json(nullptr)},
             {"work_varies_planned", t.old_work_cv},
             {"drying", Json::array()},
             {"remakes", Json::array()},
             {"remakes_by_kind", Json::array()},
             {"told_nothing",
              {{"without_start", o.without_start},
               {"forgotten", o.forgotten},
               {"at_once", o.at_once},
               {"unknown_screen", o.unknown_screen}}},
             {"entered_before", o.clocks.ahead},
             {"clocks_ahead", Json::array()},
             {"changes", Json::array()}};
    for (const auto& d : o.clocks.devices)
        out["clocks_ahead"].push_back(
            {{"device", d.device}, {"days", d.days}, {"most_seconds", d.most.count()}});
    for (const StepFit& s : t.steps)
        out["steps"].push_back(step_json(s));
    for (const auto& d : t.drying) {
        Json one{{"station", d.station}, {"n", d.n}, {"at_most", d.most}, {"fitted", d.fitted}};
        if (d.fitted) {
            one["seen_over_planned"] = d.old_ratio;
            one["transfer_factor"] = estimate_json({d.factor, d.interval});
            one["transfer_factor_planned"] = d.old_factor;
            one["varies"] = estimate_json({d.cv, d.cv_interval});
            one["critical_moisture"] = Json::array();
            for (const auto& c : d.critical) {
                Json value = estimate_json({c.value, c.interval});
                value["emulsion"] = c.emulsion;
                value["planned"] = c.old_value;
                one["critical_moisture"].push_back(value);
            }
        }
        out["drying"].push_back(one);
    }
    for (const auto& r : t.remakes)
        out["remakes"].push_back(rate_json(r, true));
    for (const auto& r : t.remake_groups)
        out["remakes_by_kind"].push_back(rate_json(r, false));
    for (const Change& c : changes)
        out["changes"].push_back(
            {{"file", c.file}, {"line", c.line()}, {"was", c.was}, {"why", c.why}});
    return out.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace sched::report
