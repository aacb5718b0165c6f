// The journal of promises simulated again, entry by entry, with what was knowable at each hour.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <queue>

#include "sched/statistics/conformal.hpp"

namespace sched::study {

namespace {

using model::PastPromise;
using model::Seconds;
using model::SimTime;

constexpr double backtest_endless = std::numeric_limits<double>::infinity();
// Shares of a wait shorter than this would say nothing.
constexpr Seconds shortest_wait = model::minutes(15);

double seconds_between(SimTime from, SimTime to) {
    return static_cast<double>((to - from).count());
}

double wait_of(const WorkClock& clock, SimTime asked, SimTime quantile) {
    return std::max(clock.reading(quantile) - clock.reading(asked),
                    static_cast<double>(shortest_wait.count()));
}

// Goes through the entries in the order of their asking and gives each the correction that was
// knowable then.
class Replay {
public:
    Replay(std::span<const PastPromise> journal, const CorrectionOptions& options)
        : options_(options),
          level_(static_cast<double>(options.percent) / 100.0),
          adaptive_(level_, std::max(options.gamma, 1e-12)) {
        for (const PastPromise& p : journal) {
            if (p.at(options.percent)) by_forecast_.push_back(&p);
        }
        std::stable_sort(by_forecast_.begin(), by_forecast_.end(),
                         [&](auto* a, auto* b) { return due(*a) < due(*b); });
    }

    std::optional<Correction> at(SimTime now) {
        learn(now);
        const auto known = static_cast<std::size_t>(
            std::upper_bound(by_forecast_.begin(), by_forecast_.end(), now,
                             [&](SimTime t, const PastPromise* p) { return t < due(*p); }) -
            by_forecast_.begin());
        const std::size_t n =
            options_.window == 0 ? known : std::min<std::size_t>(known, options_.window);
        if (n < std::max<std::size_t>(options_.least, 1)) return std::nullopt;
        scores_.clear();
        double largest = -backtest_endless;
        double smallest = backtest_endless;
        for (std::size_t i = known - n; i < known; ++i) {
            const double score = score_of(*by_forecast_[i], now);
            scores_.push_back(score);
            if (score == backtest_endless) continue;
            largest = std::max(largest, score);
            smallest = std::min(smallest, score);
        }
        if (largest == -backtest_endless) return std::nullopt;  // nothing of it is ready
        Correction c{.percent = options_.percent,
                     .relative = options_.relative,
                     .asked = options_.gamma > 0.0 ? adaptive_.level() : level_,
                     .n = n,
                     .clock = options_.clock};
        const auto shift = conformal_shift(scores_, c.asked);
        c.at_largest = !shift;
        c.shift = shift ? std::max(*shift, smallest) : largest;
        return c;
    }

    /// The customer of `entry` was told `corrected`: its outcome moves the level once it is known.
    void told(const PastPromise& entry, SimTime corrected, bool unbounded) {
        pending_.push({corrected, count_++, &entry, unbounded});
    }

private:
    struct Told {
        SimTime corrected;
        std::size_t number;
        const PastPromise* entry;
        bool unbounded;
        bool operator>(const Told& o) const {
            return std::pair(corrected, number) > std::pair(o.corrected, o.number);
        }
    };

    SimTime due(const PastPromise& p) const { return *p.at(options_.percent); }

    double score_of(const PastPromise& p, SimTime now) const {
        if (!p.ready || *p.ready > now) return backtest_endless;
        const WorkClock& clock = options_.clock;
        const double late = clock.reading(*p.ready) - clock.reading(due(p));
        return options_.relative ? late / wait_of(clock, p.asked, due(p)) : late;
    }

    void learn(SimTime now) {
        while (!pending_.empty() && pending_.top().corrected <= now) {
            const Told& t = pending_.top();
            const bool missed = !t.entry->ready || *t.entry->ready > t.corrected;
            // Without a finite shift the theorem's answer is "whenever", which holds.
            adaptive_.update(missed && !t.unbounded);
            pending_.pop();
        }
    }

    CorrectionOptions options_;
    double level_;
    AdaptiveLevel adaptive_;
    std::vector<const PastPromise*> by_forecast_;
    std::vector<double> scores_;
    std::priority_queue<Told, std::vector<Told>, std::greater<>> pending_;
    std::size_t count_ = 0;
};

std::vector<const PastPromise*> by_asking(std::span<const PastPromise> journal) {
    std::vector<const PastPromise*> list;
    for (const PastPromise& p : journal)
        list.push_back(&p);
    std::stable_sort(list.begin(), list.end(),
                     [](auto* a, auto* b) { return a->asked < b->asked; });
    return list;
}

// Gathers one row.
class RowMaker {
public:
    explicit RowMaker(std::string name) { row_.name = std::move(name); }

    void add(const PastPromise& p, SimTime told) {
        ++row_.n;
        if (p.ready && *p.ready <= told) {
            ++row_.kept;
            spare_.add(seconds_between(*p.ready, told) / 60.0);
        }
        if (p.ready && p.p50) bias_.add(seconds_between(*p.p50, *p.ready) / 60.0);
        wait_.add(seconds_between(p.asked, told) / 3600.0);
    }

