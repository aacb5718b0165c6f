// How it works: operations become bars of lanes, narrow ones of a kind in a row one bar with their
// number; a lane has as many rows as work side by side, one with more than six the curve of places
// taken. Each window of four hours is drawn into one or more pages, as lanes fit.

#include "sched/report/plan/day_paper.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <map>
#include <optional>

#include "model/base/shown.hpp"
#include "sched/report/words/columns.hpp"
#include "sched/report/words/html.hpp"
#include "sched/report/words/navigation.hpp"
#include "sched/report/words/steps.hpp"
#include "sched/report/words/wording.hpp"

namespace sched::report {

namespace {

constexpr Seconds page_span = std::chrono::hours{4};
constexpr int most_rows = 6;  // of a lane; more are told by a curve

// In quarters of a millimetre: A4 landscape, 8 mm of margin, a line for the head.
constexpr double paper_width = 1124.0, paper_height = 700.0;
constexpr double name_width = 104.0, hour_line = 22.0;
constexpr double least_row = 40.0, most_row = 66.0, curve_height = 64.0, lane_gap = 8.0;
constexpr double letter_width = 5.6;
constexpr double per_second = (paper_width - name_width) / static_cast<double>(page_span.count());
constexpr Seconds narrow{300};  // 21 units: too narrow for a tag

PaperBar bar_of(const OperationLine& op, SimTime to) {
    PaperBar bar{op.start, to, step_words(op.step),
                 {},       1,  {op.words.substr(0, op.words.find(' '))}};
    if (!op.screen.empty()) bar.tags.push_back(op.screen);
    return bar;
}

bool carries(const PaperBar& bar) {
    return bar.step == step_words("take-out") || bar.step == step_words("put-in");
}

/// Joins neighbours of one kind; carrying between them belongs to their run.
std::vector<PaperBar> runs_of(std::vector<PaperBar> bars) {
    std::stable_sort(bars.begin(), bars.end(),
                     [](const PaperBar& a, const PaperBar& b) { return a.from < b.from; });
    std::vector<PaperBar> out;
    bool open = false;  // the last of `out` may be joined
    for (PaperBar& bar : bars) {
        const bool thin = bar.to - bar.from < narrow;
        PaperBar* const last = out.empty() ? nullptr : &out.back();
        const bool joins = open && thin && bar.from - last->to <= Seconds{60} &&
                           (carries(bar) || carries(*last) || bar.step == last->step);
        if (!joins) {
            out.push_back(std::move(bar));
            open = thin;
            continue;
        }
        if (carries(*last) && !carries(bar)) {
            last->step = bar.step;
            last->verbs.clear();
        }
        if (bar.step == last->step)
            last->verbs.insert(last->verbs.end(), bar.verbs.begin(), bar.verbs.end());
        last->to = std::max(last->to, bar.to);
        for (const std::string& tag : bar.tags) {
            if (std::find(last->tags.begin(), last->tags.end(), tag) == last->tags.end())
                last->tags.push_back(tag);
        }
    }
    // Of loading, lamp and unloading one counts: what was done most often.
    for (PaperBar& bar : out) {
        bar.count = 1;
        for (const std::string& verb : bar.verbs)
            bar.count = std::max(
                bar.count, static_cast<int>(std::count(bar.verbs.begin(), bar.verbs.end(), verb)));
    }
    return out;
}

std::vector<std::vector<PaperBar>> rows_of(std::vector<PaperBar> bars) {
    std::stable_sort(bars.begin(), bars.end(),
                     [](const PaperBar& a, const PaperBar& b) { return a.from < b.from; });
    std::vector<std::vector<PaperBar>> rows;
    for (const PaperBar& bar : bars) {
        const auto free = std::find_if(rows.begin(), rows.end(),
                                       [&](const auto& row) { return row.back().to <= bar.from; });
        if (free == rows.end()) {
            rows.push_back({bar});
        } else {
            free->push_back(bar);
        }
    }
    return rows;
}

/// What fits: of one operation its step and tag, or its tag; of a run its step and number, with the
/// tags if there is room; nothing.
std::string bar_words(const PaperBar& bar, double width) {
    const auto fits = [&](const std::string& text) {
        return letter_width * static_cast<double>(columns_of(text)) + 4.0 <= width;
    };
    const std::string tags = fmt::format("{}", fmt::join(bar.tags, ", "));
    const std::string number = fmt::format("×{}", bar.count);
    std::vector<std::string> words;
    if (bar.count > 1) {
        words = {bar.step + " " + number + (tags.empty() ? "" : ": " + tags),
                 bar.step + " " + number, number};
    } else if (bar.tags.size() > 1) {  // carrying, or an exposure of several
        words = {bar.step + " " + tags, tags, bar.step, fmt::format("×{}", bar.tags.size())};
    } else {
        words = {bar.step + (tags.empty() ? "" : " ") + tags, tags};
    }
    const auto found = std::find_if(words.begin(), words.end(), fits);
    return found == words.end() ? std::string() : *found;
}

/// The lanes with work in the window, in as few rows as that takes; how full a store is, is always
/// told.
std::vector<PaperLane> lanes_in(const std::vector<PaperLane>& lanes, SimTime from) {
    std::vector<PaperLane> out;
    for (const PaperLane& lane : lanes) {
        std::vector<PaperBar> bars;
        for (const auto& row : lane.rows) {
            for (const PaperBar& bar : row) {
                if (bar.from < from + page_span && bar.to > from) bars.push_back(bar);
            }
        }
        if (bars.empty() && lane.taken.empty()) continue;
        out.push_back(lane);
        out.back().rows = rows_of(std::move(bars));
    }
    return out;
}

/// Rows as high as a page lets them be, so that words fit upright into short bars.
double row_height_of(const std::vector<PaperLane>& lanes) {
    double fixed = hour_line, rows = 0.0;
    for (const PaperLane& lane : lanes) {
        fixed += lane_gap + (lane.rows.empty() ? curve_height : 0.0);
        rows += static_cast<double>(lane.rows.size());
    }
    return rows > 0.0 ? std::clamp((paper_height - fixed) / rows, least_row, most_row) : least_row;
}

struct PaperPage {
    SimTime from{};
    double row_height = least_row;
    std::vector<PaperLane> lanes;
};

class DayPaperWriter {
public:
    explicit DayPaperWriter(const PlanDocument& document)
        : d_(document), lanes_(paper_lanes(document)) {}

