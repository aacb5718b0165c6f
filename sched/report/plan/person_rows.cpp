// How it works: the operations of a person are sorted by time. Each joins the row before it, if it
// is at the same place, comes soon after, and the row stays short; else it begins a row. Screens
// that the person carries to or from the row's own work are part of that work ("from", "to"); other
// carrying is a part of its own. A break begins a row and nothing joins across it.

#include "sched/report/plan/person_rows.hpp"
#include "model/base/shown.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <optional>

#include "sched/report/plan/break_lines.hpp"
#include "sched/report/plan/replan_lines.hpp"
#include "sched/report/plan/sheet_rows.hpp"
#include "sched/report/words/steps.hpp"
#include "sched/report/words/wording.hpp"

namespace sched::report {

namespace {

constexpr Seconds soon{180};
constexpr Seconds same_screen_soon{600};
constexpr Seconds longest_row{1800};
constexpr Seconds limit_worth_saying{3600};
constexpr std::size_t most_places = 3;
constexpr std::size_t longest_text = 150;  // two lines of the sheet

bool carries(const OperationLine& op) {
    return !op.screen.empty() && (op.step == "take-out" || op.step == "put-in");
}

class PersonRowMaker {
public:
    PersonRowMaker(const PlanDocument& document, const std::string& person)
        : d_(document),
          person_(person),
          over_(over_of(document)),
          changed_(changed_of(document)),
          way_(ways()),
          by_(limits()) {}

    std::vector<PersonRow> rows() {
        std::vector<int> mine;
        for (std::size_t i = 0; i < d_.operations.size(); ++i) {
            const OperationLine& op = d_.operations[i];
            // Of what still stands somewhere the hands may be over.
            const bool done = d_.again && op.people_until.value_or(op.end) <= d_.again->now;
            if (!over_[i] && !done && listed(op.people, person_))
                mine.push_back(static_cast<int>(i));
        }
        std::stable_sort(mine.begin(), mine.end(),
                         [&](int a, int b) { return at(a).start < at(b).start; });
        std::vector<const BreakLine*> breaks;
        for (const BreakLine& line : d_.breaks) {
            if (line.person == person_ && !is_over(d_, line)) breaks.push_back(&line);
        }
        auto next = breaks.begin();
        for (const int i : mine) {
            for (; next != breaks.end() && (*next)->from <= at(i).start; ++next)
                rows_.push_back(pause_row(**next));
            take(i);
        }
        for (; next != breaks.end(); ++next)
            rows_.push_back(pause_row(**next));
        for (PersonRow& row : rows_)
            finish(row);
        return std::move(rows_);
    }

private:
    const OperationLine& at(int i) const { return d_.operations[static_cast<std::size_t>(i)]; }

    PersonRow pause_row(const BreakLine& line) const {
        PersonRow row;
        row.start = line.from;
        row.till = line.to;
        row.pause = true;
        row.break_words = "Break";
        if (line.earliest != line.latest)
            row.break_words += fmt::format(" (between {} and {})", when(d_.run, line.earliest),
                                           when(d_.run, line.latest + (line.to - line.from)));
        return row;
    }

    // Indices of each screen's operations in time order.
    std::map<std::string, std::vector<int>> ways() const {
        std::map<std::string, std::vector<int>> out;
        for (std::size_t i = 0; i < d_.operations.size(); ++i) {
            if (!d_.operations[i].screen.empty())
                out[d_.operations[i].screen].push_back(static_cast<int>(i));
        }
        for (auto& [tag, list] : out) {
            std::stable_sort(list.begin(), list.end(),
                             [&](int a, int b) { return at(a).start < at(b).start; });
        }
        return out;
    }

    // Whether the step is done at several places, so that its name does not tell where.
    bool one_of_several(const OperationLine& op) const {
        return !carries(op) && std::any_of(d_.operations.begin(), d_.operations.end(),
                                           [&](const OperationLine& other) {
                                               return other.step == op.step &&
                                                      other.place != op.place &&
                                                      !other.place.empty();
                                           });
    }

    // Where the screen was before the operation (-1) or is after it (+1), another place than its
    // own; "" nowhere.
    std::string neighbour(int i, int direction) const {
        const std::vector<int>& way = way_.at(at(i).screen);
        const auto here = std::find(way.begin(), way.end(), i) - way.begin();
        for (auto k = here + direction; k >= 0 && k < static_cast<std::ptrdiff_t>(way.size());
             k += direction) {
            const std::string& place = at(way[static_cast<std::size_t>(k)]).place;
            if (!place.empty() && place != at(i).place) return place;
        }
        return {};
    }

