#include "model/read/ask_columns.hpp"

#include <algorithm>

#include "model/read/bytes.hpp"
#include "model/read/order_file.hpp"

namespace model::read {

namespace {

constexpr std::string_view columns_head = "# columns:";
constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";

}  // namespace

UnknownHeadings unknown_headings(std::string_view file, std::string_view text) {
    UnknownHeadings out;
    const auto specs = file == "frames.csv" ? specs_of(frame_table()) : specs_of(order_table());
    for (const KeySpec& spec : specs)
        out.known.push_back(spec.key);
    Diagnostics diagnostics;
    Findings findings{std::string(file), diagnostics};
    if (text.starts_with(byte_order_mark)) text.remove_prefix(byte_order_mark.size());
    if (!check_text(text, findings)) return out;
    const auto rows = parse_csv(text, findings);
    if (!rows || rows->empty()) return out;
    const OwnHeadings own = own_headings(text, specs, findings);
    std::vector<std::string> units;
    Diagnostics found;
    Findings headings{std::string(file), found};
    match_headings(headings, specs, rows->front(), own, units);
    for (const Diagnostic& d : found.all()) {
        if (d.code != "unknown-column") continue;
        for (const CsvCell& cell : rows->front().cells) {
            if (cell.place == d.place) out.headings.push_back(cell.text);
        }
    }
    return out;
}

std::string with_columns_line(std::string_view text,
                              const std::vector<std::pair<std::string, std::string>>& answers) {
    std::string more;
    for (const auto& [heading, column] : answers)
        more += (more.empty() ? " " : ", ") + heading + " = " + column;
    if (more.empty()) return std::string(text);
    if (text.starts_with(byte_order_mark)) {
        return std::string(byte_order_mark) +
               with_columns_line(text.substr(byte_order_mark.size()), answers);
    }
    const std::size_t end = std::min(text.find_first_of("\r\n"), text.size());
    if (text.starts_with(columns_head))
        return std::string(text.substr(0, end)) + "," + more + std::string(text.substr(end));
    const std::string_view line_end = text.substr(end).starts_with("\r\n") ? "\r\n" : "\n";
    return std::string(columns_head) + more + std::string(line_end) + std::string(text);
}

}  // namespace model::read
