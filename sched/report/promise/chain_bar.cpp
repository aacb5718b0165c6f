#include "sched/report/promise/chain_bar.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "sched/report/promise/promise_text.hpp"
#include "sched/report/words/html.hpp"

namespace sched::report {

namespace {

using Kind = ChainStretch::Kind;
using core::Seconds;
using core::SimTime;

constexpr Seconds longest_drawn_wait = std::chrono::hours{3};

const char* stretch_class(Kind kind) {
    return kind == Kind::Work ? "work" : kind == Kind::Drying ? "drying" : "waiting";
}

void add_stretch(std::vector<ChainStretch>& all, Kind kind, SimTime from, SimTime to) {
    if (to <= from) return;
    if (!all.empty() && all.back().kind == kind && all.back().to == from) {
        all.back().to = to;
    } else {
        all.push_back({kind, from, to});
    }
}

}  // namespace

std::vector<ChainStretch> chain_stretches(const std::vector<study::PromiseLink>& chain,
                                          SimTime ready) {
    std::vector<ChainStretch> all;
    if (chain.empty()) return all;
    SimTime at = chain.front().start - chain.front().waited;
    for (std::size_t i = 0; i < chain.size(); ++i) {
        const SimTime next = i + 1 < chain.size() ? chain[i + 1].start : ready;
        add_stretch(all, Kind::Waiting, at, chain[i].start);
        at = std::max(at, chain[i].start);
        // A step under way when the next begins gives way to it: the chain goes on there.
        const SimTime end = std::min(std::max(chain[i].end, chain[i].start), std::max(next, at));
        add_stretch(all, chain[i].dries ? Kind::Drying : Kind::Work, at, end);
        at = std::max(at, end);
    }
    add_stretch(all, Kind::Waiting, at, ready);
    return all;
}

std::string chain_bar(const std::vector<study::PromiseLink>& chain, SimTime ready) {
    const auto all = chain_stretches(chain, ready);
    if (all.empty()) return {};
    const auto drawn = [](const ChainStretch& s) {
        const Seconds length = s.to - s.from;
        return static_cast<double>(
            (s.kind == Kind::Waiting ? std::min(length, longest_drawn_wait) : length).count());
    };
    double whole = 0.0;
    Seconds sums[3]{};
    for (const ChainStretch& s : all) {
        whole += drawn(s);
        sums[static_cast<std::size_t>(s.kind)] += s.to - s.from;
    }
    const auto sum_words = [&](Kind kind) {
        return model::format_duration(sums[static_cast<std::size_t>(kind)]);
    };
    std::string shapes;
    double x = 0.0;
    bool cut = false;
    for (const ChainStretch& s : all) {
        const double width = drawn(s) / whole * 1000.0;
        shapes +=
            fmt::format("<rect class=\"{}\" x=\"{:.1f}\" y=\"0\" width=\"{:.1f}\" height=\"40\"/>",
                        stretch_class(s.kind), x, width);
        if (s.kind == Kind::Waiting && s.to - s.from > longest_drawn_wait) {
            shapes +=
                fmt::format("<path d=\"M{0:.1f} 40L{1:.1f} 0M{2:.1f} 40L{3:.1f} 0\"/>",
                            x + width / 2 - 8, x + width / 2, x + width / 2, x + width / 2 + 8);
            cut = true;
        }
        x += width;
    }
    std::string out =
        fmt::format("<p>{} from {} to {}: waiting {}, work {}, drying {}.</p>\n",
                    model::format_duration(ready - all.front().from),
                    html(weekday_time(all.front().from)), html(weekday_time(ready)),
                    sum_words(Kind::Waiting), sum_words(Kind::Work), sum_words(Kind::Drying));
    out += fmt::format(
        "<svg class=\"chainbar\" viewBox=\"0 0 1000 40\" preserveAspectRatio=\"none\" "
        "role=\"img\" aria-label=\"waiting {}, work {}, drying {}\">{}</svg>\n",
        sum_words(Kind::Waiting), sum_words(Kind::Work), sum_words(Kind::Drying), shapes);
    out += fmt::format("<div class=\"ends\"><span>{}</span><span>{}</span></div>\n",
                       html(weekday_time(all.front().from)), html(weekday_time(ready)));
    out += "<ul class=\"key\">";
    for (const auto& [kind, words] :
         {std::pair{Kind::Waiting, "waiting"}, {Kind::Work, "work"}, {Kind::Drying, "drying"}}) {
        out += fmt::format(
            "<li><svg viewBox=\"0 0 32 16\" aria-hidden=\"true\"><rect class=\"{}\" x=\".5\" "
            "y=\".5\" width=\"31\" height=\"15\"/></svg>{}</li>",
            stretch_class(kind), words);
    }
    if (cut) out += "<li>two strokes: a wait of more than three hours, drawn shorter</li>";
    return out + "</ul>\n";
}

}  // namespace sched::report
