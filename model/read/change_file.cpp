// How it works: the change's `room` is laid over the room's tree before it is read: groups key by
// key, lists by name, with `like` for a copy; the joined tree then goes through the reader of
// room.yaml, so that every rule holds for it as well.

#include "model/read/change_file.hpp"

#include <algorithm>
#include <filesystem>

#include "model/read/bytes.hpp"
#include "model/read/cross_check.hpp"
#include "model/read/scenario.hpp"

namespace model {
namespace read {

namespace {

const Table<ChangeFigures>& figures_table() {
    static const Table<ChangeFigures> table{
        row("purchase", &ChangeFigures::purchase,
            {.fallback = "0", .least = "0", .example = "9800", .help = "Paid once."}),
        row("installation", &ChangeFigures::installation,
            {.fallback = "0",
             .least = "0",
             .example = "1400",
             .help = "Circuit, ventilation, floor: by licensed trades under local codes."}),
        row("life years", &ChangeFigures::life_years,
            {.fallback = "10",
             .least = "1",
             .most = "50",
             .example = "12",
             .help = "Years until it must be bought again."}),
        row("left over", &ChangeFigures::left_over,
            {.fallback = "0",
             .least = "0",
             .example = "500",
             .help = "What it still fetches at the end of its life."}),
        row("upkeep", &ChangeFigures::upkeep,
            {.fallback = "0", .least = "0", .example = "200", .help = "Per year."}),
        row("floor area", &ChangeFigures::floor_area,
            {.fallback = "0",
             .least = "0",
             .example = "1.5",
             .help = "Square metres more than today."}),
    };
    return table;
}

bool has_names(const YamlNode& list) {
    return list.kind == YamlNode::Kind::List && !list.items.empty() &&
           std::all_of(list.items.begin(), list.items.end(), [](const YamlNode& item) {
               return item.kind == YamlNode::Kind::Mapping && item.find("name") != nullptr;
           });
}

std::string text_of(const YamlNode& mapping, std::string_view key) {
    const YamlNode* node = mapping.find(key);
    return node != nullptr ? node->text : std::string{};
}

YamlNode without(const YamlNode& mapping, std::string_view key) {
    YamlNode rest = mapping;
    for (std::size_t i = 0; i < rest.keys.size(); ++i) {
        if (rest.keys[i].text != key) continue;
        rest.keys.erase(rest.keys.begin() + static_cast<std::ptrdiff_t>(i));
        rest.items.erase(rest.items.begin() + static_cast<std::ptrdiff_t>(i));
        break;
    }
    return rest;
}

YamlNode lay_list(const YamlNode& base, const YamlNode& over, Findings& findings) {
    YamlNode out = base;
    const auto of_name = [&](const std::string& name) {
        return std::find_if(out.items.begin(), out.items.end(), [&](const YamlNode& item) {
            return item.kind == YamlNode::Kind::Mapping && text_of(item, "name") == name;
        });
    };
    for (const YamlNode& item : over.items) {
        const std::string name = text_of(item, "name");
        if (const YamlNode* like = item.find("like")) {
            const auto found = of_name(like->text);
            if (found == out.items.end()) {
                findings.error(
                    like->place, "like-nothing",
                    "the room has nothing named " + in_quotes(like->text) + " to copy here.",
                    "Name one that room.yaml has.");
                continue;
            }
            YamlNode copy = *found;
            copy = lay_over(copy, without(item, "like"), findings);
            copy.place = item.place;
            out.items.push_back(std::move(copy));
            continue;
        }
        const auto found = of_name(name);
        if (const YamlNode* remove = item.find("remove"); remove && remove->text == "yes") {
            if (found == out.items.end()) {
                findings.error(remove->place, "remove-nothing",
                               "the room has nothing named " + in_quotes(name) + " to remove.",
                               "Name one that room.yaml has.");
            } else {
                out.items.erase(found);
            }
            continue;
        }
        if (found == out.items.end()) {
            out.items.push_back(item);
        } else {
            *found = lay_over(*found, item, findings);
        }
    }
    return out;
}

}  // namespace

const Table<Change>& change_table() {
    static const Table<Change> table = [] {
        Table<Change> rows{
            row("change", &Change::name,
                {.required = true, .example = "second cabinet", .help = "Its name."}),
            row("words", &Change::words,
                {.example = "A second drying cabinet like the first.",
                 .help = "What it is, for the page."}),
            row("invented", &Change::invented,
                {.fallback = "no",
                 .example = "yes",
                 .help = "Its figures are made up; the page says so."}),
            group_row("costs", &Change::figures, figures_table(),
                      {.help = "What it costs; nothing given costs nothing."}),
        };
        return rows;
    }();
    return table;
}

YamlNode lay_over(const YamlNode& base, const YamlNode& over, Findings& findings) {
    if (has_names(over) && (base.kind == YamlNode::Kind::List)) {
        return lay_list(base, over, findings);
    }
    if (base.kind != YamlNode::Kind::Mapping || over.kind != YamlNode::Kind::Mapping) return over;
    YamlNode out = base;
    for (std::size_t i = 0; i < over.keys.size() && i < over.items.size(); ++i) {
        std::size_t at = 0;
        while (at < out.keys.size() && out.keys[at].text != over.keys[i].text)
            ++at;
        if (at == out.keys.size()) {
            out.keys.push_back(over.keys[i]);
            out.items.push_back(over.items[i]);
        } else {
            out.items[at] = lay_over(out.items[at], over.items[i], findings);
        }
    }
    return out;
}

}  // namespace read

namespace {

using namespace read;

std::optional<YamlNode> change_tree(Findings& findings) {
    const auto text = load(findings.file(), yaml_most_bytes, Missing::Error, findings);
    if (!text || !check_text(*text, findings)) return std::nullopt;
    auto tree = parse_yaml(*text, findings);
    if (tree && (!expect_content(findings, *tree, "Begin with change: and a name.") ||
                 !expect_mapping(findings, *tree, "change")))
        return std::nullopt;
    return tree;
}

}  // namespace

std::optional<Change> read_change(const std::string& path, Diagnostics& diagnostics) {
    const std::size_t before = diagnostics.error_count();
    Findings findings(path, diagnostics);
    const auto tree = change_tree(findings);
    if (!tree) return std::nullopt;
    Change change;
    change.place = tree->place;
    read_mapping(findings, change_table(), without(*tree, "room"), "change", change);
    if (diagnostics.error_count() > before) return std::nullopt;
    return change;
}

std::optional<Scenario> read_changed_scenario(const std::string& folder,
                                              const std::vector<std::string>& change_paths,
                                              Diagnostics& diagnostics, const RunDay& run) {
    Sources sources;
    auto scenario = read_with_sources(folder, diagnostics, run, sources);
    if (!scenario || change_paths.empty()) return scenario;
    const std::size_t before = diagnostics.error_count();
    Findings room_findings((std::filesystem::path(folder) / "room.yaml").string(), diagnostics);
    const auto text = load(room_findings.file(), yaml_most_bytes, Missing::Error, room_findings);
    auto tree = text ? parse_yaml(*text, room_findings) : std::nullopt;
    if (!tree) return std::nullopt;
    std::string names;
    for (const auto& path : change_paths) {
        Findings findings(path, diagnostics);
        const auto change = change_tree(findings);
        if (!change) return std::nullopt;
        names += (names.empty() ? "" : " + ") + text_of(*change, "change");
        if (const YamlNode* room = change->find("room")) {
            *tree = lay_over(*tree, *room, findings);
        }
    }
    Room room;
    read_room(*tree, room_findings, room);
    check_room(room, *tree, room_findings);
    scenario->room = std::move(room);
    if (diagnostics.error_count() > before) return std::nullopt;
    // What today's room finds has been said; orders may want what the change takes away.
    Diagnostics changed;
    Findings order_findings((std::filesystem::path(folder) / "orders.csv").string(), changed);
    Findings frame_findings((std::filesystem::path(folder) / "frames.csv").string(), changed);
    Findings step_findings(room_findings.file(), changed);
    check_orders(*scenario, sources, order_findings);
    check_frames(*scenario, sources, frame_findings);
    check_steps(*scenario, *tree, step_findings);
    for (const Diagnostic& d : changed.all()) {
        const auto& known = diagnostics.all();
        if (std::find(known.begin(), known.end(), d) != known.end()) continue;
        const std::string message = "with the change " + in_quotes(names) + ": " + d.message;
        if (d.severity == Severity::Error)
            diagnostics.error(d.place, d.code, message, d.hint);
        else
            diagnostics.warning(d.place, d.code, message, d.hint);
    }
    if (diagnostics.error_count() > before) return std::nullopt;
    return scenario;
}

}  // namespace model
