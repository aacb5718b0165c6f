// How it works: the first word is the mark. "at" with a time is taken off the end; the longest name
// that the rest begins with is what it is about, a step and "in STATION", "with PERSON" follow, and
// what is left is a reason where the mark can have one.

#include "sched/journal/mark_words.hpp"

#include <algorithm>
#include <cctype>
#include <utility>

#include "model/base/diagnostic.hpp"
#include "model/room/steps.hpp"

namespace sched::journal {

namespace {

std::string small(std::string_view text) {
    std::string out(text);
    for (char& c : out)
        c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    return out;
}

std::string trimmed(std::string_view text) {
    const auto from = text.find_first_not_of(" \t");
    if (from == std::string_view::npos) return {};
    return std::string(text.substr(from, text.find_last_not_of(" \t") + 1 - from));
}

/// Takes the longest name that `rest` begins with (whole words, letters large or small) off it.
std::optional<std::string> take_name(std::string& rest, const std::vector<std::string>& names) {
    const std::string text = small(rest);
    std::optional<std::string> best;
    bool exact = false;
    for (const std::string& name : names) {
        const bool begins = text.starts_with(small(name)) &&
                            (text.size() == name.size() || text[name.size()] == ' ');
        if (!begins || name.empty()) continue;
        const bool as_written = rest.starts_with(name);
        const bool longer = !best || name.size() > best->size();
        const bool better = best && name.size() == best->size() && as_written && !exact;
        if (!longer && !better) continue;
        best = name;
        exact = as_written;
    }
    if (best) rest = trimmed(std::string_view(rest).substr(best->size()));
    return best;
}

/// Steps of screens, by word and by key.
const std::vector<std::pair<std::string, std::string>>& step_names() {
    static const auto names = [] {
        std::vector<std::pair<std::string, std::string>> out;
        for (const model::StepRow& row : model::step_rows()) {
            if (row.step == model::Step::MixDissolve || row.step == model::Step::MixStir) continue;
            out.emplace_back(row.word, row.key);
            if (row.word != row.key) out.emplace_back(row.key, row.key);
        }
        return out;
    }();
    return names;
}

std::vector<std::string> step_words() {
    std::vector<std::string> out;
    for (const auto& [word, key] : step_names())
        out.push_back(word);
    return out;
}

/// "wash out", "face coat 2".
bool take_step(std::string& rest, Entry& entry) {
    const auto word = take_name(rest, step_words());
    if (!word) return false;
    for (const auto& [name, key] : step_names()) {
        if (name == *word) entry.step = key;
    }
    const std::string number = rest.substr(0, rest.find(' '));
    std::string key;
    if (!number.empty() && std::isdigit(static_cast<unsigned char>(number.front())) != 0 &&
        read_step_text(entry.step + " " + number, key, entry.round))
        rest = trimmed(std::string_view(rest).substr(number.size()));
    return true;
}

/// "in cabinet 2", "with Ada", in any order. @returns false with `problem`.
bool take_where_and_who(std::string& rest, const Names& names, Entry& entry, std::string& problem) {
    for (;;) {
        const bool in = small(rest).starts_with("in "), with = small(rest).starts_with("with ");
        if (!in && !with) return true;
        rest = trimmed(std::string_view(rest).substr(in ? 3 : 5));
        const auto& list = in ? names.stations : names.people;
        const auto name = take_name(rest, list);
        if (!name) {
            problem = std::string(in ? "no station" : "nobody") + " is called \"" + rest + "\". " +
                      closest(rest, list);
            return false;
        }
        (in ? entry.station : entry.person) = *name;
    }
}

/// Takes "at 10:12" out, the last that there is.
void take_clock(std::string& rest, Said& said) {
    for (auto at = rest.rfind(" at "); at != std::string::npos;
         at = at == 0 ? std::string::npos : rest.rfind(" at ", at - 1)) {
        const std::string behind = trimmed(std::string_view(rest).substr(at + 4));
        const auto space = behind.find(' ');
        // A date may be written apart from its time.
        for (const auto end : {behind.find(' ', space + 1), space}) {
            const std::string clock = behind.substr(0, end);
            if (!model::parse_time_of_day(clock) && !model::parse_date_time(clock)) continue;
            said.clock = clock;
            rest = rest.substr(0, at);
            if (end != std::string::npos) rest += behind.substr(end);
            return;
        }
    }
}

const char* kind_words(About about) {
    switch (about) {
        case About::Screen:
            return "no screen of the orders is called";
        case About::Station:
            return "no station is called";
        case About::Person:
        case About::Hours:
            return "nobody is called";
        case About::Film:
        case About::Promise:
        case About::Order:
            return "no order is called";
        case About::Pot:
            return "no pot is called";
        default:
            return "nothing is called";
    }
}

const std::vector<std::string>& names_of(About about, const Names& names) {
    switch (about) {
        case About::Screen:
            return names.screens;
        case About::Station:
            return names.stations;
        case About::Person:
        case About::Hours:
            return names.people;
        case About::Film:
        case About::Order:
            return names.orders;
        case About::Promise:
            return names.promised;
        case About::Pot:
            return names.pots;
        default:
            return names.returned;
    }
}

class Reader {
public:
    Reader(const Names& names, std::string& problem) : names_(names), problem_(problem) {}

