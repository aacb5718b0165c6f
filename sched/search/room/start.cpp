// How it works: a start begins with a blend of dispatching rules, careful where rules shut
// themselves in, moves orders and kinds of steps as wholes, then anneals in rounds, each longer
// than the one before: over the keys, over the order at each place and person, and on paths or with
// a population where the problem allows them. Moves that helped are drawn more often; a run that
// can no longer be good enough is cut off.

#include "sched/search/room/start.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include "sched/engine/rules.hpp"
#include "sched/search/room/blocker.hpp"
#include "sched/search/room/careful.hpp"
#include "sched/search/room/graph.hpp"
#include "sched/search/room/shifts.hpp"

namespace sched::search {

namespace {

constexpr std::size_t kElites = 6;
constexpr std::int64_t kFirstRound = 400;
constexpr std::int64_t kLongestRound = 50'000;
constexpr double kFirstHeat = 0.03;
constexpr double kLastHeat = 0.001;
constexpr std::int64_t kBlends = 150;
constexpr std::array<double, 4> kReheat{1.0, 4.0, 1.0, 12.0};  // round by round
constexpr double kLeastGap = 60.0;
constexpr double kPathShare = 15.0;                    // moves on paths, to operations decoded
constexpr double kBredAlone = 0.9, kBredBeside = 0.3;  // of the schedules
constexpr double kShiftShare = 0.6;                    // of the budget, at most
constexpr std::size_t kMostShifts = 40, kMostPopulation = 8, kFewBlocks = 64;
constexpr int kPolishFrom = 4;   // earlier it would only cost variety
constexpr int kMostIdle = 3000;  // changes that change nothing

}  // namespace

RoomStart::RoomStart(const engine::CompiledProblem& problem, const RoomUnits& units,
                     const RoomValue& bound, const RoomGuide& guide, const GraphModel* graph,
                     std::uint64_t seed, int start, Watch& watch)
    : problem_(problem),
      units_(units),
      bound_(bound),
      guide_(guide),
      decoder_(problem),
      rng_(seed, static_cast<std::uint64_t>(start)),
      start_(start),
      watch_(watch),
      shift_seed_(1000 * (seed + 3)),
      breeder_(
          problem, units, Rng(seed + 2, static_cast<std::uint64_t>(start)),
          [this](RoomPoint& point, RoomValue& value) {
              return decode(point, value) ? &decoder_.schedule() : nullptr;
          },
          [this](std::int64_t passes) { return watch_.count(passes); }) {
    for (const RoomMove& m : room_moves())
        weight_.push_back(!m.suits || m.suits(units) ? m.weight : 0.0);
    tries_.assign(weight_.size(), 0.0);
    gains_.assign(weight_.size(), 0.0);
    // Its draws are its own.
    if (graph && !guide.count)
        paths_.emplace(*graph, bound, Rng(seed + 1, static_cast<std::uint64_t>(start)), watch);
}

void RoomStart::run(const std::vector<RoomPoint>& first) {
    begin(first);
    if (guide_.rules) blend();
    if (guide_.rules) shift();
    if (elites_.empty()) scatter();
    if (best_point_.key.empty() && !elites_.empty()) best_point_ = elites_.front().point;
    if (!elites_.empty() && !problem_.blocks.empty()) climb();
}

bool RoomStart::decode(RoomPoint& point, RoomValue& value, const engine::Cutoff* cutoff) {
    if (best_ && watch_.spent()) return false;  // one run may last; no caller has to look
    return take(point, value, cutoff);
}

bool RoomStart::take(RoomPoint& point, RoomValue& value, const engine::Cutoff* cutoff) {
    renumber(point, turn_);
    to_sequence(problem_, point, turn_, sequence_);
    if (!watch_.spent()) watch_.count();
    list_work_ += static_cast<double>(problem_.operations.size());
    if (!decoder_.decode_near(sequence_, cutoff)) return false;
    value = decoder_.value();
    if (guide_.count)
        value.insert(value.begin() + static_cast<std::ptrdiff_t>(guide_.place),
                     guide_.count(decoder_.schedule()));
    if (!best_ || value < best_value_) {
        best_ = decoder_.to_schedule();
        best_value_ = value;
        best_point_ = point;
        watch_.show(value.empty() ? 0 : value.front());
    }
    return true;
}

void RoomStart::begin(const std::vector<RoomPoint>& first) {
    RoomValue value;
    if (guide_.known && !problem_.midday) take_known(*guide_.known);
    for (RoomPoint point : first) {
        if (decode(point, value)) keep(point, value);
    }
    if (!guide_.rules && (guide_.known ? !elites_.empty() : best_.has_value())) return;
    const auto views = engine::rule_views(problem_);
    for (const auto& rule : engine::rules()) {
        if (out_of_time()) return;
        RoomPoint point = to_point(problem_, engine::rule_sequence(problem_, views, rule));
        if (decode(point, value)) keep(point, value);
        if (!best_) be_careful();
        if (units_.choosers.empty()) continue;
        point.genes.choice = units_.spare;
        if (decode(point, value)) keep(point, value);
    }
    // Due date less a multiple of the work left, less a head start by weight.
    for (const double work : {1.0, 1.5, 2.0, 3.0, 4.0, 6.0}) {
        for (const double head_start : {0.0, 1800.0, 3600.0}) {
            if (out_of_time()) return;
            std::vector<std::size_t> order(views.size());
            std::iota(order.begin(), order.end(), std::size_t{0});
            std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
                const auto key = [&](std::size_t i) {
                    const auto& view = views[i];
                    return view.due - work * view.remaining -
                           head_start * std::log(view.weight + 1e-3);
                };
                return key(a) < key(b);
            });
            engine::Sequence sequence;
            sequence.rank.resize(views.size());
            for (std::size_t i = 0; i < order.size(); ++i)
                sequence.rank[order[i]] = static_cast<std::int32_t>(i);
            RoomPoint point = to_point(problem_, sequence);
            point.genes.choice = units_.spare;
            if (decode(point, value)) keep(point, value);
        }
    }
}

