// The lists at the head of the plan against the files: which orders and screens there are, which
// stations and people, and that the files are still those of the plan.

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "model/physics/exposure.hpp"
#include "model/physics/mesh.hpp"
#include "sched/check/room/case.hpp"

namespace sched::check::room {

namespace {

void judge_digests(const Case& c, const RoomFiles& files) {
    if (files.inputs.empty()) return;
    for (const report::InputFile& now : files.inputs) {
        const auto then =
            std::find_if(c.d.inputs.begin(), c.d.inputs.end(),
                         [&](const report::InputFile& x) { return x.name == now.name; });
        if (then == c.d.inputs.end()) {
            c.say("digest", now.name + " is not among the files that the plan was made from.");
        } else if (*then != now) {
            c.say("digest", now.name + " is not the file that the plan was made from: " +
                                "its SHA-256 is " + now.sha256 + ".");
        }
    }
    for (const report::InputFile& then : c.d.inputs) {
        const bool there =
            std::any_of(files.inputs.begin(), files.inputs.end(),
                        [&](const report::InputFile& x) { return x.name == then.name; });
        if (!there) c.say("digest", then.name + ", of which the plan was made, is not there.");
    }
}

void judge_orders(const Case& c) {
    for (const model::Order& order : c.s.orders) {
        int wanted = 0;
        for (const model::ScreenLine& line : order.lines)
            wanted += line.count;
        const auto line =
            std::find_if(c.d.orders.begin(), c.d.orders.end(),
                         [&](const report::OrderLine& x) { return x.name == order.name; });
        if (line == c.d.orders.end()) {
            if (wanted > 0)
                c.say("orders", "order " + order.name + " is in orders.csv, not in the plan.");
            continue;
        }
        if (line->due != order.due)
            c.say("orders", fmt::format("order {} is due {}, the plan says otherwise.", order.name,
                                        clock_words(order.due)));
        const auto counts = [&](const std::string& pin) {
            return pin == fmt::format("{} counts {}", order.name, line->weight);
        };
        if (line->weight != order.priority &&
            std::none_of(c.d.pins.begin(), c.d.pins.end(), counts))
            c.say("orders", fmt::format("order {} has priority {}, the plan says {}.", order.name,
                                        order.priority, line->weight));
        if (line->customer != order.customer)
            c.say("orders", "order " + order.name + " is for " + order.customer +
                                ", the plan says " + line->customer + ".");
        std::set<int> numbers;
        for (const ScreenCase& x : c.screens) {
            if (x.order == &order && x.line != nullptr) numbers.insert(x.line->number);
        }
        if (static_cast<int>(numbers.size()) != wanted || line->screens != wanted)
            c.say("orders", fmt::format("order {} is of {} screens, the plan has {} and says {}.",
                                        order.name, wanted, numbers.size(), line->screens));
    }
    for (const report::OrderLine& line : c.d.orders) {
        const bool there = std::any_of(c.s.orders.begin(), c.s.orders.end(),
                                       [&](const model::Order& x) { return x.name == line.name; });
        if (!there) c.say("orders", "order " + line.name + " is not in orders.csv.");
    }
}

bool mesh_fits(const ScreenCase& x) {
    if (x.wanted->mesh) return *x.wanted->mesh == x.line->mesh;
    return x.mesh != nullptr &&
           model::physics::mesh_complaints(*x.mesh, x.wanted->finest_line, x.wanted->ruling)
               .empty();
}

void judge_screen(const Case& c, const ScreenCase& x) {
    if (x.wanted == nullptr) {
        c.say("screens", "screen " + x.tag + " belongs to no line of orders.csv.");
        return;
    }
    const auto differs = [&](bool wrong, const char* what) {
        if (wrong) c.say("screens", fmt::format("{} of {} is not the order's.", what, x.tag));
    };
    differs(!mesh_fits(x), "the mesh");
    differs(x.line->emulsion != x.wanted->emulsion, "the emulsion");
    differs(x.line->coat_plan != x.wanted->coat_plan, "the coat plan");
    const auto& asked = x.wanted->frame;
    differs(frame_words(x.line->frame) != frame_words(asked.width.value, asked.height.value),
            "the frame size");
    const auto& two = c.room.limits.two_people_from;
    if (x.line->two_people != (two && larger(x.frame, *two)))
        c.say("screens", fmt::format("{} {} two people, the plan says otherwise.", x.tag,
                                     x.line->two_people ? "does not need" : "needs"));
    if (x.plan != nullptr) {
        std::string words = fmt::format("{} print side, {} squeegee side", x.plan->print_side,
                                        x.plan->squeegee_side);
        if (x.plan->face > 0) words += fmt::format(", {} face, each dried", x.plan->face);
        differs(words != x.line->coat_words, "the wording of the coats");
    }
    // The time that is written on the sheet: of the unit that the plan uses.
    Seconds wanted{0};
    for (const Stage& stage : x.stages) {
        const int run = c.exposure_of(stage);
        if (run < 0 || !x.known()) continue;
        const model::Station* unit = c.station(c.op(run).place);
        if (unit == nullptr) continue;
        wanted = unit->lamp
                     ? model::physics::exposure_seconds(*x.emulsion, *unit->lamp, *x.mesh, *x.plan)
                     : x.emulsion->base_exposure;
    }
    if (wanted != x.line->exposure && x.known())
        c.say("screens", fmt::format("{} is to be exposed for {} s at the unit that the plan uses; "
                                     "its line says {} s.",
                                     x.tag, wanted.count(), x.line->exposure.count()));
}

void judge_room_lists(const Case& c) {
    if (c.d.room != c.room.name) c.say("room", "the plan is for another room, " + c.d.room + ".");
    if (c.d.invented != c.room.invented)
        c.say("room", "whether the room is invented is said otherwise in room.yaml.");
    for (const report::StationLine& line : c.d.stations) {
        const model::Station* station = c.station(line.name);
        if (station == nullptr) {
            c.say("room", line.name + " is no station of room.yaml.");
        } else if (station->places != line.places) {
            c.say("room", fmt::format("{} has {} places, the plan says {}.", line.name,
                                      station->places, line.places));
        }
    }
    if (c.d.stations.size() != c.room.stations.size() || c.d.people.size() != c.room.people.size())
        c.say("room", "the plan lists other stations or people than room.yaml.");
    for (const report::PersonLine& line : c.d.people) {
        if (c.people.find(line.name) == c.people.end())
            c.say("room", line.name + " is nobody of room.yaml.");
    }
    // The problem inside the document is what sched/check judges by: it may not be wider than the
    // room.
    for (const core::Resource& resource : c.d.problem.resources) {
        const model::Station* station = c.station(resource.name);
        if (station != nullptr && resource.capacity != station->places)
            c.say("room", fmt::format("{} has {} places, the embedded problem {}.", resource.name,
                                      station->places, resource.capacity));
    }
    for (const core::Store& store : c.d.problem.stores) {
        for (const model::Pot& pot : c.room.pots) {
            if (pot.name == store.name && static_cast<double>(store.initial) > pot.volume.value)
                c.say("room", fmt::format("pot {} holds {:g} ml, the embedded problem says {}.",
                                          pot.name, pot.volume.value, store.initial));
        }
    }
}

}  // namespace

void judge_lists(Case& c, const RoomFiles& files) {
    judge_digests(c, files);
    judge_room_lists(c);
    judge_orders(c);
    for (const ScreenCase& x : c.screens) {
        if (x.line != nullptr) judge_screen(c, x);
    }
    for (std::size_t i = 0; i < c.d.operations.size(); ++i) {
        const OperationLine& line = c.d.operations[i];
        if (!c.step[i]) c.say("way", line.words + ": " + line.step + " is no step of the trade.");
        if (!line.screen.empty() && c.screen_of(line) == nullptr)
            c.say("screens", line.words + " is on no screen of the plan.");
    }
}

}  // namespace sched::check::room
