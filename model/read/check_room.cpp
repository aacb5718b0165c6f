// How it works: one function for each kind of thing (station, person, pot, promise, walks),
// called from check_room; each looks at values only and reports at the place of the key that must
// change.

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "model/physics/exposure.hpp"
#include "model/read/cross_check.hpp"
#include "model/room/breaks.hpp"
#include "model/room/spots.hpp"
#include "model/room/steps.hpp"

namespace model::read {

namespace {

// Element i of a list at the root, the root itself when it is not there.
const YamlNode& element(const YamlNode& tree, std::string_view list, std::size_t i) {
    const YamlNode* node = tree.find(list);
    return node != nullptr && i < node->items.size() ? node->items[i] : tree;
}

template <class E>
void check_double_names(const std::vector<E>& elements, const YamlNode& tree, std::string_view list,
                        Findings& findings) {
    std::map<std::string, int> first_line;
    for (std::size_t i = 0; i < elements.size(); ++i) {
        if (elements[i].name.empty()) continue;
        const SourcePlace place = place_under(element(tree, list, i), "name");
        const auto [at, fresh] = first_line.emplace(elements[i].name, place.line);
        if (fresh) continue;
        findings.error(place, "double-name",
                       fmt::format("{}: the name {} stands in line {} already.", list,
                                   in_quotes(elements[i].name), at->second),
                       "Give each its own name.");
    }
}

void check_station(const Room& room, const Station& station, const YamlNode& node,
                   Findings& findings) {
    if (!station.light_safe) {
        for (const Step step : station.does) {
            if (!row_of(step).light_safe) continue;
            findings.error(
                place_under(node, "does"), "not-light-safe",
                fmt::format("{} does {}, but is not light-safe: the emulsion would be "
                            "exposed by the room's light.",
                            in_quotes(station.name), in_quotes(words_of(step))),
                "Write light-safe: yes if it has yellow safelight only; otherwise do this "
                "step elsewhere.");
            break;
        }
    }
    if (station.air) {
        const YamlNode* air = node.find("air");
        const YamlNode& air_node = air != nullptr ? *air : node;
        if (station.air->temperature > room.limits.dry_at_most) {
            findings.error(
                place_under(air_node, "temperature"), "cabinet-too-hot",
                fmt::format("the air of {} is set to {:.4g} °C, above the limit of {:.4g} °C: hot "
                            "air hardens the layer, and the image does not wash out.",
                            in_quotes(station.name), station.air->temperature.value,
                            room.limits.dry_at_most.value),
                fmt::format("Set it to {:.4g} °C or less.", room.limits.dry_at_most.value));
        }
        if (!room.climate) {
            findings.error(
                air_node.place, "climate-missing",
                fmt::format("{} has air, but the room has no climate to compute drying from.",
                            in_quotes(station.name)),
                "Add climate: with air: {temperature: 21 °C, humidity: 55 %}, or take air: out "
                "and give drying times.");
        }
    }
    if (station.lamp && !does_step(station, Step::Expose) &&
        !does_step(station, Step::PostHarden)) {
        findings.warning(
            place_under(node, "lamp"), "lamp-unused",
            fmt::format("{} has a lamp, but does not expose.", in_quotes(station.name)),
            "Add expose to what it does, or take the lamp out.");
    }
    // Exposures of hours and years are no plan, and beyond what a number of seconds holds.
    constexpr double least_output = 0.05;
    if (!station.lamp) return;
    const double output = physics::lamp_output(station.lamp->hours, station.lamp->output_at_1000_h);
    if (output < least_output) {
        findings.error(place_under(node, "lamp"), "lamp-worn",
                       fmt::format("{}: after {:g} h the lamp gives {:.2g} % of its light.",
                                   in_quotes(station.name), station.lamp->hours, 100.0 * output),
                       "Count hours from when this lamp was put in, or put in a new one.");
    }
}

struct ShiftSpan {
    std::size_t shift;
    Seconds from;
    Seconds to;
};

std::string weekdays_of(const std::vector<MissedBreak>& missed) {
    constexpr std::array<const char*, 7> names{"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"};
    std::string out;
    for (const MissedBreak& m : missed) {
        const int weekday = weekday_index(date_of(m.day));
        out += (out.empty() ? "" : ", ") + std::string(names[static_cast<std::size_t>(weekday)]);
    }
    return missed.size() == names.size() ? "every day" : out;
}

// Everyone gets every break of a week without absences, or hears here why not.
void check_breaks(const Person& person, const YamlNode& node, Findings& findings) {
    Person there = person;
    there.absent.clear();
    const SimTime monday =
        midnight(LocalDate{std::chrono::year{1970}, std::chrono::January, std::chrono::day{5}});
    const SimTime next_monday = monday + std::chrono::days{7};
    const BreakPlan plan = place_breaks(there, monday - std::chrono::days{1}, next_monday);
    for (std::size_t b = 0; b < person.breaks.size(); ++b) {
        const SourcePlace place = item_place(node, "breaks", b);
        std::vector<MissedBreak> outside;
        std::vector<MissedBreak> beside;
        for (const MissedBreak& m : plan.missed) {
            if (m.pause == b && m.day >= monday && m.day < next_monday)
                (m.because_of ? beside : outside).push_back(m);
        }
        const bool placed = std::any_of(plan.placed.begin(), plan.placed.end(),
                                        [&](const PlacedBreak& x) { return x.pause == b; });
        if (!placed && outside.empty() && beside.empty()) {
            findings.warning(
                place, "break-outside-shift",
                fmt::format("{}: this break lies in none of the shifts.", in_quotes(person.name)),
                "Check its time of day.");
        }
        if (!outside.empty()) {
            findings.warning(
                place, "break-outside-shift",
                fmt::format("{}: this break does not lie within the shift {}-{} ({}): nobody gets "
                            "it then.",
                            in_quotes(person.name), format_time_of_day(outside.front().shift_from),
                            format_time_of_day(outside.front().shift_to), weekdays_of(outside)),
                "Let it begin and end within the shift.");
        }
        if (!beside.empty()) {
            findings.warning(
                place, "breaks-meet",
                fmt::format("{}: this break cannot be had beside the one in line {} ({}): it is "
                            "left out then.",
                            in_quotes(person.name),
                            item_place(node, "breaks", *beside.front().because_of).line,
                            weekdays_of(beside)),
                "Give one of the two another time, or more time to begin in.");
        }
    }
}

void check_person(const Person& person, const YamlNode& node, Findings& findings) {
    // Nobody stands there so long: an end before the beginning is of the next day.
    constexpr Seconds longest = hours(16);
    std::vector<ShiftSpan> spans;
    for (std::size_t s = 0; s < person.shifts.size(); ++s) {
        const Shift& shift = person.shifts[s];
        if (shift.to - shift.from > longest) {
            findings.warning(
                item_place(node, "shifts", s), "shift-long",
                fmt::format("{}: this shift lasts {}, from {} to {}{}.", in_quotes(person.name),
                            format_duration(shift.to - shift.from),
                            format_time_of_day(SimTime{shift.from}),
                            format_time_of_day(SimTime{shift.to}),
                            shift.to > hours(24) ? " of the next day" : ""),
                "If that is not meant, exchange begin and end, or correct them.");
        }
        for (std::size_t day = 0; day < 7; ++day) {
            if (!person.shifts[s].weekdays[day]) continue;
            const Seconds midnight_of_day = hours(24) * static_cast<std::int64_t>(day);
            spans.push_back({s, midnight_of_day + person.shifts[s].from,
                             midnight_of_day + person.shifts[s].to});
        }
    }
    std::vector<bool> reported(person.shifts.size());
    for (std::size_t a = 0; a < spans.size(); ++a) {
        for (std::size_t b = a + 1; b < spans.size(); ++b) {
            // Sunday night runs into Monday: the week closes on itself.
            const auto meet = [&](Seconds shift_by) {
                return spans[a].from < spans[b].to + shift_by &&
                       spans[b].from + shift_by < spans[a].to;
            };
            if (!meet(Seconds{0}) && !meet(hours(168)) && !meet(-hours(168))) continue;
            const std::size_t later = std::max(spans[a].shift, spans[b].shift);
            if (reported[later]) continue;
            reported[later] = true;
            findings.error(
                item_place(node, "shifts", later), "shifts-overlap",
                fmt::format("{}: this shift overlaps another one.", in_quotes(person.name)),
                "Let one end before the next begins.");
        }
    }
    if (!person.shifts.empty()) check_breaks(person, node, findings);
}

// Which screen the calibrated time is of.
void check_exposure(const Room& room, const Emulsion& emulsion, const YamlNode& node,
                    Findings& findings) {
    const YamlNode* exposure = node.find("exposure");
    if (exposure == nullptr) return;
    const auto known = [&](const std::string& name, const auto& list, const char* key) {
        std::vector<std::string> names;
        for (const auto& x : list)
            names.push_back(x.name);
        if (name.empty() || std::find(names.begin(), names.end(), name) != names.end()) return;
        const std::string near = did_you_mean(name, names);
        findings.error(
            place_under(*exposure, key), "unknown-name",
            fmt::format("{}: there is no {} {}.", in_quotes(emulsion.name), key, in_quotes(name)),
            near.empty() ? "The room has: " + name_list(names) + "." : near);
    };
    known(emulsion.calibrated_plan, room.coat_plans, "coat plan");
    known(emulsion.calibrated_mesh, room.meshes, "mesh");
    if (exposure->find("stencil") != nullptr) return;
    if (exposure->find("coat plan") != nullptr && exposure->find("mesh") != nullptr) return;
    findings.error(exposure->place, "exposure-unclear",
                   fmt::format("{}: the calibrated exposure does not say of which screen it is.",
                               in_quotes(emulsion.name)),
                   "Write coat plan: and mesh: of that screen, or stencil: with its thickness.");
}

void check_pot(const Room& room, const Pot& pot, const YamlNode& node, Findings& findings) {
    if (pot.emulsion.empty()) return;
    const auto found = std::find_if(room.emulsions.begin(), room.emulsions.end(),
                                    [&](const Emulsion& e) { return e.name == pot.emulsion; });
    if (found == room.emulsions.end()) {
        std::vector<std::string> names;
        for (const Emulsion& e : room.emulsions)
            names.push_back(e.name);
        const std::string near = did_you_mean(pot.emulsion, names);
        findings.error(place_under(node, "emulsion"), "unknown-emulsion",
                       fmt::format("{}: there is no emulsion {}.", in_quotes(pot.name),
                                   in_quotes(pot.emulsion)),
                       near.empty() ? "Emulsions of the room: " + name_list(names) + "." : near);
        return;
    }
    const bool two_parts = found->family != EmulsionFamily::Photopolymer;
    if (pot.needs_mixing && pot.mixed) {
        findings.error(place_under(node, "mixed"), "pot-unclear",
                       fmt::format("{} is mixed and still needs mixing.", in_quotes(pot.name)),
                       "Keep one of the two keys.");
    } else if (two_parts && !pot.needs_mixing && node.find("mixed") == nullptr) {
        findings.error(
            node.place, "pot-unclear",
            fmt::format("{} holds {}, which is mixed from two parts, but says neither when it "
                        "was mixed nor that it needs mixing.",
                        in_quotes(pot.name), in_quotes(pot.emulsion)),
            "Add mixed: with the date on the pot, or needs mixing: yes.");
    } else if (!two_parts && pot.needs_mixing) {
        findings.error(place_under(node, "needs mixing"), "pot-unclear",
                       fmt::format("{} holds {}, which comes ready.", in_quotes(pot.name),
                                   in_quotes(pot.emulsion)),
                       "Take needs mixing out.");
    }
}

}  // namespace

namespace {

void check_sizes(const PromiseRule& rule, const YamlNode& tree, Findings& findings) {
    const YamlNode* promise = tree.find("promise");
    for (std::size_t i = 1; promise != nullptr && i < rule.sizes.size(); ++i) {
        if (rule.sizes[i - 1] < rule.sizes[i]) continue;
        findings.error(
            item_place(*promise, "order sizes", i), "sizes-not-rising",
            fmt::format("order sizes: {} comes after {}.", rule.sizes[i], rule.sizes[i - 1]),
            "Write the most screens of each class, small ones first: [4, 8, 16].");
    }
}

// A slot that the press never takes would promise nothing.
void check_promise(const PromiseRule& rule, const YamlNode& tree, Findings& findings) {
    const YamlNode* promise = tree.find("promise");
    if (promise == nullptr || rule.press.empty()) return;
    for (std::size_t i = 0; i < rule.slots.size(); ++i) {
        const Seconds slot = rule.slots[i];
        const bool taken =
            std::any_of(rule.press.begin(), rule.press.end(), [&](const Shift& shift) {
                return (shift.from <= slot && slot <= shift.to) ||
                       slot + hours(24) <= shift.to;  // a night shift of the day before
            });
        if (taken) continue;
        findings.error(item_place(*promise, "pick-up times", i), "slot-outside-press",
                       fmt::format("the press is closed at {}, which is one of the pick-up times.",
                                   format_time_of_day(SimTime{} + slot)),
                       "Choose a time within the press hours.");
    }
}

std::vector<std::string> parts_of_premises(const Room& room) {
    std::vector<std::string> parts;
    for (const Station& station : room.stations) {
        if (!station.stands_in.empty() &&
            std::find(parts.begin(), parts.end(), station.stands_in) == parts.end())
            parts.push_back(station.stands_in);
    }
    return parts;
}

void check_walks(const Room& room, const YamlNode& tree, Findings& findings) {
    const std::vector<std::string> parts = parts_of_premises(room);
    std::map<std::pair<std::string, std::string>, int> first_line;
    for (std::size_t i = 0; i < room.walks.size(); ++i) {
        const Walk& walk = room.walks[i];
        const YamlNode& node = element(tree, "walks", i);
        if (walk.from.empty() || walk.to.empty()) continue;
        for (const auto& [key, name] : {std::pair{"from", &walk.from}, {"to", &walk.to}}) {
            if (std::find(parts.begin(), parts.end(), *name) != parts.end()) continue;
            const std::string near = nearest_name(*name, parts);
            findings.error(place_under(node, key), "unknown-name",
                           fmt::format("walks: no station stands in {}.", in_quotes(*name)),
                           near.empty() ? "Give a station `stands in` with this name."
                                        : fmt::format("Did you mean {}?", in_quotes(near)));
        }
        if (walk.from == walk.to) {
            findings.error(place_under(node, "to"), "walk-nowhere",
                           fmt::format("walks: from {} to itself.", in_quotes(walk.from)),
                           "Within one part of the premises nobody walks; leave it out.");
            continue;
        }
        std::vector<std::pair<std::string, std::string>> ways{{walk.from, walk.to}};
        if (!walk.one_way) ways.emplace_back(walk.to, walk.from);
        for (const auto& way : ways) {
            const auto [at, fresh] = first_line.emplace(way, walk.place.line);
            if (fresh) continue;
            findings.error(walk.place, "double-walk",
                           fmt::format("walks: from {} to {} stands in line {} already.",
                                       in_quotes(way.first), in_quotes(way.second), at->second),
                           "Keep one of them, or write one way: yes in both.");
            break;
        }
    }
    if (room.walks.empty()) return;
    std::vector<std::size_t> nowhere;
    std::string names;
    for (std::size_t i = 0; i < room.stations.size(); ++i) {
        if (room.stations[i].stands_in.empty()) nowhere.push_back(i);
    }
    for (std::size_t k = 0; k < nowhere.size(); ++k) {
        names += k == 0 ? "" : k + 1 == nowhere.size() ? " and " : ", ";
        names += in_quotes(room.stations[nowhere[k]].name);
    }
    if (!nowhere.empty()) {
        const bool one = nowhere.size() == 1;
        findings.warning(
            element(tree, "stations", nowhere.front()).place, "walk-nowhere-said",
            fmt::format("{} {} nowhere: to {} and from {} no time is counted.", names,
                        one ? "stands" : "stand", one ? "it" : "them", one ? "it" : "them"),
            "Write stands in: with a part of the premises that walks name.");
    }
    for (std::size_t a = 0; a < parts.size(); ++a) {
        for (std::size_t b = a + 1; b < parts.size(); ++b) {
            if (first_line.contains({parts[a], parts[b]}) ||
                first_line.contains({parts[b], parts[a]}))
                continue;
            findings.warning(room.walks.front().place, "walk-missing",
                             fmt::format("walks: nothing is said of {} and {}; no time is counted.",
                                         in_quotes(parts[a]), in_quotes(parts[b])),
                             "Add a row, or leave it so if nobody carries screens there.");
        }
    }
}

void check_neighbours(const Room& room, const YamlNode& tree, Findings& findings) {
    std::vector<std::string> names;
    for (const Station& station : room.stations)
        names.push_back(station.name);
    for (std::size_t i = 0; i < room.stations.size(); ++i) {
        const Station& station = room.stations[i];
        if (station.beside.empty() || station.beside == stands_alone) continue;
        const SourcePlace place = place_under(element(tree, "stations", i), "beside");
        if (station.beside == station.name) {
            findings.error(place, "beside-itself",
                           fmt::format("{} is beside itself.", in_quotes(station.name)),
                           "Write the station next to it, or leave it out.");
        } else if (std::find(names.begin(), names.end(), station.beside) == names.end()) {
            const std::string near = nearest_name(station.beside, names);
            findings.error(
                place, "unknown-name",
                fmt::format("beside: there is no station {}.", in_quotes(station.beside)),
                near.empty() ? "Write the name of a station, or none."
                             : fmt::format("Did you mean {}?", in_quotes(near)));
        }
    }
}

}  // namespace

void check_room(const Room& room, const YamlNode& tree, Findings& findings) {
    check_double_names(room.stations, tree, "stations", findings);
    check_double_names(room.people, tree, "people", findings);
    check_double_names(room.meshes, tree, "meshes", findings);
    check_double_names(room.emulsions, tree, "emulsions", findings);
    check_double_names(room.pots, tree, "pots", findings);
    check_double_names(room.coat_plans, tree, "coat plans", findings);
    for (std::size_t i = 0; i < room.stations.size(); ++i) {
        check_station(room, room.stations[i], element(tree, "stations", i), findings);
    }
    for (std::size_t i = 0; i < room.people.size(); ++i) {
        check_person(room.people[i], element(tree, "people", i), findings);
    }
    for (std::size_t i = 0; i < room.emulsions.size(); ++i) {
        check_exposure(room, room.emulsions[i], element(tree, "emulsions", i), findings);
    }
    for (std::size_t i = 0; i < room.pots.size(); ++i) {
        check_pot(room, room.pots[i], element(tree, "pots", i), findings);
    }
    check_walks(room, tree, findings);
    check_neighbours(room, tree, findings);
    check_promise(room.promise, tree, findings);
    check_sizes(room.promise, tree, findings);
    if (room.limits.remover_min > room.limits.remover_max) {
        const YamlNode* limits = tree.find("limits");
        findings.error(limits != nullptr ? place_under(*limits, "remover at least") : tree.place,
                       "limits-cross",
                       fmt::format("the remover must work {} at least and {} at most.",
                                   format_duration(room.limits.remover_min),
                                   format_duration(room.limits.remover_max)),
                       "Make the first the smaller one.");
    }
    check_times(room, tree, findings);
    if (const YamlNode* climate = tree.find("climate"); climate != nullptr &&
                                                        climate->find("pressure") != nullptr &&
                                                        climate->find("altitude") != nullptr) {
        findings.error(climate->find("altitude")->place, "pressure-twice",
                       "the climate has both a pressure and an altitude.", "Keep one of them.");
    }
    for (std::size_t i = 0; i < room.aims.size(); ++i) {
        if (std::find(room.aims.begin(), room.aims.begin() + static_cast<std::ptrdiff_t>(i),
                      room.aims[i]) != room.aims.begin() + static_cast<std::ptrdiff_t>(i)) {
            findings.error(item_place(tree, "aims", i), "double-name",
                           "aims: this one is named twice.", "Name each aim once.");
        }
    }
}

}  // namespace model::read