// The rule shut itself in: a few screens at a time. The first start alone looks; what it finds
// nobody else would find better.
void RoomStart::be_careful() {
    if (careful_ || start_ > 0) return;
    careful_ = true;
    const auto careful = careful_schedule(problem_.problem, {});  // short, and not to be cut off
    watch_.count();
    if (!careful.schedule) return;
    RoomValue value;
    RoomPoint point = to_point(problem_, sequence_of(problem_, *careful.schedule, true));
    if (decode(point, value)) return keep(point, value);
    const engine::FlatSchedule flat = engine::to_flat(problem_, *careful.schedule);
    point.genes.delay.clear();
    point.genes.waits_inside = false;
    point.genes.earliest = flat.start;
    if (decode(point, value)) return keep(point, value);
    take_known(*careful.schedule);
}

// No point leads there: it is the plan until the search has a better one.
void RoomStart::take_known(const core::Schedule& schedule) {
    const engine::FlatSchedule flat = engine::to_flat(problem_, schedule);
    engine::evaluate(problem_, flat, completion_, best_value_);
    if (guide_.count)
        best_value_.insert(best_value_.begin() + static_cast<std::ptrdiff_t>(guide_.place),
                           guide_.count(flat));
    best_ = schedule;
}

// A blend of rules: due date less a multiple of the work left, less a head start by weight, each
// order a little sooner or later. The first half anywhere, the second near the best.
void RoomStart::blend() {
    const auto views = engine::rule_views(problem_);
    const std::int64_t share = watch_.share() > 0 ? watch_.share() / 10 : kBlends;
    const auto tries = static_cast<int>(std::clamp<std::int64_t>(share, 10, kBlends));
    struct Blend {
        double left = 1.0, weight = 0.0;
        bool spare = false;
        std::vector<double> sooner;
    };
    Blend best;
    best.sooner.assign(units_.of_order.size() + 1, 0.0);
    RoomValue best_value, value;
    engine::Sequence sequence;
    sequence.rank.resize(views.size());
    std::vector<std::int32_t> turn(views.size());
    std::vector<double> key(views.size());
    for (int k = 0; k < tries && !watch_.spent() && !done(); ++k) {
        Blend b = best;
        if (2 * k < tries) {
            b.left = 0.3 + 2.0 * rng_.unit();
            b.weight = rng_.below(3) == 0 ? 0.0 : 3600.0 * rng_.unit();
            b.spare = rng_.below(3) > 0;
        } else {
            b.left = std::max(0.0, b.left + 0.4 * (rng_.unit() - 0.5));
            b.weight = std::max(0.0, b.weight + 1200.0 * (rng_.unit() - 0.5));
            for (double& s : b.sooner)
                s += rng_.below(4) == 0 ? 3600.0 * (rng_.unit() - 0.5) : 0.0;
        }
        for (std::size_t i = 0; i < views.size(); ++i) {
            const std::int32_t order = problem_.operations[i].order;
            const std::size_t o =
                order >= 0 ? static_cast<std::size_t>(order) : b.sooner.size() - 1;
            key[i] = views[i].due - b.left * views[i].remaining -
                     b.weight * std::log(std::max(views[i].weight, 0.1)) - b.sooner[o];
        }
        std::iota(turn.begin(), turn.end(), 0);
        std::stable_sort(turn.begin(), turn.end(), [&](std::int32_t x, std::int32_t y) {
            return key[static_cast<std::size_t>(x)] < key[static_cast<std::size_t>(y)];
        });
        for (std::size_t i = 0; i < turn.size(); ++i)
            sequence.rank[static_cast<std::size_t>(turn[i])] = static_cast<std::int32_t>(i);
        RoomPoint point = to_point(problem_, sequence);
        if (b.spare) point.genes.choice = units_.spare;
        if (!decode(point, value)) continue;
        keep(point, value);
        if (!best_value.empty() && !(value < best_value)) continue;
        best_value = value;
        best = b;
    }
}

