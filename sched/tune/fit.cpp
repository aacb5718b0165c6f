// How it works: every length is divided by what room.yaml plans for that screen, place and person,
// so that steps of many lengths become one set of factors. Groups (person, emulsion, mesh, frame)
// are pooled on the log scale; the law of the factors is fitted to all of them, for the mix that
// was seen. Steps with few marks are drawn towards what the room's steps have in common. The chart
// looks at the last third of the marks from what the first two thirds say.

#include "sched/tune/fit.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <tuple>

#include "model/base/units.hpp"
#include "model/room/steps.hpp"
#include "sched/core/index.hpp"
#include "sched/statistics/control_chart.hpp"
#include "sched/statistics/partial_pooling.hpp"
#include "sched/statistics/probability.hpp"

namespace sched::tune {

using study::Observed;

namespace {

constexpr std::size_t least_for_groups = 12;  // observations of a step
constexpr std::size_t least_for_chart = 30;
constexpr std::size_t least_for_family = 30;  // fewer choose the law that flatters them
// Small shifts and lengths that are not lognormal ask for a small weight (Borror, Montgomery and
// Runger, Robustness of the EWMA control chart to non-normality, J. Quality Technology 31 (1999)).
constexpr double chart_weight = 0.1;
constexpr double false_alarms = 0.05;  // a call, of all steps

std::string frame_words(const model::Area& a) {
    return model::format_size(a);
}

Observed over(const Observed& length, double planned) {
    return {length.low / planned, length.high / planned};
}

Estimate estimate(double value, const study::Interval& interval) {
    return {value, interval};
}

/// exp(log -+ t se).
Estimate estimate_of_log(double log, double variance, double df) {
    const double half =
        study::t_quantile(0.5 + 0.5 * confidence, std::max(1.0, df)) * std::sqrt(variance);
    return {std::exp(log), {std::exp(log - half), std::exp(log + half)}};
}

Estimate wider(const Estimate& e, double times) {
    const double low = std::log(e.value / e.interval.low),
                 high = std::log(e.interval.high / e.value);
    return {e.value, {e.value * std::exp(-times * low), e.value * std::exp(times * high)}};
}

/// Works of one screen on one day go together: whoever carries it three times is as quick each
/// time.
struct Together {
    std::vector<double> logs;  // of whole lengths over the planned ones
    std::vector<int> cluster;
    std::map<std::tuple<std::string, model::SimTime, model::Step>, int> keys;
    void add(const Work& w, double one) {
        if (w.known != Known::Whole || w.length.low <= 0.0) return;
        const auto day = model::midnight(model::date_of(w.start));
        cluster.push_back(
            keys.emplace(std::tuple{w.what, day, w.step}, static_cast<int>(keys.size()))
                .first->second);
        logs.push_back(std::log(0.5 * (w.length.low + w.length.high) / one));
    }
    double of_mean() const { return std::sqrt(study::design_effect(logs, cluster)); }
    double of_spread() const {
        study::Moments m;
        for (const double x : logs)
            m.add(x);
        std::vector<double> squares;
        for (const double x : logs)
            squares.push_back((x - m.mean()) * (x - m.mean()));
        return std::sqrt(study::design_effect(squares, cluster));
    }
};

struct Factor {
    std::string name;
    std::vector<std::string> levels;
    std::map<std::string, int> index;
    int level(const std::string& of) {
        if (of.empty()) return -1;
        const auto [at, fresh] = index.emplace(of, static_cast<int>(levels.size()));
        if (fresh) levels.push_back(of);
        return at->second;
    }
};

/// Of two who did it together nothing is said of either.
bool alone(const Work& w) {
    return w.person.find(" + ") == std::string::npos;
}

void fit_groups(const std::vector<const Work*>& work, StepFit& fit) {
    std::array<Factor, 4> factors{Factor{"person", {}, {}}, Factor{"emulsion", {}, {}},
                                  Factor{"mesh", {}, {}}, Factor{"frame", {}, {}}};
    const bool coated = model::row_of(fit.step).step >= model::Step::Coat;
    std::vector<study::PooledLength> lengths;
    for (const Work* w : work) {
        if (!fits(w->known)) continue;
        const bool known = w->screen.known;
        lengths.push_back({over(w->length, w->planned),
                           {factors[0].level(alone(*w) ? w->person : ""),
                            factors[1].level(known && coated ? w->screen.emulsion : ""),
                            factors[2].level(known ? w->screen.mesh : ""),
                            factors[3].level(known ? frame_words(w->screen.frame) : "")}});
    }
    std::vector<int> levels;
    for (const Factor& f : factors)
        levels.push_back(static_cast<int>(f.levels.size()));
    const auto pooled = study::pool_lengths(lengths, levels);
    if (pooled.n == 0) return;
    fit.log_spread = pooled.sigma;
    for (std::size_t f = 0; f < factors.size(); ++f) {
        if (factors[f].levels.size() < 2) continue;
        for (std::size_t l = 0; l < factors[f].levels.size(); ++l) {
            const auto& e = pooled.effects[f][l];
            fit.groups.push_back(
                {factors[f].name, factors[f].levels[l], e.n,
                 estimate_of_log(e.value, e.variance, static_cast<double>(pooled.n) - 1.0)});
        }
    }
}

/// What the chart is drawn of: the mean of each screen's works of one day, which go together.
struct Charted {
    std::vector<double> logs;
    std::vector<model::SimTime> start;
    std::size_t before() const { return logs.size() * 2 / 3; }
};

Charted charted(std::vector<const Work*> work) {
    std::stable_sort(work.begin(), work.end(),
                     [](const Work* a, const Work* b) { return a->start < b->start; });
    Charted out;
    std::vector<double> sums, counts;
    std::map<std::pair<std::string, model::SimTime>, std::size_t> points;
    for (const Work* w : work) {
        if (w->known != Known::Whole || w->length.low <= 0.0) continue;
        const auto day = model::midnight(model::date_of(w->start));
        const auto [at, fresh] = points.emplace(std::pair{w->what, day}, sums.size());
        if (fresh) {
            sums.push_back(0.0);
            counts.push_back(0.0);
            out.start.push_back(w->start);
        }
        sums[at->second] += std::log(0.5 * (w->length.low + w->length.high) / w->planned);
        counts[at->second] += 1.0;
    }
    for (std::size_t i = 0; i < sums.size(); ++i)
        out.logs.push_back(sums[i] / counts[i]);
    return out;
}

/// The last third against the ones before. @param width of the limits where mean and spread of
/// those were known; they are estimates, so the limits are wider.
std::optional<Drift> find_drift(const Charted& c, double width) {
    const std::size_t before = c.before();
    study::Moments m;
    for (std::size_t i = 0; i < before; ++i)
        m.add(c.logs[i]);
    const double sigma = std::sqrt(m.variance());
    if (sigma <= 0.0) return std::nullopt;
    const double n = static_cast<double>(before);
    const double of_level = chart_weight / (2.0 - chart_weight);
    const double wider = study::t_quantile(study::normal_cdf(width), n - 1.0) / width *
                         std::sqrt(1.0 + 1.0 / (n * of_level));
    const auto chart = study::ewma_chart(std::span(c.logs).subspan(before), m.mean(), sigma,
                                         {.weight = chart_weight, .width = width * wider});
    if (!chart.signal) return std::nullopt;
    const std::size_t signal = before + *chart.signal;
    // It may have begun before the last third.
    const std::size_t since = study::change_point(c.logs);
    return Drift{c.start[since <= signal ? since : before + *chart.since], c.start[signal],
                 chart.level[*chart.signal] > m.mean()};
}

/// Of all steps together one false alarm in twenty calls.
void find_drifts(const std::map<model::Step, std::vector<const Work*>>& by_step,
                 std::vector<StepFit>& steps) {
    std::vector<std::pair<StepFit*, Charted>> all;
    std::size_t points = 0;
    for (StepFit& s : steps) {
        if (!s.fitted) continue;
        Charted c = charted(by_step.at(s.step));
        if (c.logs.size() < least_for_chart) continue;
        points += c.logs.size() - c.before();
        all.emplace_back(&s, std::move(c));
    }
    if (all.empty()) return;
    const double width =
        study::ewma_width(chart_weight, static_cast<double>(points) / false_alarms);
    for (auto& [step, c] : all)
        step->drift = find_drift(c, width);
}

StepFit fit_step(model::Step step, const std::vector<const Work*>& work,
                 const FitOptions& options) {
    StepFit fit{.step = step, .n = work.size()};
    std::vector<Observed> factors;
    double low = work.front()->planned, high = low;
    for (const Work* w : work) {
        fit.whole += w->known == Known::Whole;
        fit.late += w->known == Known::Late;
        fit.lost += w->known == Known::Lost;
        fit.running += w->known == Known::Running;
        fit.planned += w->planned / static_cast<double>(work.size());
        low = std::min(low, w->planned);
        high = std::max(high, w->planned);
        if (fits(w->known)) factors.push_back(over(w->length, w->planned));
    }
    fit.one_time = high <= 1.02 * low;
    if (fit.whole < options.least) return fit;
    if (options.families && fit.whole >= least_for_family) {
        const auto choice = study::choose_family(factors);
        fit.family = choice.family;
        fit.score = choice.score;
    }
    const auto law = study::fit_censored(fit.family, factors);
    if (!law || law->at_limit) return fit;
    fit.law = *law;
    fit.fitted = true;
    Together together;
    for (const Work* w : work)
        together.add(*w, w->planned);
    const double mean_wider = together.of_mean();
    fit.median =
        wider(estimate(law->quantile(0.5), law->quantile_interval(0.5, confidence)), mean_wider);
    fit.mean = wider(estimate(law->mean(), law->mean_interval(confidence)), mean_wider);
    fit.cv = wider(estimate(law->cv(), law->cv_interval(confidence)), together.of_spread());
    fit.log_spread = std::sqrt(std::log1p(fit.cv.value * fit.cv.value));
    if (options.groups && fit.n >= least_for_groups) fit_groups(work, fit);
    return fit;
}

/// Few marks are drawn towards what the steps have in common. That makes the values better on the
/// whole, and each worse whose true time lies far from the others'. So the interval stays that of
/// the step's own marks, which holds the truth as often wherever it lies, and a value is drawn no
/// further than its end (Efron and Morris, Limiting the risk of Bayes and empirical Bayes
/// estimators, part II, JASA 67 (1972)).
void draw_together(std::vector<StepFit>& steps) {
    std::vector<study::GroupMean> means;
    std::vector<StepFit*> of;
    for (StepFit& s : steps) {
        if (!s.fitted || !by_hand(s.step)) continue;
        const double half = 0.5 * std::log(s.mean.interval.high / s.mean.interval.low);
        const double t = study::t_quantile(0.5 + 0.5 * confidence,
                                           std::max(1.0, static_cast<double>(s.law.n) - 1.0));
        means.push_back({std::log(s.mean.value), std::max(1e-8, (half / t) * (half / t))});
        of.push_back(&s);
    }
    if (means.size() < 3) return;
    const auto drawn = study::random_effects(means);
    for (std::size_t k = 0; k < of.size(); ++k) {
        StepFit& s = *of[k];
        const double own = s.mean.value;
        s.mean.value = std::clamp(std::exp(drawn.shrunken[k].value), s.mean.interval.low,
                                  s.mean.interval.high);
        // The median goes along: the shape stays.
        const double times = s.mean.value / own;
        s.median.value =
            std::clamp(s.median.value * times, s.median.interval.low, s.median.interval.high);
        s.law.scale *= times;
    }
}

bool fits_rule(const model::RemakeLaw& rule, const Tried& t) {
    return std::find(rule.at.begin(), rule.at.end(), t.step) != rule.at.end() &&
           (rule.emulsion.empty() || rule.emulsion == t.screen.emulsion) &&
           (rule.mesh.empty() || rule.mesh == t.screen.mesh) &&
           (rule.coat_plan.empty() || rule.coat_plan == t.screen.coat_plan);
}

void close_rates(std::vector<RemakeFit>& rates) {
    for (RemakeFit& r : rates) {
        if (r.tried > 0) r.interval = study::wilson_interval(r.bad, r.tried, confidence);
    }
}

void fit_remakes(const model::ChanceSettings& chance, Tuning& out) {
    // Left out: 4 % at the inspection (model/read/chance_file).
    const std::vector<model::RemakeLaw> rules =
        chance.remakes.value_or(std::vector<model::RemakeLaw>{{.at = {model::Step::Inspect},
                                                               .chance = model::Fraction{0.04},
                                                               .emulsion = {},
                                                               .mesh = {},
                                                               .coat_plan = {},
                                                               .back_to = {},
                                                               .place = {}}});
    for (std::size_t r = 0; r < rules.size(); ++r) {
        out.remakes.push_back({.at = rules[r].at.front(),
                               .emulsion = rules[r].emulsion,
                               .mesh = rules[r].mesh,
                               .coat_plan = rules[r].coat_plan,
                               .rule = chance.remakes ? static_cast<int>(r) : -1,
                               .old_rate = rules[r].chance.value,
                               .interval = {0.0, 1.0}});
    }
    std::map<std::tuple<std::string, std::string, std::string>, RemakeFit> groups;
    for (const Tried& t : out.seen.tried) {
        for (std::size_t r = 0; r < rules.size(); ++r) {
            if (!fits_rule(rules[r], t)) continue;
            ++out.remakes[r].tried;
            out.remakes[r].bad += t.bad;
            break;
        }
        if (t.step != model::Step::Inspect || !t.screen.known) continue;
        RemakeFit& g = groups[{t.screen.emulsion, t.screen.mesh, t.screen.coat_plan}];
        g.emulsion = t.screen.emulsion;
        g.mesh = t.screen.mesh;
        g.coat_plan = t.screen.coat_plan;
        g.interval = {0.0, 1.0};
        ++g.tried;
        g.bad += t.bad;
    }
    for (auto& [key, g] : groups)
        out.remake_groups.push_back(g);
    close_rates(out.remakes);
    close_rates(out.remake_groups);
}

}  // namespace

Tuning fit_marks(const model::Room& room, const model::ChanceSettings& chance, Observations seen,
                 const std::vector<model::WeatherRow>& weather, const FitOptions& options) {
    Tuning out;
    out.seen = std::move(seen);
    out.old_work_cv = chance.work_cv.value;
    std::map<model::Step, std::vector<const Work*>> by_step;
    for (const Work& w : out.seen.work)
        by_step[w.step].push_back(&w);
    for (const auto& [step, work] : by_step)
        out.steps.push_back(fit_step(step, work, options));
    find_drifts(by_step, out.steps);
    draw_together(out.steps);

    // What "work varies" means: the spread of all steps without a law or spread of their own, each
    // about its own mean.
    std::set<model::Step> own;
    for (const auto& law : chance.times)
        own.insert(law.steps.begin(), law.steps.end());
    for (const auto& [step, time] : room.steps) {
        if (time.spread) own.insert(step);
    }
    std::vector<Observed> factors;
    Together together;
    for (const StepFit& s : out.steps) {
        if (!s.fitted || !by_hand(s.step) || own.contains(s.step)) continue;
        for (const Work* w : by_step[s.step]) {
            if (!fits(w->known)) continue;
            factors.push_back(over(w->length, w->planned * s.median.value));
            together.add(*w, w->planned * s.median.value);
        }
    }
    const auto spread = study::fit_censored(study::Family::Lognormal, factors);
    if (spread && !spread->at_limit)
        out.work_cv = wider({spread->cv(), spread->cv_interval(confidence)}, together.of_spread());
    out.old_drying_cv = chance.drying_cv.value;
    out.drying = fit_drying(room, weather, out.seen.hung, options.least);
    fit_remakes(chance, out);
    return out;
}

}  // namespace sched::tune
