// How it works: one private function for each part of the document, run in the order in which
// later ones need earlier ones; all read room, schedule and facts, and only fill values. Words of
// reasons come from reasons.cpp, what limits the day from what_if_lines.cpp.

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <map>

#include "sched/core/objective.hpp"
#include "sched/report/document/fingerprint.hpp"
#include "sched/report/document/plan_document.hpp"
#include "sched/report/document/problem_reader.hpp"
#include "sched/report/plan/break_lines.hpp"
#include "sched/report/plan/reasons.hpp"
#include "sched/report/plan/store_lines.hpp"
#include "sched/report/words/steps.hpp"
#include "sched/report/words/wording.hpp"

namespace sched::report {

namespace {

using compile::ResourceKind;
using core::Criterion;

class DocumentMaker {
public:
    DocumentMaker(const model::Scenario& scenario, const compile::RoomProblem& room,
                  const core::Solution& solution, const PlanFacts& facts)
        : scenario_(scenario),
          room_(room),
          solution_(solution),
          facts_(facts),
          schedule_(*solution.schedule) {}

    PlanDocument make() {
        assert(room_.operations.size() == room_.problem.operations.size());
        assert(schedule_.placements.size() == room_.problem.operations.size());
        d_.program = "coatroom " + facts_.version;
        d_.room = scenario_.room.name;
        d_.invented = scenario_.room.invented;
        d_.inputs = facts_.inputs;
        d_.fingerprint = fingerprint_of(facts_.inputs);
        run();
        aims();
        // Proven in the order of the aims is not enough: a reader can judge only aim by aim.
        const bool at_bounds = std::all_of(d_.aims.begin(), d_.aims.end(),
                                           [](const AimLine& x) { return x.bound == x.value; });
        d_.status = solution_.status == core::Status::Optimal && at_bounds ? "optimal" : "feasible";
        places();
        add_breaks(room_.problem, d_);
        screens();
        operations();
        orders();
        fills();
        d_.pins = facts_.pins;
        mesh_choices();
        mixes();
        reclaims();
        add_store_lines(scenario_, room_, d_);
        warnings();
        cautions();
        explain(room_, schedule_, d_);
        d_.problem = room_.problem;
        d_.schedule = schedule_;
        return std::move(d_);
    }

private:
    void run() {
        const core::Problem& p = room_.problem;
        d_.run.from = p.horizon_start;
        d_.run.until = p.horizon_end;
        d_.run.first_start = d_.run.last_end = p.horizon_start;
        if (!schedule_.placements.empty()) {
            const auto by_start = [](const auto& a, const auto& b) { return a.start < b.start; };
            d_.run.first_start =
                std::min_element(schedule_.placements.begin(), schedule_.placements.end(), by_start)
                    ->start;
            for (const auto& x : schedule_.placements)
                d_.run.last_end = std::max(d_.run.last_end, x.end);
        }
        d_.run.seed = facts_.seed;
        d_.run.budget_seconds = facts_.budget_seconds;
        d_.run.budget_evaluations = facts_.budget_evaluations;
        d_.run.evaluations = solution_.evaluations;
        d_.run.seconds = facts_.seconds;
        if (!facts_.day.empty()) d_.run.day = facts_.day;
        d_.run.interrupted = solution_.interrupted;
    }

    void aims() {
        const auto& objective = room_.problem.objective;
        const core::Value value = core::evaluate(room_.problem, schedule_);
        const bool weighted = std::any_of(room_.problem.orders.begin(), room_.problem.orders.end(),
                                          [](const core::Order& o) { return o.weight != 1; });
        for (std::size_t i = 0; i < objective.size(); ++i) {
            AimLine line;
            line.criterion = criterion_key(objective[i]);
            line.words = core::words(objective[i]);
            line.value = value.parts[i];
            if (i < solution_.bound.parts.size())
                line.bound = std::min(solution_.bound.parts[i], line.value);
            // None of the criteria can fall below zero: zero is proven without a search.
            if (!line.bound && line.value == 0) line.bound = 0;
            say_aim(objective[i], weighted, line);
            d_.aims.push_back(std::move(line));
        }
    }

