// How it works: the operations of a station are sorted by time; a row grows as long as the next one
// is on the same screen in one go, and then stands with its people and cautions.

#include "sched/report/plan/sheet_rows.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "sched/report/plan/replan_lines.hpp"

namespace sched::report {

bool listed(const std::vector<std::string>& list, const std::string& name) {
    return std::find(list.begin(), list.end(), name) != list.end();
}

void add_once(std::vector<std::string>& list, const std::string& name) {
    if (!name.empty() && !listed(list, name)) list.push_back(name);
}

std::string without_tag(std::string words, const std::string& tag) {
    if (tag.empty()) return words;
    for (const std::string& cut : {" with " + tag, " of " + tag, " " + tag}) {
        const std::size_t at = words.find(cut);
        if (at == std::string::npos) continue;
        const std::size_t after = at + cut.size();
        // A1-1 is no part of A1-12.
        if (after < words.size() && words[after] != ' ' && words[after] != ',') continue;
        words.erase(at, cut.size());
        break;
    }
    return words;
}

namespace {

constexpr Seconds straight_after{60};

class RowMaker {
public:
    explicit RowMaker(const PlanDocument& document)
        : d_(document), over_(over_of(document)), changed_(changed_of(document)) {}

    std::vector<SheetRow> of_station(const std::string& station) const {
        std::vector<int> list = sorted([&](const OperationLine& op) {
            return op.step != "take-out" && op.step != "put-in" &&
                   (op.place == station || listed(op.also_at, station));
        });
        std::vector<SheetRow> rows;
        for (int i : list) {
            const OperationLine& op = at(i);
            const auto open = std::find_if(rows.rbegin(), rows.rend(), [&](const SheetRow& r) {
                return !op.screen.empty() && r.tags.front() == op.screen;
            });
            if (open != rows.rend() &&
                op.start <= at(open->operations.back()).end + straight_after) {
                join(*open, i, op.work_end, {});
                for (const std::string& who : op.people)
                    add_once(open->where, who);
                continue;
            }
            SheetRow fresh = row(i, op.work_end, op.people);
            if (fresh.tags.empty()) fresh.tags.emplace_back();
            rows.push_back(std::move(fresh));
        }
        for (SheetRow& r : rows) {
            if (r.tags.front().empty()) r.tags.clear();
        }
        return rows;
    }

private:
    const OperationLine& at(int i) const { return d_.operations[static_cast<std::size_t>(i)]; }

    template <class Mine>
    std::vector<int> sorted(Mine mine) const {
        std::vector<int> list;
        for (std::size_t i = 0; i < d_.operations.size(); ++i) {
            if (!over_[i] && mine(d_.operations[i])) list.push_back(static_cast<int>(i));
        }
        std::stable_sort(list.begin(), list.end(),
                         [&](int a, int b) { return at(a).start < at(b).start; });
        return list;
    }

    /// What the person at the stand or the lamp must know of the screen besides the step.
    std::string phrase(const OperationLine& op) const {
        std::string words = without_tag(op.words, op.screen);
        const auto screen = std::find_if(d_.screens.begin(), d_.screens.end(),
                                         [&](const ScreenLine& s) { return s.tag == op.screen; });
        if (op.screen.empty() || screen == d_.screens.end()) return words;
        if (op.step == "coat" || op.step == "face-coat") {
            words += fmt::format(", {}", screen->emulsion);
        }
        if (op.step == "expose" && words.find("take") == std::string::npos)
            words += fmt::format(", {} s", screen->exposure.count());
        return words;
    }

    SheetRow row(int i, SimTime till, std::vector<std::string> where) const {
        const OperationLine& op = at(i);
        SheetRow r;
        r.start = op.start;
        r.till = till;
        if (!op.screen.empty()) r.tags.push_back(op.screen);
        r.words.push_back(phrase(op));
        for (std::string& w : where)
            add_once(r.where, w);
        r.cautions = op.cautions;
        r.operations.push_back(i);
        r.changed = changed_[static_cast<std::size_t>(i)] != 0;
        return r;
    }

    void join(SheetRow& r, int i, SimTime till, const std::string& where) const {
        const OperationLine& op = at(i);
        r.till = std::max(r.till, till);
        std::string more = phrase(op);
        // The lamp's seconds once a visit.
        const std::size_t comma = more.rfind(", ");
        if (op.step == "expose" && comma != std::string::npos &&
            r.words.back().ends_with(more.substr(comma)))
            more.resize(comma);
        add_once(r.words, more);
        add_once(r.where, where);
        for (const std::string& c : op.cautions)
            add_once(r.cautions, c);
        r.operations.push_back(i);
        r.changed = r.changed || changed_[static_cast<std::size_t>(i)] != 0;
    }

    const PlanDocument& d_;
    std::vector<char> over_, changed_;  // per operation
};

}  // namespace

std::vector<SheetRow> station_rows(const PlanDocument& document, const std::string& station) {
    return RowMaker(document).of_station(station);
}

}  // namespace sched::report
