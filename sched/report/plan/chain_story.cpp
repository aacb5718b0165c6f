// How it works: the steps of a chain, in order of time, become stretches from start to start,
// each the order's own work, others' work or a wait; neighbours of one kind are joined, and while
// there are more than six the shortest joins a neighbour. Ends are shown minutes, so the lengths
// add up.

#include "sched/report/plan/chain_story.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "model/base/shown.hpp"
#include "sched/report/words/wording.hpp"

namespace sched::report {

namespace {

constexpr std::size_t kMostParts = 6;

enum class PartKind { Own, Others, Wait };

// A stretch under way: what its words are made of.
struct Stretch {
    SimTime from{}, to{};
    PartKind kind = PartKind::Own;
    std::string first, last;  // Own: operations
    std::vector<std::string> names, orders;
    std::string why;
    bool more = false;  // short stretches of another kind are in it
};

void add_name(std::vector<std::string>& list, const std::string& name) {
    if (!name.empty() && std::find(list.begin(), list.end(), name) == list.end())
        list.push_back(name);
}

std::string some_of(std::vector<std::string> names) {
    if (names.size() > 3) {
        const auto left = names.size() - 2;
        names.resize(2);
        names.push_back(fmt::format("{} others", left));
    }
    return joined(names);
}

std::string stretch_words(const Stretch& s) {
    std::string out;
    switch (s.kind) {
        case PartKind::Own:
            out = s.first == s.last ? "own work, " + s.first
                                    : fmt::format("own work, {} to {}", s.first, s.last);
            break;
        case PartKind::Others:
            out = s.names.empty() ? std::string("behind other work")
                                  : "waiting for " + some_of(s.names);
            if (!s.orders.empty()) out += " (busy with " + some_of(s.orders) + ")";
            break;
        case PartKind::Wait:
            out = s.why;
            break;
    }
    return s.more ? out + ", short waits and steps between included" : out;
}

// What follows goes on in `s`.
void append_stretch(Stretch& s, const Stretch& next) {
    s.to = next.to;
    s.last = next.last;
    for (const auto& n : next.names)
        add_name(s.names, n);
    for (const auto& o : next.orders)
        add_name(s.orders, o);
    s.more = s.more || next.more;
}

void join_short_ones(std::vector<Stretch>& all) {
    while (all.size() > kMostParts) {
        std::size_t k = 0;
        for (std::size_t i = 1; i < all.size(); ++i) {
            if (all[i].to - all[i].from < all[k].to - all[k].from) k = i;
        }
        const auto length = [&](std::size_t i) { return all[i].to - all[i].from; };
        const std::size_t with = k == 0                                                 ? 1
                                 : k + 1 == all.size() || length(k - 1) < length(k + 1) ? k - 1
                                                                                        : k + 1;
        const std::size_t a = std::min(k, with);
        Stretch one = all[with];
        one.from = all[a].from;
        one.to = all[a + 1].to;
        one.more = true;
        all[a] = std::move(one);
        all.erase(all.begin() + static_cast<std::ptrdiff_t>(a) + 1);
        // Neighbours of one kind may have met.
        for (std::size_t i = 0; i + 1 < all.size();) {
            if (all[i].kind != all[i + 1].kind ||
                (all[i].kind == PartKind::Wait && all[i].why != all[i + 1].why)) {
                ++i;
                continue;
            }
            append_stretch(all[i], all[i + 1]);
            all.erase(all.begin() + static_cast<std::ptrdiff_t>(i) + 1);
        }
    }
}

// What a step waited for between its screen's step before and its own beginning.
std::vector<Stretch> wait_before(const ChainStep& step, SimTime from, SimTime to) {
    Stretch wait{.from = from, .to = to, .kind = PartKind::Wait, .why = step.why};
    if (step.why.empty()) {
        wait.kind = PartKind::Others;
        add_name(wait.names, step.resource);
        add_name(wait.orders, step.busy);
    }
    std::vector<Stretch> out;
    for (const ChainStep::Away& gone : step.away) {
        Stretch before = wait, away = wait;
        before.to = away.from = std::clamp(gone.from, wait.from, to);
        away.to = wait.from = std::clamp(gone.to, away.from, to);
        away.kind = PartKind::Wait;
        away.why = "until " + gone.until;
        out.push_back(std::move(before));
        out.push_back(std::move(away));
    }
    out.push_back(std::move(wait));
    return out;
}

}  // namespace

std::vector<ChainPart> chain_parts(std::vector<ChainStep> steps, SimTime ready) {
    std::stable_sort(steps.begin(), steps.end(),
                     [](const ChainStep& a, const ChainStep& b) { return a.start < b.start; });
    std::vector<Stretch> all;
    const auto add = [&](Stretch s) {
        s.from = model::shown_minute(s.from);
        s.to = model::shown_minute(s.to);
        if (s.to <= s.from) return;
        if (!all.empty() && all.back().kind == s.kind &&
            (s.kind != PartKind::Wait || all.back().why == s.why))
            append_stretch(all.back(), s);
        else
            all.push_back(std::move(s));
    };
    for (std::size_t i = 0; i < steps.size(); ++i) {
        const ChainStep& step = steps[i];
        const SimTime end = i + 1 < steps.size() ? std::min(steps[i + 1].start, ready) : ready;
        SimTime work_until = end;
        // The next one's wait that nobody's work explains.
        if (i + 1 < steps.size() && steps[i + 1].waited > Seconds{0})
            work_until = std::max(step.start, end - steps[i + 1].waited);
        Stretch s{.from = step.start, .to = work_until};
        s.kind = !step.mixes.empty() ? PartKind::Wait : step.own ? PartKind::Own : PartKind::Others;
        s.first = s.last = step.work;
        s.why = step.mixes;
        if (s.kind == PartKind::Others) {
            if (i + 1 < steps.size()) add_name(s.names, steps[i + 1].resource);
            add_name(s.orders, step.order);
        }
        add(s);
        if (work_until < end) {
            for (Stretch& wait : wait_before(steps[i + 1], work_until, end))
                add(std::move(wait));
        }
    }
    join_short_ones(all);
    std::vector<ChainPart> out;
    for (const Stretch& s : all)
        out.push_back({s.from, s.to, stretch_words(s)});
    return out;
}

std::string chain_story(const RunLine& run, std::string_view begins,
                        const std::vector<ChainPart>& parts) {
    if (parts.empty()) return {};
    std::string out = fmt::format(" From {}:", when(run, parts.front().from));
    if (!begins.empty()) {
        std::string words(begins);
        if (words.front() >= 'a' && words.front() <= 'z')
            words.front() = static_cast<char>(words.front() - 'a' + 'A');
        out = fmt::format(" {} {}. From then:", words, when(run, parts.front().from));
    }
    for (std::size_t k = 0; k < parts.size(); ++k) {
        out += fmt::format("{} {} {}", k == 0 ? "" : ";",
                           model::format_duration(parts[k].to - parts[k].from), parts[k].words);
    }
    return out + ".";
}

}  // namespace sched::report
