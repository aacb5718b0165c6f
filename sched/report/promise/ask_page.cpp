// How it works: a fieldset of radio buttons for what the room has, fields for the rest. What was
// sent comes back checked or filled in; of an answered enquiry, as the room calls it.

#include "sched/report/promise/ask_page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "sched/report/promise/promise_page.hpp"
#include "sched/report/words/glossary.hpp"
#include "sched/report/words/html.hpp"
#include "sched/report/words/wording.hpp"

namespace sched::report {

namespace {

struct FieldWords {
    const char* name;
    const char* label;
    const char* wrong;  // what to do about it, in the form's words
};
constexpr FieldWords field_words[] = {
    {"screens", "Screens", "Give a whole number from 1 to 64."},
    {"mesh", "Mesh", "Choose one of these meshes."},
    {"frame", "Frame", "Choose one of these frames."},
    {"coats", "Coat plan", "Choose one of these coat plans."},
    {"emulsion", "Emulsion", "Choose one of these emulsions."},
    {"film", "Film comes", "Give a date and a time."},
    {"wanted", "Wanted by", "Give a date and a time."},
    {"job", "Job", "Give a shorter name."},
};

const FieldWords* words_of_field(const std::string& name) {
    const auto* found = std::find_if(std::begin(field_words), std::end(field_words),
                                     [&](const FieldWords& f) { return name == f.name; });
    return found == std::end(field_words) ? nullptr : found;
}

// "58x84" is the button "58 x 84 cm", "2 + 2" is "2+2".
bool same_choice(const std::string& button, const std::string& sent) {
    const auto plain = [](std::string text) {
        text.erase(std::remove(text.begin(), text.end(), ' '), text.end());
        if (text.ends_with("cm")) text.resize(text.size() - 2);
        return text;
    };
    return !sent.empty() && plain(button) == plain(sent);
}

class FormWriter {
public:
    explicit FormWriter(const AskForm& form) : f_(form) {}

    std::string write() {
        out_ = "<form action=\"/promise.html\" method=\"get\" novalidate>\n";
        if (!f_.wrong.empty() && !words_of_field(f_.wrong_field))
            out_ += "<p class=\"wrong\" role=\"alert\">" + html(f_.wrong) + "</p>\n";
        number();
        choices("mesh", f_.meshes, false);
        choices("frame", f_.frames, false);
        choices("coats", f_.coats, false);
        choices("emulsion", f_.emulsions, true);
        field("film", "datetime-local", "empty: it is here");
        field("wanted", "datetime-local", "may stay empty");
        field("job", "text", "may stay empty");
        out_ +=
            "<input type=\"hidden\" name=\"explain\" value=\"yes\">\n"
            "<p><button type=\"submit\">Ask</button></p>\n</form>\n";
        return std::move(out_);
    }

private:
    std::string given(const std::string& name) const {
        const auto found = f_.given.find(name);
        return found == f_.given.end() ? std::string{} : found->second;
    }
    bool wrong(const std::string& name) const { return f_.wrong_field == name; }

    /// The message at its field, and the attributes that point to it.
    std::string message(const std::string& name) const {
        if (!wrong(name)) return {};
        const std::string sent = given(name);
        return fmt::format("<p class=\"wrong\" id=\"{}-wrong\" role=\"alert\">{}{}</p>\n", name,
                           sent.empty() ? std::string() : "Not possible: " + html(sent) + ". ",
                           words_of_field(name)->wrong);
    }
    std::string invalid(const std::string& name) const {
        if (!wrong(name)) return {};
        return fmt::format(" aria-invalid=\"true\" aria-describedby=\"{}-wrong\"", name);
    }

    void number() {
        const std::string sent = given("screens");
        out_ += fmt::format(
            "<p><label for=\"screens\">Screens</label>{}<input type=\"number\" id=\"screens\" "
            "name=\"screens\" min=\"1\" max=\"64\" value=\"{}\"{}></p>\n",
            message("screens"), sent.empty() ? "1" : html(sent), invalid("screens"));
    }

    void field(const char* name, const char* type, const char* hint) {
        out_ += fmt::format(
            "<p><label for=\"{0}\">{1} <span class=\"hint\">({2})</span></label>{3}<input "
            "type=\"{4}\" id=\"{0}\" name=\"{0}\" value=\"{5}\"{6}{7}></p>\n",
            name, words_of_field(name)->label, hint, message(name), type, html(given(name)),
            std::string_view(type) == "text" ? " maxlength=\"60\"" : "", invalid(name));
    }

