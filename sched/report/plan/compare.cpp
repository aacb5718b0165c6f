// How it works: rows of both documents are matched by name (orders, steps, loads, aims, inputs);
// what differs as people read it becomes a sentence, moves of steps the largest first, or an object
// of the JSON: both are written from the same differences.

#include "sched/report/plan/compare.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <map>
#include <set>
#include <tuple>
#include <type_traits>

#include "model/base/shown.hpp"
#include "model/base/time.hpp"
#include "sched/report/document/json_reader.hpp"
#include "sched/report/words/columns.hpp"
#include "sched/report/words/wording.hpp"

namespace sched::report {

namespace {

constexpr std::size_t most_steps_named = 8;

bool same(const std::optional<SimTime>& a, const std::optional<SimTime>& b) {
    return a && b ? std::abs((*a - *b).count()) < 60 : a == b;
}
bool other_time(const OperationLine& was, const OperationLine& now) {
    return !same(was.start, now.start);
}
bool other_people(const OperationLine& was, const OperationLine& now) {
    return !std::is_permutation(was.people.begin(), was.people.end(), now.people.begin(),
                                now.people.end());
}

std::string used(const LoadLine& load) {
    return percent(load.allocation_efficiency);
}

/// Rows of both documents matched by `key`: the newer plan's first, in its order, then what is
/// gone. Kept are those that `differ`, and those of one plan only. What stands there several times
/// (a screen is put into the cabinet again) is matched first with first, second with second.
template <class Row, class Key, class Differ>
std::vector<Changed<Row>> matched(const std::vector<Row>& a, const std::vector<Row>& b, Key key,
                                  Differ differ) {
    std::map<decltype(key(a.front())), std::vector<const Row*>> old;
    for (const Row& row : a)
        old[key(row)].push_back(&row);
    std::set<const Row*> found;
    std::map<decltype(key(a.front())), std::size_t> seen;
    std::vector<Changed<Row>> out;
    for (const Row& now : b) {
        const auto& like = old[key(now)];
        const std::size_t nth = seen[key(now)]++;
        if (nth >= like.size()) {
            out.push_back({nullptr, &now});
            continue;
        }
        found.insert(like[nth]);
        if (differ(*like[nth], now)) out.push_back({like[nth], &now});
    }
    for (const Row& row : a) {
        if (!found.contains(&row)) out.push_back({&row, nullptr});
    }
    return out;
}

class Comparison {
public:
    Comparison(const PlanDocument& a, const PlanDocument& b, int width)
        : a_(a),
          b_(b),
          difference_(differences(a, b)),
          width_(static_cast<std::size_t>(std::max(width, 40))) {}

    std::string write() {
        if (difference_.none()) return "The two plans say the same.\n";
        inputs();
        aims();
        orders();
        steps();
        loads();
        if (difference_.other_bottleneck) {
            say(fmt::format("What limits the day: {}, was {}.",
                            name_or(b_.bottleneck.resource, "nothing"),
                            name_or(a_.bottleneck.resource, "nothing")));
        }
        return out_;
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
        for (const auto& [was, now] : difference_.inputs) {
            say(was == nullptr   ? "Input new: " + now->name + "."
                : now == nullptr ? "Input gone: " + was->name + "."
                                 : "Input changed: " + now->name + ".");
        }
    }

    void aims() {
        for (const auto& [was, now] : difference_.aims) {
            if (was == nullptr) {
                say(fmt::format("New aim: {}: {}.", now->words, now->value_words));
                continue;
            }
            std::string better;
            if (was->unit == now->unit) better = now->value < was->value ? " (better)" : " (worse)";
            say(fmt::format("{}: {}, was {}{}.", now->words, now->value_words, was->value_words,
                            better));
        }
    }

    void orders() {
        for (const auto& [was, now] : difference_.orders) {
            if (now == nullptr) {
                say(fmt::format("Order {} is gone.", was->name));
                continue;
            }
            if (was == nullptr) {
                say(fmt::format("Order {} is new: ready {}.", now->name, clock(b_, now->ready)));
                continue;
            }
            std::string text = fmt::format("Order {}: ready {}", now->name, clock(b_, now->ready));
            if (!same(was->ready, now->ready))
                text += fmt::format(", was {}", clock(a_, was->ready));
            if (was->due != now->due)
                text += fmt::format("; due {}, was {}", clock(b_, now->due), clock(a_, was->due));
            if (now->lateness) text += "; " + lateness_words(*now);
            if (was->lateness && now->lateness && late(*was) != late(*now))
                text += late(*now) ? ", was in time" : ", was late";
            say(text + ".");
        }
    }

    static bool late(const OrderLine& order) {
        return order.lateness && *order.lateness > Seconds{0};
    }
    static std::string clock(const PlanDocument& d, const std::optional<SimTime>& t) {
        return t ? when(d.run, *t) : "never";
    }

    void steps() {
        struct Moved {
            const OperationLine* was;
            const OperationLine* now;
            std::int64_t by;
        };
        std::vector<Moved> moved;
        std::size_t places = 0;
        std::size_t people = 0;
        std::size_t fresh = 0;
        std::size_t gone = 0;
        for (const auto& [was, now] : difference_.steps) {
            if (was == nullptr || now == nullptr) {
                ++(was == nullptr ? fresh : gone);
                continue;
            }
            if (other_time(*was, *now))
                moved.push_back({was, now, (now->start - was->start).count()});
            places += was->place != now->place ? 1 : 0;
            people += other_people(*was, *now) ? 1 : 0;
        }
        if (fresh + gone > 0) say(fmt::format("Steps: {} new, {} gone.", fresh, gone));
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
        for (const auto& [was, now] : difference_.loads) {
            if (now == nullptr) {
                say(was->resource + " is gone.");
                continue;
            }
            if (was == nullptr) {
                say(fmt::format("{} is new: in use {} of the time there.", now->resource,
                                used(*now)));
                continue;
            }
            std::string text;
            if (was->capacity != now->capacity)
                text += fmt::format(" {} places, was {};", now->capacity, was->capacity);
            if (used(*was) != used(*now)) {
                text +=
                    fmt::format(" in use {} of the time there, was {};", used(*now), used(*was));
            }
            text.pop_back();
            say(now->resource + ":" + text + ".");
        }
    }

