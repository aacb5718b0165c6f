// How it works: one function a struct, absent values as null; an enquiry is read back by the
// readers of the command line's words, faults with the member's name.

#include "sched/report/promise/promise_json.hpp"

#include "sched/promise/enquiry.hpp"
#include "sched/report/document/json_reader.hpp"

namespace sched::report {

namespace {

using study::EndangeredOrder;
using study::Odds;
using study::Promise;

Json time_json(core::SimTime t) {
    return model::format_date_time(t);
}

Json maybe_time(const std::optional<core::SimTime>& t) {
    return t ? time_json(*t) : Json(nullptr);
}

Json odds_json(const Odds& odds) {
    return Json{{"kept", odds.kept},
                {"of", odds.of},
                {"share", odds.share},
                {"low", odds.interval.low},
                {"high", odds.interval.high}};
}

Json endangered_json(const EndangeredOrder& e) {
    return Json{{"order", e.order},
                {"customer", e.customer},
                {"due", time_json(e.due)},
                {"later_minutes", e.later_minutes},
                {"later_low", e.later_interval.low},
                {"later_high", e.later_interval.high},
                {"before", odds_json(e.before)},
                {"after", odds_json(e.after)},
                {"lost_days", e.lost_days},
                {"won_days", e.won_days}};
}

Json list_of(const std::vector<EndangeredOrder>& orders) {
    Json list = Json::array();
    for (const auto& e : orders)
        list.push_back(endangered_json(e));
    return list;
}

Json enquiry_json(const study::Enquiry& enquiry) {
    Json lines = Json::array();
    for (const auto& line : enquiry.lines) {
        Json l{{"screens", line.count},
               {"mesh", line.mesh ? Json(*line.mesh) : Json(nullptr)},
               {"frame_cm", Json::array({line.frame.width.value, line.frame.height.value})},
               {"emulsion", line.emulsion},
               {"coat_plan", line.coat_plan},
               {"film", maybe_time(line.film_ready)},
               {"kept_stencil", line.kept_stencil}};
        lines.push_back(std::move(l));
    }
    return Json{{"order", enquiry.name},
                {"customer", enquiry.customer},
                {"priority", enquiry.priority},
                {"lines", lines},
                {"wanted", maybe_time(enquiry.wanted)}};
}

Json remedy_json(const study::Remedy& r) {
    return Json{{"kind", r.kind},
                {"words", r.words},
                {"ready", maybe_time(r.ready)},
                {"recommended", maybe_time(r.recommended)},
                {"sooner_minutes", r.sooner_minutes},
                {"wanted", r.wanted ? odds_json(*r.wanted) : Json(nullptr)},
                {"order", r.order},
                {"consequences", list_of(r.consequences)}};
}

Json promise_as_json(const Promise& p) {
    Json ready = Json::array();
    for (const auto t : p.ready)
        ready.push_back(time_json(t));
    Json quantiles = Json::array();
    for (const auto& q : p.quantiles)
        quantiles.push_back(
            Json{{"level", q.level}, {"rank", q.rank}, {"ready", maybe_time(q.ready)}});
    Json remedies = Json::array();
    for (const auto& r : p.remedies)
        remedies.push_back(remedy_json(r));
    Json chain = Json::array();
    for (const auto& link : p.chain)
        chain.push_back(Json{{"start", time_json(link.start)},
                             {"waited_s", link.waited.count()},
                             {"words", link.words}});
    return Json{{"room", p.room},
                {"invented", p.invented},
                {"asked", time_json(p.asked)},
                {"present", p.present},
                {"enquiry", enquiry_json(p.enquiry)},
                {"screens", p.screens},
                {"impossible", p.impossible},
                {"sentence", p.sentence},
                {"recommended", maybe_time(p.recommended)},
                {"recommended_odds", odds_json(p.recommended_odds)},
                {"slot", p.slot_words},
                {"level", p.level},
                {"correction_minutes", static_cast<double>(p.correction.count()) / 60.0},
                {"at_level", maybe_time(p.at_level)},
                {"quantiles", quantiles},
                {"planned", p.impossible.empty() ? time_json(p.planned) : Json(nullptr)},
                {"wanted", p.wanted ? odds_json(*p.wanted) : Json(nullptr)},
                {"endangered", list_of(p.endangered)},
                {"remedies", remedies},
                {"chain", chain},
                {"seed", p.seed},
                {"days", p.days},
                {"unfinished", p.unfinished},
                {"ready", ready}};
}

// One kind of screens; what is not there stays empty.
std::optional<model::ScreenLine> line_from(const Json& j, const model::Scenario& scenario,
                                           JsonReader& reader, const std::string& path) {
    if (!reader.object(&j, path)) return std::nullopt;
    const auto text = [&](const char* key) {
        return j.contains(key) && !j[key].is_null()
                   ? reader.text(&j[key], path.empty() ? key : path + "." + key)
                   : std::string();
    };
    study::EnquiryWords words;
    words.count = static_cast<int>(
        reader.integer(reader.member(j, "screens", path), 1, 64, path + "screens"));
    words.mesh = text("mesh");
    words.frame = text("frame");
    words.emulsion = text("emulsion");
    words.coats = text("coat plan");
    words.film = text("film");
    words.image = text("image");
    words.finest_line = text("finest line");
    words.ruling = text("ruling");
    if (j.contains("kept stencil"))
        words.kept_stencil = reader.boolean(&j["kept stencil"], path + "kept stencil");
    if (!reader.ok()) return std::nullopt;
    std::string problem;
    auto line = study::line_of(scenario, words, problem);
    if (!line) reader.fail(path.empty() ? "the enquiry" : path, problem);
    return line;
}

}  // namespace

std::string promise_to_json(const Promise& promise) {
    Json document{{"format", promise_format}};
    document.update(promise_as_json(promise));
    return lines_of(document);
}

std::string promises_to_json(std::span<const Promise> promises) {
    Json list = Json::array();
    for (const auto& p : promises)
        list.push_back(promise_as_json(p));
    return lines_of(Json{{"format", promise_format}, {"promises", list}});
}

std::optional<study::Enquiry> enquiry_from_json(std::string_view json,
                                                const model::Scenario& scenario,
                                                model::Diagnostics& diagnostics) {
    JsonReader reader(diagnostics, "enquiry");
    const auto parsed = reader.parse(json);
    if (!parsed || !reader.object(&*parsed, "the enquiry")) return std::nullopt;
    const Json& j = *parsed;
    static const std::vector<std::string> known = {
        "screens",      "mesh",     "frame",       "emulsion", "coat plan",
        "film",         "image",    "finest line", "ruling",   "wanted",
        "kept stencil", "customer", "order",       "priority", "lines"};
    for (const auto& [key, value] : j.items()) {
        if (std::find(known.begin(), known.end(), key) == known.end())
            reader.fail(key, "is no member of an enquiry");
    }
    study::Enquiry out;
    if (j.contains("order")) out.name = reader.text(&j["order"], "order");
    if (j.contains("customer")) out.customer = reader.text(&j["customer"], "customer");
    if (j.contains("priority"))
        out.priority = static_cast<int>(reader.integer(&j["priority"], 1, 9, "priority"));
    if (j.contains("wanted") && !j["wanted"].is_null()) {
        const std::string text = reader.text(&j["wanted"], "wanted");
        out.wanted = model::parse_date_time(text);
        if (!out.wanted) reader.fail("wanted", "is no local date and time (2026-11-26T09:30)");
    }
    if (j.contains("lines")) {
        if (!reader.array(&j["lines"], "lines")) return std::nullopt;
        if (j["lines"].size() > 32) reader.fail("lines", "has more than 32 kinds of screens");
        for (std::size_t i = 0; i < j["lines"].size() && reader.ok(); ++i) {
            const std::string path = "lines[" + std::to_string(i) + "]";
            if (auto line = line_from(j["lines"][i], scenario, reader, path))
                out.lines.push_back(*std::move(line));
        }
        if (out.lines.empty()) reader.fail("lines", "has no screens");
    } else if (auto line = line_from(j, scenario, reader, "")) {
        out.lines.push_back(*std::move(line));
    }
    if (!reader.ok()) return std::nullopt;
    return out;
}

}  // namespace sched::report
