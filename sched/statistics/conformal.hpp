#pragma once
// Are promises kept, and what to add to the next one so that they are: conformal correction of
// forecast quantiles by past errors. In: the journal of promises. Out: shifts with a guarantee
// that needs no model of the room.
// Sources: Vovk, Gammerman, Shafer, Algorithmic Learning in a Random World (2005), split conformal;
// Romano, Patterson, Candes, Conformalized Quantile Regression, NeurIPS 2019 (theorems 1 and 2:
// scores against a quantile, one side at a time); Lei et al., Distribution-Free Predictive
// Inference for Regression, JASA 2018, sec. 5.2 (scores scaled by a known spread); Gibbs, Candes,
// Adaptive Conformal Inference Under Distribution Shift, NeurIPS 2021, eq. 2 and prop. 4.1.

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "model/room/past_promise.hpp"
#include "sched/statistics/output_analysis.hpp"
#include "sched/statistics/work_clock.hpp"

namespace sched::study {

// ---- plain numbers -----------------------------------------------------------------------------

/// Rank (from 1) of the calibration score that a new one stays at or below with chance >= level:
/// ceil((n + 1) level); 0 for level <= 0; none when it is above n (too few scores).
std::optional<std::size_t> conformal_rank(std::size_t n, double level);

/// The score of that rank: what to add to a forecast quantile so that it holds with `level`,
/// whatever the scores' distribution, if old and new errors are exchangeable. Scores are actual
/// minus forecast; +inf = still open. -inf for level <= 0, none when the rank is above n or the
/// score of that rank is infinite. Sorts a copy: O(n log n).
std::optional<double> conformal_shift(std::span<const double> scores, double level);

/// Fewest scores with which conformal_shift can answer: smallest n with ceil((n+1) level) <= n.
std::size_t conformal_least(double level);

/// Of continuous exchangeable scores, the coverage reached with n of them is Beta(l, n + 1 - l)
/// over the random variation of the calibration, l = conformal_rank(n, level) (Vovk 2012, prop.
/// 2a).
/// @returns its p quantile. @pre n >= conformal_least(level), 0 <= p <= 1.
double conformal_coverage_quantile(std::size_t n, double level, double p);

/// The chance to miss that is asked of the conformal step, moved after each outcome:
/// alpha += gamma (target - missed). Over any T outcomes, in whatever order nature gives them,
/// |share missed - target| <= (max(alpha_1, 1 - alpha_1) + gamma) / (gamma T), if a demand
/// alpha <= 0 is never missed and alpha >= 1 always (Gibbs and Candes 2021, prop. 4.1).
class AdaptiveLevel {
public:
    /// @pre 0 < level < 1, gamma > 0.
    AdaptiveLevel(double level, double gamma)
        : target_(1.0 - level), gamma_(gamma), alpha_(target_) {}
    /// The level to ask for now; may lie outside (0, 1).
    double level() const { return 1.0 - alpha_; }
    void update(bool missed) { alpha_ += gamma_ * (target_ - (missed ? 1.0 : 0.0)); }

private:
    double target_;
    double gamma_;
    double alpha_;
};

// ---- journal -----------------------------------------------------------------------------------

struct CorrectionOptions {
    int percent = 90;          // the shop's service level: 50, 80, 90 or 95
    std::size_t least = 40;    // entries, below which nothing is corrected
    std::size_t window = 150;  // the last so many outcomes count; 0: all
    double gamma = 0.02;       // step of AdaptiveLevel; 0: none, plain split conformal
    /// Errors as shares of the wait that was forecast (after Lei et al. 5.2) or as seconds. A room
    /// in which everything takes a fifth longer is wrong by a share, not by minutes.
    bool relative = true;
    /// On which waits and errors are measured (any increasing clock keeps the guarantee): on the
    /// room's, ten minutes that fall into the night are ten minutes.
    WorkClock clock;
};

/// What past errors say about a forecast made now.
struct Correction {
    int percent = 90;
    bool relative = true;
    double shift = 0.0;  // share of the wait, or s
    double asked = 0.9;  // level asked of the conformal step; differs from percent under drift
    std::size_t n = 0;   // outcomes that it rests on
    WorkClock clock;
    bool at_largest = false;  // no finite shift holds the level: the largest error seen is used
    /// The forecast corrected; never before `asked_at`. Rounded up to whole seconds.
    model::SimTime apply(model::SimTime asked_at, model::SimTime quantile) const;
};

/// An outcome counts from the hour of its own forecast on, ready or not (open ones count as the
/// worst): so early birds do not push themselves in front. @param journal any order.
/// @returns none if fewer than `least` outcomes are known at `now`.
std::optional<Correction> correction_at(std::span<const model::PastPromise> journal,
                                        model::SimTime now, const CorrectionOptions& options);

/// How a set of promises did.
struct BacktestRow {
    std::string name;
    std::size_t n = 0;
    std::size_t kept = 0;
    Interval coverage;       // Wilson 1927, 95 %
    double bias_min = 0.0;   // mean of ready minus the forecast middle [min]; > 0: later than said
    Interval bias;           // t interval, 95 % [min]
    std::size_t bias_n = 0;  // entries that have a middle
    double wait_h = 0.0;     // mean of promised minus asked [h]: sharpness
    double spare_min = 0.0;  // mean of promised minus ready, over those kept [min]
};

struct Backtest {
    CorrectionOptions options;
    std::size_t entries = 0;
    std::size_t open = 0;                // neither ready nor due: not judged
    std::vector<BacktestRow> quantiles;  // "50 %" .. "95 %": the forecast itself
    BacktestRow promised;                // what the customers were told
    std::vector<BacktestRow> sizes;      // promised, by number of screens
    std::vector<BacktestRow> kinds;      // promised, by kind; in the order of first sight
    /// The forecast at options.percent over the same later entries, those before which enough was
    /// known: as it was, with plain split conformal (all past, no step), and with the options.
    BacktestRow as_was, split, adaptive;
    std::vector<BacktestRow> thirds;  // of these, in time: "adaptive, first third", ...
    std::size_t at_largest = 0;       // entries of `adaptive` without a finite shift
    std::optional<Correction> now;    // for the next enquiry, after the last entry
};

/// Every entry is judged as it was given, then given again with the correction that was knowable
/// at that hour. An entry that is not ready counts as missed once `now` (or the last hour in the
/// journal) is past its promise. O(n^2 log n).
Backtest backtest(std::span<const model::PastPromise> journal, const CorrectionOptions& options,
                  std::optional<model::SimTime> now = std::nullopt);

/// "1 screen", "2 to 3 screens", "4 to 6 screens", "7 or more screens".
std::string size_class(int screens);

}  // namespace sched::study
