// How it works: the separator is guessed from the first line, libcsv is fed byte by byte, and a
// collector beside it notes where each cell began; what libcsv refuses is reported at the byte
// where it stopped.

#include "model/read/csv.hpp"

#include <csv.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>

namespace model::read {

namespace {

// Position behind all lines that begin with "# " at `at` (an order may be named "#12", so the blank
// counts).
std::size_t after_comments(std::string_view text, std::size_t at) {
    while (text.substr(at, 2) == "# ") {
        const std::size_t end = text.find('\n', at);
        if (end == std::string_view::npos) return text.size();
        at = end + 1;
    }
    return at;
}

int only_blank_is_space(unsigned char c) {
    return c == ' ' ? 1 : 0;
}

// libcsv is fed byte by byte and keeps no positions; this collects them beside it.
struct Collector {
    Findings* findings = nullptr;
    std::vector<CsvRow> rows;
    CsvRow row;
    bool in_cell = false;
    bool stop = false;
    std::size_t most = csv_most_rows;
    SourcePlace cell_place;
    SourcePlace here;

    void cell(std::string_view text) {
        if (!in_cell) cell_place = here;
        in_cell = false;
        if (row.cells.empty()) row.place = cell_place;
        if (text.size() > csv_longest_text) {
            findings->error(cell_place, "text-too-long",
                            fmt::format("a cell of {} bytes is longer than the limit of {}.",
                                        text.size(), csv_longest_text),
                            "Shorten it; perhaps a closing quote is missing.");
            text = {};
        }
        if (row.cells.size() == csv_most_cells) {
            findings->error(cell_place, "too-many-cells",
                            fmt::format("a line has more than {} cells.", csv_most_cells));
            stop = true;
            return;
        }
        row.cells.push_back({std::string(text), cell_place});
    }
    void end_row() {
        if (row.cells.empty()) return;
        const bool blank = std::all_of(row.cells.begin(), row.cells.end(),
                                       [](const CsvCell& c) { return c.text.empty(); });
        if (!blank || rows.empty()) rows.push_back(std::move(row));
        row = {};
        if (rows.size() > most) {
            findings->error(here, "too-many-rows",
                            fmt::format("the file has more than {} lines.", most),
                            "Keep one day's work per folder.");
            stop = true;
        }
    }
};

void on_cell(void* data, std::size_t length, void* collector) {
    static_cast<Collector*>(collector)->cell({static_cast<const char*>(data), length});
}
void on_row(int, void* collector) {
    static_cast<Collector*>(collector)->end_row();
}

struct CsvParser {
    csv_parser state{};
    CsvParser() { csv_init(&state, CSV_STRICT | CSV_STRICT_FINI); }
    ~CsvParser() { csv_free(&state); }
    CsvParser(const CsvParser&) = delete;
    CsvParser& operator=(const CsvParser&) = delete;
};

}  // namespace

char csv_separator(std::string_view text) {
    std::array<int, 3> count{};
    constexpr std::array<char, 3> known{',', ';', '\t'};
    bool in_quotes = false;
    bool anything = false;
    for (std::size_t at = 0; at < text.size(); ++at) {
        if (!in_quotes && (at == 0 || text[at - 1] == '\n')) at = after_comments(text, at);
        if (at >= text.size()) break;
        const char c = text[at];
        if (c == '"') in_quotes = !in_quotes;
        if ((c == '\n' || c == '\r') && !in_quotes && anything) break;
        if (c != '\n' && c != '\r' && c != ' ') anything = true;
        for (std::size_t i = 0; i < known.size(); ++i) {
            if (c == known[i] && !in_quotes) ++count[i];
        }
    }
    const auto most = std::max_element(count.begin(), count.end()) - count.begin();
    return known[static_cast<std::size_t>(most)];
}

std::string csv_cell(const std::string& value, char separator) {
    if (value.find_first_of(std::string("\"\n\r") + separator) == std::string::npos &&
        (value.empty() || (value.front() != ' ' && value.back() != ' ' && value.front() != '#'))) {
        return value;
    }
    std::string out = "\"";
    for (const char c : value) {
        if (c == '"') out += '"';
        out += c;
    }
    return out + "\"";
}

std::optional<std::vector<CsvRow>> parse_csv(std::string_view text, Findings& findings,
                                             std::size_t most) {
    CsvParser parser;
    csv_set_delim(&parser.state, static_cast<unsigned char>(csv_separator(text)));
    csv_set_space_func(&parser.state, only_blank_is_space);
    Collector collector;
    collector.findings = &findings;
    collector.most = most;
    collector.here = findings.whole_file();
    int line = 1;
    int column = 1;
    for (std::size_t i = 0; i < text.size() && !collector.stop; ++i) {
        if (column == 1 && !collector.in_cell && collector.row.cells.empty()) {
            const std::size_t next = after_comments(text, i);
            line += static_cast<int>(std::count(text.begin() + static_cast<std::ptrdiff_t>(i),
                                                text.begin() + static_cast<std::ptrdiff_t>(next),
                                                '\n'));
            i = next;
            if (i >= text.size()) break;
        }
        const char c = text[i];
        const bool line_break = c == '\n' || c == '\r';
        collector.here.line = line;
        collector.here.column = column;
        if (!collector.in_cell && !line_break && c != ' ' &&
            c != static_cast<char>(parser.state.delim_char)) {
            collector.in_cell = true;
            collector.cell_place = collector.here;
        }
        if (csv_parse(&parser.state, &c, 1, on_cell, on_row, &collector) != 1) {
            findings.error(
                collector.here, "csv-quote", "a quote stands in the middle of a cell.",
                "Put the whole cell in double quotes, and write \"\" for a quote inside.");
            return std::nullopt;
        }
        if (c == '\n' && i > 0 && text[i - 1] == '\r') continue;  // counted with the CR
        if (line_break) {
            ++line;
            column = 1;
        } else if ((static_cast<unsigned char>(c) & 0xC0U) != 0x80U) {
            ++column;
        }
    }
    if (collector.stop) return std::nullopt;
    collector.here.line = line;
    collector.here.column = column;
    if (csv_fini(&parser.state, on_cell, on_row, &collector) != 0) {
        findings.error(collector.cell_place, "csv-quote",
                       "a cell begins with a quote here and never ends.",
                       "Close it with a double quote.");
        return std::nullopt;
    }
    if (collector.stop) return std::nullopt;
    return std::move(collector.rows);
}

}  // namespace model::read
