// How it works: one private function a section; columns are as wide as their widest cell within
// limits, paragraphs are wrapped to the width, and user text is cleaned of what could steer a
// terminal.

#include "sched/report/plan/text.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "sched/report/plan/break_lines.hpp"
#include "sched/report/plan/chance_lines.hpp"
#include "sched/report/plan/order_bars.hpp"
#include "sched/report/plan/replan_lines.hpp"
#include "sched/report/plan/store_lines.hpp"
#include "sched/report/plan/what_if_lines.hpp"
#include "sched/report/words/columns.hpp"
#include "sched/report/words/steps.hpp"
#include "sched/report/words/wording.hpp"

namespace sched::report {

namespace {

class TextWriter {
public:
    TextWriter(const PlanDocument& document, const TextOptions& options)
        : d_(document),
          width_(static_cast<std::size_t>(std::max(options.width, 40))),
          colour_(options.colour) {}

    std::string write() {
        head();
        again();
        orders();
        pins();
        mesh_choices();
        mixes();
        reclaims();
        returns();
        breaks();
        loads();
        if (!d_.bottleneck.sentences.empty()) section("What limits the day");
        for (const std::string& sentence : d_.bottleneck.sentences)
            paragraph(sentence, 2);
        for (const WhatIfLine& x : merged(d_.bottleneck.what_ifs))
            paragraph(x.change + ": " + x.words, 2);
        stock();
        warnings();
        foot();
        return std::move(out_);
    }

private:
    void line(const std::string& text) {
        std::size_t end = text.find_last_not_of(' ');
        out_ += end == std::string::npos ? "" : text.substr(0, end + 1);
        out_ += '\n';
    }
    void paragraph(const std::string& text, std::size_t indent, const std::string& first = {}) {
        const auto rows = wrapped(text, width_ - indent);
        for (std::size_t i = 0; i < rows.size(); ++i) {
            line(i == 0 && !first.empty() ? first + rows[i] : std::string(indent, ' ') + rows[i]);
        }
    }
    std::string paint(const std::string& text, const char* code) const {
        return colour_ ? fmt::format("\x1b[{}m{}\x1b[0m", code, text) : text;
    }
    void section(const std::string& title) {
        out_ += '\n';
        line(paint(title, "1"));
    }

    std::string clock(const std::optional<SimTime>& t) const { return t ? when(d_.run, *t) : "-"; }

    void head() {
        line(paint(fitted(fmt::format("{}: {}", d_.room,
                                      model::format_date(model::date_of(d_.run.first_start))),
                          width_),
                   "1"));
        if (d_.run.first_words) paragraph(*d_.run.first_words, 0);
        if (const auto held = on_hold_words(d_); !held.empty()) paragraph(held, 0);
        const auto first = first_things(d_);
        for (const std::string& words : first)
            paragraph(words, 7, words == first.front() ? "First: " : "       ");
        // What the store gets may end after the last order: the aims count orders.
        std::optional<SimTime> ready;
        for (const OrderLine& order : d_.orders)
            ready = std::max(ready, order.ready);
        const bool later = ready && d_.run.last_end - *ready >= model::minutes(1);
        paragraph(
            fmt::format(
                "{}work from {} to {}{}, {} in {}{}",
                d_.run.first_words ? "If nothing takes longer than planned: " : "",
                when(d_.run, d_.run.first_start), when(d_.run, d_.run.last_end),
                later ? fmt::format(" (for orders until {})", when(d_.run, *ready)) : std::string(),
                counted(d_.screens.size(), "screen"), counted(d_.orders.size(), "order"),
                d_.invented ? "; demo data, invented" : ""),
            0);
        for (const AimLine& aim : d_.aims) {
            paragraph(fmt::format("{}: {}", aim.value_words, aim.gap_words), 30,
                      fmt::format("  {} ", padded(aim.words, 27)));
        }
    }

    void again() {
        if (!d_.again) return;
        section("From the middle of the day");
        paragraph(again_sentence(d_), 2);
        for (const std::string& note : d_.again->notes)
            paragraph(note, 4, "  - ");
        for (const ChangeLine& change : d_.again->changes)
            paragraph(change.words, 4, "  ~ ");
    }