    std::optional<Said> read(std::string_view words) {
        std::string rest = trimmed(words);
        const std::string word = small(rest.substr(0, rest.find(' ')));
        const auto mark = mark_of(word);
        if (!mark || *mark == Mark::Posted) {
            std::vector<std::string> known;
            for (const MarkRow& row : mark_rows()) {
                if (row.mark != Mark::Posted) known.emplace_back(row.word);
            }
            return fail("\"" + word + "\" is no mark. " + closest(word, known));
        }
        said_.entry.mark = *mark;
        rest = rest.substr(word.size());
        take_clock(rest, said_);
        rest = trimmed(rest);
        if (*mark == Mark::Undo) return undo(rest);
        const About about = row_of(*mark).about;
        if (rest.empty()) {
            return fail("\"" + word + "\" needs " + what_it_needs(about) + ". " +
                        closest("", names_of(about, names_)));
        }
        const auto name = take_name(rest, names_of(about, names_));
        if (name) {
            said_.entry.what = *name;
        } else if (about == About::Returned) {
            said_.entry.what = std::exchange(rest, {});
        } else {
            const std::string first = about == About::Screen || about == About::Film ||
                                              about == About::Promise || about == About::Order
                                          ? rest.substr(0, rest.find(' '))
                                          : rest;
            return fail(std::string(kind_words(about)) + " \"" + first + "\". " +
                        closest(first, names_of(about, names_)));
        }
        return about == About::Screen ? screen(rest) : with_reason(rest);
    }

private:
    std::optional<Said> fail(std::string words) {
        problem_ = std::move(words);
        return std::nullopt;
    }
    static std::string what_it_needs(About about) {
        switch (about) {
            case About::Screen:
                return "the tag of a screen";
            case About::Station:
                return "a station";
            case About::Person:
            case About::Hours:
                return "a person";
            case About::Film:
            case About::Promise:
            case About::Order:
                return "an order";
            case About::Pot:
                return "a pot";
            default:
                return "a screen or frame";
        }
    }

    std::optional<Said> undo(const std::string& rest) {
        said_.last = rest.empty();
        constexpr std::size_t most_digits = 15;
        if (rest.size() > most_digits ||
            !std::all_of(rest.begin(), rest.end(),
                         [](unsigned char c) { return std::isdigit(c) != 0; }))
            return fail("\"undo " + rest +
                        "\" names no entry. Write undo for the last one of this "
                        "device, or undo 17; --list shows the numbers.");
        if (!said_.last) said_.entry.undoes = std::stoll(rest);
        if (!said_.last && said_.entry.undoes == 0) return fail("there is no entry 0.");
        return said_;
    }

