// How it works: one private function a section: answer, dots (equal shares of the simulated ready
// times), consequences for other orders, remedies, chain; as a page of its own or beside the form
// that asked. User text passes html(), the script only switches the safelight view.

#include "sched/report/promise/promise_page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sched/report/promise/chain_bar.hpp"
#include "sched/report/promise/dot_plot.hpp"
#include "sched/report/promise/promise_text.hpp"
#include "sched/report/words/glossary.hpp"
#include "sched/report/words/html.hpp"
#include "sched/report/words/wording.hpp"

namespace sched::report {

namespace {

using study::EndangeredOrder;
using study::Promise;

std::string time_html(core::SimTime t) {
    return fmt::format("<time datetime=\"{}\">{}</time>", model::format_date_time(t),
                       weekday_time(t));
}

std::string maybe_time_html(const std::optional<core::SimTime>& t, const char* otherwise) {
    return t ? time_html(*t) : otherwise;
}

std::string minutes_html(double minutes) {
    return model::format_duration(model::minutes(std::llround(std::abs(minutes))));
}

std::string later_html(const EndangeredOrder& e) {
    if (std::abs(e.later_minutes) < 0.5) return "as before";
    return fmt::format("{} {} on average (95 %: {} to {} min)", minutes_html(e.later_minutes),
                       e.later_minutes > 0 ? "later" : "sooner", std::llround(e.later_interval.low),
                       std::llround(e.later_interval.high));
}

// An order that the enquiry leaves as it is fills a line for nothing.
bool changes(const EndangeredOrder& e) {
    return std::abs(e.later_minutes) >= 0.5 || e.before.kept != e.after.kept;
}

bool any_changes(const std::vector<EndangeredOrder>& orders) {
    return std::any_of(orders.begin(), orders.end(), changes);
}

class PromisePageWriter {
public:
    explicit PromisePageWriter(const Promise& promise) : p_(promise) {}

    std::string write() {
        const std::string script = page_script();
        std::string page = page_head("Promise for " + p_.enquiry.name, script);
        page += "<body class=\"ask\">\n";
        page += page_top(
            {.own = "promise.html",
             .title = title(),
             .under = fmt::format("<p>{}, asked {}{}</p>", html(p_.room), time_html(p_.asked),
                                  p_.invented ? ". <strong>Demo data, invented.</strong>" : "")});
        page += "<main>\n" + sections() + "</main>\n";
        page += "<footer class=\"foot\"><p>" + rests_on() + "</p></footer>\n";
        page += "<script>" + script + "</script>\n</body>\n</html>\n";
        return with_words(std::move(page));
    }

    /// The answer beside the form that asked.
    std::string write_beside() {
        return "<h2>" + html(title()) + "</h2>\n" + sections() + "<p class=\"note\">" + rests_on() +
               "</p>\n";
    }

private:
    std::string title() const {
        return "Enquiry " + p_.enquiry.name +
               (p_.enquiry.customer.empty() ? "" : ": " + p_.enquiry.customer);
    }

    std::string sections() {
        if (!p_.impossible.empty()) {
            out_ = "<p class=\"sentence\">No answer: " + html(p_.impossible) + "</p>\n";
            return std::move(out_);
        }
        out_.clear();
        answer();
        asked_for();
        plot();
        others();
        sooner();
        chain();
        return std::move(out_);
    }

    void asked_for() {
        out_ += "<ul class=\"lines\">\n";
        for (const auto& line : p_.enquiry.lines) {
            out_ += fmt::format("<li>{} {}{}, {}, {}, coat plan {}{}{}</li>\n", line.count,
                                line.count == 1 ? "screen" : "screens",
                                line.mesh ? ", mesh " + html(*line.mesh) : "",
                                html(area_words(line.frame)), html(line.emulsion),
                                html(line.coat_plan), line.kept_stencil ? ", kept stencil" : "",
                                line.film_ready ? ", film " + time_html(*line.film_ready) : "");
        }
        for (const auto& note : p_.present)
            out_ += "<li>" + html(note) + "</li>\n";
        out_ += "</ul>\n";
    }

    void answer() {
        out_ += "<p class=\"sentence\">" + html(p_.sentence) + "</p>\n";
        if (!p_.recommended) return;
        out_ +=
            fmt::format("<p class=\"big\"><b>{}</b> promise: {} {}, then {}",
                        time_html(*p_.recommended), fmt::format("{:.0f} % at", 100.0 * p_.level),
                        maybe_time_html(p_.at_level, "-"), html(p_.slot_words));
        if (p_.correction.count() != 0) {
            out_ += fmt::format("; {} {} because of past errors",
                                minutes_html(static_cast<double>(p_.correction.count()) / 60.0),
                                p_.correction.count() > 0 ? "added" : "taken off");
        }
        out_ += "</p>\n";
    }

    void plot() {
        const auto dots = quantile_dots(p_);
        if (dots.empty()) return;
        section("chance", "When it will be ready");
        out_ += "<figure>\n" + dot_plot_svg({dots, p_.recommended, p_.enquiry.wanted}) +
                "<figcaption>" + "Each dot is one of 20 equally likely outcomes.";
        if (p_.recommended) out_ += " <b>" + html(dots_sentence(dots, *p_.recommended)) + "</b>";
        if (p_.enquiry.wanted) out_ += " " + html(dots_sentence(dots, *p_.enquiry.wanted));
        out_ += "</figcaption></figure>\n<table class=\"narrow\"><tbody>\n";
        for (const auto& q : p_.quantiles) {
            out_ += fmt::format(
                "<tr><th scope=\"row\">ready by, {:.0f} in 100 times</th><td>{}</td></tr>\n",
                100.0 * q.level, maybe_time_html(q.ready, "beyond the days looked ahead"));
        }
        out_ += fmt::format("<tr><th scope=\"row\">if all goes as planned</th><td>{}</td></tr>\n",
                            time_html(p_.planned));
        if (p_.recommended) {
            out_ += "<tr><th scope=\"row\">the promise is kept</th><td>" +
                    html(odds_words(p_.recommended_odds)) + "</td></tr>\n";
        }
        if (p_.wanted && p_.enquiry.wanted) {
            out_ += "<tr><th scope=\"row\">wanted by " + time_html(*p_.enquiry.wanted) +
                    "</th><td>" + html(odds_words(*p_.wanted)) + "</td></tr>\n";
        }
        out_ += "</tbody></table>\n</section>\n";
    }