    // With the number that stands on its frames where the name is too long for them: "job-2000 #1".
    std::string named(const OrderLine& order) const {
        const auto own = std::find_if(d_.screens.begin(), d_.screens.end(),
                                      [&](const ScreenLine& s) { return s.order == order.name; });
        const std::string stem =
            own == d_.screens.end() ? "" : own->tag.substr(0, own->tag.rfind('-'));
        if (stem.empty() || stem.front() != '#' || stem == order.name) return order.name;
        return fitted(order.name, 15 - stem.size()) + " " + stem;
    }

    void orders() {
        section("Orders");
        if (d_.run.replications) {
            paragraph(fmt::format("chances from {} simulated days. {}", *d_.run.replications,
                                  recourse_words(d_)),
                      2);
        }
        std::size_t name = 5, lateness = 0;
        std::size_t customer = column(d_.orders, &OrderLine::customer, 8, 18);
        std::size_t time = 5;
        const bool chances = std::any_of(d_.orders.begin(), d_.orders.end(),
                                         [](const auto& o) { return o.ready_p50.has_value(); });
        std::vector<const OrderLine*> list;
        std::size_t ready = chances ? 12 : 5;
        for (const OrderLine& order : d_.orders) {
            list.push_back(&order);
            const std::size_t shown = clock(as_expected(order).ready).size();
            time = std::max({time, shown, clock(order.due).size()});
            ready = std::max(ready, shown);
            lateness = std::max(lateness, columns_of(lateness_words(as_expected(order))));
            name = std::max(name, std::min<std::size_t>(columns_of(named(order)), 16));
        }
        // What is cut is the job, not whether it is late.
        const std::size_t others = 2 + name + 2 + 2 + 7 + 2 + time + 2 + ready + 2 + lateness;
        customer = std::min(customer, std::max<std::size_t>(3, width_ - std::min(width_, others)));
        std::stable_sort(list.begin(), list.end(),
                         [](auto* a, auto* b) { return a->due < b->due; });
        line(fitted(
            fmt::format("  {}  {}  screens  {}  {}", padded("order", name), padded("job", customer),
                        padded("due", time), padded(chances ? "likely ready" : "ready", ready)),
            width_));
        for (const OrderLine* order : list) {
            const bool late = order->lateness && *order->lateness > Seconds{0};
            const OrderLine expected = as_expected(*order);
            const std::string row =
                fmt::format("{} {}  {}  {:>7}  {}  {}  {}", at_risk(*order) ? "!" : " ",
                            padded(named(*order), name), padded(order->customer, customer),
                            order->screens, padded(clock(order->due), time),
                            padded(clock(expected.ready), ready), lateness_words(expected));
            const std::string fit = fitted(row, width_);
            line(at_risk(*order) ? paint(fit, "1;33") : fit);
            // What is done varies no more.
            const bool done = d_.again && order->ready && *order->ready <= d_.again->now;
            if (done) paragraph("it is ready", 6);
            if (order->chance_late && !done) {
                std::string chance =
                    fmt::format("late with a chance of {}", chance_words(order->chance_late));
                if (order->ready_p10 && order->ready_p50 && order->ready_p90) {
                    chance += fmt::format(
                        "; 80 % range {} to {}; {} if nothing takes longer than planned",
                        clock(order->ready_p10), clock(order->ready_p90), clock(order->ready));
                }
                paragraph(chance, 6);
            }
            // The story is that of the plan, not of the middle day that the row shows.
            if (late)
                paragraph((order->ready_p50 ? "If nothing takes longer: " : "") + order->story, 6);
        }
    }

    void pins() {
        if (d_.pins.empty()) return;
        section("Held as you asked");
        for (const std::string& pin : d_.pins)
            paragraph(pin, 4, "  - ");
    }

    void mesh_choices() {
        if (d_.mesh_choices.empty()) return;
        section("Mesh chosen for orders that name none");
        for (const MeshChoiceLine& x : d_.mesh_choices)
            paragraph(x.words, 13, fmt::format("  {}  ", padded(x.order, 9)));
    }