    void say_aim(Criterion criterion, bool weighted, AimLine& line) const {
        line.unit = core::row_of(criterion).in_orders ? "orders" : "s";
        line.value_words = core::amount_words(criterion, line.value);
        if (criterion == Criterion::WeightedTardiness && weighted) {
            line.unit = "weight*s";
            line.value_words += " (minutes late times priority)";
        }
        if (criterion == Criterion::Makespan)
            line.value_words = when(d_.run, room_.problem.horizon_start + Seconds{line.value});
        const std::int64_t better = line.bound ? line.value - *line.bound : 0;
        const std::string better_words = fmt::format(fmt::runtime(core::row_of(criterion).better),
                                                     core::amount_words(criterion, better));
        line.gap_words = !line.bound   ? "no bound known"
                         : better == 0 ? "proven best"
                                       : better_words;
    }

    void places() {
        for (std::size_t i = 0; i < room_.resources.size(); ++i) {
            const core::Resource& resource = room_.problem.resources[i];
            const auto index = static_cast<std::size_t>(room_.resources[i].index);
            if (room_.resources[i].kind == ResourceKind::Station) {
                const auto& does = scenario_.room.stations[index].does;
                d_.stations.push_back(
                    {.name = resource.name,
                     .places = resource.capacity,
                     .dries = std::any_of(does.begin(), does.end(), dries_by_air)});
                continue;
            }
            PersonLine person{.name = resource.name, .present = {}};
            for (const core::Window& w : resource.calendar.value_or(core::Calendar{})) {
                person.present.push_back({w.from, w.to});
            }
            d_.people.push_back(std::move(person));
        }
    }

    void screens() {
        for (const compile::ScreenInfo& info : room_.screens) {
            ScreenLine line;
            line.tag = info.tag;
            line.order = scenario_.orders[static_cast<std::size_t>(info.order)].name;
            line.number = info.number;
            line.mesh = info.mesh;
            line.frame = area_words(info.frame);
            line.emulsion = info.emulsion;
            line.coat_plan = info.coat_plan;
            for (const model::CoatPlan& plan : scenario_.room.coat_plans) {
                if (plan.name != info.coat_plan) continue;
                line.coat_words = fmt::format("{} print side, {} squeegee side", plan.print_side,
                                              plan.squeegee_side);
                if (plan.face > 0)
                    line.coat_words += fmt::format(", {} face, each dried", plan.face);
            }
            line.made_on = state_key(info.source);
            line.two_people = needs_two(info.frame);
            d_.screens.push_back(std::move(line));
        }
    }

    bool needs_two(const model::Area& frame) const {
        const auto& from = scenario_.room.limits.two_people_from;
        if (!from) return false;
        const auto [a, b] = std::minmax(frame.width, frame.height);
        const auto [x, y] = std::minmax(from->width, from->height);
        return a > x || b > y;
    }

    void operations() {
        for (std::size_t i = 0; i < room_.operations.size(); ++i) {
            const compile::OperationInfo& info = room_.operations[i];
            const core::Operation& operation = room_.problem.operations[i];
            const core::Placement& at = schedule_.placements[i];
            OperationLine line;
            bool two = false;
            if (info.screen >= 0) {
                ScreenLine& screen = d_.screens[static_cast<std::size_t>(info.screen)];
                line.screen = screen.tag;
                line.order = screen.order;
                two = screen.two_people;
                const SimTime done = core::completion(operation, at);
                if (!screen.ready || *screen.ready < done) screen.ready = done;
                const auto& lamps = room_.screens[static_cast<std::size_t>(info.screen)].exposures;
                const auto unit = static_cast<std::size_t>(at.mode);
                if (info.step == model::Step::Expose && info.part == model::route::Part::Run &&
                    unit < lamps.size())
                    screen.exposure = lamps[unit];
            }
            if (info.returned >= 0) {
                const auto& frame = room_.returns[static_cast<std::size_t>(info.returned)];
                line.screen = frame.tag;
                two = needs_two(scenario_.frames[static_cast<std::size_t>(frame.stock)].size);
            }
            line.step = compile::hangs_up(info) ? "put-in" : step_key(info.step);
            line.round = info.round;
            line.words = info.words.empty() ? operation.name : info.words;
            line.start = at.start;
            line.work_end = at.work_end;
            line.end = at.end;
            line.batch = at.batch;
            const auto& needs = operation.modes[static_cast<std::size_t>(at.mode)].needs;
            for (std::size_t n = 0; n < needs.size(); ++n)
                take(needs[n], at, at.chosen[n], line);
            line.cautions = cautions_of(info.step, two && !line.people.empty());
            d_.operations.push_back(std::move(line));
        }
    }