    std::string write() {
        std::string out = page_head(fmt::format("{}: timeline to print", d_.room), "");
        out += "<body class=\"sheets\">\n<div class=\"screen-only\" role=\"banner\">" +
               navigation({}, "timeline.html") +
               "Print this page on A4: four hours a page, landscape.</div>\n<main>\n";
        // Lanes of each page: as many as fit one below the other.
        std::vector<PaperPage> pages;
        for (const SimTime from : paper_windows(d_)) {
            double left = 0.0;
            auto here = lanes_in(lanes_, from);
            row_height_ = row_height_of(here);
            for (PaperLane& lane : here) {
                const double height = height_of(lane);
                if (left + 0.5 < height) {  // rows that just fit are rounded
                    pages.push_back({from, row_height_, {}});
                    left = paper_height - hour_line;
                }
                left -= height;
                pages.back().lanes.push_back(std::move(lane));
            }
        }
        for (std::size_t i = 0; i < pages.size(); ++i) {
            const PaperPage& page = pages[i];
            row_height_ = page.row_height;
            out += fmt::format(
                "<section class=\"page day\" tabindex=\"0\">\n<header><h1>{} to {}</h1><p>{}, "
                "{}{}</p><p><b>page {} of {}</b></p></header>\n{}</section>\n",
                html(when(d_.run, page.from)), html(when(d_.run, page.from + page_span)),
                model::format_date(model::date_of(page.from)), html(d_.room),
                d_.invented ? " (demo data, invented)" : "", i + 1, pages.size(),
                window_svg(page.from, page.lanes));
        }
        return out + "</main>\n</body>\n</html>\n";
    }

private:
    double height_of(const PaperLane& lane) const {
        return (lane.rows.empty() ? curve_height
                                  : row_height_ * static_cast<double>(lane.rows.size())) +
               lane_gap;
    }

