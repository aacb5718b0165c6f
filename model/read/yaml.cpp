// How it works: yaml-cpp's events build a tree whose values and keys know their places; anchors,
// tags, merge keys and duplicates are refused on the way, and bytes, nodes and depth are bounded.
// Syntax faults get a guess at what a beginner meant.

#include "model/read/yaml.hpp"

#include <fmt/format.h>
#include <yaml-cpp/eventhandler.h>
#include <yaml-cpp/exceptions.h>
#include <yaml-cpp/parser.h>

#include <algorithm>
#include <map>
#include <sstream>

#include "model/read/bytes.hpp"

namespace model::read {

namespace {

struct Abandon {};  // thrown by the builder to leave the parser early; never leaves this file

/// Lines of the text, to turn yaml-cpp's marks (line and byte from 0) into places.
class LineIndex {
public:
    LineIndex(std::string_view text, std::string file) : text_(text), file_(std::move(file)) {
        starts_.push_back(0);
        for (std::size_t i = 0; i < text.size(); ++i) {
            if (text[i] == '\n') starts_.push_back(i + 1);
        }
    }
    SourcePlace place(const YAML::Mark& mark) const {
        if (mark.line < 0) return {file_, 1, 1};
        const auto line = std::min(static_cast<std::size_t>(mark.line), starts_.size() - 1);
        const auto column = static_cast<std::size_t>(std::max(mark.column, 0));
        return {file_, static_cast<int>(line) + 1,
                code_points(text_, starts_[line], starts_[line] + column) + 1};
    }
    std::string_view line(std::size_t number) const {
        if (number >= starts_.size()) return {};
        const std::size_t end = text_.find('\n', starts_[number]);
        return text_.substr(starts_[number],
                            end == std::string_view::npos ? end : end - starts_[number]);
    }

private:
    std::string_view text_;
    std::string file_;
    std::vector<std::size_t> starts_;
};

class TreeBuilder : public YAML::EventHandler {
public:
    TreeBuilder(const LineIndex& lines, Findings& findings) : lines_(lines), findings_(findings) {}

    YamlNode take_root() { return std::move(root_); }

    void OnDocumentStart(const YAML::Mark& mark) override {
        if (documents_++ == 0) return;
        findings_.error(lines_.place(mark), "second-document",
                        "something stands after the end of the first document.",
                        "Keep one document in this file: remove the line --- and what follows, or "
                        "mend the indentation.");
        throw Abandon{};
    }
    void OnDocumentEnd() override {}

    void OnNull(const YAML::Mark& mark, YAML::anchor_t anchor) override {
        YamlNode node;
        node.kind = YamlNode::Kind::Empty;
        node.place = lines_.place(mark);
        refuse_anchor(node, anchor);
        add(std::move(node));
    }
    void OnAlias(const YAML::Mark& mark, YAML::anchor_t) override {
        YamlNode node;
        node.kind = YamlNode::Kind::Broken;
        node.place = value_place(mark);
        findings_.error(node.place, "yaml-alias", "aliases (*name) are not read here.",
                        "Write the value out.");
        add(std::move(node));
    }
    void OnScalar(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                  const std::string& value) override {
        YamlNode node;
        node.kind = YamlNode::Kind::Text;
        node.place = lines_.place(mark);
        refuse_anchor(node, anchor);
        refuse_tag(node, tag);
        if (value.size() > yaml_longest_text) {
            findings_.error(node.place, "text-too-long",
                            fmt::format("a text of {} bytes is longer than the limit of {}.",
                                        value.size(), yaml_longest_text),
                            "Shorten it.");
            node.kind = YamlNode::Kind::Broken;
        } else {
            node.text = value;
        }
        add(std::move(node));
    }
    void OnSequenceStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                         YAML::EmitterStyle::value) override {
        open(YamlNode::Kind::List, mark, tag, anchor);
    }
    void OnSequenceEnd() override { close(); }
    void OnMapStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                    YAML::EmitterStyle::value) override {
        open(YamlNode::Kind::Mapping, mark, tag, anchor);
    }
    void OnMapEnd() override {
        check_keys(stack_.back());
        close();
    }

private:
    SourcePlace value_place(const YAML::Mark& mark) const { return lines_.place(mark); }