// Orders and kinds of steps sooner or later as wholes: again and again, from the good beginnings
// and from the best so far in turn, each time with more tries at once. Where paths tell more, or
// few blocks can be tried one by one, it is not worth its while.
void RoomStart::shift() {
    const Shifts shifts(problem_, units_);
    if (!best_ || paths_ || problem_.blocks.size() <= kFewBlocks || !shifts.any()) return;
    std::vector<Elite> from = elites_;
    std::stable_sort(from.begin(), from.end(),
                     [](const Elite& a, const Elite& b) { return a.value < b.value; });
    const auto over = [&] { return watch_.spent() || done() || watch_.gone() >= kShiftShare; };
    const auto decoded = [&](RoomPoint& point, RoomValue& value) {
        if (!decode(point, value)) return false;
        keep(point, value);
        return true;
    };
    std::size_t population = shifts.population();
    for (std::size_t run = 0; run < kMostShifts && !from.empty() && !over(); ++run) {
        const std::size_t turn = (run / 2 + static_cast<std::size_t>(start_)) % from.size();
        RoomPoint point = run % 2 == 0 && run > 0 ? best_point_ : from[turn].point;
        RoomValue value;
        if (point.key.empty() || !decode(point, value)) continue;
        const engine::FlatSchedule schedule = decoder_.schedule();
        shifts.run(point, schedule, population,
                   Rng(shift_seed_ + run, static_cast<std::uint64_t>(start_)), decoded, over);
        if (run % 2 == 1) population = std::min(kMostPopulation, 2 * population);
    }
}

// No rule led to a schedule: random orders of the units.
void RoomStart::scatter() {
    RoomPoint point;
    RoomValue value;
    for (int tries = 0; tries < 2000 && elites_.empty() && !watch_.spent(); ++tries) {
        point.key.assign(problem_.blocks.size(), 0.0);
        for (const auto& unit : units_.blocks) {
            const double u = rng_.unit();
            for (const std::int32_t b : unit)
                point.key[static_cast<std::size_t>(b)] = u;
        }
        if (decode(point, value)) keep(point, value);
    }
}