    // By when each operation must begin, where a limit from another one is short, or nearly over by
    // then.
    std::map<int, std::pair<int, SimTime>> limits() const {
        std::map<int, std::pair<int, SimTime>> out;
        for (const auto& constraint : d_.problem.constraints) {
            const auto* lag = std::get_if<core::TimeLag>(&constraint);
            if (!lag || !lag->max || *lag->max <= Seconds{0}) continue;
            const auto from = static_cast<int>(lag->from.value);
            const auto to = static_cast<int>(lag->to.value);
            if (at(to).people.empty()) continue;
            const SimTime anchor = lag->edge == core::Edge::Start     ? at(from).start
                                   : lag->edge == core::Edge::WorkEnd ? at(from).work_end
                                                                      : at(from).end;
            const Seconds left = anchor + *lag->max - at(to).start;
            if (std::min(*lag->max, left) > limit_worth_saying) continue;
            const auto [known, fresh] = out.emplace(to, std::pair{from, anchor + *lag->max});
            if (!fresh && anchor + *lag->max < known->second.second)
                known->second = {from, anchor + *lag->max};
        }
        return out;
    }

    // What the person at the stand or the lamp must know of the screen besides the step.
    std::string phrase(int i) const {
        const OperationLine& op = at(i);
        if (op.screen.empty()) return op.words + pot_words(i);
        const auto screen = std::find_if(d_.screens.begin(), d_.screens.end(),
                                         [&](const ScreenLine& s) { return s.tag == op.screen; });
        const auto named = screen == d_.screens.end() ? nullptr : &*screen;
        if (carries(op)) {
            const std::string from = neighbour(i, -1);
            return from.empty() ? "→ " + op.place : from + " → " + op.place;
        }
        if (op.step == "expose") {
            // Loading and taking off are one visit; the lamp's seconds say how long it burns.
            const bool off = op.words.starts_with("take");
            if (off) return "unload";
            return named ? fmt::format("expose {} s", named->exposure.count()) : "expose";
        }
        if (op.step == "rinse") return step_words(op.step);
        std::string words = without_tag(op.words, op.screen);
        if (named && (op.step == "coat" || op.step == "face-coat")) words += ", " + named->emulsion;
        return words;
    }

    // From when on the pot can be used, and until when.
    std::string pot_words(int i) const {
        if (at(i).step != "mix-stir") return {};
        for (const MixLine& mix : d_.mixes) {
            if (std::find(mix.operations.begin(), mix.operations.end(), i) == mix.operations.end())
                continue;
            std::string words;
            if (mix.usable) words += ", usable from " + when(d_.run, *mix.usable);
            if (mix.good_until) words += ", good until " + when(d_.run, *mix.good_until);
            return words;
        }
        return {};
    }

    bool holds_screen(const PersonRow& row, const std::string& tag, bool carried) const {
        return std::any_of(row.parts.begin(), row.parts.end(), [&](const SheetPart& p) {
            return p.carries == carried && listed(p.tags, tag);
        });
    }

    bool joins(const PersonRow& row, int i) const {
        const OperationLine& op = at(i);
        if (row.pause || op.screen.empty() || row.operations.empty()) return false;
        if (at(row.operations.back()).screen.empty()) return false;
        std::vector<std::string> partners = partners_of(op);
        if (partners != row.partners) return false;
        const bool taken_along = !row.places.empty() && row.places.size() < most_places &&
                                 holds_screen(row, op.screen, false) && op.start - row.till <= soon;
        const bool here =
            carries(op) || row.places.empty() || op.place == row.places.back() || taken_along;
        const bool known =
            holds_screen(row, op.screen, false) || holds_screen(row, op.screen, true);
        const Seconds gap = op.start - row.till;
        if (!here || gap > (known ? same_screen_soon : soon)) return false;
        if (op.start - row.start > longest_row) return false;
        PersonRow tried = row;
        put(tried, i);
        return length_of(tried) <= longest_text;
    }

    std::vector<std::string> partners_of(const OperationLine& op) const {
        std::vector<std::string> out;
        for (const std::string& who : op.people) {
            if (who != person_) add_once(out, who);
        }
        return out;
    }

    void take(int i) {
        if (rows_.empty() || !joins(rows_.back(), i)) {
            rows_.emplace_back();
            rows_.back().start = at(i).start;
            rows_.back().partners = partners_of(at(i));
        }
        put(rows_.back(), i);
    }

