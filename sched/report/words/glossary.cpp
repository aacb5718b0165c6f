// How it works: the page is walked once, tag by tag; an open element whose text is no prose hides
// it from the search. In text each start of a word is held against the names, the longest first.
// What was found somewhere on the page is listed at its end.

#include "sched/report/words/glossary.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <set>

#include "sched/report/words/html.hpp"
#include "sched/report/words/web_assets.hpp"

namespace sched::report {

namespace {

std::string_view trimmed(std::string_view text) {
    const auto from = text.find_first_not_of(' ');
    if (from == std::string_view::npos) return {};
    return text.substr(from, text.find_last_not_of(' ') + 1 - from);
}

std::vector<std::string_view> split(std::string_view text, char separator) {
    std::vector<std::string_view> parts;
    while (true) {
        const auto at = text.find(separator);
        parts.push_back(trimmed(text.substr(0, at)));
        if (at == std::string_view::npos) return parts;
        text.remove_prefix(at + 1);
    }
}

std::vector<GlossaryTerm> read_glossary(std::string_view text) {
    std::vector<GlossaryTerm> out;
    const auto begin = text.find("## Words on the pages");
    text = text.substr(std::min(begin, text.size()));
    text = text.substr(0, text.find("\n## ", 1));
    bool rows = false;
    for (const std::string_view line : split(text, '\n')) {
        if (!line.starts_with('|')) continue;
        if (line.starts_with("|---")) {
            rows = true;
            continue;
        }
        const auto cells = split(line, '|');
        if (!rows || cells.size() < 4) continue;
        GlossaryTerm term{
            .names = {}, .meaning = std::string(cells[2]), .unit = std::string(cells[3])};
        for (const std::string_view name : split(cells[1], ','))
            term.names.emplace_back(name);
        out.push_back(std::move(term));
    }
    return out;
}

char small(char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}

/// Letters, digits and all bytes beyond ASCII: what a word is made of.
bool in_word(char c) {
    const auto u = static_cast<unsigned char>(c);
    return u >= 0x80 || (c >= '0' && c <= '9') || (small(c) >= 'a' && small(c) <= 'z');
}

std::string id_of(const GlossaryTerm& term) {
    std::string id = "word-";
    for (const char c : term.names.front()) {
        if (static_cast<unsigned char>(c) < 0x80 && in_word(c)) {
            id += small(c);
        } else if (id.back() != '-') {
            id += '-';
        }
    }
    return id;
}

struct Name {
    std::string_view text;  // small letters but for bytes beyond ASCII
    std::size_t term = 0;
};

/// All names, the longest first.
const std::vector<Name>& names_by_length() {
    static const std::vector<Name> names = [] {
        std::vector<Name> out;
        const auto& terms = glossary();
        for (std::size_t t = 0; t < terms.size(); ++t) {
            for (const auto& name : terms[t].names)
                out.push_back({name, t});
        }
        std::stable_sort(out.begin(), out.end(), [](const Name& a, const Name& b) {
            return a.text.size() > b.text.size();
        });
        return out;
    }();
    return names;
}

/// Length of the name at `at` of the text, an s behind it included; 0: it does not stand there.
std::size_t name_at(std::string_view text, std::size_t at, std::string_view name) {
    if (text.size() - at < name.size()) return 0;
    for (std::size_t i = 0; i < name.size(); ++i) {
        if (small(text[at + i]) != small(name[i])) return 0;
    }
    std::size_t end = at + name.size();
    if (end < text.size() && text[end] == 's') ++end;
    if (end < text.size() && (in_word(text[end]) || text[end] == '-')) return 0;
    return end - at;
}

class Linker {
public:
    explicit Linker(std::string_view page) : page_(page) {}