// The decoder's last schedule becomes the one that moves look at.
void RoomStart::take_view() {
    decoder_.hold();
    schedule_ = decoder_.schedule();
    engine::completions(problem_, schedule_, completion_);
    // An order will hardly need less from one of its steps on than halfway between the least that
    // it can and what it needs in this schedule.
    likely_.assign(problem_.blocks.size(), 0);
    for (const auto& step : problem_.order_steps) {
        const auto block = static_cast<std::size_t>(step.block);
        const auto op = static_cast<std::size_t>(problem_.ops_of(problem_.blocks[block]).front());
        const auto order = static_cast<std::size_t>(problem_.operations[op].order);
        const engine::Tick held = completion_[order] - schedule_.start[op];
        likely_[block] = step.tail + std::max<engine::Tick>(0, held - step.tail) / 2;
    }
}

bool RoomStart::change(RoomPoint& point) {
    double sum = 0.0;
    for (const double w : weight_)
        sum += w;
    double left = rng_.unit() * sum;
    std::size_t k = 0;
    while (k + 1 < weight_.size() && left >= weight_[k])
        left -= weight_[k++];
    last_move_ = static_cast<int>(k);
    tries_[k] += 1.0;
    return room_moves()[k].apply(point, view(), rng_);
}

// Moves that helped lately are taken more often, none less than a fifth of what it began with.
void RoomStart::weigh_moves() {
    double tries = 0.0, gains = 0.0;
    for (std::size_t k = 0; k < weight_.size(); ++k) {
        tries += tries_[k];
        gains += gains_[k];
    }
    const double mean = (gains + 1.0) / (tries + 1.0);
    for (std::size_t k = 0; k < weight_.size(); ++k) {
        const double rate = (gains_[k] + 10.0 * mean) / (tries_[k] + 10.0) / mean;
        if (weight_[k] > 0.0) weight_[k] = room_moves()[k].weight * std::clamp(rate, 0.2, 5.0);
        tries_[k] *= 0.7;
        gains_[k] *= 0.7;
    }
}

// One number for the criteria, for deciding what to go on from: each counts a fifth of the one
// before, in units of what the best still lacks to its bound.
void RoomStart::weigh_criteria() {
    scale_.assign(best_value_.size(), 0.0);
    double weight = 1.0;
    for (std::size_t k = 0; k < best_value_.size(); ++k) {
        const std::int64_t bound = k < bound_.size() ? bound_[k] : 0;
        const auto gap = static_cast<double>(best_value_[k] - bound);
        scale_[k] = weight / std::max(gap, kLeastGap);
        if (gap > 0.0) weight *= 0.2;
    }
}

double RoomStart::cost(const RoomValue& value) const {
    double sum = 0.0;
    for (std::size_t k = 0; k < value.size(); ++k)
        sum += scale_[k] * static_cast<double>(value[k] - best_value_[k]);
    return sum;
}

// Where a run is not worth its end: worse than the present value and beyond the cost allowed.
engine::Cutoff RoomStart::cutoff_at(const RoomValue& now_value, double most) {
    cut_scale_ = scale_;
    double limit = most;
    for (std::size_t k = 0; k < scale_.size(); ++k)
        limit += scale_[k] * static_cast<double>(best_value_[k]);
    std::size_t known = now_value.size();
    if (guide_.count) {  // a part that only the whole schedule tells
        known = guide_.place;
        cut_scale_.erase(cut_scale_.begin() + static_cast<std::ptrdiff_t>(guide_.place));
    }
    return {{now_value.data(), known}, cut_scale_, limit, likely_};
}