    const PlanDocument& a_;
    const PlanDocument& b_;
    PlanDifferences difference_;
    std::size_t width_;
    std::string out_;
};

const char* change_word(bool fresh, bool gone) {
    return fresh ? "new" : gone ? "gone" : "changed";
}

/// A time of each plan: `key` and `key`_was.
template <class Row, class Member>
void put_both(Json& out, const std::string& key, const Changed<Row>& row, Member Row::*member) {
    const auto put = [&](const std::string& name, const Row* of) {
        if (of == nullptr) return;
        const auto& value = of->*member;
        if constexpr (std::is_same_v<Member, std::optional<SimTime>>) {
            if (value) out[name] = model::format_date_time(*value);
        } else if constexpr (std::is_same_v<Member, SimTime>) {
            out[name] = model::format_date_time(value);
        } else if constexpr (std::is_same_v<Member, std::optional<Seconds>>) {
            if (value) out[name] = value->count();
        } else if constexpr (std::is_same_v<Member, std::optional<double>>) {
            if (value) out[name] = *value;
        } else {
            out[name] = value;
        }
    };
    put(key, row.now);
    put(key + "_was", row.was);
}

/// One object for each row that differs, begun with its name and what became of it.
template <class Row, class Fill>
Json list_of(const std::vector<Changed<Row>>& rows, Fill fill) {
    Json out = Json::array();
    for (const auto& row : rows) {
        Json object = Json::object();
        fill(object, row, row.now != nullptr ? *row.now : *row.was);
        object["change"] = change_word(row.was == nullptr, row.now == nullptr);
        out.push_back(std::move(object));
    }
    return out;
}

}  // namespace

PlanDifferences differences(const PlanDocument& a, const PlanDocument& b) {
    PlanDifferences out;
    if (a.fingerprint != b.fingerprint) {
        out.inputs = matched(
            a.inputs, b.inputs, [](const InputFile& f) { return f.name; },
            [](const InputFile& was, const InputFile& now) { return was.sha256 != now.sha256; });
    }
    out.aims = matched(
        a.aims, b.aims, [](const AimLine& aim) { return aim.criterion; },
        [](const AimLine& was, const AimLine& now) {
            return was.value != now.value || was.unit != now.unit;
        });
    // An aim that is no longer asked for is no difference between the days.
    std::erase_if(out.aims, [](const auto& row) { return row.now == nullptr; });
    out.orders = matched(
        a.orders, b.orders, [](const OrderLine& order) { return order.name; },
        [](const OrderLine& was, const OrderLine& now) {
            return !same(was.ready, now.ready) || was.due != now.due;
        });
    out.steps = matched(
        a.operations, b.operations,
        [](const OperationLine& op) { return std::tuple(op.screen, op.step, op.round, op.words); },
        [](const OperationLine& was, const OperationLine& now) {
            return other_time(was, now) || was.place != now.place || other_people(was, now);
        });
    out.loads = matched(
        a.loads, b.loads, [](const LoadLine& load) { return load.resource; },
        [](const LoadLine& was, const LoadLine& now) {
            return was.capacity != now.capacity || used(was) != used(now);
        });
    out.other_bottleneck = a.bottleneck.resource != b.bottleneck.resource;
    return out;
}

std::string compare_to_json(const PlanDocument& a, const PlanDocument& b) {
    const PlanDifferences d = differences(a, b);
    Json out = Json::object();
    out["format"] = 1;
    out["same"] = d.none();
    out["inputs"] = list_of(
        d.inputs, [](Json& o, const auto&, const InputFile& file) { o["name"] = file.name; });
    out["aims"] = list_of(d.aims, [](Json& o, const auto& row, const AimLine& aim) {
        o["criterion"] = aim.criterion;
        o["words"] = aim.words;
        put_both(o, "unit", row, &AimLine::unit);
        put_both(o, "value", row, &AimLine::value);
    });
    out["orders"] = list_of(d.orders, [](Json& o, const auto& row, const OrderLine& order) {
        o["order"] = order.name;
        put_both(o, "ready", row, &OrderLine::ready);
        put_both(o, "due", row, &OrderLine::due);
        put_both(o, "lateness_s", row, &OrderLine::lateness);
    });
    out["steps"] = list_of(d.steps, [](Json& o, const auto& row, const OperationLine& op) {
        o["screen"] = op.screen;
        o["step"] = op.step;
        o["round"] = op.round;
        o["words"] = op.words;
        put_both(o, "start", row, &OperationLine::start);
        put_both(o, "place", row, &OperationLine::place);
        put_both(o, "people", row, &OperationLine::people);
    });
    out["loads"] = list_of(d.loads, [](Json& o, const auto& row, const LoadLine& load) {
        o["resource"] = load.resource;
        put_both(o, "capacity", row, &LoadLine::capacity);
        put_both(o, "in_use", row, &LoadLine::allocation_efficiency);
    });
    out["bottleneck"] = {{"resource", b.bottleneck.resource}, {"was", a.bottleneck.resource}};
    return lines_of(out);
}

std::string compare_documents(const PlanDocument& a, const PlanDocument& b, int width) {
    return Comparison(a, b, width).write();
}

}  // namespace sched::report