    std::string write() {
        const auto end = page_.rfind("</main>");
        const auto begin = page_.find("<main");
        if (end == std::string_view::npos || begin == std::string_view::npos || begin > end)
            return std::string(page_);
        std::string out(page_.substr(0, begin));
        body(page_.substr(begin, end - begin), out);
        if (used_.empty()) return std::string(page_);
        out += list();
        out += page_.substr(end);
        return out;
    }

private:
    void body(std::string_view text, std::string& out) {
        std::size_t at = 0;
        while (at < text.size()) {
            const std::size_t tag = std::min(text.find('<', at), text.size());
            prose(text.substr(at, tag - at), out);
            const std::size_t close = text.find('>', tag);
            at = close == std::string_view::npos ? text.size() : close + 1;
            if (tag < text.size()) element(text.substr(tag, at - tag));
            out += text.substr(tag, at - tag);
        }
    }

    void element(std::string_view tag) {
        // What is pressed, drawn, run or typed: no link inside.
        static constexpr std::array hidden{"a",      "button", "summary", "svg",
                                           "script", "style",  "select",  "option",
                                           "label",  "code",   "textarea"};
        const bool closes = tag.starts_with("</");
        const std::size_t from = closes ? 2 : 1;
        const std::string_view name = tag.substr(from, tag.find_first_of(" />\n", from) - from);
        if (name == "section" && !closes) here_.clear();
        if (std::find(hidden.begin(), hidden.end(), name) == hidden.end() || tag.ends_with("/>"))
            return;
        inside_ += closes ? -1 : 1;
    }

    void prose(std::string_view text, std::string& out) {
        if (inside_ > 0) {
            out += text;
            return;
        }
        std::size_t at = 0;
        while (at < text.size()) {
            const bool begins =
                at == 0 || !(in_word(text[at - 1]) || text[at - 1] == '-' || text[at - 1] == '&');
            const std::size_t length = begins ? word(text, at, out) : 0;
            if (length == 0) out += text[at];
            at += std::max<std::size_t>(length, 1);
        }
    }

    /// Writes the term that stands at `at`, linked where it is the first. @returns its length.
    std::size_t word(std::string_view text, std::size_t at, std::string& out) {
        for (const Name& name : names_by_length()) {
            const bool heading = name.text.front() >= 'A' && name.text.front() <= 'Z';
            const std::size_t length =
                heading ? (text == name.text ? text.size() : 0) : name_at(text, at, name.text);
            if (length == 0) continue;
            const std::string_view shown = text.substr(at, length);
            if (here_.insert(name.term).second) {
                used_.insert(name.term);
                const GlossaryTerm& term = glossary()[name.term];
                out += fmt::format("<a class=\"word\" href=\"#{}\" title=\"{}\">{}</a>",
                                   id_of(term), html(term.meaning), shown);
            } else {
                out += shown;
            }
            return length;
        }
        return 0;
    }

    std::string list() const {
        std::string out = section_head("words", "Words");
        out += fmt::format("<details><summary>What {} on this page {}</summary>\n<dl>\n",
                           used_.size() == 1 ? "a word" : fmt::format("{} words", used_.size()),
                           used_.size() == 1 ? "means" : "mean");
        for (const std::size_t t : used_) {
            const GlossaryTerm& term = glossary()[t];
            std::string names;
            for (const auto& name : term.names)
                names += (names.empty() ? "" : ", ") + html(name);
            out += fmt::format("<dt id=\"{}\" tabindex=\"-1\">{}</dt><dd>{}{}</dd>\n", id_of(term),
                               names, html(term.meaning),
                               term.unit.empty() ? "" : " <small>" + html(term.unit) + "</small>");
        }
        return out + "</dl>\n</details>\n</section>\n";
    }

    std::string_view page_;
    int inside_ = 0;              // elements whose text is no prose
    std::set<std::size_t> here_;  // terms linked in this section
    std::set<std::size_t> used_;  // on the page, in the glossary's order
};

}  // namespace

const std::vector<GlossaryTerm>& glossary() {
    static const std::vector<GlossaryTerm> terms = read_glossary(web_asset("glossary.md"));
    return terms;
}

std::string with_words(std::string page) {
    return Linker(page).write();
}

}  // namespace sched::report
