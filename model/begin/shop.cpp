// How it works: one function for each question. Each cuts its answer at commas or semicolons and
// leaves quantities, shifts, breaks and steps to the parsers that read room.yaml, so that whatever
// is taken here is taken there.

#include "model/begin/shop.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <functional>

#include "model/base/name.hpp"
#include "model/base/units.hpp"
#include "model/read/shift_words.hpp"
#include "model/read/spec.hpp"
#include "model/room/steps.hpp"

namespace model::begin {

namespace {

std::string trimmed(std::string_view text) {
    while (!text.empty() && text.front() == ' ')
        text.remove_prefix(1);
    while (!text.empty() && text.back() == ' ')
        text.remove_suffix(1);
    return std::string(text);
}

std::string small(std::string_view text) {
    std::string out(text);
    for (char& c : out)
        c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    return out;
}

// Parts between separators that stand in no bracket; empty ones are dropped.
std::vector<std::string> parts_of(std::string_view text, std::string_view separators) {
    std::vector<std::string> parts(1);
    int depth = 0;
    for (const char c : text) {
        depth += c == '(' ? 1 : c == ')' ? -1 : 0;
        if (depth == 0 && separators.find(c) != std::string_view::npos) {
            parts.emplace_back();
        } else {
            parts.back() += c;
        }
    }
    std::vector<std::string> out;
    for (const std::string& part : parts) {
        if (std::string t = trimmed(part); !t.empty()) out.push_back(std::move(t));
    }
    return out;
}

bool plain_name(const std::string& name) {
    if (name.size() > 60 || !name_problem(name).empty()) return false;
    return std::all_of(name.begin(), name.end(), [](char c) {
        const auto u = static_cast<unsigned char>(c);
        return std::isalnum(u) || u >= 0x80 || c == ' ' || c == '-' || c == '\'' || c == '.' ||
               c == '+' || c == '/';
    });
}

// The number that the text begins with; what is left is trimmed.
std::optional<int> leading_number(std::string& text) {
    std::size_t n = 0;
    while (n < text.size() && n < 4 && text[n] >= '0' && text[n] <= '9')
        ++n;
    if (n == 0) return std::nullopt;
    const int value = std::stoi(text.substr(0, n));
    text = trimmed(text.substr(n));
    return value;
}

bool holds(const std::string& text, std::string_view word) {
    return small(text).find(word) != std::string::npos;
}

// ---- people ---------------------------------------------------------------------------------

// What somebody can do, as room.yaml writes it; "" with a problem.
std::string can_of(const std::string& text, std::string& problem) {
    const std::string words = small(text);
    if (words == "everything") return words;
    if (words.starts_with("only carr") || words == "helper" || words == "carrying")
        return "take out";
    std::string list = words;
    bool all_but = false;
    for (const std::string_view head : {"everything but ", "all but ", "not ", "no "}) {
        if (!list.starts_with(head)) continue;
        list.erase(0, head.size());
        all_but = true;
        break;
    }
    if (list.starts_with("only ")) list.erase(0, 5);
    // The reader of room.yaml knows the words of the steps.
    Diagnostics found;
    read::Findings findings("answer", found);
    read::KeySpec spec = read::spec_of("can", read::Kind::StepWord, {});
    spec.choices = {"everything"};
    std::vector<std::string> steps = parts_of(list, ",");
    std::vector<std::string> split;
    for (const std::string& step : steps) {
        for (std::size_t at = 0; at < step.size();) {
            const std::size_t end = std::min(step.find(" and ", at), step.size());
            split.push_back(trimmed(step.substr(at, end - at)));
            at = end + 5;
        }
    }
    std::string said;
    for (const std::string& step : split)
        said += (said.empty() ? "" : ", ") + step;
    read::YamlNode node;
    node.kind = all_but ? read::YamlNode::Kind::Text : read::YamlNode::Kind::List;
    node.text = "everything but " + said;
    for (const std::string& step : split) {
        read::YamlNode item;
        item.text = step;
        item.kind = read::YamlNode::Kind::Text;
        node.items.push_back(item);
    }
    std::vector<Step> out;
    read::read_steps(findings, spec, node, true, out);
    if (found.has_errors()) {
        problem = found.all().front().message + " " + found.all().front().hint;
        return {};
    }
    return all_but ? "everything but " + said : "[" + said + "]";
}

std::string read_people(const std::string& text, Shop& shop) {
    shop.people.clear();
    for (const std::string& part : parts_of(text, ",;")) {
        const std::size_t open = part.find('(');
        Worker worker;
        worker.name = trimmed(part.substr(0, open));
        if (!plain_name(worker.name))
            return fmt::format("\"{}\" is no name. Write names with commas: Ada, Ben", part);
        for (const Worker& other : shop.people) {
            if (small(other.name) == small(worker.name))
                return fmt::format("{} stands there twice. Tell them apart: {} K", worker.name,
                                   worker.name);
        }
        if (open != std::string::npos) {
            if (part.back() != ')') return "A bracket is not closed. Write it like Ben (not coat)";
            std::string problem;
            worker.can = can_of(trimmed(part.substr(open + 1, part.size() - open - 2)), problem);
            if (!problem.empty()) return problem;
        }
        shop.people.push_back(std::move(worker));
    }
    return shop.people.empty() ? "Write one name at least." : "";
}

// Entries of all and of single people ("Ben 30 min at 13:00"): whoever has entries of his own has
// those alone. Of what is for all somebody has what suits him.
std::string give_out(
    const std::string& text, Shop& shop, std::vector<std::string> Worker::*member,
    const std::function<std::string(const std::string&)>& problem_of,
    const std::function<bool(const Worker&, const std::string&)>& suits = {},
    const std::function<std::vector<std::string>(const std::string&)>& several = {}) {
    std::vector<std::string> for_all;
    std::map<std::string, std::vector<std::string>> own;
    for (std::string entry : parts_of(text, ";")) {
        const Worker* whose = nullptr;
        for (const Worker& worker : shop.people) {
            const std::size_t n = worker.name.size();
            const bool named = small(entry).starts_with(small(worker.name)) && entry.size() > n &&
                               (entry[n] == ' ' || entry[n] == ':');
            if (named && (whose == nullptr || n > whose->name.size())) whose = &worker;
        }
        if (whose != nullptr) {
            entry = trimmed(entry.substr(whose->name.size()));
            if (entry.front() == ':') entry = trimmed(entry.substr(1));
        }
        auto& list = whose != nullptr ? own[whose->name] : for_all;
        if (small(entry) == "none") continue;
        for (const std::string& one : several ? several(entry) : std::vector{entry}) {
            if (const std::string problem = problem_of(one); !problem.empty())
                return fmt::format("\"{}\" {}", one, problem);
            list.push_back(one);
        }
    }
    for (Worker& worker : shop.people) {
        const auto found = own.find(worker.name);
        worker.*member = found != own.end() ? found->second : for_all;
        if (found == own.end() && suits)
            std::erase_if(worker.*member, [&](const auto& entry) { return !suits(worker, entry); });
    }
    return {};
}

// "Mon-Fri 7:00-11:00, 13:00-17:00" is two shifts of the same days; "Mon, Wed 8:00-12:00" is one.
std::vector<std::string> shifts_of(const std::string& entry) {
    constexpr std::string_view also = " and ", digits = "0123456789";
    std::string with_commas = entry;
    for (std::size_t at; (at = small(with_commas).find(also)) != std::string::npos;)
        with_commas.replace(at, also.size(), ",");
    std::vector<std::string> out;
    std::string days, begun;
    for (const std::string& part : parts_of(with_commas, ",")) {
        begun += (begun.empty() ? "" : ", ") + part;
        const std::size_t hours = begun.find_first_of(digits);
        if (hours == std::string::npos) continue;
        if (hours > 0) days = begun.substr(0, hours);
        out.push_back(hours > 0 ? begun : days + begun);
        begun.clear();
    }
    if (!begun.empty()) out.push_back(begun);
    return out;
}

std::string read_hours(const std::string& text, Shop& shop) {
    const auto problem = give_out(
        text, shop, &Worker::shifts,
        [](const std::string& entry) {
            const auto shift = read::parse_shift(entry);
            return shift.value ? "" : shift.problem + ". Write it like Mon-Fri 7:00-15:30";
        },
        {}, shifts_of);
    if (!problem.empty()) return problem;
    for (const Worker& worker : shop.people) {
        if (worker.shifts.empty())
            return fmt::format("{} has no hours. Write: {} Mon-Fri 7:00-15:30", worker.name,
                               worker.name);
    }
    return {};
}

// Whether a break can be had in one of the shifts, of the evening before or of the day.
bool lies_in_a_shift(const Worker& worker, const std::string& entry) {
    const auto pause = read::parse_break(entry).value;
    return std::any_of(worker.shifts.begin(), worker.shifts.end(), [&](const std::string& words) {
        const auto shift = read::parse_shift(words).value;
        if (!pause || !shift) return true;  // said elsewhere
        for (const Seconds later : {Seconds{0}, Seconds{std::chrono::days{1}}}) {
            const Seconds begins = std::max(pause->earliest + later, shift->from);
            if (begins <= pause->latest + later && begins + pause->length <= shift->to) return true;
        }
        return false;
    });
}

std::string read_breaks(const std::string& text, Shop& shop) {
    return give_out(
        text, shop, &Worker::breaks,
        [](const std::string& entry) {
            const auto pause = read::parse_break(entry);
            return pause.value ? "" : pause.problem + ". Write it like 30 min at 12:00";
        },
        lies_in_a_shift);
}

// ---- places ---------------------------------------------------------------------------------

std::string read_sinks(const std::string& text, Shop& shop) {
    shop.sinks = 1;
    shop.booths = holds(text, "booth") ? 1 : 0;
    for (std::string part : parts_of(text, ",;")) {
        const auto number = leading_number(part);
        if (!holds(part, "sink") && !holds(part, "booth") && !(number && part.empty()))
            return fmt::format("\"{}\" is neither sink nor booth. Write: 1 sink, 1 booth", part);
        if (number && (*number < 1 || *number > 20)) return "Write a number from 1 to 20.";
        (holds(part, "booth") ? shop.booths : shop.sinks) = number.value_or(1);
    }
    return {};
}

std::string read_stands(const std::string& text, Shop& shop) {
    shop.stands = shop.units = 1;
    shop.lamp = LampKind::Led;
    shop.blanket.clear();
    for (std::string part : parts_of(text, ",;")) {
        const auto& kinds = read::choices_of(LampKind{});
        const auto kind = std::find_if(kinds.begin(), kinds.end(),
                                       [&](const auto& k) { return small(part) == k.first; });
        if (kind != kinds.end()) {
            shop.lamp = kind->second;
            continue;
        }
        if (small(part).starts_with("blanket")) {
            shop.blanket = trimmed(part.substr(7));
            if (!parse_size(shop.blanket).value)
                return "The blanket has no size. Write: blanket 110 x 140 cm";
            continue;
        }
        const auto number = leading_number(part);
        const bool stand = holds(part, "stand") || (number && part.empty());
        const bool unit = holds(part, "unit") || holds(part, "expos");
        if (!stand && !unit)
            return fmt::format("\"{}\" is not understood. Write: 1 stand, 1 unit, led", part);
        if (number && (*number < 1 || *number > 20)) return "Write a number from 1 to 20.";
        (stand ? shop.stands : shop.units) = number.value_or(1);
    }
    return {};
}

std::string read_cabinet(const std::string& text, Shop& shop) {
    shop.cabinet.reset();
    shop.warm = "36 °C";
    shop.fresh_air.clear();
    bool none = false;
    for (const std::string& part : parts_of(text, ",;")) {
        if (const auto warm = parse_temperature(part); warm.value) {
            if (warm.value->value > 40.0 || warm.value->value < 20.0)
                return fmt::format(
                    "{} is not between 20 °C and 40 °C: warmer air hardens the "
                    "layer. Write it like 36 °C",
                    part);
            shop.warm = part;
            continue;
        }
        if (parse_air_flow(part).value) {
            shop.fresh_air = part;
            continue;
        }
        std::string words = part;
        if (small(words) == "none" || small(words) == "no cabinet") {
            none = true;
            continue;
        }
        const std::size_t digit = words.find_first_of("0123456789");
        if (digit == std::string::npos)
            return fmt::format("\"{}\" is not understood. Write: 10 screens, 36 °C", part);
        std::string rest = words.substr(digit);
        const auto number = leading_number(rest);
        if (!number || *number < 1 || *number > 500 ||
            rest.find_first_of("0123456789") != std::string::npos)
            return fmt::format("\"{}\" is not understood. Write: 10 screens, 36 °C", part);
        if (none) {
            shop.rack = *number;
        } else {
            shop.cabinet = *number;
        }
    }
    if (!none && !shop.cabinet) return "How many screens? Write: 10 screens, 36 °C";
    return {};
}

// ---- frames ---------------------------------------------------------------------------------

// Usual threads of plain-weave polyester by count per cm: nearest. Common practice, no source.
double usual_thread(double count) {
    constexpr std::array<std::pair<double, double>, 11> usual{{{15, 200},
                                                               {24, 120},
                                                               {32, 100},
                                                               {43, 80},
                                                               {55, 64},
                                                               {77, 55},
                                                               {90, 48},
                                                               {100, 40},
                                                               {120, 34},
                                                               {140, 34},
                                                               {150, 31}}};
    const auto near =
        std::min_element(usual.begin(), usual.end(), [&](const auto& a, const auto& b) {
            return std::abs(a.first - count) < std::abs(b.first - count);
        });
    return near->second;
}

std::optional<MeshKind> mesh_of(std::string text) {
    MeshKind mesh;
    const std::size_t dash = text.find('-');
    if (dash != std::string::npos) {
        const auto count = parse_number(text.substr(0, dash));
        const auto thread = parse_number(text.substr(dash + 1));
        if (!count.value || !thread.value) return std::nullopt;
        mesh = {trimmed(text), *count.value, *thread.value};
    } else {
        if (parse_number(text).value) text += " /cm";
        const auto count = parse_threads(text);
        if (!count.value) return std::nullopt;
        mesh.count = count.value->value;
        mesh.thread = usual_thread(mesh.count);
        mesh.name = fmt::format("{:.0f}-{:.0f}", mesh.count, mesh.thread);
    }
    const bool possible = mesh.count >= 5 && mesh.count <= 250 && mesh.thread >= 10 &&
                          mesh.thread <= 500 && mesh.count * mesh.thread < 9500;
    return possible ? std::optional{mesh} : std::nullopt;
}

std::string read_frames(const std::string& text, Shop& shop) {
    constexpr std::string_view how = "Write it like 8 of 58 x 84 cm 77-55";
    shop.frames.clear();
    shop.meshes.clear();
    std::string size;
    for (const std::string& part : parts_of(text, ";,")) {
        std::string rest = part;
        const auto number = leading_number(rest);
        if (!number || !small(rest).starts_with("of "))
            return fmt::format("\"{}\" does not say how many of what. {}", part, how);
        rest = trimmed(rest.substr(3));
        if (*number < 1 || *number > 500) return "Write a number of frames from 1 to 500.";
        // The longest beginning that is a size; the mesh is what is left.
        std::size_t cut = 0;
        for (std::size_t at = rest.find(' '); at != std::string::npos;
             at = rest.find(' ', at + 1)) {
            if (parse_size(rest.substr(0, at)).value) cut = at;
        }
        if (cut > 0) {
            size = format_size(*parse_size(rest.substr(0, cut)).value);
            rest = trimmed(rest.substr(cut));
        }
        if (size.empty()) return fmt::format("\"{}\" has no size. {}", part, how);
        const auto mesh = mesh_of(rest);
        if (!mesh)
            return fmt::format(
                "\"{}\" is no mesh. Write its count and thread, like 77-55, or its "
                "count alone",
                rest);
        const bool known = std::any_of(shop.meshes.begin(), shop.meshes.end(),
                                       [&](const MeshKind& m) { return m.name == mesh->name; });
        if (!known) shop.meshes.push_back(*mesh);
        shop.frames.push_back({*number, size, mesh->name});
    }
    return shop.frames.empty() ? std::string(how) : "";
}

// ---- emulsion, exposure, coats --------------------------------------------------------------

std::string read_emulsion(const std::string& text, Shop& shop) {
    shop.emulsions.clear();
    for (const std::string& part : parts_of(text, ";,")) {
        const std::size_t colon = part.find(':');
        const std::string family = small(trimmed(part.substr(0, colon)));
        const auto& known = read::choices_of(EmulsionFamily{});
        const auto found = std::find_if(known.begin(), known.end(),
                                        [&](const auto& k) { return k.first == family; });
        if (found == known.end())
            return fmt::format(
                "\"{}\" is no kind of emulsion. Write photopolymer, dual-cure or "
                "diazo",
                part);
        EmulsionKind emulsion;
        emulsion.family = found->second;
        emulsion.name = colon == std::string::npos ? family : trimmed(part.substr(colon + 1));
        if (!plain_name(emulsion.name)) return "Write a plain name behind the colon.";
        for (const EmulsionKind& other : shop.emulsions) {
            if (other.name == emulsion.name)
                return fmt::format("{} stands there twice. Give each a name: dual-cure: blue",
                                   emulsion.name);
        }
        shop.emulsions.push_back(std::move(emulsion));
    }
    return shop.emulsions.empty() ? "Write one kind of emulsion at least." : "";
}

std::string read_exposure(const std::string& text, Shop& shop) {
    const auto parts = parts_of(text, ";");
    if (parts.size() > shop.emulsions.size())
        return "There are more exposures than emulsions. Write one for each";
    for (EmulsionKind& e : shop.emulsions)
        e.time = e.distance = e.plan = e.mesh = {};
    for (std::size_t i = 0; i < parts.size(); ++i) {
        if (small(parts[i]) == "usual") continue;
        constexpr std::string_view how = "Write it like 25 s at 110 cm, of 2+2 on 77-55";
        EmulsionKind& e = shop.emulsions[i];
        const std::size_t comma = std::min(parts[i].find(','), parts[i].size());
        const std::string head = parts[i].substr(0, comma);
        const std::size_t at = head.find(" at ");
        if (at == std::string::npos) return fmt::format("The lamp's distance is missing. {}", how);
        e.time = trimmed(head.substr(0, at));
        e.distance = trimmed(head.substr(at + 4));
        if (!parse_duration(e.time).value || !parse_centimetres(e.distance).value)
            return fmt::format("\"{}\" is no time at a distance. {}", head, how);
        std::string of = comma < parts[i].size() ? trimmed(parts[i].substr(comma + 1)) : "";
        if (of.empty()) continue;
        if (of.starts_with("of ")) of = trimmed(of.substr(3));
        const std::size_t on = of.find(" on ");
        if (on == std::string::npos) return fmt::format("\"{}\" is not understood. {}", of, how);
        e.plan = trimmed(of.substr(0, on));
        const auto mesh = mesh_of(trimmed(of.substr(on + 4)));
        const bool known =
            mesh && std::any_of(shop.meshes.begin(), shop.meshes.end(),
                                [&](const MeshKind& m) { return m.name == mesh->name; });
        if (!known)
            return fmt::format("\"{}\" is none of the meshes of the frames.", of.substr(on + 4));
        e.mesh = mesh->name;
    }
    return {};
}

std::string read_coats(const std::string& text, Shop& shop) {
    shop.coats.clear();
    for (const std::string& part : parts_of(text, ";,")) {
        constexpr std::string_view how = "Write it like 2+2, or 2+2 in 4 min";
        CoatKind coat;
        const std::size_t in = part.find(" in ");
        coat.name = trimmed(part.substr(0, in));
        if (in != std::string::npos) {
            coat.time = trimmed(part.substr(in + 4));
            if (!parse_duration(coat.time).value)
                return fmt::format("\"{}\" is no time. {}", coat.time, how);
        }
        std::string rest = coat.name;
        const auto print = leading_number(rest);
        if (!print || rest.empty() || rest.front() != '+')
            return fmt::format("\"{}\" is no way of coating. {}", part, how);
        rest = trimmed(rest.substr(1));
        const auto squeegee = leading_number(rest);
        if (!squeegee || *print < 1 || *print > 2 || *squeegee < 1 || *squeegee > 5)
            return fmt::format(
                "\"{}\": 1 or 2 coats on the print side, 1 to 5 on the squeegee "
                "side. {}",
                part, how);
        coat.print_side = *print;
        coat.squeegee_side = *squeegee;
        if (!rest.empty()) {
            if (rest.front() == '+') rest = trimmed(rest.substr(1));
            coat.face = leading_number(rest).value_or(1);
            if (rest != "face" || coat.face < 1 || coat.face > 6)
                return fmt::format("\"{}\" is no way of coating. {}, 2+2 face", part, how);
        }
        for (const CoatKind& other : shop.coats) {
            if (other.name == coat.name) return coat.name + " stands there twice.";
        }
        shop.coats.push_back(std::move(coat));
    }
    if (shop.coats.empty()) return "Write one way of coating at least, like 2+2";
    for (const EmulsionKind& e : shop.emulsions) {
        const bool known =
            e.plan.empty() || std::any_of(shop.coats.begin(), shop.coats.end(),
                                          [&](const CoatKind& c) { return c.name == e.plan; });
        if (!known)
            return fmt::format("The exposure is of {}, which is not among them. Add it", e.plan);
    }
    return {};
}

}  // namespace

std::string answer(std::string_view key, const std::string& text, Shop& shop) {
    using Reader = std::string (*)(const std::string&, Shop&);
    constexpr std::pair<std::string_view, Reader> readers[] = {
        {"people", read_people}, {"hours", read_hours},       {"breaks", read_breaks},
        {"sinks", read_sinks},   {"stands", read_stands},     {"cabinet", read_cabinet},
        {"frames", read_frames}, {"emulsion", read_emulsion}, {"exposure", read_exposure},
        {"coats", read_coats},
    };
    for (const auto& [name, reader] : readers) {
        if (name == key) return reader(text, shop);
    }
    return "no such question";
}

}  // namespace model::begin
