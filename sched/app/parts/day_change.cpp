// How it works: room.yaml is changed in the lines of one person only, orders.csv in the lines of
// one order; all else stays as it was written.

#include "sched/app/parts/day_change.hpp"

#include <algorithm>
#include <vector>

#include "model/base/units.hpp"

namespace sched::app {

namespace {

std::vector<std::string> lines_of_text(const std::string& text) {
    std::vector<std::string> out;
    std::size_t from = 0;
    while (from < text.size()) {
        const auto end = text.find('\n', from);
        out.push_back(text.substr(from, end == std::string::npos ? end : end - from));
        if (end == std::string::npos) break;
        from = end + 1;
    }
    return out;
}

std::string joined(const std::vector<std::string>& lines) {
    std::string out;
    for (const auto& line : lines)
        out += line + "\n";
    return out;
}

std::string trimmed(const std::string& text) {
    const auto a = text.find_first_not_of(" \t\r");
    if (a == std::string::npos) return "";
    return text.substr(a, text.find_last_not_of(" \t\r") - a + 1);
}

std::string unquoted(std::string text) {
    text = trimmed(text);
    if (text.size() >= 2 && (text.front() == '"' || text.front() == '\'') &&
        text.back() == text.front())
        text = text.substr(1, text.size() - 2);
    return text;
}

std::size_t indent_of(const std::string& line) {
    const auto at = line.find_first_not_of(' ');
    return at == std::string::npos ? line.size() : at;
}

// The value behind "name:" in a line, up to a comma, brace or comment.
std::string named(const std::string& line) {
    const auto at = line.find("name:");
    if (at == std::string::npos) return "";
    const auto end = line.find_first_of(",}#", at);
    return unquoted(line.substr(at + 5, end == std::string::npos ? end : end - at - 5));
}

// Fields of a line of a CSV file (RFC 4180), without line breaks in them.
std::vector<std::string> fields_of(const std::string& line) {
    std::vector<std::string> out(1);
    bool quoted = false;
    for (std::size_t i = 0; i < line.size(); ++i) {
        const char c = line[i];
        if (quoted && c == '"' && i + 1 < line.size() && line[i + 1] == '"') {
            out.back() += '"';
            ++i;
        } else if (c == '"') {
            quoted = !quoted;
        } else if (c == ',' && !quoted) {
            out.emplace_back();
        } else if (c != '\r') {
            out.back() += c;
        }
    }
    return out;
}

std::string line_of(const std::vector<std::string>& fields) {
    std::string out;
    for (std::size_t i = 0; i < fields.size(); ++i) {
        std::string f = fields[i];
        if (f.find_first_of(",\"") != std::string::npos) {
            for (std::size_t at = f.find('"'); at != std::string::npos; at = f.find('"', at + 2))
                f.insert(at, 1, '"');
            f = "\"" + f + "\"";
        }
        out += (i ? "," : "") + f;
    }
    return out;
}

struct Orders {
    std::vector<std::string> lines;
    std::vector<std::string> head;
    std::vector<std::size_t> of;  // lines of the order

    std::optional<std::size_t> column(const char* name) const {
        const auto at = std::find(head.begin(), head.end(), name);
        if (at == head.end()) return std::nullopt;
        return static_cast<std::size_t>(at - head.begin());
    }
};

Orders orders_of(const std::string& text, const std::string& order) {
    Orders out{.lines = lines_of_text(text), .head = {}, .of = {}};
    for (std::size_t i = 0; i < out.lines.size(); ++i) {
        const std::string line = trimmed(out.lines[i]);
        if (line.empty() || line.front() == '#') continue;
        auto fields = fields_of(line);
        for (auto& f : fields)
            f = trimmed(f);
        if (out.head.empty()) {
            out.head = fields;
            continue;
        }
        const auto column = out.column("order");
        if (column && *column < fields.size() && fields[*column] == order) out.of.push_back(i);
    }
    return out;
}

}  // namespace

std::optional<std::string> with_longer(const std::string& room, const std::string& person) {
    auto lines = lines_of_text(room);
    bool people = false;
    // An hour more than what stands in text[from, end); an hour where nothing stands.
    const auto more = [](std::string& text, std::size_t from, std::size_t end) {
        const auto old = model::parse_duration(trimmed(text.substr(from, end - from)));
        if (!old.value) return false;
        text.replace(from, end - from,
                     " " + std::to_string((old.value->count() + 3600) / 60) + " min" +
                         (end < text.size() && text[end] == '#' ? "  " : ""));
        return true;
    };
    constexpr std::string_view key = "overtime:";
    for (std::size_t i = 0; i < lines.size(); ++i) {
        std::string& line = lines[i];
        if (!line.empty() && line.front() != ' ' && line.front() != '#' && line.front() != '-')
            people = line.rfind("people:", 0) == 0;
        if (!people || trimmed(line).rfind("-", 0) != 0 || named(line) != person) continue;
        const auto old = line.find(key);
        if (line.find('{') != std::string::npos) {
            if (old == std::string::npos) {
                line.insert(line.find('{') + 1, "overtime: 60 min, ");
            } else if (!more(line, old + key.size(), line.find_first_of(",}", old))) {
                return std::nullopt;
            }
            return joined(lines);
        }
        const std::size_t inner = indent_of(line) + 2;
        for (std::size_t k = i + 1; k < lines.size() && indent_of(lines[k]) >= inner; ++k) {
            if (trimmed(lines[k]).rfind(key, 0) != 0) continue;
            const auto from = lines[k].find(key) + key.size();
            const auto end = std::min(lines[k].find('#'), lines[k].size());
            return more(lines[k], from, end) ? std::optional(joined(lines)) : std::nullopt;
        }
        lines.insert(lines.begin() + static_cast<std::ptrdiff_t>(i) + 1,
                     std::string(inner, ' ') + "overtime: 60 min");
        return joined(lines);
    }
    return std::nullopt;
}

std::optional<std::string> with_first(const std::string& text, const std::string& order) {
    auto orders = orders_of(text, order);
    if (orders.of.empty()) return std::nullopt;
    auto column = orders.column("priority");
    for (std::size_t i = 0; i < orders.lines.size(); ++i) {
        const std::string line = trimmed(orders.lines[i]);
        if (line.empty() || line.front() == '#') continue;
        auto fields = fields_of(line);
        const bool head = fields.size() && trimmed(fields[0]) == orders.head[0];
        if (!column && head) {
            fields.emplace_back("priority");
        } else if (!column) {
            fields.resize(orders.head.size());
            fields.emplace_back("");
        }
        const bool own = std::find(orders.of.begin(), orders.of.end(), i) != orders.of.end();
        if (own) fields[column.value_or(fields.size() - 1)] = "9";
        if (own || !column) orders.lines[i] = line_of(fields);
    }
    return joined(orders.lines);
}

std::optional<std::string> with_another(const std::string& text, const std::string& order,
                                        const std::string& name) {
    auto orders = orders_of(text, order);
    if (orders.of.empty()) return std::nullopt;
    const auto own = orders.column("order"), film = orders.column("film ready");
    for (const std::size_t i : std::vector<std::size_t>(orders.of)) {
        auto fields = fields_of(orders.lines[i]);
        fields[*own] = name;
        if (film && *film < fields.size()) fields[*film] = "";
        orders.lines.push_back(line_of(fields));
    }
    return joined(orders.lines);
}

}  // namespace sched::app
