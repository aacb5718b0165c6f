// How it works: rows of both documents are matched by name (orders, steps, loads, aims, inputs);
// what differs as people read it becomes a sentence, moves of steps the largest first.

#include "sched/report/plan/compare.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <map>
#include <tuple>

#include "model/base/shown.hpp"
#include "sched/report/words/columns.hpp"
#include "sched/report/words/wording.hpp"

namespace sched::report {

namespace {

constexpr std::size_t most_steps_named = 8;

/// Rows of one kind keyed by what makes them the same in both plans.
template <class Key, class Row>
using Keyed = std::map<Key, const Row*>;

class Comparison {
public:
    Comparison(const PlanDocument& a, const PlanDocument& b, int width)
        : a_(a), b_(b), width_(static_cast<std::size_t>(std::max(width, 40))) {}

    std::string write() {
        inputs();
        aims();
        orders();
        steps();
        loads();
        if (a_.bottleneck.resource != b_.bottleneck.resource) {
            say(fmt::format("What limits the day: {}, was {}.",
                            name_or(b_.bottleneck.resource, "nothing"),
                            name_or(a_.bottleneck.resource, "nothing")));
        }
        return out_.empty() ? "The two plans say the same.\n" : out_;
    }

private:
    static std::string name_or(const std::string& name, const char* none) {
        return name.empty() ? none : name;
    }
    void say(const std::string& text, std::size_t indent = 0) {
        bool first = true;
        for (const std::string& row : wrapped(text, width_ - indent - 2)) {
            out_ += std::string(indent + (first ? 0 : 2), ' ') + row + "\n";
            first = false;
        }
    }

    void inputs() {
        if (a_.fingerprint == b_.fingerprint) return;
        for (const InputFile& now : b_.inputs) {
            const auto old = std::find_if(a_.inputs.begin(), a_.inputs.end(),
                                          [&](const auto& x) { return x.name == now.name; });
            if (old == a_.inputs.end()) {
                say("Input new: " + now.name + ".");
            } else if (old->sha256 != now.sha256) {
                say("Input changed: " + now.name + ".");
            }
        }
        for (const InputFile& old : a_.inputs) {
            const bool there = std::any_of(b_.inputs.begin(), b_.inputs.end(),
                                           [&](const auto& x) { return x.name == old.name; });
            if (!there) say("Input gone: " + old.name + ".");
        }
    }

    void aims() {
        for (const AimLine& now : b_.aims) {
            const auto old = std::find_if(a_.aims.begin(), a_.aims.end(), [&](const auto& x) {
                return x.criterion == now.criterion;
            });
            if (old == a_.aims.end()) {
                say(fmt::format("New aim: {}: {}.", now.words, now.value_words));
            } else if (old->value != now.value || old->unit != now.unit) {
                std::string better;
                if (old->unit == now.unit)
                    better = now.value < old->value ? " (better)" : " (worse)";
                say(fmt::format("{}: {}, was {}{}.", now.words, now.value_words, old->value_words,
                                better));
            }
        }
    }

    void orders() {
        Keyed<std::string, OrderLine> old;
        for (const OrderLine& order : a_.orders)
            old.emplace(order.name, &order);
        for (const OrderLine& now : b_.orders) {
            const auto found = old.find(now.name);
            if (found == old.end()) {
                say(fmt::format("Order {} is new: ready {}.", now.name, clock(b_, now.ready)));
                continue;
            }
            const OrderLine& was = *found->second;
            old.erase(found);
            const bool same_ready = same(was.ready, now.ready);
            if (same_ready && was.due == now.due) continue;
            std::string text = fmt::format("Order {}: ready {}", now.name, clock(b_, now.ready));
            if (!same_ready) text += fmt::format(", was {}", clock(a_, was.ready));
            if (was.due != now.due)
                text += fmt::format("; due {}, was {}", clock(b_, now.due), clock(a_, was.due));
            if (now.lateness) text += "; " + lateness_words(now);
            if (was.lateness && now.lateness && late(was) != late(now))
                text += late(now) ? ", was in time" : ", was late";
            say(text + ".");
        }
        for (const auto& [name, order] : old)
            say(fmt::format("Order {} is gone.", name));
    }