    void consequence_table(const std::vector<EndangeredOrder>& orders) {
        out_ +=
            "<div class=\"wide\" tabindex=\"0\"><table><thead><tr><th scope=\"col\">Order</th>"
            "<th scope=\"col\">Promised</th><th scope=\"col\">Ready</th><th scope=\"col\">In time "
            "before</th><th scope=\"col\">and with it</th></tr></thead><tbody>\n";
        for (const auto& e : orders) {
            if (!changes(e)) continue;
            out_ += fmt::format(
                "<tr{}><th scope=\"row\">{}{}</th><td>{}</td><td>{}</td><td>{} of {}</td><td>{} of "
                "{}</td></tr>\n",
                harmed(e) ? " class=\"bad\"" : "", html(e.order),
                e.customer.empty() ? "" : ", " + html(e.customer), time_html(e.due), later_html(e),
                e.before.kept, e.before.of, e.after.kept, e.after.of);
        }
        out_ += "</tbody></table></div>\n";
    }

    void others() {
        section("others", "What it does to orders already promised");
        if (!any_changes(p_.endangered)) {
            out_ += "<p>Nothing that shows: no promised order changes.</p>\n</section>\n";
            return;
        }
        consequence_table(p_.endangered);
        out_ += "<p class=\"note\">Days of " + std::to_string(p_.days) +
                " simulated ones, the same days with and without this order. Marked: one day in "
                "fifty is lost, or it is ten minutes more late on average.</p>\n</section>\n";
    }

    void sooner() {
        if (p_.remedies.empty()) return;
        section("sooner", "What would make it sooner");
        for (const auto& r : p_.remedies) {
            out_ += fmt::format(
                "<div class=\"remedy\"><h3>{}</h3><p>Promise <b>{}</b>{}{}</p>\n", html(r.words),
                maybe_time_html(r.recommended, "none"),
                r.ready
                    ? fmt::format(" ({:.0f} % at {}, {} {})", 100.0 * p_.level,
                                  maybe_time_html(r.ready, "none"), minutes_html(r.sooner_minutes),
                                  r.sooner_minutes >= 0.0 ? "sooner" : "later")
                    : std::string(),
                r.wanted ? fmt::format("; wanted time: {}", html(odds_words(*r.wanted))) : "");
            if (any_changes(r.consequences)) consequence_table(r.consequences);
            out_ += "</div>\n";
        }
        out_ += "</section>\n";
    }

    void chain() {
        if (p_.chain.empty()) return;
        section("chain", "What decides the date");
        out_ += chain_bar(p_.chain, p_.planned);
        out_ += "<details><summary>Step by step</summary>\n<ol>\n";
        for (const auto& link : p_.chain) {
            out_ += fmt::format("<li{}>{}</li>\n",
                                link.waited > core::Seconds{0} ? " class=\"wait\"" : "",
                                html(link.words));
        }
        out_ += "</ol></details>\n</section>\n";
    }

    std::string rests_on() const {
        const std::string from =
            p_.days == 0
                ? std::string()  // without an answer none was simulated
                : fmt::format("From {} simulated days, seed {}{}. ", p_.days, p_.seed,
                              p_.unfinished > 0
                                  ? fmt::format(", of which {} did not end and count{} as latest",
                                                p_.unfinished, p_.unfinished == 1 ? "s" : "")
                                  : "");
        return from +
               "A forecast, no guarantee: what is not in the room's files (a power cut, a broken "
               "lamp) is not in it. No promise is worth a hurried step: drying times, exposure and "
               "the cautions of the run sheets stand.";
    }

    void section(const char* id, const char* title) { out_ += section_head(id, title); }

    const Promise& p_;
    std::string out_;
};

}  // namespace

std::vector<std::optional<core::SimTime>> quantile_dots(const Promise& promise, std::size_t count) {
    std::vector<std::optional<core::SimTime>> dots;
    const std::size_t n = promise.ready.size() + promise.unfinished;
    for (std::size_t i = 0; i < count && n > 0; ++i) {
        // The ceil(n q)-th smallest, q = (2 i + 1) / (2 count), in whole numbers.
        const std::size_t rank = ((2 * i + 1) * n + 2 * count - 1) / (2 * count);
        if (rank <= promise.ready.size()) {
            dots.emplace_back(promise.ready[rank - 1]);
        } else {
            dots.emplace_back(std::nullopt);
        }
    }
    return dots;
}

std::string dots_sentence(const std::vector<std::optional<core::SimTime>>& dots,
                          core::SimTime promised) {
    const auto after =
        std::count_if(dots.begin(), dots.end(), [&](const auto& d) { return !d || *d > promised; });
    return fmt::format("{} of {} dots {} after {}.", after == 0 ? "None" : std::to_string(after),
                       dots.size(), after == 1 ? "is" : "are", weekday_time(promised));
}

std::string promise_answer(const Promise& promise) {
    return PromisePageWriter(promise).write_beside();
}

std::string promise_page(const Promise& promise) {
    return PromisePageWriter(promise).write();
}

}  // namespace sched::report
