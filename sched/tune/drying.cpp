// How it works: a cabinet's screens are played through its drying clock in the order in which they
// were hung up; what comes out is when each would have been dry. That is a function of ln factor
// and of each emulsion's critical moisture; damped Gauss-Newton steps bring it to what was seen. A
// screen's drying varies about a mean (chance.yaml, drying varies), so half the variance of the
// logarithms is put back on the factor.

#include "sched/tune/drying.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "model/physics/cabinet.hpp"
#include "model/room/steps.hpp"
#include "sched/core/index.hpp"
#include "sched/engine/drying_clock.hpp"
#include "sched/statistics/probability.hpp"

namespace sched::tune {

namespace physics = model::physics;

namespace {

constexpr double drying_confidence = 0.9;
constexpr double least_factor = 0.2, most_factor = 5.0;
constexpr double most_critical = 1.5;

template <class Named>
const Named* find_named(const std::vector<Named>& list, const std::string& name) {
    for (const Named& x : list) {
        if (x.name == name) return &x;
    }
    return nullptr;
}

/// One screen in the cabinet.
struct Hanging {
    const Hung* hung = nullptr;
    engine::Tick enters = 0;
    physics::WetScreen wet;
    int emulsion = -1;  // whose critical moisture counts; -1: free water
    double seen = 0.0;  // s to dry, or at most; 0: not known
    bool at_most = false;
};

class Replay {
public:
    Replay(const model::Room& room, const model::Station& station,
           const std::vector<model::WeatherRow>& weather, const std::vector<Hung>& hung)
        : room_(room), station_(station) {
        for (const Hung& h : hung) {
            if (h.station == station.name) take(h);
        }
        std::stable_sort(all_.begin(), all_.end(),
                         [](const Hanging& a, const Hanging& b) { return a.enters < b.enters; });
        if (all_.empty()) return;
        air_.emplace_back(all_.front().enters, room.climate->air);
        for (const model::WeatherRow& row : weather) {
            const auto t = row.from.time_since_epoch().count();
            if (t <= air_.front().first)
                air_.front().second = row.air;
            else
                air_.emplace_back(t, row.air);
        }
    }

    const std::vector<Hanging>& all() const { return all_; }
    const std::vector<std::string>& emulsions() const { return emulsions_; }

