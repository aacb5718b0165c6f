// How it works: a film's time goes into its order; an opened pot gets the time from which its life
// counts; an empty one gives nothing from now on (what was coated before has been), and what is
// sure to have been taken from it is not mixed again. A frame that is back, or comes otherwise, is
// taken out of its line of frames.csv as a line of its own.

#include "sched/app/parts/day_things.hpp"

#include <algorithm>
#include <string>
#include <vector>

#include "model/base/units.hpp"
#include "model/room/steps.hpp"
#include "sched/app/parts/journal_day.hpp"
#include "sched/report/words/steps.hpp"

namespace sched::app {

namespace {

using model::SimTime;

class ThingPutter {
public:
    ThingPutter(const model::RoomState& state, SimTime now, const report::PlanDocument* earlier,
                model::Scenario& scenario, model::Diagnostics& diagnostics)
        : state_(state),
          now_(now),
          day_(model::midnight(model::date_of(now))),
          earlier_(earlier),
          scenario_(scenario),
          diagnostics_(diagnostics) {}

    bool film(const model::FilmNow& film) {
        const auto order =
            std::find_if(scenario_.orders.begin(), scenario_.orders.end(),
                         [&](const model::Order& o) { return o.name == film.order; });
        if (order == scenario_.orders.end()) {
            std::vector<std::string> names;
            for (const auto& o : scenario_.orders)
                names.push_back(o.name);
            return unknown(film.place, "there is no order named \"" + film.order + "\".",
                           film.order, names);
        }
        for (model::ScreenLine& line : order->lines) {
            line.film_ready.reset();
            if (film.from && day_ + *film.from > now_) line.film_ready = day_ + *film.from;
        }
        return true;
    }

    bool pot(model::PotState& pot) {
        const auto known = std::find_if(scenario_.room.pots.begin(), scenario_.room.pots.end(),
                                        [&](const model::Pot& p) { return p.name == pot.pot; });
        const report::MixLine* mix = mix_of(pot.pot);
        if (known == scenario_.room.pots.end() && mix == nullptr) {
            std::vector<std::string> names;
            for (const auto& p : scenario_.room.pots)
                names.push_back(p.name);
            return unknown(pot.place, "there is no pot named \"" + pot.pot + "\".", pot.pot, names);
        }
        pot.emulsion = known != scenario_.room.pots.end() ? known->emulsion : mix->emulsion;
        if (pot.empty && day_ + *pot.empty <= now_) {
            scenario_.room.emptied.push_back({pot.pot, now_, taken(pot.pot)});
        } else if (pot.opened && day_ + *pot.opened <= now_ && known != scenario_.room.pots.end()) {
            // What the plan mixes says itself when; it is in room.yaml or not.
            known->opened = day_ + *pot.opened;
            if (known->needs_mixing) {
                known->mixed = known->opened;
                known->needs_mixing = false;
            }
        }
        return true;
    }

    bool frame(const model::ReturnedNow& frame) {
        const SimTime from = frame.from ? day_ + *frame.from : now_;
        const auto wanted = wanted_of(frame.frame);
        const auto found = line_of(wanted, from);
        if (found != scenario_.frames.end()) {
            model::FrameStock one = *found;
            one.count = 1;
            one.due_back = one.from;
            one.from = from;
            if (--found->count == 0)
                *found = std::move(one);
            else
                scenario_.frames.insert(found, std::move(one));
            return true;
        }
        if (wanted.printed && wanted.size) {
            // Printed since: nobody has put its frame into frames.csv yet.
            scenario_.frames.push_back({.size = *wanted.size,
                                        .mesh = wanted.mesh,
                                        .state = model::FrameState::Inky,
                                        .count = 1,
                                        .haze = {},
                                        .coated_dry = {},
                                        .emulsion = {},
                                        .coat_plan = {},
                                        .order = {},
                                        .from = from,
                                        .due_back = SimTime::max(),
                                        .place = {}});
            return true;
        }
        diagnostics_.warning(frame.place, "frame-not-known",
                             "\"" + frame.frame +
                                 "\" is back from the press, and no frame of frames.csv that is "
                                 "still to come is like it: the plan does not count on it.",
                             "Name it by its tag in the plan (R2), by the tag of a screen, or by "
                             "size and mesh; or put it into frames.csv.");
        return true;
    }

    /// Where the room marks what comes back: what was to be back by now and is not marked.
    void not_marked() const {
        for (const model::FrameStock& f : scenario_.frames) {
            if (!f.from || f.due_back || *f.from > now_ || *f.from < day_) continue;
            diagnostics_.warning(
                f.place, "return-not-marked",
                std::to_string(f.count) + (f.count == 1 ? " frame " : " frames ") +
                    model::format_size(f.size) + " " + f.mesh + (f.count == 1 ? " was" : " were") +
                    " to be back from the press at " + model::format_time_of_day(*f.from) +
                    " and not marked: the plan takes " + (f.count == 1 ? "it" : "them") +
                    " to be there.",
                "If one comes later, say when: returned " + model::format_size(f.size) + " " +
                    f.mesh + " at 14:00.");
        }
    }

private:
    struct Wanted {
        std::optional<model::Area> size;
        std::string mesh;            // empty: any
        std::optional<SimTime> due;  // of the plan
        bool printed = false;        // a screen of the orders
    };

    bool unknown(const model::SourcePlace& place, const std::string& what, const std::string& name,
                 const std::vector<std::string>& names) {
        diagnostics_.error(place, "unknown-name", what, journal::closest(name, names));
        return false;
    }
    const report::MixLine* mix_of(const std::string& pot) const {
        if (earlier_ == nullptr) return nullptr;
        for (const auto& mix : earlier_->mixes) {
            if (mix.pot == pot) return &mix;
        }
        return nullptr;
    }