    void take(const core::Need& need, const core::Placement& at, core::ResourceId chosen,
              OperationLine& line) const {
        const SimTime until = need.span == core::Span::Whole ? at.end : at.work_end;
        const std::string& name = room_.problem.resources[chosen.index()].name;
        if (room_.resources[chosen.index()].kind == ResourceKind::Person) {
            line.people.push_back(name);
            line.people_until = line.people_until ? std::max(*line.people_until, until) : until;
        } else if (line.place.empty()) {
            line.place = name;
            line.places = need.amount;
            line.place_until = until;
        } else {
            line.also_at.push_back(name);
        }
    }

    void orders() {
        const auto done = core::completions(room_.problem, schedule_);
        for (std::size_t i = 0; i < room_.problem.orders.size(); ++i) {
            const core::Order& order = room_.problem.orders[i];
            OrderLine line;
            line.name = order.name;
            if (i < room_.orders.size()) {
                const model::Order& source =
                    scenario_.orders[static_cast<std::size_t>(room_.orders[i])];
                line.name = source.name;
                line.customer = source.customer;
            }
            line.screens = static_cast<int>(
                std::count_if(d_.screens.begin(), d_.screens.end(),
                              [&](const ScreenLine& s) { return s.order == line.name; }));
            line.weight = order.weight;
            line.release = order.release;
            line.due = order.due;
            line.ready = done[i];
            if (line.due && line.ready) line.lateness = *line.ready - *line.due;
            d_.orders.push_back(std::move(line));
        }
    }

    void fills() {
        for (const StationLine& station : d_.stations) {
            if (!station.dries) continue;
            std::map<SimTime, std::pair<int, int>> changes;  // working, holding
            for (const OperationLine& op : d_.operations) {
                if (op.place != station.name || !op.place_until || *op.place_until <= op.start)
                    continue;
                const SimTime turn = std::min(op.work_end, *op.place_until);
                changes[op.start].first += op.places;
                changes[turn].first -= op.places;
                changes[turn].second += op.places;
                changes[*op.place_until].second -= op.places;
            }
            FillLine line{.station = station.name, .places = station.places, .steps = {}};
            FillStep now{.from = d_.run.from};
            for (const auto& [time, change] : changes) {
                if (change == std::pair{0, 0}) continue;
                now.from = time;
                now.working += change.first;
                now.holding += change.second;
                line.steps.push_back(now);
            }
            d_.fills.push_back(std::move(line));
        }
    }

    static void add_people(const std::vector<std::string>& from, std::vector<std::string>& to) {
        for (const std::string& name : from) {
            if (std::find(to.begin(), to.end(), name) == to.end()) to.push_back(name);
        }
    }

    std::vector<int> in_time_order(std::vector<int> list) const {
        std::stable_sort(list.begin(), list.end(), [&](int a, int b) {
            return d_.operations[static_cast<std::size_t>(a)].start <
                   d_.operations[static_cast<std::size_t>(b)].start;
        });
        return list;
    }

    void mesh_choices() {
        for (const compile::MeshChoice& x : room_.mesh_choices)
            d_.mesh_choices.push_back(
                {scenario_.orders[static_cast<std::size_t>(x.order)].name, x.mesh, x.words});
    }

