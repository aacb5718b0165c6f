// How it works: a line is cut into words; the first verb that is known (by, from, at, with,
// without, after, counts) parts it into whom it is about and what is held, and both are looked up
// among the room's orders, screens, steps and people. What is not found is a fault with the line.

#include "sched/app/parts/pin_words.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <optional>
#include <set>
#include <utility>
#include <vector>

#include "model/base/diagnostic.hpp"
#include "model/room/steps.hpp"

namespace sched::app {

namespace {

using core::OperationId;

constexpr std::array<const char*, 7> verbs{"by",      "from",  "at",    "with",
                                           "without", "after", "counts"};

// Whom a pin is about.
struct Subject {
    std::optional<core::OrderId> order;
    std::vector<OperationId> operations;
    bool one_step = false;
};

std::vector<std::string> split_words(const std::string& line) {
    std::vector<std::string> words;
    std::string word;
    for (const char c : line + " ") {
        if (c != ' ' && c != '\t') {
            word += c;
        } else if (!word.empty()) {
            words.push_back(word);
            word.clear();
        }
    }
    return words;
}

std::string join_words(const std::vector<std::string>& words, std::size_t from, std::size_t to) {
    std::string text;
    for (std::size_t i = from; i < to; ++i)
        text += (i > from ? " " : "") + words[i];
    return text;
}

class PinReader {
public:
    explicit PinReader(const compile::RoomProblem& room) : room_(room), p_(room.problem) {}

    void read(const std::string& line, std::size_t number) {
        number_ = number;
        const auto words = split_words(line);
        if (words.empty() || words.front().front() == '#') return;
        line_ = line;
        const auto verb = std::find_if(words.begin(), words.end(), [](const std::string& w) {
            return std::find(verbs.begin(), verbs.end(), w) != verbs.end();
        });
        const auto at = static_cast<std::size_t>(verb - words.begin());
        if (verb == words.end() || at == 0 || at + 1 == words.size()) {
            return fault(
                "write it as \"A7 by 12:30\", \"A7 from 9:00\", \"coat A7-2 at 09:30\", "
                "\"coat A7-2 with Cleo\", \"all without Ben\", \"A9 after A3\" or \"A12 "
                "counts 9\"");
        }
        const auto subject = subject_of(join_words(words, 0, at));
        if (!subject) return;
        pin(*subject, *verb, join_words(words, at + 1, words.size()));
    }

    PinWords out;

private:
    void fault(const std::string& why) {
        out.fault_lines.push_back(number_);
        out.faults.push_back("pin \"" + line_ + "\": " + why + ".");
    }
    void add(search::Pin pin) {
        out.pins.push_back(std::move(pin));
        out.words.push_back(line_);
    }

    std::optional<Subject> subject_of(const std::string& text) {
        Subject s;
        if (text == "all") {
            for (std::size_t i = 0; i < p_.operations.size(); ++i)
                s.operations.push_back(OperationId{i});
            return s;
        }
        if (whole(text, s)) return s;
        const auto space = text.rfind(' ');
        if (space != std::string::npos && whole(text.substr(space + 1), s)) {
            const auto steps = model::steps_of(text.substr(0, space));
            if (!steps.empty()) {
                std::erase_if(s.operations, [&](OperationId id) {
                    return std::find(steps.begin(), steps.end(),
                                     room_.operations[id.index()].step) == steps.end();
                });
                s.order.reset();
                s.one_step = true;
                if (!s.operations.empty()) return s;
            }
        }
        std::vector<std::string> names;
        for (const auto& o : p_.orders)
            names.push_back(o.name);
        for (const auto& j : p_.jobs)
            names.push_back(j.name);
        const std::string near = model::nearest_name(text, names);
        fault("\"" + text + "\" is no order, screen or step of one" +
              (near.empty() ? std::string() : " (did you mean \"" + near + "\"?)"));
        return std::nullopt;
    }

    bool whole(const std::string& name, Subject& s) const {
        for (std::size_t i = 0; i < p_.orders.size(); ++i) {
            if (p_.orders[i].name != name) continue;
            s.order = core::OrderId{i};
            s.operations = search::operations_of(p_, core::OrderId{i});
            return true;
        }
        for (std::size_t i = 0; i < p_.jobs.size(); ++i) {
            if (p_.jobs[i].name != name) continue;
            s.operations = search::operations_of(p_, core::JobId{i});
            return true;
        }
        return false;
    }

    std::optional<core::SimTime> time_of(const std::string& text) {
        if (const auto t = model::parse_date_time(text)) return t;
        const std::string padded = text.size() == 4 ? "0" + text : text;
        if (const auto t = model::parse_time_of_day(padded)) {
            return model::midnight(model::date_of(p_.horizon_start)) + *t;
        }
        fault("\"" + text + "\" is no time; write 12:30 or 2026-11-26T12:30");
        return std::nullopt;
    }

    std::optional<core::ResourceId> resource_of(const std::string& text) {
        std::vector<std::string> names;
        for (std::size_t i = 0; i < p_.resources.size(); ++i) {
            if (p_.resources[i].name == text) return core::ResourceId{i};
            names.push_back(p_.resources[i].name);
        }
        const std::string near = model::nearest_name(text, names);
        fault("nobody and nothing in the room is called \"" + text + "\"" +
              (near.empty() ? std::string() : " (did you mean \"" + near + "\"?)"));
        return std::nullopt;
    }

    void pin(const Subject& s, const std::string& verb, const std::string& object) {
        if (verb == "by" || verb == "from" || verb == "at") return pin_time(s, verb, object);
        if (verb == "with") {
            if (const auto r = resource_of(object)) add(search::PinChoice{s.operations, {*r}});
        } else if (verb == "without") {
            if (const auto r = resource_of(object)) add(search::PinForbid{*r, s.operations});
        } else if (verb == "after") {
            if (const auto first = subject_of(object)) {
                // Each costs a limit for every pair of their steps.
                if (afters_.emplace(first->operations, s.operations).second)
                    add(search::PinAfter{first->operations, s.operations});
            }
        } else {
            int weight = 0;
            const auto [end, error] =
                std::from_chars(object.data(), object.data() + object.size(), weight);
            if (!s.order || error != std::errc{} || end != object.data() + object.size() ||
                weight < 0 || weight > 1000) {
                return fault("an order counts a whole number from 0 to 1000");
            }
            add(search::PinWeight{*s.order, weight});
        }
    }

    void pin_time(const Subject& s, const std::string& verb, const std::string& object) {
        const auto t = time_of(object);
        if (!t) return;
        if (verb == "by") {
            if (!s.order) return fault("\"by\" goes with a whole order; use \"at\" for a step");
            add(search::PinOrder{.order = *s.order, .done_by = *t});
        } else if (verb == "from") {
            add(search::PinStart{.operations = s.operations, .not_before = *t});
        } else {
            if (!s.one_step)
                return fault("\"at\" goes with a step of a screen: coat A7-2 at 09:30");
            add(search::PinStart{
                .operations = {s.operations.front()}, .not_before = *t, .not_after = *t});
        }
    }

    const compile::RoomProblem& room_;
    const core::Problem& p_;
    std::string line_;
    std::size_t number_ = 0;
    std::set<std::pair<std::vector<OperationId>, std::vector<OperationId>>> afters_;  // said so far
};

}  // namespace

PinWords read_pins(const std::vector<std::string>& lines, const compile::RoomProblem& room) {
    PinReader reader(room);
    for (std::size_t k = 0; k < lines.size(); ++k)
        reader.read(lines[k], k);
    return std::move(reader.out);
}

}  // namespace sched::app