// Annealing in rounds, each longer than the one before. Rounds over lists (room_moves.hpp) take
// turns with rounds over the order on each place and person (floor_graph.hpp), which go on from the
// best schedule.
void RoomStart::climb() {
    std::stable_sort(elites_.begin(), elites_.end(),
                     [](const Elite& a, const Elite& b) { return a.value < b.value; });
    // Starts differ in where they begin, too.
    RoomPoint now =
        elites_[static_cast<std::size_t>(start_) % std::min<std::size_t>(3, elites_.size())].point;
    RoomValue now_value;
    decode(now, now_value);
    std::int64_t length = kFirstRound;
    // Moves aim at what orders wait for: without orders there is nothing to aim at, and children
    // are worth more. Drying whose length depends on what is beside it the backward pass cannot
    // time: there they are worth less (measured on tomorrow, 15,000 schedules, three seeds).
    const double share = paths_ || problem_.coupled   ? 0.0
                         : problem_.order_due.empty() ? kBredAlone
                                                      : kBredBeside;
    int still = 0;  // rounds on end in which nothing could be changed
    for (int round = 0; !watch_.spent() && !done() && (still < 2 || paths_ || share > 0.0);
         ++round) {
        if (paths_ && follow_paths()) decode(now = best_point_, now_value);
        if ((static_cast<double>(bred_) < share * static_cast<double>(watch_.evaluations()) ||
             still >= 2) &&
            breed(bred_ + length))
            decode(now = best_point_, now_value);
        if (watch_.spent() || done()) break;
        if (still >= 2) continue;
        const bool graph = round % 2 == 1;
        if (round > 0 && !begin_round(graph, now, now_value)) continue;
        const double heat =
            kFirstHeat * kReheat[static_cast<std::size_t>(round / 2) % kReheat.size()];
        if (graph && !say_as_graph(now, now_value)) continue;
        still = anneal(now, now_value, graph, length, heat) ? 0 : still + 1;
        if (round >= kPolishFrom && small() && polish()) decode(now = best_point_, now_value);
        if (round >= kPolishFrom && small() && kick(watch_.evaluations() + length))
            decode(now = best_point_, now_value);
        if (!graph) keep(now, now_value);
        if (graph) length = std::min(kLongestRound, length + length / 2);
    }
}

// The population goes on for so many evaluations; it knows the best. @returns true if the best is
// another now.
bool RoomStart::breed(std::int64_t until) {
    const RoomValue before = best_value_;
    breeder_.join(best_point_, best_value_, engine::to_flat(problem_, *best_));
    while (!watch_.spent() && !done() && bred_ < until) {
        const std::int64_t begun = watch_.evaluations();
        breeder_.step();
        bred_ += std::max<std::int64_t>(1, watch_.evaluations() - begun);
    }
    return best_value_ != before;
}

// Where the graph tells the times, most of the work goes into its paths; what is found there is
// decoded, and what was found elsewhere is given to it. @returns true if the best is another.
bool RoomStart::follow_paths() {
    if (joined_ != best_value_) paths_->join(problem_, engine::to_flat(problem_, *best_));
    const RoomValue before = best_value_;
    RoomValue value;
    do {
        const std::int64_t begun = watch_.evaluations();
        const bool better = paths_->step();
        path_work_ += static_cast<double>(watch_.evaluations() - begun);
        if (!better || !(paths_->best().value < best_value_)) continue;
        RoomPoint point = to_point(problem_, paths_->sequence(problem_, paths_->best()));
        if (take(point, value, nullptr)) keep(point, value);  // even when time is up
    } while (!watch_.spent() && !done() && path_work_ < kPathShare * list_work_);
    joined_ = best_value_;
    return best_value_ != before;
}

