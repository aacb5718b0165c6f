// How it works: the journal is CSV or one JSON object a line, both through one table of columns;
// entries are then checked against each other. Writing a row is the mirror of reading it.

#include "model/read/promise_file.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "model/read/bytes.hpp"
#include "model/read/csv_table.hpp"

namespace model {

namespace read {

const Table<PastPromise>& past_promise_table() {
    static const Table<PastPromise> table{
        row("enquiry", &PastPromise::enquiry,
            {.required = true, .example = "E117", .help = "Name of the enquiry or order."}),
        row("asked", &PastPromise::asked,
            {.required = true,
             .example = "2026-11-24 10:15",
             .help = "When the promise was given."}),
        row("screens", &PastPromise::screens,
            {.required = true,
             .least = "1",
             .most = "2000",
             .example = "4",
             .help = "Screens of the order."}),
        row("kind", &PastPromise::kind,
            {.example = "halftone", .help = "Kind of order, in the shop's own words."}),
        row("p50", &PastPromise::p50,
            {.example = "2026-11-25 13:40",
             .help = "Forecast: ready by then with a chance of 50 %, as it was computed, without "
                     "correction and rounding; so too"}),
        row("p80", &PastPromise::p80, {.example = "2026-11-25 15:05", .help = "with 80 %,"}),
        row("p90", &PastPromise::p90, {.example = "2026-11-25 15:50", .help = "with 90 %"}),
        row("p95", &PastPromise::p95, {.example = "2026-11-25 16:30", .help = "and with 95 %."}),
        row("promised", &PastPromise::promised,
            {.required = true,
             .example = "2026-11-25 16:00",
             .help = "What the customer was told."}),
        row("ready", &PastPromise::ready,
            {.example = "2026-11-25 14:55",
             .help = "When all its screens were ready; left out: they are not. Take the line of a "
                     "cancelled order away."}),
    };
    return table;
}

namespace {

// One object a line. The cells go through the same rows as those of a table.
void read_promise_lines(std::string_view text, Findings& findings, std::vector<PastPromise>& out) {
    const auto& table = past_promise_table();
    std::vector<std::string> keys;
    for (const auto& r : table)
        keys.push_back(r.spec.key);
    int number = 0;
    while (!text.empty()) {
        const std::size_t end = std::min(text.find('\n'), text.size());
        const std::string_view line = text.substr(0, end);
        text.remove_prefix(std::min(end + 1, text.size()));
        ++number;
        if (line.find_first_not_of(" \t\r") == std::string_view::npos) continue;
        const SourcePlace place{findings.file(), number, 1};
        if (out.size() >= csv_most_rows) {
            findings.error(place, "too-many-rows",
                           fmt::format("this file has more than {} lines.", csv_most_rows),
                           "Keep the last years only.");
            return;
        }
        // Flat objects only: depth is bounded by refusing a second brace or bracket inside.
        const auto json = std::count(line.begin(), line.end(), '[') == 0 &&
                                  std::count(line.begin(), line.end(), '{') < 3
                              ? nlohmann::json::parse(line, nullptr, false)
                              : nlohmann::json(nlohmann::json::value_t::discarded);
        if (!json.is_object()) {
            findings.error(place, "not-json", "this line is no flat JSON object.",
                           "Write one object a line: {\"enquiry\": \"E1\", ...}.");
            continue;
        }
        PastPromise value;
        value.place = place;
        for (const auto& [key, cell] : json.items()) {
            if (std::find(keys.begin(), keys.end(), key) != keys.end()) continue;
            findings.error(place, "unknown-key",
                           fmt::format("no column is called {}.", in_quotes(key)),
                           did_you_mean(key, keys));
        }
        for (const auto& r : table) {
            YamlNode node;
            node.kind = YamlNode::Kind::Text;
            node.place = place;
            const auto found = json.find(r.spec.key);
            if (found != json.end() && found->is_string()) {
                node.text = found->get<std::string>();
            } else if (found != json.end() && !found->is_null()) {
                node.text = found->dump();
            }
            if (node.text.empty()) {
                if (!r.spec.required) continue;
                node.kind = YamlNode::Kind::Empty;
            }
            r.read(findings, r.spec, node, value);
        }
        out.push_back(std::move(value));
    }
}

std::string journal_value(const std::string& key, const PastPromise& p) {
    const auto time = [](const std::optional<SimTime>& t) {
        return t ? format_date_time(*t) : std::string{};
    };
    if (key == "enquiry") return p.enquiry;
    if (key == "asked") return time(p.asked);
    if (key == "screens") return std::to_string(p.screens);
    if (key == "kind") return p.kind;
    if (key == "p50") return time(p.p50);
    if (key == "p80") return time(p.p80);
    if (key == "p90") return time(p.p90);
    if (key == "p95") return time(p.p95);
    if (key == "promised") return time(p.promised);
    if (key == "ready") return time(p.ready);
    return {};
}

void check_promises(const std::vector<PastPromise>& list, Findings& findings) {
    for (const PastPromise& p : list) {
        const auto before = [&](const std::optional<SimTime>& t, const char* what) {
            if (!t || *t >= p.asked) return;
            findings.error(
                p.place, "before-asked",
                fmt::format("{}: {} {} lies before it was asked, {}.", in_quotes(p.enquiry), what,
                            format_date_time(*t), format_date_time(p.asked)),
                "Mend one of the two.");
        };
        before(p.promised, "the promise");
        before(p.ready, "ready");
        std::optional<SimTime> last;
        for (const int percent : {50, 80, 90, 95}) {
            const auto q = p.at(percent);
            before(q, "a forecast");
            if (q && last && *q < *last) {
                findings.error(p.place, "forecast-order",
                               fmt::format("{}: the forecast of {} % lies before a smaller one.",
                                           in_quotes(p.enquiry), percent),
                               "The columns p50, p80, p90, p95 rise.");
            }
            if (q) last = q;
        }
    }
}

bool is_lines_of_json(std::string_view text) {
    const std::size_t first = text.find_first_not_of(" \t\r\n");
    return first != std::string_view::npos && text[first] == '{';
}

std::vector<PastPromise> read_promises_of(std::string_view text, Findings& findings) {
    std::vector<PastPromise> out;
    if (is_lines_of_json(text))
        read_promise_lines(text, findings, out);
    else
        out = read_csv_table(text, findings, past_promise_table()).values;
    return out;
}

}  // namespace
}  // namespace read

std::vector<PastPromise> read_promises(const std::string& path, bool required,
                                       Diagnostics& diagnostics) {
    using namespace read;
    const std::size_t errors_before = diagnostics.error_count();
    Findings findings(path, diagnostics);
    const auto text =
        load(path, csv_most_bytes, required ? Missing::Error : Missing::NotYet, findings);
    if (!text || !check_text(*text, findings)) return {};
    auto out = read_promises_of(*text, findings);
    if (diagnostics.error_count() == errors_before) check_promises(out, findings);
    if (diagnostics.error_count() > errors_before) return {};
    return out;
}

std::string promise_heading() {
    std::string out;
    for (const auto& r : read::past_promise_table())
        out += (out.empty() ? "" : ",") + r.spec.key;
    return out + "\n";
}

std::string promise_row(const PastPromise& p) {
    std::string out;
    for (const auto& r : read::past_promise_table())
        out += (out.empty() ? "" : ",") + read::csv_cell(read::journal_value(r.spec.key, p), ',');
    return out + "\n";
}

}  // namespace model