    /// Seconds to dry, per screen of all(); infinite: never. @param theta ln factor, then X_c of
    /// each emulsion.
    std::vector<double> predict(const std::vector<double>& theta) const {
        model::CabinetAir air = *station_.air;
        air.transfer_factor = std::exp(theta[0]);
        const auto cabinet =
            physics::make_cabinet(air, room_.climate->air, room_.climate->pressure, room_.drying);
        std::vector<engine::DryingClock::Step> steps;
        for (const auto& [from, of] : air_) {
            const auto c = physics::clock_step(cabinet, of);
            steps.push_back({from, c.base, c.cap.value_or(-1.0), c.cap_shift,
                             c.crowd.value_or(-1.0), c.crowd_shift});
        }
        std::vector<std::vector<engine::DryingClock::Stage>> stages;
        for (const Hanging& h : all_) {
            physics::WetScreen wet = h.wet;
            if (h.emulsion >= 0) wet.critical_moisture = theta[1 + ix(h.emulsion)];
            stages.emplace_back();
            for (const auto& s : physics::drying_load(cabinet, wet).stages)
                stages.back().push_back({s.work, s.share});
        }
        std::vector<double> out(all_.size(), std::numeric_limits<double>::infinity());
        engine::DryingClock clock(steps);
        clock.reset(all_.front().enters);
        for (std::size_t i = 0; i < all_.size(); ++i) {
            clock.advance(all_[i].enters);
            clock.enter(static_cast<std::uint32_t>(i), stages[i]);
        }
        clock.advance(all_.back().enters + 7 * 86'400);
        for (const auto& d : clock.dry())
            out[d.who] = static_cast<double>(std::max<engine::Tick>(1, d.at - all_[d.who].enters));
        return out;
    }

private:
    void take(const Hung& h) {
        const auto* emulsion = find_named(room_.emulsions, h.screen.emulsion);
        const auto* mesh = find_named(room_.meshes, h.screen.mesh);
        const auto* plan = find_named(room_.coat_plans, h.screen.coat_plan);
        if (!h.screen.known || !emulsion || !mesh || !plan) return;
        if (model::row_of(h.step).dries != model::Dries::ByAir || typed(h.step, *plan)) return;
        Hanging one{.hung = &h, .wet = {}};
        const auto hands =
            model::time_of(room_, h.step, nullptr, {.at = &station_, .frame = &h.screen.frame})
                .attended +
            station_.walk;
        one.enters = (h.start + hands).time_since_epoch().count();
        switch (h.step) {
            case model::Step::DryCoat:
                one.wet = physics::wet_coats(*mesh, *plan, *emulsion, h.screen.frame, room_.drying);
                one.emulsion = emulsion_number(emulsion->name);
                break;
            case model::Step::DryFace:
                one.wet = physics::wet_face_coat(*emulsion, h.screen.frame, room_.drying);
                one.emulsion = emulsion_number(emulsion->name);
                break;
            case model::Step::DryMesh:
                one.wet = physics::wet_mesh(h.screen.frame, room_.drying);
                break;
            default:
                one.wet = physics::wet_stencil(h.screen.frame, room_.drying);
                break;
        }
        const auto end = h.dry ? h.dry : h.out;
        if (end) {
            one.seen = static_cast<double>(end->time_since_epoch().count() - one.enters);
            one.at_most = !h.dry || h.late;
            if (one.seen < 60.0) one.seen = 0.0;  // nobody hangs a screen up to take it down
        }
        all_.push_back(one);
    }

    bool typed(model::Step step, const model::CoatPlan& plan) const {
        if (step == model::Step::DryCoat && plan.dry_coat) return true;
        if (step == model::Step::DryFace && plan.dry_face) return true;
        const auto found = room_.steps.find(step);
        return found != room_.steps.end() && found->second.stand_said;
    }

    int emulsion_number(const std::string& name) {
        const auto found = std::find(emulsions_.begin(), emulsions_.end(), name);
        if (found != emulsions_.end()) return static_cast<int>(found - emulsions_.begin());
        emulsions_.push_back(name);
        return static_cast<int>(emulsions_.size()) - 1;
    }

    const model::Room& room_;
    const model::Station& station_;
    std::vector<Hanging> all_;  // by entering
    std::vector<std::string> emulsions_;
    std::vector<std::pair<engine::Tick, model::Air>> air_;
};

using Matrix = std::vector<std::vector<double>>;

/// Gauss-Jordan with pivots. @returns false for a matrix that tells too little.
bool invert(Matrix a, Matrix& out) {
    const std::size_t n = a.size();
    out.assign(n, std::vector<double>(n, 0.0));
    for (std::size_t i = 0; i < n; ++i)
        out[i][i] = 1.0;
    for (std::size_t k = 0; k < n; ++k) {
        std::size_t best = k;
        for (std::size_t i = k; i < n; ++i) {
            if (std::abs(a[i][k]) > std::abs(a[best][k])) best = i;
        }
        if (std::abs(a[best][k]) < 1e-12) return false;
        std::swap(a[k], a[best]);
        std::swap(out[k], out[best]);
        const double p = a[k][k];
        for (std::size_t j = 0; j < n; ++j) {
            a[k][j] /= p;
            out[k][j] /= p;
        }
        for (std::size_t i = 0; i < n; ++i) {
            if (i == k) continue;
            const double f = a[i][k];
            for (std::size_t j = 0; j < n; ++j) {
                a[i][j] -= f * a[k][j];
                out[i][j] -= f * out[k][j];
            }
        }
    }
    return true;
}

struct Misses {
    std::vector<double> e;  // ln predicted - ln seen, of what counts
    double squares = 0.0;
};

Misses misses(const Replay& replay, const std::vector<double>& theta, double cut) {
    Misses out;
    const auto t = replay.predict(theta);
    for (std::size_t i = 0; i < t.size(); ++i) {
        const Hanging& h = replay.all()[i];
        if (h.seen <= 0.0 || h.at_most) continue;
        double e = std::log(std::min(t[i], 1e7) / h.seen);
        // What lies far out was marked wrongly: it counts as far as the limit (Huber 1964).
        e = std::clamp(e, -cut, cut);
        out.e.push_back(e);
        out.squares += e * e;
    }
    return out;
}

double middle(std::vector<double> v) {
    if (v.empty()) return 0.0;
    std::sort(v.begin(), v.end());
    return v[v.size() / 2];
}

DryingFit fit_cabinet(const model::Room& room, const model::Station& station,
                      const std::vector<model::WeatherRow>& weather, const std::vector<Hung>& hung,
                      std::size_t least) {
    DryingFit fit{.station = station.name};
    fit.old_factor = fit.factor = station.air->transfer_factor;
    const Replay replay(room, station, weather, hung);
    std::vector<std::size_t> of_emulsion(replay.emulsions().size(), 0);
    std::size_t free_water = 0;
    for (const Hanging& h : replay.all()) {
        if (h.seen <= 0.0) continue;
        ++(h.at_most ? fit.most : fit.n);
        if (h.at_most) continue;
        if (h.emulsion >= 0)
            ++of_emulsion[ix(h.emulsion)];
        else
            ++free_water;
    }
    if (fit.n < least) return fit;
    const double lowest = room.drying.final_moisture + 0.02;
    std::vector<double> theta{std::log(fit.old_factor)};
    std::vector<std::size_t> free{0};  // numbers of theta that are fitted
    for (std::size_t k = 0; k < replay.emulsions().size(); ++k) {
        theta.push_back(find_named(room.emulsions, replay.emulsions()[k])->critical_moisture);
        // Rinsed screens tell the factor apart from it.
        if (free_water >= least && of_emulsion[k] >= least) free.push_back(k + 1);
    }
    const std::vector<double> old = theta;
    const auto bounded = [&](std::vector<double> t) {
        t[0] = std::clamp(t[0], std::log(least_factor), std::log(most_factor));
        for (std::size_t k = 1; k < t.size(); ++k)
            t[k] = std::clamp(t[k], lowest, most_critical);
        return t;
    };
    std::vector<double> off;
    {
        const auto t = replay.predict(theta);
        for (std::size_t i = 0; i < t.size(); ++i) {
            const Hanging& h = replay.all()[i];
            if (h.seen > 0.0 && !h.at_most) off.push_back(std::log(h.seen / std::min(t[i], 1e7)));
        }
    }
    fit.old_ratio = std::exp(middle(off));
    double cut = 3.0;
    Misses now = misses(replay, theta, cut);
    Matrix inverse;
    for (int pass = 0; pass < 2; ++pass) {
        double damping = 1e-3;
        for (int round = 0; round < 40; ++round) {
            constexpr double width = 1e-3;
            std::vector<std::vector<double>> slope;
            for (const std::size_t k : free) {
                auto up = theta, down = theta;
                up[k] += width;
                down[k] -= width;
                const auto a = misses(replay, up, cut).e, b = misses(replay, down, cut).e;
                slope.emplace_back();
                for (std::size_t i = 0; i < a.size(); ++i)
                    slope.back().push_back((a[i] - b[i]) / (2.0 * width));
            }
            Matrix normal(free.size(), std::vector<double>(free.size(), 0.0));
            std::vector<double> g(free.size(), 0.0);
            for (std::size_t a = 0; a < free.size(); ++a) {
                for (std::size_t i = 0; i < now.e.size(); ++i)
                    g[a] += slope[a][i] * now.e[i];
                for (std::size_t b = 0; b < free.size(); ++b) {
                    for (std::size_t i = 0; i < now.e.size(); ++i)
                        normal[a][b] += slope[a][i] * slope[b][i];
                }
            }
            Matrix damped = normal;
            for (std::size_t a = 0; a < free.size(); ++a)
                damped[a][a] *= 1.0 + damping;
            Matrix step;
            if (!invert(normal, inverse) || !invert(damped, step)) return fit;
            auto next = theta;
            for (std::size_t a = 0; a < free.size(); ++a) {
                for (std::size_t b = 0; b < free.size(); ++b)
                    next[free[a]] -= step[a][b] * g[b];
            }
            next = bounded(next);
            const Misses then = misses(replay, next, cut);
            double moved = 0.0;
            for (std::size_t k = 0; k < theta.size(); ++k)
                moved += std::abs(next[k] - theta[k]);
            if (then.squares < now.squares) {
                theta = next;
                now = then;
                damping = std::max(1e-9, 0.2 * damping);
            } else {
                damping *= 8.0;
            }
            if (moved < 1e-7 || damping > 1e8) break;
        }
        const double spread = std::sqrt(now.squares / static_cast<double>(now.e.size()));
        cut = std::clamp(3.0 * spread, 0.05, 3.0);
        now = misses(replay, theta, cut);
    }
    const double df = static_cast<double>(fit.n) - static_cast<double>(free.size());
    if (df < 1.0) return fit;
    const double variance = now.squares / df;
    const double t = study::t_quantile(0.5 + 0.5 * drying_confidence, df);
    // Drying varies about a mean: half the variance of the logarithms lies between it and the
    // middle.
    const double log_factor = theta[0] - 0.5 * variance;
    fit.factor = std::exp(log_factor);
    const double half = t * std::sqrt(variance * inverse[0][0]);
    fit.interval = {std::exp(log_factor - half), std::exp(log_factor + half)};
    for (std::size_t a = 1; a < free.size(); ++a) {
        const double h = t * std::sqrt(variance * inverse[a][a]);
        fit.critical.push_back({replay.emulsions()[free[a] - 1],
                                old[free[a]],
                                theta[free[a]],
                                {theta[free[a]] - h, theta[free[a]] + h}});
    }
    fit.cv = std::sqrt(std::expm1(variance));
    const auto cv_at = [&](double p) {
        return std::sqrt(std::expm1(variance * df / study::chi_square_quantile(p, df)));
    };
    fit.cv_interval = {cv_at(0.5 + 0.5 * drying_confidence), cv_at(0.5 - 0.5 * drying_confidence)};
    const bool at_limit = std::abs(theta[0] - std::log(least_factor)) < 1e-6 ||
                          std::abs(theta[0] - std::log(most_factor)) < 1e-6;
    fit.fitted = !at_limit;
    return fit;
}

}  // namespace

std::vector<DryingFit> fit_drying(const model::Room& room,
                                  const std::vector<model::WeatherRow>& weather,
                                  const std::vector<Hung>& hung, std::size_t least) {
    std::vector<DryingFit> out;
    if (!room.climate) return out;
    for (const model::Station& station : room.stations) {
        const bool any = station.air && std::any_of(hung.begin(), hung.end(), [&](const Hung& h) {
                             return h.station == station.name;
                         });
        if (any) out.push_back(fit_cabinet(room, station, weather, hung, least));
    }
    return out;
}

}  // namespace sched::tune
