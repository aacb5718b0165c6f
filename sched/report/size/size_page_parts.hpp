#pragma once
// What the sections of the size page are written with: tables of one row a room, figures with their
// intervals. Seen by size_page*.cpp only.

#include <fmt/format.h>

#include <algorithm>
#include <string>
#include <string_view>
#include <vector>

#include "sched/report/size/size_report.hpp"
#include "sched/report/words/html.hpp"

namespace sched::report {

using study::SizeCell;
using study::SizeFigure;
using study::SizeResult;

class SizePageParts {
protected:
    explicit SizePageParts(const SizeResult& result) : r_(result), h_(result.head) {}

    // size_page_money.cpp
    void money();
    void repeat();
    std::string even(std::size_t o) const;

    void section(const char* id, const std::string& title) { out_ += section_head(id, title); }
    void end_section() { out_ += "</section>\n"; }
    void table(const std::vector<std::string>& heads) {
        out_ += "<div class=\"wide\" tabindex=\"0\"><table><thead><tr>";
        for (std::size_t i = 0; i < heads.size(); ++i) {
            out_ += fmt::format("<th scope=\"col\"{}>{}</th>", i == 0 ? "" : " class=\"num\"",
                                html(heads[i]));
        }
        out_ += "</tr></thead><tbody>\n";
    }
    void row(std::size_t o, const std::vector<std::string>& cells) {  // cells are HTML already
        const bool best = static_cast<int>(o) == r_.ranking.best;
        const bool in = r_.ranking.in.empty() || r_.ranking.in[o];
        out_ += fmt::format("<tr{}><th scope=\"row\">{}</th>",
                            best  ? " class=\"best\""
                            : !in ? " class=\"gone\""
                                  : "",
                            html(h_.rooms[o].name));
        for (const auto& c : cells)
            out_ += "<td class=\"num\">" + c + "</td>";
        out_ += "</tr>\n";
    }
    void end_table() { out_ += "</tbody></table></div>\n"; }
    const SizeCell& here(std::size_t o) const { return r_.cell(o, r_.decision); }

    static std::string between(double low, double high, int digits) {
        return fmt::format("<br><small>{:.{}f} to {:.{}f}</small>", low, digits, high, digits);
    }
    static std::string between_amounts(const study::Interval& i) {
        return fmt::format("<br><small>{} to {}</small>", study::amount_words(i.low),
                           study::amount_words(i.high));
    }
    /// Today's mean, or the difference to it, with the interval.
    static std::string figure(const SizeFigure& f, std::size_t o, int digits = 1) {
        if (f.mean.n < 2) return "–";
        if (o == 0) {
            return fmt::format("{:.{}f}", f.mean.mean, digits) +
                   between(f.mean.interval().low, f.mean.interval().high, digits);
        }
        if (f.to_today.df <= 0.0) return "–";
        return fmt::format("{:+.{}f}", f.to_today.difference, digits) +
               between(f.to_today.interval.low, f.to_today.interval.high, digits);
    }
    /// The difference of a day that does not matter.
    std::string indifference() const {
        return h_.by_money ? study::money_words(h_.indifference, 1, h_.prices.currency)
                           : fmt::format("{:.1f} hours of lateness", h_.indifference);
    }
    /// In sentences: "EUR 12,400".
    std::string amount(double x) const { return study::amount_words(x, h_.prices.currency); }
    /// A price, to the hundredth.
    std::string price(double x) const {
        return h_.prices.currency + (h_.prices.currency.empty() ? "" : " ") +
               fmt::format("{:.2f}", x);
    }
    /// The head of a column of amounts, or of an axis: "Costs now, EUR".
    std::string head_of(const std::string& words) const {
        return words + (h_.prices.currency.empty() ? "" : ", " + h_.prices.currency);
    }
    bool invented() const {
        return std::any_of(h_.rooms.begin(), h_.rooms.end(),
                           [](const auto& x) { return x.invented; });
    }

    const SizeResult& r_;
    const study::SizeHead& h_;
    std::string out_;
};

}  // namespace sched::report