    void mixes() {
        if (d_.mixes.empty()) return;
        section("Mix");
        for (const MixLine& mix : d_.mixes) {
            std::string text = fmt::format("{}, {}", mix.emulsion, volume_words(mix.volume_ml));
            if (!mix.pot.empty()) text += " (" + mix.pot + ")";
            if (!mix.people.empty()) text += ", " + joined(mix.people);
            if (mix.usable) text += fmt::format("; usable from {}", when(d_.run, *mix.usable));
            if (mix.good_until) text += ", good until " + when(d_.run, *mix.good_until);
            if (is_to_buy(d_, mix)) text += "; BUY IT by " + buy_words(mix) + ", none in stock";
            paragraph(text, 13, fmt::format("  {}  ", padded(clock(mix.start), 9)));
        }
    }

    void reclaims() {
        if (d_.reclaims.empty()) return;
        section("Reclaim");
        for (const ReclaimLine& reclaim : d_.reclaims) {
            std::string text = fmt::format("{}: {} {}, {}", reclaim.screen, reclaim.frame,
                                           reclaim.mesh, state_words(reclaim.state));
            if (!reclaim.people.empty()) text += ", " + joined(reclaim.people);
            paragraph(text, 13, fmt::format("  {}  ", padded(clock(reclaim.start), 9)));
        }
    }

    void returns() {
        if (d_.returns.empty()) return;
        section("For the store, reclaimed in idle time");
        for (const ReturnLine& x : d_.returns)
            paragraph(x.tag + ": " + return_words(d_, x), 13,
                      fmt::format("  {}  ", padded(clock(x.start), 9)));
    }

    void stock() {
        if (d_.stock_after.empty()) return;
        section("Frames in the store afterwards");
        for (const StockLine& x : d_.stock_after)
            paragraph(stock_words(d_, x), 13, fmt::format("  {:>9}  ", x.count));
    }

    void breaks() {
        bool first = true;
        for (const BreakLine& x : d_.breaks) {
            if (is_over(d_, x)) continue;
            if (first) section("Breaks");
            first = false;
            paragraph(fmt::format("{}'s break {}", x.person, break_words(d_, x)), 4, "  ");
        }
    }

    void loads() {
        if (d_.loads.empty()) return;
        section("Utilisation: share of the available time");
        const std::size_t name = column(d_.loads, &LoadLine::resource, 8, 20);
        line(fitted(fmt::format("  {}  working  holding  steps wait", padded("", name)), width_));
        for (const LoadLine& load : d_.loads) {
            std::optional<double> holding;
            if (load.availability) holding = *load.allocation_efficiency - *load.availability;
            const auto share = load.allocation_efficiency.value_or(0.0);
            const auto ticks = static_cast<std::size_t>(std::clamp(share, 0.0, 1.0) * 20.0 + 0.5);
            line(fitted(
                fmt::format(
                    "  {}  {:>7}  {:>7}  {:>10}  {}", padded(load.resource, name),
                    percent(load.availability), percent(holding),
                    load.waited_for > Seconds{0} ? model::format_duration(load.waited_for) : "-",
                    std::string(ticks, '=')),
                width_));
        }
    }

    void warnings() {
        if (d_.warnings.empty()) return;
        section("Warnings");
        for (const WarningLine& warning : d_.warnings) {
            paragraph((warning.place.empty() ? "" : warning.place + ": ") + warning.words, 4,
                      "  - ");
        }
    }

    void foot() {
        out_ += '\n';
        paragraph(
            fmt::format("seed {}, {}{}, input {}", d_.run.seed, tried_words(d_.run),
                        d_.run.interrupted ? " until the budget or Ctrl-C ended the search" : "",
                        d_.fingerprint.substr(0, 12)),
            0);
        paragraph(deference(), 0);
    }

    template <class Row>
    std::size_t column(const std::vector<Row>& rows, std::string Row::*member, std::size_t least,
                       std::size_t most) const {
        std::size_t out = least;
        for (const Row& row : rows)
            out = std::max(out, columns_of(row.*member));
        return std::min(out, most);
    }

    const PlanDocument& d_;
    std::size_t width_;
    bool colour_;
    std::string out_;
};

}  // namespace

std::string to_text(const PlanDocument& document, const TextOptions& options) {
    return TextWriter(document, options).write();
}

}  // namespace sched::report