    // The operation's share of the row: a part of its own, a further tag of one, or, of carrying
    // to or from the row's own work, nothing but where to.
    void put(PersonRow& row, int i) const {
        const OperationLine& op = at(i);
        row.till = std::max(row.till, op.people_until.value_or(op.end));
        row.operations.push_back(i);
        row.changed = row.changed || changed_[static_cast<std::size_t>(i)] != 0;
        if (op.turn && (row.turn == 0 || *op.turn < row.turn)) row.turn = *op.turn;
        if (carries(op)) {
            if (holds_screen(row, op.screen, false) && listed(row.places, neighbour(i, -1))) return;
            add(row, phrase(i), op.screen, true, {});
            return;
        }
        add_once(row.places, op.place);
        // Taken out for this very work.
        for (SheetPart& part : row.parts) {
            if (part.carries) std::erase(part.tags, op.screen);
        }
        std::erase_if(row.parts, [](const SheetPart& p) { return p.carries && p.tags.empty(); });
        // On and off the unit in one visit is one exposure.
        if (op.step == "expose" && op.words.starts_with("take")) {
            for (const SheetPart& part : row.parts) {
                if (part.words.starts_with("expose") && listed(part.tags, op.screen)) return;
            }
        }
        add(row, phrase(i), op.screen, false, by_words(row, i));
    }

    // A limit on this step, and one that this step sets to the next.
    std::string by_words(const PersonRow& row, int i) const {
        const auto mine = by_.find(i);
        if (mine != by_.end() && std::find(row.operations.begin(), row.operations.end(),
                                           mine->second.first) == row.operations.end())
            return "by " + limit_words(i, mine->second.second);
        return {};
    }

    static void add(PersonRow& row, const std::string& words, const std::string& tag, bool carried,
                    const std::string& by) {
        for (SheetPart& part : row.parts) {
            if (part.words == words && part.by == by && part.carries == carried && !tag.empty()) {
                if (!listed(part.tags, tag)) part.tags.push_back(tag);
                return;
            }
        }
        SheetPart part{words, {}, by, carried};
        if (!tag.empty()) part.tags.push_back(tag);
        row.parts.push_back(std::move(part));
    }

    void finish(PersonRow& row) const {
        for (const int i : row.operations) {
            const OperationLine& op = at(i);
            if (one_of_several(op)) add_once(row.named, op.place);
            if (op.screen.empty() || carries(op)) continue;
            if (op.place == row.places.front()) add_once(row.from, neighbour(i, -1));
            if (op.place == row.places.back()) add_once(row.to, neighbour(i, +1));
            // The next step's limit, where it is on a row further down or on another sheet.
            for (const auto& [to, limit] : by_) {
                const bool later = std::find(row.operations.begin(), row.operations.end(), to) ==
                                   row.operations.end();
                if (limit.first != i || !later) continue;
                const std::string by =
                    fmt::format("{} by {}", step_words(at(to).step), limit_words(to, limit.second));
                for (SheetPart& part : row.parts) {
                    if (!part.carries && listed(part.tags, op.screen) && part.by.empty() &&
                        part.words == phrase(i))
                        part.by = by;
                }
            }
        }
        // What follows on the same screens is said before their boxes, once.
        for (std::size_t k = 1; k < row.parts.size();) {
            SheetPart& before = row.parts[k - 1];
            const SheetPart& part = row.parts[k];
            const bool one = !part.tags.empty() && part.tags == before.tags && !part.carries &&
                             !before.carries && before.by.empty();
            if (!one) {
                ++k;
                continue;
            }
            before.words += ", " + part.words;
            before.by = part.by;
            row.parts.erase(row.parts.begin() + static_cast<std::ptrdiff_t>(k));
        }
    }

    // A limit is said in the minute that it lies in; but nobody is told to begin at 9:28 and by
    // 9:27.
    std::string limit_words(int i, SimTime limit) const {
        const SimTime minute = limit - limit.time_since_epoch() % Seconds{60};
        return when(d_.run, std::max(minute, model::shown_minute(at(i).start)));
    }

    const PlanDocument& d_;
    std::string person_;
    std::vector<char> over_, changed_;  // per operation
    std::map<std::string, std::vector<int>> way_;
    std::map<int, std::pair<int, SimTime>> by_;
    std::vector<PersonRow> rows_;
};

}  // namespace

std::vector<PersonRow> person_rows(const PlanDocument& document, const std::string& person) {
    return PersonRowMaker(document, person).rows();
}

std::size_t length_of(const PersonRow& row) {
    std::size_t length = row.break_words.size();
    for (const SheetPart& part : row.parts) {
        length += part.words.size() + part.by.size() + 2;
        for (const std::string& tag : part.tags)
            length += tag.size() + 3;
    }
    return length;
}

}  // namespace sched::report