    void refuse_anchor(const YamlNode& node, YAML::anchor_t anchor) {
        if (anchor == 0) return;
        findings_.error(node.place, "yaml-anchor", "anchors (&name) are not read here.",
                        "Write the value out where it is needed.");
    }
    void refuse_tag(const YamlNode& node, const std::string& tag) {
        if (tag.empty() || tag == "?" || tag == "!") return;
        findings_.error(node.place, "yaml-tag", "the tag " + in_quotes(tag) + " is not read here.",
                        "Write the plain value.");
    }
    void open(YamlNode::Kind kind, const YAML::Mark& mark, const std::string& tag,
              YAML::anchor_t anchor) {
        YamlNode node;
        node.kind = kind;
        node.place = lines_.place(mark);
        if (static_cast<int>(stack_.size()) >= yaml_deepest) {
            findings_.error(node.place, "nesting-too-deep",
                            fmt::format("values are nested deeper than {} levels.", yaml_deepest),
                            "No key of this file needs that.");
            throw Abandon{};
        }
        refuse_anchor(node, anchor);
        refuse_tag(node, tag);
        count(node.place);
        stack_.push_back(std::move(node));
    }
    void close() {
        YamlNode node = std::move(stack_.back());
        stack_.pop_back();
        attach(std::move(node));
    }
    void add(YamlNode node) {
        count(node.place);
        attach(std::move(node));
    }
    void count(const SourcePlace& place) {
        if (++nodes_ <= yaml_most_nodes) return;
        findings_.error(place, "too-many-values",
                        fmt::format("the file holds more than {} values.", yaml_most_nodes),
                        "Keep one room per file.");
        throw Abandon{};
    }
    void attach(YamlNode node) {
        if (stack_.empty()) {
            root_ = std::move(node);
            return;
        }
        YamlNode& parent = stack_.back();
        if (parent.kind == YamlNode::Kind::Mapping && parent.keys.size() == parent.items.size()) {
            if (node.kind != YamlNode::Kind::Text && node.kind != YamlNode::Kind::Broken) {
                findings_.error(node.place, "bad-key", "this is no key: a key is a word.",
                                "Write key: value. Put text with : or { in double quotes.");
                node.kind = YamlNode::Kind::Broken;
            }
            node.items.clear();
            node.keys.clear();
            parent.keys.push_back(std::move(node));
            return;
        }
        // An empty value's mark is that of the next token, often on another line.
        if (node.kind == YamlNode::Kind::Empty && parent.kind == YamlNode::Kind::Mapping) {
            node.place = parent.keys.back().place;
        }
        parent.items.push_back(std::move(node));
    }
    // Duplicates and merge keys are reported once, and marked so that no reader stumbles again.
    void check_keys(YamlNode& mapping) {
        std::map<std::string_view, const YamlNode*> seen;
        for (YamlNode& key : mapping.keys) {
            if (key.kind != YamlNode::Kind::Text) continue;
            if (key.text == "<<") {
                findings_.error(key.place, "yaml-merge", "merge keys (<<) are not read here.",
                                "Write the keys out.");
                key.kind = YamlNode::Kind::Broken;
                continue;
            }
            const auto [first, fresh] = seen.emplace(key.text, &key);
            if (fresh) continue;
            findings_.error(key.place, "duplicate-key",
                            fmt::format("{} stands here a second time; first in line {}.",
                                        in_quotes(key.text), first->second->place.line),
                            "Keep one of them.");
            key.kind = YamlNode::Kind::Broken;
        }
    }

    const LineIndex& lines_;
    Findings& findings_;
    std::vector<YamlNode> stack_;
    YamlNode root_;
    int documents_ = 0;
    int nodes_ = 0;
};

// What a beginner most often did, guessed from the line; yaml-cpp's own words otherwise.
std::string syntax_hint(const std::string& message, std::string_view line) {
    const std::size_t first = line.find_first_not_of(' ');
    if (first != std::string_view::npos && line[first] == '\t') {
        return "Indent with spaces: a tab stands at the start of this line.";
    }
    if (message.find("flow") != std::string::npos) {
        return "Close every [ with ] and every { with }, and put commas between what stands "
               "inside.";
    }
    if (message.find("illegal map value") != std::string::npos) {
        return "A text with a colon in it belongs in double quotes; or the indentation is uneven.";
    }
    return "Keys of one group stand exactly below each other; a text with : or # or { in it "
           "belongs in double quotes.";
}

}  // namespace

const YamlNode* YamlNode::find(std::string_view key) const {
    for (std::size_t i = 0; i < keys.size() && i < items.size(); ++i) {
        if (keys[i].kind == Kind::Text && keys[i].text == key) return &items[i];
    }
    return nullptr;
}

std::optional<YamlNode> parse_yaml(std::string_view text, Findings& findings) {
    const std::string plain = with_plain_line_ends(text);
    const LineIndex lines(plain, findings.file());
    TreeBuilder builder(lines, findings);
    try {
        std::istringstream in(plain);
        YAML::Parser parser(in);
        // Called twice at most: on the one-byte file "," every further call finds one more
        // document.
        if (parser.HandleNextDocument(builder)) parser.HandleNextDocument(builder);
    } catch (const Abandon&) {
        return std::nullopt;
    } catch (const YAML::Exception& e) {
        const std::size_t line = e.mark.line < 0 ? 0 : static_cast<std::size_t>(e.mark.line);
        findings.error(lines.place(e.mark), "yaml-syntax", "this is not YAML: " + e.msg + ".",
                       syntax_hint(e.msg, lines.line(line)));
        return std::nullopt;
    }
    YamlNode root = builder.take_root();
    if (root.place.line == 0) root.place = findings.whole_file();
    return root;
}

}  // namespace model::read