    static double x_of(SimTime t, SimTime from) {
        const double x = name_width + static_cast<double>((t - from).count()) * per_second;
        return std::clamp(x, name_width, paper_width);
    }

    std::string window_svg(SimTime from, const std::vector<PaperLane>& lanes) const {
        double height = hour_line;
        for (const PaperLane& lane : lanes)
            height += height_of(lane);
        std::string out = fmt::format(
            "<svg class=\"times\" viewBox=\"0 0 {:.0f} {:.0f}\" role=\"img\" aria-label=\"Who "
            "works "
            "where from {} to {}\">\n",
            paper_width, height, html(when(d_.run, from)), html(when(d_.run, from + page_span)));
        for (int quarter = 0; quarter <= 16; ++quarter) {
            const SimTime t = from + Seconds{900 * quarter};
            out += fmt::format(
                "<line class=\"{0}\" x1=\"{1:.1f}\" x2=\"{1:.1f}\" y1=\"{2:.0f}\" y2=\"{3:.0f}\"/>",
                quarter % 4 == 0 ? "rule" : "tick", x_of(t, from), hour_line, height);
            if (quarter % 2 == 0 && quarter < 16)
                out += fmt::format("<text x=\"{:.1f}\" y=\"14\">{}</text>", x_of(t, from) + 2.0,
                                   model::format_time_of_day(t));
        }
        double top = hour_line;
        for (const PaperLane& lane : lanes) {
            out += lane_svg(lane, from, top);
            top += height_of(lane);
        }
        return out + "</svg>\n";
    }

    std::string lane_svg(const PaperLane& lane, SimTime from, double top) const {
        const double height = height_of(lane) - lane_gap;
        std::string out = fmt::format("<text class=\"name\" x=\"0\" y=\"{:.1f}\">{}</text>",
                                      top + 15.0, html(fitted(lane.name, 17)));
        if (lane.places > 1)
            out +=
                fmt::format("<text x=\"0\" y=\"{:.1f}\">{} places</text>", top + 28.0, lane.places);
        if (lane.person) {
            out += fmt::format(
                "<rect class=\"gone\" x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" "
                "height=\"{:.1f}\"/>",
                name_width, top, paper_width - name_width, height);
            for (const Period& p : lane.present) {
                const double a = x_of(p.from, from), b = x_of(p.to, from);
                if (b > a)
                    out += fmt::format(
                        "<rect class=\"here\" x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" "
                        "height=\"{:.1f}\"/>",
                        a, top, b - a, height);
            }
        }
        if (lane.rows.empty()) return out + curve_svg(lane, from, top, height);
        for (std::size_t r = 0; r < lane.rows.size(); ++r) {
            for (const PaperBar& bar : lane.rows[r]) {
                if (bar.to <= from || bar.from >= from + page_span) continue;
                const double a = x_of(bar.from, from);
                const double width = std::max(x_of(bar.to, from) - a, 1.5);
                const double y = top + row_height_ * static_cast<double>(r) + 3.0;
                out += fmt::format(
                    "<rect class=\"bar{}\" x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" "
                    "height=\"{:.1f}\"/>",
                    lane.person ? " people" : "", a, y, width, row_height_ - 6.0);
                out += label_svg(bar, a, y, width);
            }
        }
        return out + "\n";
    }