    static bool same(const std::optional<SimTime>& a, const std::optional<SimTime>& b) {
        return a && b ? std::abs((*a - *b).count()) < 60 : a == b;
    }
    static bool late(const OrderLine& order) {
        return order.lateness && *order.lateness > Seconds{0};
    }
    static std::string clock(const PlanDocument& d, const std::optional<SimTime>& t) {
        return t ? when(d.run, *t) : "never";
    }

    using StepKey = std::tuple<std::string, std::string, int, std::string>;
    static Keyed<StepKey, OperationLine> keyed(const PlanDocument& d) {
        Keyed<StepKey, OperationLine> out;
        for (const OperationLine& op : d.operations)
            out.emplace(StepKey{op.screen, op.step, op.round, op.words}, &op);
        return out;
    }

    void steps() {
        struct Moved {
            const OperationLine* was;
            const OperationLine* now;
            std::int64_t by;
        };
        auto old = keyed(a_);
        std::vector<Moved> moved;
        std::size_t places = 0;
        std::size_t people = 0;
        std::size_t fresh = 0;
        for (const auto& [key, now] : keyed(b_)) {
            const auto found = old.find(key);
            if (found == old.end()) {
                ++fresh;
                continue;
            }
            const OperationLine* was = found->second;
            old.erase(found);
            // As read: less than a minute is no other time, another order of names nobody else.
            if (std::abs((now->start - was->start).count()) >= 60)
                moved.push_back({was, now, (now->start - was->start).count()});
            places += was->place != now->place ? 1 : 0;
            people += std::is_permutation(was->people.begin(), was->people.end(),
                                          now->people.begin(), now->people.end())
                          ? 0
                          : 1;
        }
        if (fresh + old.size() > 0) say(fmt::format("Steps: {} new, {} gone.", fresh, old.size()));
        if (moved.empty() && places == 0 && people == 0) return;
        say(fmt::format(
            "Steps: {} start at another time, {} at another place, {} with other people.",
            moved.size(), places, people));
        std::stable_sort(moved.begin(), moved.end(), [](const Moved& x, const Moved& y) {
            return std::abs(x.by) > std::abs(y.by);
        });
        for (std::size_t i = 0; i < std::min(moved.size(), most_steps_named); ++i) {
            const Moved& m = moved[i];
            say(fmt::format("{}: {}, was {} ({} {})", m.now->words, when(b_.run, m.now->start),
                            when(a_.run, m.was->start),
                            model::format_duration(model::minutes(std::abs(
                                model::shown_between(m.was->start, m.now->start).count() / 60))),
                            m.by > 0 ? "later" : "earlier"),
                2);
        }
        if (moved.size() > most_steps_named)
            say(fmt::format("and {} more", moved.size() - most_steps_named), 2);
    }

    void loads() {
        for (const LoadLine& now : b_.loads) {
            const auto old = std::find_if(a_.loads.begin(), a_.loads.end(), [&](const auto& x) {
                return x.resource == now.resource;
            });
            if (old == a_.loads.end()) {
                say(fmt::format("{} is new: in use {} of the time there.", now.resource,
                                percent(now.allocation_efficiency)));
                continue;
            }
            const std::string x = percent(old->allocation_efficiency);
            const std::string y = percent(now.allocation_efficiency);
            std::string text;
            if (old->capacity != now.capacity)
                text += fmt::format(" {} places, was {};", now.capacity, old->capacity);
            if (x != y) text += fmt::format(" in use {} of the time there, was {};", y, x);
            if (text.empty()) continue;
            text.pop_back();
            say(now.resource + ":" + text + ".");
        }
        for (const LoadLine& old : a_.loads) {
            const bool there = std::any_of(b_.loads.begin(), b_.loads.end(), [&](const auto& x) {
                return x.resource == old.resource;
            });
            if (!there) say(old.resource + " is gone.");
        }
    }

    const PlanDocument& a_;
    const PlanDocument& b_;
    std::size_t width_;
    std::string out_;
};

}  // namespace

std::string compare_documents(const PlanDocument& a, const PlanDocument& b, int width) {
    return Comparison(a, b, width).write();
}

}  // namespace sched::report