    BacktestRow row() const {
        BacktestRow out = row_;
        if (out.n > 0) {
            out.coverage = wilson_interval(static_cast<std::int64_t>(out.kept),
                                           static_cast<std::int64_t>(out.n), 0.95);
        }
        out.bias_n = bias_.count();
        if (out.bias_n > 0) out.bias_min = bias_.mean();
        out.bias = out.bias_n > 1 ? mean_interval(bias_, 0.95).interval()
                                  : Interval{out.bias_min, out.bias_min};
        if (wait_.count() > 0) out.wait_h = wait_.mean();
        if (spare_.count() > 0) out.spare_min = spare_.mean();
        return out;
    }

private:
    BacktestRow row_;
    Moments bias_, wait_, spare_;
};

std::size_t size_number(int screens) {
    if (screens <= 1) return 0;
    if (screens <= 3) return 1;
    return screens <= 6 ? 2 : 3;
}

void as_given(std::span<const PastPromise> journal, SimTime end, Backtest& out) {
    for (const int percent : {50, 80, 90, 95}) {
        RowMaker row(fmt::format("{} %", percent));
        for (const PastPromise& p : journal) {
            if (const auto q = p.at(percent); q && *q <= end) row.add(p, *q);
        }
        if (row.row().n > 0) out.quantiles.push_back(row.row());
    }
    RowMaker all("promised");
    std::vector<RowMaker> sizes;
    for (const int screens : {1, 2, 4, 7})
        sizes.emplace_back(size_class(screens));
    std::map<std::string, std::size_t> kind_numbers;
    std::vector<RowMaker> kinds;
    for (const PastPromise& p : journal) {
        if (p.promised > end) {
            ++out.open;
            continue;
        }
        all.add(p, p.promised);
        sizes[size_number(p.screens)].add(p, p.promised);
        const auto [at, fresh] = kind_numbers.emplace(p.kind, kinds.size());
        if (fresh) kinds.emplace_back(p.kind.empty() ? "no kind given" : p.kind);
        kinds[at->second].add(p, p.promised);
    }
    out.promised = all.row();
    for (const RowMaker& row : sizes) {
        if (row.row().n > 0) out.sizes.push_back(row.row());
    }
    for (const RowMaker& row : kinds)
        out.kinds.push_back(row.row());
}

}  // namespace

std::string size_class(int screens) {
    static const std::string names[] = {"1 screen", "2 to 3 screens", "4 to 6 screens",
                                        "7 or more screens"};
    return names[size_number(screens)];
}

model::SimTime Correction::apply(SimTime asked_at, SimTime quantile) const {
    const double added = relative ? shift * wait_of(clock, asked_at, quantile) : shift;
    return std::max(asked_at, clock.at(clock.reading(quantile) + added));
}

std::optional<Correction> correction_at(std::span<const PastPromise> journal, SimTime now,
                                        const CorrectionOptions& options) {
    Replay replay(journal, options);
    if (options.gamma > 0.0) {
        for (const PastPromise* p : by_asking(journal)) {
            const auto q = p->at(options.percent);
            if (!q || p->asked >= now) continue;
            if (const auto c = replay.at(p->asked))
                replay.told(*p, c->apply(p->asked, *q), c->at_largest);
        }
    }
    return replay.at(now);
}

Backtest backtest(std::span<const PastPromise> journal, const CorrectionOptions& options,
                  std::optional<SimTime> now) {
    Backtest out;
    out.options = options;
    out.entries = journal.size();
    SimTime end = now.value_or(SimTime::min());
    if (!now) {
        for (const PastPromise& p : journal)
            end = std::max({end, p.asked, p.ready.value_or(p.asked)});
    }
    as_given(journal, end, out);

    CorrectionOptions plain = options;
    plain.window = 0;
    plain.gamma = 0.0;
    Replay split(journal, plain);
    Replay adaptive(journal, options);
    struct Checked {
        const PastPromise* entry;
        SimTime split, adaptive;
        bool at_largest;
    };
    std::vector<Checked> checked;
    for (const PastPromise* p : by_asking(journal)) {
        const auto q = p->at(options.percent);
        if (!q || p->asked >= end) continue;
        const auto s = split.at(p->asked);
        const auto a = adaptive.at(p->asked);
        if (a) adaptive.told(*p, a->apply(p->asked, *q), a->at_largest);
        if (!s || !a) continue;
        const Checked j{p, s->apply(p->asked, *q), a->apply(p->asked, *q), a->at_largest};
        if (std::max({*q, j.split, j.adaptive}) <= end) checked.push_back(j);
    }
    RowMaker as_was("as it was"), with_split("split conformal"), with_adaptive("adaptive");
    std::vector<RowMaker> thirds;
    for (const char* part : {"first", "second", "last"}) {
        thirds.emplace_back(fmt::format("as it was, {} third", part));
        thirds.emplace_back(fmt::format("split conformal, {} third", part));
        thirds.emplace_back(fmt::format("adaptive, {} third", part));
    }
    for (std::size_t i = 0; i < checked.size(); ++i) {
        const Checked& j = checked[i];
        const SimTime q = *j.entry->at(options.percent);
        const std::size_t third = 3 * (3 * i / checked.size());
        as_was.add(*j.entry, q);
        thirds[third].add(*j.entry, q);
        with_split.add(*j.entry, j.split);
        thirds[third + 1].add(*j.entry, j.split);
        with_adaptive.add(*j.entry, j.adaptive);
        thirds[third + 2].add(*j.entry, j.adaptive);
        if (j.at_largest) ++out.at_largest;
    }
    out.as_was = as_was.row();
    out.split = with_split.row();
    out.adaptive = with_adaptive.row();
    if (checked.size() >= 30) {
        for (const RowMaker& row : thirds)
            out.thirds.push_back(row.row());
    }
    out.now = correction_at(journal, end, options);
    return out;
}

}  // namespace sched::study