    /// Along the bar, or upright where only that fits.
    std::string label_svg(const PaperBar& bar, double x, double y, double width) const {
        const std::string along = bar_words(bar, width), tall = bar_words(bar, row_height_ - 6.0);
        if (!along.empty() && (along.size() >= tall.size() || width < 10.0))
            return fmt::format("<text x=\"{:.1f}\" y=\"{:.1f}\">{}</text>", x + 2.0,
                               y + row_height_ / 2, html(along));
        if (width < 10.0 || tall.empty()) return {};
        return fmt::format("<text transform=\"translate({:.1f} {:.1f}) rotate(-90)\">{}</text>",
                           x + width / 2 + 3.3, y + row_height_ - 9.0, html(tall));
    }

    static std::string curve_svg(const PaperLane& lane, SimTime from, double top, double height) {
        const auto y = [&](int n) {
            return top + height -
                   height * std::min(1.0, static_cast<double>(n) / std::max(1, lane.places));
        };
        std::string d = fmt::format("M{:.1f} {:.1f}", name_width, y(0));
        for (const auto& [t, n] : lane.taken) {
            d += fmt::format("H{:.1f}V{:.1f}", x_of(t, from), y(n));
            if (t >= from + page_span) break;
        }
        d += fmt::format("H{:.1f}V{:.1f}Z", paper_width, y(0));
        return fmt::format(
            "<rect class=\"here\" x=\"{0:.1f}\" y=\"{1:.1f}\" width=\"{2:.1f}\" "
            "height=\"{3:.1f}\"/>"
            "<path class=\"bar people\" d=\"{4}\"/>\n",
            name_width, top, paper_width - name_width, height, d);
    }

    const PlanDocument& d_;
    std::vector<PaperLane> lanes_;
    double row_height_ = least_row;
};

}  // namespace

std::vector<PaperLane> paper_lanes(const PlanDocument& d) {
    std::vector<PaperLane> lanes;
    for (const PersonLine& person : d.people) {
        std::vector<PaperBar> bars;
        for (const OperationLine& op : d.operations) {
            if (std::find(op.people.begin(), op.people.end(), person.name) != op.people.end())
                bars.push_back(bar_of(op, op.people_until.value_or(op.end)));
        }
        if (bars.empty()) continue;
        lanes.push_back({.name = person.name,
                         .person = true,
                         .present = person.present,
                         .rows = rows_of(runs_of(std::move(bars)))});
    }
    for (const StationLine& station : d.stations) {
        std::vector<PaperBar> bars;
        std::map<SimTime, int> change;
        for (const OperationLine& op : d.operations) {
            const bool also =
                std::find(op.also_at.begin(), op.also_at.end(), station.name) != op.also_at.end();
            if (op.place != station.name && !also) continue;
            const SimTime to = op.place_until.value_or(op.end);
            bars.push_back(bar_of(op, to));
            const int places = op.place == station.name ? std::max(op.places, 1) : 1;
            change[op.start] += places;
            change[to] -= places;
        }
        if (bars.empty()) continue;
        PaperLane lane{.name = station.name, .places = station.places};
        lane.rows = rows_of(station.places == 1 ? runs_of(bars) : bars);
        if (lane.rows.size() > most_rows) {
            lane.rows.clear();
            int taken = 0;
            for (const auto& [t, by] : change)
                lane.taken.emplace_back(t, taken += by);
        }
        lanes.push_back(std::move(lane));
    }
    return lanes;
}

std::vector<SimTime> paper_windows(const PlanDocument& d) {
    std::vector<SimTime> out;
    SimTime at = d.run.first_start;
    while (true) {
        // The next page begins at the hour in which somebody works again: no page of a night.
        std::optional<SimTime> next;
        for (const OperationLine& op : d.operations) {
            if (op.people.empty() || op.people_until.value_or(op.end) <= at) continue;
            const SimTime begins = std::max(op.start, at);
            if (!next || begins < *next) next = begins;
        }
        if (!next) return out;
        const SimTime hour = *next - next->time_since_epoch() % Seconds{3600};
        out.push_back(out.empty() ? hour : std::max(hour, at));
        at = out.back() + page_span;
    }
}

std::string to_day_paper(const PlanDocument& document) {
    return DayPaperWriter(document).write();
}

}  // namespace sched::report