// Where a round begins: the best schedule itself; its order without its waits; a good point, or a
// crossing of two.
bool RoomStart::begin_round(bool graph, RoomPoint& now, RoomValue& value) {
    if (graph) {
        now = best_point_;
        return decode(now, value);
    }
    const Elite* best = &elites_.front();
    for (const Elite& e : elites_) {
        if (e.value < best->value) best = &e;
    }
    now = to_point(problem_, sequence_of(problem_, *best_, false));
    now.genes.waiting_batch = waiting_batches_of(problem_, *best_);
    if (decode(now, value) && value <= best->value) {
        keep(now, value);
        return true;
    }
    const auto a = static_cast<std::size_t>(rng_.below(static_cast<int>(elites_.size())));
    const auto b = static_cast<std::size_t>(rng_.below(static_cast<int>(elites_.size())));
    if (a != b && rng_.below(2) == 0) {
        now = cross(elites_[a].point, elites_[b].point);
        if (decode(now, value)) return true;
    }
    now = best->point;
    return decode(now, value);
}

// One round. @returns false if it found nothing that could be changed.
bool RoomStart::anneal(RoomPoint& now, RoomValue& now_value, bool graph, std::int64_t length,
                       double heat) {
    take_view();
    weigh_criteria();
    const double cooling = std::pow(kLastHeat / kFirstHeat, 1.0 / static_cast<double>(length));
    double now_cost = cost(now_value);
    int idle = 0;
    RoomPoint next;
    RoomValue value;
    for (std::int64_t step = 0; step < length && !watch_.spent() && !done(); ++step) {
        heat *= cooling;
        next = now;
        bool changed = graph ? graph_move(next, view(), rng_) : change(next);
        const int move = last_move_;
        if (!graph && rng_.below(5) == 0) changed = change(next) || changed;
        if (!changed) {
            watch_.count(0);
            if (++idle > kMostIdle) return false;
            --step;
            continue;
        }
        idle = 0;
        const double most = now_cost - heat * std::log(1.0 - rng_.unit());
        const engine::Cutoff cutoff = cutoff_at(now_value, most);
        if (!decode(next, value, &cutoff)) continue;
        const double next_cost = cost(value);
        if (value > now_value && next_cost > most) continue;
        if (!graph && value < now_value)
            gains_[static_cast<std::size_t>(move)] += value == best_value_ ? 3.0 : 1.0;
        std::swap(now, next);
        std::swap(now_value, value);
        now_cost = next_cost;
        take_view();
        if (graph) continue;
        renew_waits(now, view());
        if (++accepted_ % 64 == 0) weigh_moves();
    }
    return true;
}

// The point said as the moves over orders say theirs, which then differ from the held run only
// where something moved. @returns false if that is worse: all their moves would be (drying that
// depends on the load is timed only roughly there).
bool RoomStart::say_as_graph(RoomPoint& now, RoomValue& now_value) {
    take_view();
    RoomPoint same = now;
    RoomValue value;
    if (!as_graph(same, view()) || !decode(same, value) || value > now_value) return false;
    now = std::move(same);
    now_value = std::move(value);
    return true;
}

// The best few different values.
void RoomStart::keep(const RoomPoint& point, const RoomValue& value) {
    if (best_point_.key.empty()) best_point_ = point;
    for (Elite& e : elites_) {
        if (e.value != value) continue;
        e.point = point;
        return;
    }
    if (elites_.size() < kElites) {
        elites_.push_back({point, value});
        return;
    }
    auto worst = std::max_element(elites_.begin(), elites_.end(),
                                  [](const Elite& a, const Elite& b) { return a.value < b.value; });
    if (value < worst->value) *worst = {point, value};
}

// Units of about half of the orders go where `b` has them, the rest stays where `a` has it.
RoomPoint RoomStart::cross(const RoomPoint& a, const RoomPoint& b) {
    RoomPoint child = a;
    std::vector<char> from_b(units_.of_order.size() + 1, 0);
    for (char& f : from_b)
        f = static_cast<char>(rng_.below(2));
    for (std::size_t u = 0; u < units_.blocks.size(); ++u) {
        const std::int32_t order = units_.order[u];
        if (!from_b[order >= 0 ? static_cast<std::size_t>(order) : from_b.size() - 1]) continue;
        for (const std::int32_t block : units_.blocks[u])
            child.key[static_cast<std::size_t>(block)] = b.key[static_cast<std::size_t>(block)];
    }
    return child;
}

}  // namespace sched::search