    // By the earlier plan's coats that are sure to have been: of what is marked, when the mark says
    // so; of what is not, only where nobody marks.
    model::Millilitres taken(const std::string& pot) const {
        double sum = 0.0;
        if (earlier_ == nullptr) return model::Millilitres{0.0};
        const auto& problem = earlier_->problem;
        for (std::size_t i = 0; i < earlier_->operations.size(); ++i) {
            const auto& line = earlier_->operations[i];
            const auto& stores = earlier_->schedule.placements[i].stores;
            if (line.start >= now_ || stores.empty() || !coated(line)) continue;
            std::size_t take = 0;
            for (const auto& c : problem.constraints) {
                const auto* one = std::get_if<core::Take>(&c);
                if (one == nullptr || one->operation.index() != i) continue;
                if (take < stores.size() && problem.stores[stores[take].index()].name == pot)
                    sum += static_cast<double>(one->amount);
                ++take;
            }
        }
        return model::Millilitres{sum};
    }
    bool coated(const report::OperationLine& line) const {
        const auto told = std::find_if(state_.screens.begin(), state_.screens.end(),
                                       [&](const auto& s) { return s.screen == line.screen; });
        if (told == state_.screens.end()) {
            return !state_.marked || state_.marked->empty() ||
                   std::find(state_.marked->begin(), state_.marked->end(), line.screen) !=
                       state_.marked->end();
        }
        if (told->assumed || !told->back_to.empty()) return false;
        const model::Step at = told->in.empty() ? told->done.front() : told->in.front();
        return at > model::Step::Coat && line.step == model::row_of(model::Step::Coat).key;
    }

    Wanted wanted_of(const std::string& name) const {
        Wanted out;
        const auto size_of = [&](const std::string& frame) {
            const auto read = model::parse_size(frame);
            if (read.value) out.size = *read.value;
        };
        if (earlier_ != nullptr) {
            for (const auto& line : earlier_->returns) {
                if (line.tag != name) continue;
                size_of(line.frame);
                out.mesh = line.mesh;
                out.due = line.back;
                return out;
            }
            for (const auto& line : earlier_->screens) {
                if (line.tag != name) continue;
                size_of(line.frame);
                out.mesh = line.mesh;
                out.printed = true;
                return out;
            }
        }
        // "58 x 84 cm 77-55", or the size alone.
        for (const model::Mesh& mesh : scenario_.room.meshes) {
            if (!name.ends_with(" " + mesh.name)) continue;
            size_of(name.substr(0, name.size() - mesh.name.size() - 1));
            if (!out.size) continue;
            out.mesh = mesh.name;
            return out;
        }
        size_of(name);
        return out;
    }

    static bool alike(const model::Area& a, const model::Area& b) {
        const auto sides = [](const model::Area& x) {
            return std::minmax(x.width.value, x.height.value);
        };
        return sides(a) == sides(b);
    }

    // A line with frames that are still to come: of those that are due when the plan said, else of
    // the first that are due.
    std::vector<model::FrameStock>::iterator line_of(const Wanted& wanted, SimTime from) {
        auto best = scenario_.frames.end();
        if (!wanted.size) return best;
        for (auto f = scenario_.frames.begin(); f != scenario_.frames.end(); ++f) {
            if (!f->from || f->due_back || f->count <= 0 || !alike(f->size, *wanted.size) ||
                (!wanted.mesh.empty() && f->mesh != wanted.mesh))
                continue;
            // One that a screen is made on since is not late.
            if (!wanted.due && from > *f->from && made_on(*f)) continue;
            const bool due = wanted.due == f->from;
            const bool best_due = best != scenario_.frames.end() && wanted.due == best->from;
            if (best == scenario_.frames.end() || (due && !best_due) ||
                (due == best_due && *f->from < *best->from))
                best = f;
        }
        return best;
    }

    // A screen that has begun by the earlier plan stands on such a frame.
    bool made_on(const model::FrameStock& stock) const {
        if (earlier_ == nullptr) return false;
        for (const auto& line : earlier_->screens) {
            const auto size = model::parse_size(line.frame);
            if (line.mesh != stock.mesh || line.made_on != report::state_key(stock.state) ||
                !size.value || !alike(*size.value, stock.size))
                continue;
            const auto& operations = earlier_->operations;
            if (std::any_of(operations.begin(), operations.end(), [&](const auto& op) {
                    return op.screen == line.tag && op.start < now_;
                }))
                return true;
        }
        return false;
    }

    const model::RoomState& state_;
    SimTime now_, day_;
    const report::PlanDocument* earlier_;
    model::Scenario& scenario_;
    model::Diagnostics& diagnostics_;
};

}  // namespace

bool put_things(model::RoomState& state, SimTime now, const report::PlanDocument* earlier,
                model::Scenario& scenario, model::Diagnostics& diagnostics) {
    ThingPutter putter(state, now, earlier, scenario, diagnostics);
    bool all = true;
    for (const auto& film : state.films)
        all = putter.film(film) && all;
    for (auto& pot : state.pots)
        all = putter.pot(pot) && all;
    for (const auto& frame : state.returned)
        all = putter.frame(frame) && all;
    if (!state.returned.empty()) putter.not_marked();
    return all;
}

void as_plan_knew(const report::PlanDocument& document, const model::Room& as_read,
                  model::Scenario& scenario) {
    scenario.room.emptied.clear();
    for (const auto& mix : document.mixes) {
        for (std::size_t k = 0; k < as_read.pots.size(); ++k) {
            if (as_read.pots[k].name == mix.pot) scenario.room.pots[k] = as_read.pots[k];
        }
    }
}

}  // namespace sched::app
