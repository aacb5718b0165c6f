#include "sched/report/promise/ask_page.hpp"

#include <fmt/format.h>

#include <set>

#include "sched/report/words/html.hpp"
#include "sched/report/words/web_assets.hpp"
#include "sched/report/words/wording.hpp"

namespace sched::report {

std::string ask_page(const model::Scenario& scenario) {
    std::string out = page_head("Enquiry", web_asset("promise.css"), web_asset("promise.js"),
                                "form-action 'self'");
    out += fmt::format(
        "<body>\n<header>\n<div><h1>When can it be ready?</h1><p>{}{}</p></div>\n"
        "<button type=\"button\" id=\"light\" aria-pressed=\"false\">Safelight</button>\n"
        "</header>\n<main>\n<form action=\"/promise.html\" method=\"get\">\n",
        html(scenario.room.name),
        scenario.room.invented ? ". <strong>Demo data, invented.</strong>" : "");
    const auto field = [&](const char* name, const char* words, const char* more,
                           const std::set<std::string>& choices) {
        out += fmt::format("<p><label for=\"{0}\">{1}</label><input id=\"{0}\" name=\"{0}\" {2}",
                           name, words, more);
        if (choices.empty()) {
            out += "></p>\n";
            return;
        }
        out += fmt::format(" list=\"{0}-list\"><datalist id=\"{0}-list\">", name);
        for (const auto& c : choices)
            out += "<option value=\"" + html(c) + "\"></option>";
        out += "</datalist></p>\n";
    };
    std::set<std::string> meshes, frames, emulsions, coats;
    for (const auto& m : scenario.room.meshes)
        meshes.insert(m.name);
    for (const auto& f : scenario.frames)
        frames.insert(area_words(f.size));
    for (const auto& e : scenario.room.emulsions)
        emulsions.insert(e.name);
    for (const auto& c : scenario.room.coat_plans)
        coats.insert(c.name);
    field("screens", "Screens", "type=\"number\" min=\"1\" max=\"64\" value=\"1\" required", {});
    field("mesh", "Mesh", "required", meshes);
    field("frame", "Frame", "required", frames);
    field("coats", "Coat plan", "required", coats);
    field("emulsion", "Emulsion (empty: the usual one)", "", emulsions);
    field("film", "Film comes (empty: it is there)", "type=\"datetime-local\"", {});
    field("wanted", "Wanted by (may stay empty)", "type=\"datetime-local\"", {});
    field("job", "Job", "maxlength=\"60\"", {});
    out +=
        "<input type=\"hidden\" name=\"explain\" value=\"yes\">\n"
        "<p><button type=\"submit\">Ask</button></p>\n</form>\n</main>\n<script>" +
        std::string(web_asset("promise.js")) + "</script>\n</body>\n</html>\n";
    return out;
}

std::string refusal_page(std::string_view words) {
    return page_head("No answer", web_asset("promise.css"), {}) +
           "<body>\n<main>\n<p class=\"sentence\">" + html(words) +
           "</p>\n<p><a href=\"/ask\">Ask again</a></p>\n</main>\n</body>\n</html>\n";
}

}  // namespace sched::report
