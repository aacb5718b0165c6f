// How it works: the tree knows where each value stands. One edit at a time: the value is replaced
// where it stands, or a line (in braces: an entry) is put in behind the last one of its mapping;
// then the text is read again, and its tree must be the old one with the edit made.

#include "model/read/edit_yaml.hpp"

#include <algorithm>

#include "model/read/bytes.hpp"
#include "model/read/yaml.hpp"

namespace model::read {

namespace {

std::optional<YamlNode> tree_of(const std::string& text) {
    Diagnostics diagnostics;
    Findings findings("", diagnostics);
    if (!check_text(text, findings)) return std::nullopt;
    auto tree = parse_yaml(with_plain_line_ends(text), findings);
    if (!tree || findings.count() > 0) return std::nullopt;
    return tree;
}

bool blank(char c) {
    return c == ' ' || c == '\t';
}

/// Where a quoted text, or braces with all in them, that begin at `at` end.
std::size_t end_of_quotes(const std::string& text, std::size_t at) {
    const char quote = text[at];
    for (std::size_t i = at + 1; i < text.size(); ++i) {
        if (quote == '"' && text[i] == '\\') {
            ++i;
        } else if (text[i] == quote) {
            return i + 1;
        }
    }
    return text.size();
}

std::size_t end_of_braces(const std::string& text, std::size_t at) {
    int depth = 0;
    for (std::size_t i = at; i < text.size(); ++i) {
        const char c = text[i];
        const bool fresh =
            i > 0 && (blank(text[i - 1]) || text[i - 1] == '\n' || text[i - 1] == ',' ||
                      text[i - 1] == '{' || text[i - 1] == '[' || text[i - 1] == ':');
        if ((c == '"' || c == '\'') && fresh) {
            i = end_of_quotes(text, i) - 1;
        } else if (c == '#' && fresh) {
            i = std::min(text.find('\n', i), text.size()) - 1;
        } else if (c == '{' || c == '[') {
            ++depth;
        } else if ((c == '}' || c == ']') && --depth == 0) {
            return i + 1;
        }
    }
    return text.size();
}

/// Where a value on one line that begins at `at` ends.
std::size_t end_of_value(const std::string& text, std::size_t at, bool in_braces) {
    if (text[at] == '"' || text[at] == '\'') return end_of_quotes(text, at);
    if (text[at] == '{' || text[at] == '[') return end_of_braces(text, at);
    std::size_t end = at;
    while (end < text.size() && text[end] != '\n' && text[end] != '\r' &&
           !(in_braces && (text[end] == ',' || text[end] == '}' || text[end] == ']')) &&
           !(text[end] == '#' && end > at && blank(text[end - 1])))
        ++end;
    while (end > at && blank(text[end - 1]))
        --end;
    return end;
}

bool brace_at(const std::string& text, const YamlNode& node) {
    const std::size_t at = byte_of(text, node.place);
    return at < text.size() && (text[at] == '{' || text[at] == '[');
}

/// Column (from 0) of the first thing in the line of `at`, list dashes left out.
std::size_t column_of(const std::string& text, std::size_t at) {
    const std::size_t line = at == 0 ? 0 : text.rfind('\n', at - 1) + 1;
    return at - line;
}

/// Last byte of the node's own text, and of all that is in it.
std::size_t end_of_node(const std::string& text, const YamlNode& node, bool in_braces) {
    const std::size_t at = byte_of(text, node.place);
    if (node.kind == YamlNode::Kind::Text || brace_at(text, node))
        return end_of_value(text, at, in_braces);
    if (!node.items.empty()) return end_of_node(text, node.items.back(), in_braces);
    return at;
}

std::string line_end_of(const std::string& text) {
    return text.find("\r\n") != std::string::npos ? "\r\n" : "\n";
}

const std::string* key_of(const YamlStep& step) {
    return std::get_if<std::string>(&step);
}

/// The rest of a path and its value, as one line.
std::string flow(const std::vector<YamlStep>& path, std::size_t from, const std::string& value) {
    std::string out = value;
    for (std::size_t i = path.size(); i-- > from;) {
        if (const auto* key = key_of(path[i]))
            out = "{" + *key + ": " + out + "}";
        else
            out = "[" + out + "]";
    }
    return out;
}

/// The deepest node of the path that is there, and how many steps lead to it.
struct Found {
    const YamlNode* node = nullptr;
    std::size_t steps = 0;
    bool in_braces = false;
};

Found follow_path(const std::string& text, const YamlNode& tree,
                  const std::vector<YamlStep>& path) {
    Found at{&tree, 0, false};
    while (at.steps < path.size()) {
        const bool braces = at.in_braces || (at.node != &tree && brace_at(text, *at.node));
        const YamlNode* next = nullptr;
        if (const auto* key = key_of(path[at.steps])) {
            if (at.node->kind == YamlNode::Kind::Mapping) next = at.node->find(*key);
        } else if (at.node->kind == YamlNode::Kind::List) {
            const std::size_t i = std::get<std::size_t>(path[at.steps]);
            if (i < at.node->items.size()) next = &at.node->items[i];
        }
        if (next == nullptr) return at;
        at = {next, at.steps + 1, braces};
    }
    return at;
}

/// The tree with the edit made, to compare with.
void apply(YamlNode& node, const std::vector<YamlStep>& path, std::size_t from,
           const YamlNode& value) {
    if (from == path.size()) {
        node = value;
        return;
    }
    if (const auto* key = key_of(path[from])) {
        if (node.kind != YamlNode::Kind::Mapping) {
            node = {};
            node.kind = YamlNode::Kind::Mapping;
        }
        for (std::size_t i = 0; i < node.keys.size(); ++i) {
            if (node.keys[i].text == *key) return apply(node.items[i], path, from + 1, value);
        }
        YamlNode name;
        name.kind = YamlNode::Kind::Text;
        name.text = *key;
        node.keys.push_back(name);
        node.items.emplace_back();
        return apply(node.items.back(), path, from + 1, value);
    }
    if (node.kind != YamlNode::Kind::List) {
        node = {};
        node.kind = YamlNode::Kind::List;
    }
    const std::size_t i = std::get<std::size_t>(path[from]);
    if (i >= node.items.size()) node.items.emplace_back();
    apply(node.items[std::min(i, node.items.size() - 1)], path, from + 1, value);
}

bool alike(const YamlNode& a, const YamlNode& b) {
    if (a.kind != b.kind || a.text != b.text || a.keys.size() != b.keys.size() ||
        a.items.size() != b.items.size())
        return false;
    for (std::size_t i = 0; i < a.keys.size(); ++i) {
        if (a.keys[i].text != b.keys[i].text) return false;
    }
    for (std::size_t i = 0; i < a.items.size(); ++i) {
        if (!alike(a.items[i], b.items[i])) return false;
    }
    return true;
}

/// One edit. @returns whether it could be made.
bool edit(std::string& text, const YamlNode& tree, const YamlEdit& e) {
    const Found at = follow_path(text, tree, e.path);
    if (at.steps == e.path.size()) {
        const std::size_t from = byte_of(text, at.node->place);
        if (from >= text.size()) return false;
        if (at.node->kind != YamlNode::Kind::Text && !brace_at(text, *at.node)) return false;
        text.replace(from, end_of_value(text, from, at.in_braces) - from, e.value);
        return true;
    }
    const YamlNode& parent = *at.node;
    const auto* key = key_of(e.path[at.steps]);
    const std::string rest = flow(e.path, at.steps + 1, e.value);
    const std::string entry = key ? *key + ": " + rest : rest;
    const std::string line_end = line_end_of(text);
    if (key == nullptr && parent.kind != YamlNode::Kind::List) return false;
    if (key != nullptr && parent.kind != YamlNode::Kind::Mapping) {
        if (&parent == &tree && parent.kind == YamlNode::Kind::Empty) {
            if (!text.empty() && text.back() != '\n') text += line_end;
            text += entry + line_end;
            return true;
        }
        // A time alone that gets more to say: "4 min" becomes {attended: 4 min, ...}.
        return false;
    }
    if ((&parent != &tree || !parent.items.empty()) && brace_at(text, parent)) {
        const std::size_t begin = byte_of(text, parent.place);
        const std::size_t close = end_of_braces(text, begin) - 1;
        std::size_t last = close;
        while (last > begin + 1 &&
               (blank(text[last - 1]) || text[last - 1] == '\n' || text[last - 1] == '\r'))
            --last;
        const bool comma = !parent.items.empty() && text[last - 1] != ',';
        text.insert(last, (comma ? ", " : parent.items.empty() ? "" : " ") + entry);
        return true;
    }
    if (parent.items.empty()) return false;
    // A line of its own behind the last entry, as far in as the first one.
    const std::size_t first =
        key ? byte_of(text, parent.keys.front().place) : byte_of(text, parent.items.front().place);
    std::size_t column = column_of(text, first);
    if (!key) {
        std::size_t dash = first;
        while (dash > 0 && text[dash] != '-')
            --dash;
        column = column_of(text, dash);
    }
    const std::size_t end = end_of_node(text, parent.items.back(), false);
    const std::size_t line = text.find('\n', end);
    const std::string added = std::string(column, ' ') + (key ? "" : "- ") + entry;
    if (line == std::string::npos)
        text += line_end + added + line_end;
    else
        text.insert(line + 1, added + line_end);
    return true;
}

}  // namespace

std::optional<std::string> with_values(const std::string& text, const std::vector<YamlEdit>& edits,
                                       std::string& problem) {
    const std::string mark = text.starts_with("\xEF\xBB\xBF") ? text.substr(0, 3) : "";
    std::string body = text.substr(mark.size());
    for (const YamlEdit& e : edits) {
        std::string name;
        for (const YamlStep& step : e.path) {
            const auto* key = key_of(step);
            name += (name.empty() ? "" : ", ") +
                    (key ? *key : "item " + std::to_string(std::get<std::size_t>(step) + 1));
        }
        auto tree = tree_of(body);
        const auto value = tree_of(e.value);
        if (!tree) {
            problem = "the file has errors; coatroom check names them";
            return std::nullopt;
        }
        std::string changed = body;
        const bool made = value && edit(changed, *tree, e);
        if (made) apply(*tree, e.path, 0, *value);
        const auto after = made ? tree_of(changed) : std::nullopt;
        if (!after || !alike(*after, *tree)) {
            problem =
                name + " is written in a way that cannot be changed in place; change it by hand";
            return std::nullopt;
        }
        body = std::move(changed);
    }
    return mark + body;
}

}  // namespace model::read