    std::optional<Said> screen(std::string rest) {
        Entry& e = said_.entry;
        if (e.mark == Mark::Remake) return remake(std::move(rest));
        take_step(rest, e);
        if (!take_where_and_who(rest, names_, e, problem_)) return std::nullopt;
        if (!rest.empty() && e.step.empty()) {
            return fail("\"" + rest + "\" is no step of a screen room. " +
                        closest(rest, steps_of(e.what)));
        }
        if (!rest.empty()) return fail("\"" + rest + "\" is too much. " + too_much());
        if (!e.step.empty() && !on_way()) return std::nullopt;
        return said_;
    }

    std::optional<Said> remake(std::string rest) {
        Entry& e = said_.entry;
        // "pinhole from degrease": a step behind the last "from".
        const std::string text = small(" " + rest);
        const auto from = text.rfind(" from ");
        if (from != std::string::npos) {
            std::string behind = trimmed(std::string_view(rest).substr(from + 5));
            Entry step = e;
            if (take_step(behind, step) && behind.empty()) {
                e.step = step.step;
                e.round = step.round;
                rest = trimmed(std::string_view(rest).substr(0, from));
                if (!on_way()) return std::nullopt;
            }
        }
        e.reason = rest;
        return said_;
    }

    std::optional<Said> with_reason(const std::string& rest) {
        said_.entry.reason = rest;
        return said_;
    }

    std::string too_much() const {
        return "Write it as start A7-2 wash out in cabinet 2 with Ada at 10:12; what is as planned "
               "can be left out.";
    }

    std::vector<std::string> steps_of(const std::string& tag) const {
        const Way* way = way_of(names_.ways, tag);
        std::vector<std::string> out;
        if (way == nullptr) {
            for (const model::StepRow& row : model::step_rows())
                out.emplace_back(row.word);
            return out;
        }
        for (const PlannedStep& s : way->steps) {
            for (const model::StepRow& row : model::step_rows()) {
                if (row.key == s.step && std::find(out.begin(), out.end(), row.word) == out.end())
                    out.emplace_back(row.word);
            }
        }
        return out;
    }

    bool on_way() {
        const Entry& e = said_.entry;
        const Way* way = way_of(names_.ways, e.what);
        if (way == nullptr || e.step == model::row_of(model::Step::TakeOut).key) return true;
        const bool there = std::any_of(
            way->steps.begin(), way->steps.end(),
            [&](const PlannedStep& s) { return s.step == e.step && s.round == e.round; });
        if (!there)
            problem_ = "\"" + step_text(e) + "\" is not on the way of " + e.what + ". " +
                       closest(e.step, steps_of(e.what));
        return there;
    }

    const Names& names_;
    std::string& problem_;
    Said said_;
};

}  // namespace

std::string closest(std::string_view word, const std::vector<std::string>& names) {
    std::vector<std::string> left = names, near;
    constexpr std::size_t most_near = 3;
    while (!word.empty() && near.size() < most_near) {
        const std::string one = model::nearest_name(word, left);
        if (one.empty()) break;
        near.push_back(one);
        left.erase(std::remove(left.begin(), left.end(), one), left.end());
    }
    std::string out;
    if (!near.empty()) {
        for (std::size_t k = 0; k < near.size(); ++k)
            out += (k == 0 ? "" : k + 1 == near.size() ? " or " : ", ") + near[k];
        return "Did you mean " + out + "?";
    }
    if (names.empty()) return "There is none.";
    constexpr std::size_t most_named = 12;
    for (std::size_t k = 0; k < names.size() && k < most_named; ++k)
        out += (k == 0 ? "" : ", ") + names[k];
    return "Known: " + out + (names.size() > most_named ? ", ..." : ".");
}

std::optional<Said> read_mark(std::string_view words, const Names& names, std::string& problem) {
    return Reader(names, problem).read(words);
}

}  // namespace sched::journal
