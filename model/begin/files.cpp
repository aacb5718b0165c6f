// How it works: each part of room.yaml is a function that adds its lines. The example day takes
// from the frames that were named, half of which stand ready, so that it can be planned at once.

#include "model/begin/files.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "model/base/units.hpp"
#include "model/read/shift_words.hpp"
#include "model/read/spec.hpp"
#include "model/room/steps.hpp"

namespace model::begin {

namespace {

template <class E>
std::string word_of(E value) {
    for (const auto& [word, meant] : read::choices_of(E{})) {
        if (meant == value) return word;
    }
    return {};
}

bool two_parts(const EmulsionKind& e) {
    return e.family != EmulsionFamily::Photopolymer;
}

std::string slots(int n) {
    return n > 1 ? fmt::format(", slots: {}", n) : "";
}

// A line and, from column 48 on, what it is for.
std::string line(const std::string& text, std::string_view comment = {}) {
    if (comment.empty()) return text + "\n";
    const auto wide = static_cast<std::size_t>(
        std::count_if(text.begin(), text.end(), [](char c) { return (c & 0xC0) != 0x80; }));
    return text + std::string(wide < 46 ? 46 - wide : 1, ' ') + "# " + std::string(comment) + "\n";
}

std::string stations(const Shop& shop) {
    std::string out = line("stations:", "places of work; \"does\" names the steps");
    const std::string reclaim = "ink off, strip, haze, abrade, degrease";
    if (shop.booths == 0) {
        out += line(fmt::format("  - {{name: sink, does: [{}, wash out]{}, light-safe: yes}}",
                                reclaim, slots(shop.sinks)));
    } else {
        out += line(fmt::format("  - {{name: sink, does: [{}]{}}}", reclaim, slots(shop.sinks)));
        out += line(fmt::format("  - {{name: washout booth, does: [wash out]{}, light-safe: yes}}",
                                slots(shop.booths)));
    }
    const bool mixes = std::any_of(shop.emulsions.begin(), shop.emulsions.end(), two_parts);
    out += line(fmt::format("  - {{name: coating stand, does: [coat, face coat{}]{}, light-safe: "
                            "yes}}",
                            mixes ? ", mix" : "", slots(shop.stands)),
                "yellow light only");
    const std::string dries = "dry mesh, dry coat, dry face, dry stencil";
    if (shop.cabinet) {
        out += line("  - name: cabinet", "drying is computed from its air and what hangs in it");
        out += line(fmt::format("    does: [{}]", dries));
        out += line(fmt::format("    slots: {}", *shop.cabinet), "screens at once");
        out += line("    light-safe: yes");
        const std::string air = shop.fresh_air.empty()
                                    ? fmt::format("{} m³/h", std::max(100, 15 * *shop.cabinet))
                                    : shop.fresh_air;
        out += line(fmt::format("    air: {{temperature: {}, fresh air: {}}}", shop.warm, air),
                    shop.fresh_air.empty() ? "a guess: see the fan's plate" : "");
    } else {
        out += line(fmt::format("  - {{name: drying rack, does: [{}], slots: {}, light-safe: yes}}",
                                dries, shop.rack));
    }
    out +=
        line(fmt::format("  - {{name: rack, does: [take out, touch-up dry], slots: {}, "
                         "light-safe: yes}}",
                         std::max(12, 2 * shop.cabinet.value_or(shop.rack))));
    for (int n = 1; n <= shop.units; ++n) {
        const std::string number = shop.units > 1 ? fmt::format(" {}", n) : "";
        const std::string distance =
            shop.emulsions.front().distance.empty() ? "110 cm" : shop.emulsions.front().distance;
        out += line(fmt::format("  - name: exposure unit{}", number));
        out += line("    does: [expose, post-harden]");
        out += line("    light-safe: yes");
        out +=
            line(fmt::format("    lamp: {{kind: {}, distance: {}}}", word_of(shop.lamp), distance));
        if (!shop.blanket.empty())
            out += line("    blanket: " + shop.blanket, "screens that fit share an exposure");
    }
    out += line("  - {name: light table, does: [inspect]}");
    return out;
}

std::string list_of(const std::vector<std::string>& entries) {
    std::string out;
    for (const std::string& entry : entries)
        out += (out.empty() ? "" : ", ") + entry;
    return entries.size() == 1 && out.find(',') == std::string::npos ? out : "[" + out + "]";
}

std::string people(const Shop& shop) {
    std::string out = line("people:", "carrying is everybody's");
    for (const Worker& worker : shop.people) {
        out += line("  - name: " + worker.name);
        out += line("    can: " + worker.can,
                    worker.can == "take out" ? "carries, and nothing else" : "");
        // "Mon, Wed 7:00-15:30" has a comma of its own.
        std::vector<std::string> shifts = worker.shifts;
        for (std::string& s : shifts) {
            if (s.find(',') != std::string::npos) s = "\"" + s + "\"";
        }
        out += line("    shifts: " + list_of(shifts));
        if (!worker.breaks.empty()) out += line("    breaks: " + list_of(worker.breaks));
    }
    return out;
}

std::string usual_time(EmulsionFamily family) {
    switch (family) {
        case EmulsionFamily::Photopolymer:
            return "25 s";
        case EmulsionFamily::DualCure:
            return "90 s";
        case EmulsionFamily::Diazo:
            return "3 min";
    }
    return {};
}

std::string material(const Shop& shop, LocalDate today) {
    std::string out = line("meshes:", "names that orders.csv and frames.csv use");
    for (const MeshKind& mesh : shop.meshes) {
        out += line(fmt::format("  - {{name: {}, count: {} /cm, thread: {} µm}}", mesh.name,
                                std::round(mesh.count * 10) / 10, mesh.thread));
    }
    out += "\n" + line("emulsions:");
    for (const EmulsionKind& e : shop.emulsions) {
        out += line("  - name: " + e.name);
        out += line("    family: " + word_of(e.family),
                    two_parts(e) ? "mixed from two parts, then it stands 75 min" : "comes ready");
        out += line(fmt::format("    exposure: {{time: {}, distance: {}, coat plan: {}, mesh: {}}}",
                                e.time.empty() ? usual_time(e.family) : e.time,
                                e.distance.empty() ? "110 cm" : e.distance,
                                e.plan.empty() ? shop.coats.front().name : e.plan,
                                e.mesh.empty() ? shop.meshes.front().name : e.mesh),
                    e.time.empty() ? "a guess: see coatroom dose --wedge" : "your step wedge");
    }
    out += "\n" + line("pots:", "what stands there now");
    int number = 0;
    for (const EmulsionKind& e : shop.emulsions) {
        const std::string mixed =
            two_parts(e) ? fmt::format(", mixed: {} 9:00", format_date(today)) : "";
        out += line(fmt::format("  - {{name: pot {}, emulsion: {}, volume: 1 kg{}}}", ++number,
                                e.name, mixed));
        if (two_parts(e))
            out +=
                line(fmt::format("  - {{name: pot {}, emulsion: {}, volume: 1 kg, needs mixing: "
                                 "yes}}",
                                 ++number, e.name));
    }
    out += "\n" + line("coat plans:", "coats on the print side, then on the squeegee side");
    for (const CoatKind& coat : shop.coats) {
        out += line(fmt::format(
            "  - {{name: {}, print side: {}, squeegee side: {}{}, coat time: {}}}", coat.name,
            coat.print_side, coat.squeegee_side,
            coat.face > 0 ? fmt::format(", face coats: {}", coat.face) : "",
            coat.time.empty() ? fmt::format("{} min", coat.print_side + coat.squeegee_side)
                              : coat.time));
    }
    return out;
}

std::string rest(const Shop& shop) {
    std::string out = line("climate:");
    out += line("  air: {temperature: 21 °C, humidity: 50 %}", "a thermometer with hygrometer");
    const auto large = Area{Centimetres{80}, Centimetres{110}};
    const bool heavy = std::any_of(shop.frames.begin(), shop.frames.end(), [&](const FrameKind& f) {
        const auto size = parse_size(f.size).value.value_or(Area{});
        return std::max(size.width.value, size.height.value) > large.height.value ||
               std::min(size.width.value, size.height.value) > large.width.value;
    });
    if (heavy && shop.people.size() > 1) {
        out += "\n" + line("limits:");
        out +=
            line("  two people above: " + format_size(large), "larger frames are carried by two");
    }
    out +=
        "\n# Minutes of the trade. Take the # away where yours are others: the person's time, and\n"
        "# what stands alone after it.\n# times:\n";
    for (const StepRow& row : step_rows()) {
        if (row.dries == Dries::ByAir || row.step == Step::Coat) continue;
        const auto words = [](Seconds s) { return format_duration(s); };
        out += row.usual.stand.count() > 0
                   ? fmt::format("#   {}: {{attended: {}, stands: {}}}\n", row.word,
                                 words(row.usual.attended), words(row.usual.stand))
                   : fmt::format("#   {}: {}\n", row.word, words(row.usual.attended));
    }
    return out;
}

std::string room_yaml(const Shop& shop, const std::string& name, LocalDate today) {
    std::string out =
        "# Written by coatroom begin from ten answers (answers.txt). Change it line by line into "
        "your\n"
        "# own room; what stands after # is for people, docs/input.md lists every key.\n";
    out += line("room: " + name) + "\n";
    out += stations(shop) + "\n" + people(shop) + "\n" + material(shop, today) + "\n" + rest(shop);
    return out;
}

// ---- the example day ------------------------------------------------------------------------

struct Hours {
    Seconds from = hours(7);
    Seconds to = hours(15);
};

// From the first beginning to the last end of anybody's shift.
Hours hours_of(const Shop& shop) {
    std::optional<Hours> all;
    for (const Worker& worker : shop.people) {
        for (const std::string& text : worker.shifts) {
            const auto shift = read::parse_shift(text).value;
            if (!shift) continue;
            if (!all) all = Hours{shift->from, shift->to};
            all->from = std::min(all->from, shift->from);
            all->to = std::max(all->to, shift->to);
        }
    }
    return all.value_or(Hours{});
}

// So long after the midnight before the run, to the quarter of an hour: a night shift ends
// tomorrow.
std::string due_words(Seconds t) {
    const Seconds rounded = std::min(t / minutes(15) * minutes(15), hours(47));
    const bool tomorrow = rounded >= hours(24);
    return (tomorrow ? "tomorrow " : "") +
           format_time_of_day(SimTime{} + rounded - (tomorrow ? hours(24) : Seconds{0}));
}

int ready_of(const FrameKind& f) {
    return (f.count + 1) / 2;
}

std::string orders_csv(const Shop& shop) {
    std::string out =
        "# An example day, invented: what must be ready, one line for each kind of screen. Lines "
        "with\n"
        "# the same order belong together. A time alone is of the day that is planned; Tue 9:00,\n"
        "# tomorrow 9:00 and 1 Dec 14:00 will do as well. More columns: docs/input.md.\n"
        "order,job,due,priority,count,mesh,frame,emulsion,coat plan\n";
    std::vector<int> left;
    int most = 0;
    for (const FrameKind& f : shop.frames) {
        left.push_back(ready_of(f));
        most += ready_of(f);
    }
    const Hours day = hours_of(shop);
    const Seconds span = std::min(day.to - day.from, hours(10));
    most = std::min(
        {most, 2 * shop.cabinet.value_or(shop.rack), 4 * static_cast<int>(shop.people.size()) + 1});
    struct Wish {
        const char* name;
        const char* job;
        int screens;
        double due;  // share of the day
        const char* priority;
    };
    constexpr Wish wishes[] = {
        {"T1", "team shirts", 2, 0.6, "important"},  {"P1", "concert poster", 3, 0.85, "normal"},
        {"B1", "tote bags", 1, 0, "normal"},         {"L1", "labels", 2, 0.75, "normal"},
        {"F1", "festival shirts", 4, 1.0, "normal"}, {"M1", "menu cards", 2, 1.0, "normal"},
        {"A1", "art print", 5, 0, "important"}};
    std::size_t kind = 0;
    std::size_t number = 0;
    for (const Wish& wish : wishes) {
        const EmulsionKind& emulsion = shop.emulsions[number % shop.emulsions.size()];
        const CoatKind& coat = shop.coats[(shop.coats.size() - 1 + number) % shop.coats.size()];
        ++number;
        int screens = std::min(wish.screens, most);
        for (std::size_t tried = 0; tried < shop.frames.size() && screens > 0; ++tried) {
            const FrameKind& f = shop.frames[kind];
            const int n = std::min(screens, left[kind]);
            if (n > 0) {
                const std::string due = due_words(
                    wish.due > 0 ? day.from + Seconds{static_cast<std::int64_t>(
                                                  static_cast<double>(span.count()) * wish.due)}
                                 : day.from + hours(26));
                out += fmt::format("{},{},{},{},{},{},{},{},{}\n", wish.name, wish.job, due,
                                   wish.priority, n, f.mesh, f.size, emulsion.name, coat.name);
                left[kind] -= n;
                screens -= n;
                most -= n;
            }
            kind = (kind + 1) % shop.frames.size();
        }
    }
    return out;
}

std::string frames_csv(const Shop& shop) {
    std::string out =
        "# What stands in the frame store: count yours. States: ready (clean), inky (ink and "
        "stencil\n"
        "# on it), old stencil (ink is off), new mesh (never used), coated, kept stencil.\n"
        "size,mesh,state,count\n";
    for (const FrameKind& f : shop.frames) {
        const int used = f.count - ready_of(f);
        const auto add = [&](const char* state, int n) {
            if (n > 0) out += fmt::format("{},{},{},{}\n", f.size, f.mesh, state, n);
        };
        add("ready", ready_of(f));
        add("old stencil", used - used / 2);
        add("inky", used / 2);
    }
    return out;
}

std::string answers_txt(const std::vector<Answer>& answers) {
    std::string out =
        "# The answers that made this room: coatroom begin ANOTHER_ROOM --answers answers.txt\n";
    for (std::size_t i = 0; i < questions().size() && i < answers.size(); ++i)
        out += fmt::format("\n# {}\n{}: {}\n", questions()[i].ask, questions()[i].key,
                           answers[i].text);
    return out;
}

}  // namespace

std::vector<NewFile> files_of(const Shop& shop, const std::string& name, LocalDate today,
                              const std::vector<Answer>& answers) {
    return {{"room.yaml", room_yaml(shop, name, today)},
            {"orders.csv", orders_csv(shop)},
            {"frames.csv", frames_csv(shop)},
            {"answers.txt", answers_txt(answers)}};
}

}  // namespace model::begin
