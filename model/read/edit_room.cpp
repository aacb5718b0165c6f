#include "model/read/edit_room.hpp"

#include "model/read/bytes.hpp"
#include "model/read/room_file.hpp"
#include "model/read/yaml.hpp"

namespace model {

namespace {

using read::YamlNode;

/// Where a one-line scalar that begins at `at` ends.
std::size_t end_of_scalar(const std::string& text, std::size_t at) {
    if (text[at] == '"' || text[at] == '\'') {
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
    std::size_t end = at;
    while (end < text.size() && text[end] != '\n' && text[end] != '\r' && text[end] != ',' &&
           text[end] != '}' && text[end] != ']' &&
           !(text[end] == '#' && end > at && (text[end - 1] == ' ' || text[end - 1] == '\t')))
        ++end;
    while (end > at && (text[end - 1] == ' ' || text[end - 1] == '\t'))
        --end;
    return end;
}

struct RoomText {
    Room room;
    YamlNode tree;
};

std::optional<RoomText> reading(const std::string& text) {
    Diagnostics diagnostics;
    read::Findings findings("room.yaml", diagnostics);
    RoomText r;
    if (!read::check_text(text, findings) ||
        !read::read_room(read::with_plain_line_ends(text), findings, r.room, r.tree) ||
        findings.count() > 0)
        return std::nullopt;
    return r;
}

const YamlNode* time_of(const YamlNode& tree, const std::string& emulsion) {
    const YamlNode* list = tree.find("emulsions");
    if (list == nullptr) return nullptr;
    for (const YamlNode& item : list->items) {
        const YamlNode* name = item.find("name");
        if (name == nullptr || name->text != emulsion) continue;
        const YamlNode* exposure = item.find("exposure");
        const YamlNode* time = exposure != nullptr ? exposure->find("time") : nullptr;
        return time != nullptr && time->kind == YamlNode::Kind::Text ? time : nullptr;
    }
    return nullptr;
}

}  // namespace

std::optional<std::string> with_exposure_time(const std::string& text, const std::string& emulsion,
                                              Seconds time, std::string& problem) {
    const std::string mark = text.starts_with("\xEF\xBB\xBF") ? text.substr(0, 3) : "";
    std::string body = text.substr(mark.size());
    const auto before = reading(body);
    if (!before) {
        problem = "the room file has errors; coatroom check names them";
        return std::nullopt;
    }
    const YamlNode* node = time_of(before->tree, emulsion);
    if (node == nullptr) {
        problem = "emulsion " + emulsion + " has no line \"exposure: {time: ...}\" to change";
        return std::nullopt;
    }
    const std::size_t from = read::byte_of(body, node->place);
    if (from >= body.size()) {
        problem = "the place of the time was not found";
        return std::nullopt;
    }
    body.replace(from, end_of_scalar(body, from) - from, std::to_string(time.count()) + " s");
    auto wanted = before->room;
    for (Emulsion& e : wanted.emulsions) {
        if (e.name == emulsion) e.base_exposure = time;
    }
    const auto after = reading(body);
    if (!after || !(after->room == wanted)) {
        problem =
            "the file is written in a way that cannot be changed in place; change the line "
            "by hand";
        return std::nullopt;
    }
    return mark + body;
}

}  // namespace model