    void choices(const char* name, const std::vector<std::string>& list, bool usual) {
        if (list.empty()) return field(name, "text", "the room's files name none");
        const std::string sent = given(name);
        const bool only = list.size() == 1 && !usual;
        out_ += fmt::format("<fieldset id=\"{}\" role=\"radiogroup\"{}><legend>{}</legend>\n{}",
                            name, invalid(name), words_of_field(name)->label, message(name));
        out_ += "<div class=\"choices\">";
        const auto choice = [&](const std::string& value, const std::string& words, bool checked) {
            out_ +=
                fmt::format("<label><input type=\"radio\" name=\"{}\" value=\"{}\"{}>{}</label>\n",
                            name, html(value), checked ? " checked" : "", html(words));
        };
        if (usual) choice("", "the usual one", sent.empty());
        for (const auto& x : list)
            choice(x, x, same_choice(x, sent) || only);
        out_ += "</div></fieldset>\n";
    }

    const AskForm& f_;
    std::string out_;
};

std::string whole_page(const AskForm& form, std::string_view links, const std::string& answer) {
    const std::string script = page_script();
    std::string out = page_head("When can it be ready?", script, "form-action 'self'");
    PageTop top{
        .own = "/ask",
        .title = "When can it be ready?",
        .under = fmt::format("<p>{}{}</p>", html(form.room),
                             form.invented ? ". <strong>Demo data, invented.</strong>" : ""),
        .links = std::string(links)};
    out += "<body class=\"ask\">\n" + page_top(top) + "<main class=\"beside\">\n";
    out += "<div>\n" + FormWriter(form).write() + "</div>\n";
    out += "<div class=\"answer\">\n" + answer + "</div>\n</main>\n";
    out += "<script>" + script + "</script>\n</body>\n</html>\n";
    return with_words(std::move(out));
}

}  // namespace

AskForm ask_form(const model::Scenario& scenario) {
    AskForm form{.room = scenario.room.name, .invented = scenario.room.invented};
    const auto names = [](const auto& list, auto name) {
        std::vector<std::string> out;
        std::set<std::string> seen;
        for (const auto& x : list) {
            if (seen.insert(name(x)).second) out.push_back(name(x));
        }
        return out;
    };
    const auto own = [](const auto& x) { return x.name; };
    form.meshes = names(scenario.room.meshes, own);
    form.coats = names(scenario.room.coat_plans, own);
    form.emulsions = names(scenario.room.emulsions, own);
    auto frames = scenario.frames;
    std::stable_sort(frames.begin(), frames.end(), [](const auto& a, const auto& b) {
        return a.size.width.value * a.size.height.value < b.size.width.value * b.size.height.value;
    });
    form.frames = names(frames, [](const auto& f) { return area_words(f.size); });
    return form;
}

std::string ask_page(const AskForm& form, std::string_view links) {
    return whole_page(
        form, links,
        "<p class=\"note\">The answer stands here. It knows what is promised already, "
        "and asks nobody to hurry.</p>\n");
}

std::string ask_page(const AskForm& asked, const study::Promise& promise, std::string_view links) {
    AskForm form = asked;
    if (!promise.enquiry.lines.empty()) {  // as the room calls what was sent
        const auto& line = promise.enquiry.lines.front();
        if (line.mesh) form.given["mesh"] = *line.mesh;
        form.given["frame"] = area_words(line.frame);
        form.given["coats"] = line.coat_plan;
    }
    return whole_page(form, links, promise_answer(promise));
}

std::string refusal_page(std::string_view words, std::string_view links) {
    const std::string script = page_script();
    std::string out = page_head("No answer", script);
    out += "<body class=\"ask\">\n" +
           page_top({.own = "/ask", .title = "No answer", .links = std::string(links)}) +
           "<main>\n<p class=\"sentence\">" + html(words) +
           "</p>\n<p><a href=\"/ask\">Ask again</a></p>\n</main>\n<script>" + script +
           "</script>\n</body>\n</html>\n";
    return out;
}

}  // namespace sched::report