    void mixes() {
        for (std::size_t m = 0; m < room_.mixes.size(); ++m) {
            const compile::MixInfo& info = room_.mixes[m];
            MixLine line{.emulsion = info.emulsion,
                         .pot = info.pot,
                         .volume_ml = info.volume_ml,
                         .to_buy = info.to_buy};
            for (std::size_t i = 0; i < room_.operations.size(); ++i) {
                if (room_.operations[i].mix == static_cast<int>(m))
                    line.operations.push_back(static_cast<int>(i));
            }
            line.operations = in_time_order(std::move(line.operations));
            for (const int i : line.operations) {
                const OperationLine& op = d_.operations[static_cast<std::size_t>(i)];
                if (!line.start) line.start = op.start;
                add_people(op.people, line.people);
            }
            for (const auto& constraint : room_.problem.constraints) {
                const auto* give = std::get_if<core::Give>(&constraint);
                if (give == nullptr || give->store != info.store) continue;
                const SimTime there = schedule_.placements[give->operation.index()].work_end;
                line.usable = line.usable ? std::max(*line.usable, there) : there;
            }
            if (line.usable && info.keeps) line.good_until = *line.usable + *info.keeps;
            if (line.to_buy) {
                line.buy_by =
                    line.start ? line.start : first_take(room_.problem, schedule_, info.store);
                if (!line.buy_by) continue;  // bought for nothing: the pots reach
            }
            d_.mixes.push_back(std::move(line));
        }
    }

    void reclaims() {
        for (const compile::ReclaimInfo& info : room_.reclaims) {
            const ScreenLine& screen = d_.screens[static_cast<std::size_t>(info.screen)];
            ReclaimLine line{.screen = screen.tag,
                             .frame = screen.frame,
                             .mesh = screen.mesh,
                             .state = screen.made_on};
            for (std::size_t i = 0; i < room_.operations.size(); ++i) {
                if (room_.operations[i].screen != info.screen) continue;
                const OperationLine& op = d_.operations[i];
                if (line.start && *line.start <= op.start) continue;
                line.start = op.start;
                line.people = op.people;
            }
            d_.reclaims.push_back(std::move(line));
        }
        std::stable_sort(d_.reclaims.begin(), d_.reclaims.end(),
                         [](const auto& a, const auto& b) { return a.start < b.start; });
    }

    void warnings() {
        std::vector<MixLine> buys;
        for (const MixLine& mix : d_.mixes) {
            const auto& now = room_.problem.now;
            if (mix.to_buy && !(now && mix.buy_by && *mix.buy_by < *now)) buys.push_back(mix);
        }
        for (std::string& words : buying_list(buys, d_.run.from))
            d_.warnings.push_back({"", "to-buy", std::move(words)});
        for (const model::Diagnostic& x : facts_.diagnostics) {
            std::string place = x.place.file;
            if (x.place.line > 0) place += fmt::format(":{}:{}", x.place.line, x.place.column);
            const bool stop = x.message.empty() || x.message.back() == '.';
            d_.warnings.push_back(
                {place, x.code,
                 x.message + (stop ? "" : ".") + (x.hint.empty() ? "" : " " + x.hint)});
        }
    }

    void cautions() {
        for (const CautionLine& caution : all_cautions()) {
            const bool used = std::any_of(
                d_.operations.begin(), d_.operations.end(), [&](const OperationLine& op) {
                    return std::find(op.cautions.begin(), op.cautions.end(), caution.key) !=
                           op.cautions.end();
                });
            if (used) d_.cautions.push_back(caution);
        }
    }

    const model::Scenario& scenario_;
    const compile::RoomProblem& room_;
    const core::Solution& solution_;
    const PlanFacts& facts_;
    const core::Schedule& schedule_;
    PlanDocument d_;
};

}  // namespace

PlanDocument make_plan_document(const model::Scenario& scenario, const compile::RoomProblem& room,
                                const core::Solution& solution, const PlanFacts& facts) {
    return DocumentMaker(scenario, room, solution, facts).make();
}

}  // namespace sched::report
