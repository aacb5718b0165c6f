// How it works: tables of keys read the file into laws; columns that laws name are then read from
// their CSV files, fitted or checked, and names are held against the scenario's steps, stations
// and people.

#include "model/read/chance_file.hpp"

#include <algorithm>
#include <filesystem>

#include "model/read/bytes.hpp"
#include "model/read/csv_table.hpp"
#include "model/room/steps.hpp"

namespace model {

namespace read {

const Choices<LawKind>& choices_of(LawKind) {
    static const Choices<LawKind> table{{"constant", LawKind::Constant},
                                        {"uniform", LawKind::Uniform},
                                        {"triangle", LawKind::Triangle},
                                        {"lognormal", LawKind::Lognormal},
                                        {"gamma", LawKind::Gamma},
                                        {"weibull", LawKind::Weibull},
                                        {"exponential", LawKind::Exponential},
                                        {"observed", LawKind::Observed}};
    return table;
}

namespace {

/// The nearest of the names, else all of them.
std::string hint_of(const std::string& word, const std::vector<std::string>& names,
                    const char* list) {
    if (names.empty()) return "The room has none.";
    const std::string near = did_you_mean(word, names);
    return near.empty() ? list + name_list(names) + "." : near;
}

const Table<TimeLaw>& law_table() {
    static const Table<TimeLaw> table{
        row("law", &TimeLaw::law,
            {.fallback = "lognormal", .example = "gamma", .help = "Kind of the distribution."}),
        row("value", &TimeLaw::value,
            {.least = "0 s", .example = "4 min", .help = "constant: always this."}),
        row("low", &TimeLaw::low,
            {.least = "0 s", .example = "3 min", .help = "uniform, triangle: the shortest."}),
        row("likely", &TimeLaw::likely,
            {.least = "0 s", .example = "4 min", .help = "triangle: the most likely."}),
        row("high", &TimeLaw::high,
            {.least = "0 s", .example = "8 min", .help = "uniform, triangle: the longest."}),
        row("mean", &TimeLaw::mean,
            {.least = "1 s",
             .example = "5 min",
             .help = "lognormal, gamma, weibull, exponential: the mean."}),
        row("cv", &TimeLaw::cv,
            {.least = "0",
             .most = "5",
             .example = "0.4",
             .help = "lognormal, gamma: standard deviation over mean."}),
        row("p50", &TimeLaw::p50,
            {.least = "1 s",
             .example = "4 min",
             .help = "lognormal, instead of mean and cv: half are done by then."}),
        row("p90", &TimeLaw::p90,
            {.least = "1 s",
             .example = "7 min",
             .help = "lognormal: nine in ten are done by then."}),
        row("shape", &TimeLaw::shape,
            {.least = "0.2",
             .most = "20",
             .example = "1.5",
             .help = "weibull: 1 is exponential, above 1 things wear out."}),
        row("file", &TimeLaw::file,
            {.example = "wash-out.csv",
             .help = "observed: a CSV file in the scenario's folder; times in minutes, or as \"4 "
                     "min\"."}),
        row("column", &TimeLaw::column,
            {.example = "minutes", .help = "observed: the column of that file."}),
        row("at least", &TimeLaw::at_least,
            {.least = "0 s", .example = "2 min", .help = "Nothing shorter is possible."}),
        row("at most", &TimeLaw::at_most,
            {.least = "1 s", .example = "20 min", .help = "Nothing longer is possible."}),
    };
    return table;
}

/// A time is that of the step named alone, as under `times` in room.yaml: what its word means
/// besides in a list of steps (`strip`: rinse too) has a time of its own.
Row<StepLaw> timed_steps_row(Words words) {
    Row<StepLaw> out = steps_row("step", &StepLaw::steps, false, std::move(words));
    out.read = [](Findings& findings, const KeySpec& spec, const YamlNode& node, StepLaw& target) {
        read_steps(findings, spec, node, false, target.steps);
        std::erase_if(target.steps, [&](Step step) {
            const auto items = values_of(node);
            return std::none_of(items.begin(), items.end(), [&](const YamlNode* item) {
                if (const auto named = step_of(item->text)) return *named == step;
                const auto meant = steps_of(item->text);
                return std::find(meant.begin(), meant.end(), step) != meant.end();
            });
        });
    };
    return out;
}

const Table<StepLaw>& step_law_table() {
    static const Table<StepLaw> table{
        timed_steps_row({.required = true,
                         .example = "wash out",
                         .help = "The step, alone: the rinse after `strip` has its own."}),
        group_row("time", &StepLaw::time, law_table(),
                  {.required = true,
                   .help = "How long the whole step takes, whatever is planned for it."}),
    };
    return table;
}

const Table<RemakeLaw>& remake_table() {
    static const Table<RemakeLaw> table{
        steps_row("at", &RemakeLaw::at, false,
                  {.required = true,
                   .example = "inspect",
                   .help = "The step at which a screen is found bad."}),
        row("chance", &RemakeLaw::chance,
            {.required = true,
             .least = "0 %",
             .most = "100 %",
             .example = "4 %",
             .help = "How often."}),
        row("emulsion", &RemakeLaw::emulsion,
            {.example = "dual-cure A", .help = "Only screens with this emulsion; left out: all."}),
        row("mesh", &RemakeLaw::mesh,
            {.example = "120-34", .help = "Only screens with this mesh."}),
        row("coat plan", &RemakeLaw::coat_plan,
            {.example = "2+2", .help = "Only screens with this coat plan."}),
        steps_row("back to", &RemakeLaw::back_to, false,
                  {.example = "degrease", .help = "Where it starts again; left out: stripping."}),
    };
    return table;
}

const Table<FailureLaw>& failure_table() {
    static const Table<FailureLaw> table{
        row("station", &FailureLaw::station,
            {.required = true, .example = "exposure unit", .help = "Its name in room.yaml."}),
        group_row("between", &FailureLaw::between, law_table(),
                  {.required = true, .help = "From the last repair to the next failure."}),
        group_row("repair", &FailureLaw::repair, law_table(),
                  {.required = true, .help = "How long it is out of work."}),
    };
    return table;
}

const Table<RushLaw>& rush_table() {
    static const Table<RushLaw> table{
        row("a day", &RushLaw::a_day,
            {.required = true,
             .least = "0",
             .most = "100",
             .example = "1.5",
             .help = "Mean number of orders that come in on the day itself."}),
        row("most screens", &RushLaw::most_screens,
            {.fallback = "2",
             .least = "1",
             .most = "16",
             .example = "2",
             .help = "Of one of them."}),
        row("allowed", &RushLaw::allowed,
            {.fallback = "5 h", .least = "1 min", .example = "4 h", .help = "Due so long after."}),
        row("priority", &RushLaw::weight,
            {.fallback = "5",
             .least = "1",
             .most = "9",
             .example = "5",
             .help = "As in orders.csv."}),
    };
    return table;
}

const Table<DayLaw>& day_table() {
    static const Table<DayLaw> table{
        row("name", &DayLaw::name,
            {.required = true, .example = "damp", .help = "One of the named days of room.yaml."}),
        row("weight", &DayLaw::weight,
            {.fallback = "1",
             .least = "0",
             .example = "3",
             .help = "How often, beside the others."}),
    };
    return table;
}

const Table<ArrivalLaw>& arrival_table() {
    static const Table<ArrivalLaw> table{
        row("when", &ArrivalLaw::when,
            {.required = true,
             .example = "Mon-Fri 08:00-12:00",
             .help = "Weekdays and hours; full hours."}),
        row("orders an hour", &ArrivalLaw::orders_an_hour,
            {.required = true,
             .least = "0",
             .most = "1000",
             .example = "2.5",
             .help = "Mean number; they come independently of each other (a Poisson process)."}),
    };
    return table;
}

const Table<KindLaw>& kind_table() {
    static const Table<KindLaw> table{
        row("order", &KindLaw::order,
            {.required = true, .example = "A17", .help = "Orders like this one of orders.csv."}),
        row("weight", &KindLaw::weight,
            {.fallback = "1",
             .least = "0",
             .example = "3",
             .help = "How often, beside the others."}),
    };
    return table;
}

// Lists of things that may be left out as a whole.
template <class T, class E>
Row<T> optional_groups_row(std::string key, std::optional<std::vector<E>> T::*member,
                           const Table<E>& table, Words words) {
    struct Holder {
        std::vector<E> list;
    };
    auto inner = groups_row<Holder, E>(key, &Holder::list, table, words);
    return {inner.spec, [member, read = inner.read](Findings& findings, const KeySpec& spec,
                                                    const YamlNode& node, T& target) {
                Holder holder;
                read(findings, spec, node, holder);
                target.*member = std::move(holder.list);
            }};
}

}  // namespace

const Table<ChanceSettings>& chance_table() {
    static const Table<ChanceSettings> table{
        row("work varies", &ChanceSettings::work_cv,
            {.fallback = "20 %",
             .least = "0 %",
             .most = "200 %",
             .example = "25 %",
             .help = "Standard deviation over mean of everything that people do (lognormal)."}),
        row("drying varies", &ChanceSettings::drying_cv,
            {.fallback = "10 %",
             .least = "0 %",
             .most = "200 %",
             .example = "15 %",
             .help = "The same of the drying that a coat needs."}),
        row("machines vary", &ChanceSettings::machine_cv,
            {.fallback = "0 %",
             .least = "0 %",
             .most = "200 %",
             .example = "2 %",
             .help = "The same of lamps and standing times."}),
        groups_row("times", &ChanceSettings::times, step_law_table(),
                   {.help = "Steps that vary in a way of their own."}),
        optional_groups_row(
            "remakes", &ChanceSettings::remakes, remake_table(),
            {.help = "Screens found bad; the first line that fits counts. Left out: "
                     "4 % at the inspection."}),
        row("most remakes", &ChanceSettings::most_remakes,
            {.fallback = "2",
             .least = "0",
             .most = "5",
             .example = "3",
             .help = "Of one screen; the next time it is good."}),
        groups_row("failures", &ChanceSettings::failures, failure_table(),
                   {.help = "Stations that break down; the clock runs on while they are idle."}),
        row("absent", &ChanceSettings::absent,
            {.fallback = "0 %",
             .least = "0 %",
             .most = "100 %",
             .example = "3 %",
             .help = "Chance of a person to be missing, each day."}),
        row("film late", &ChanceSettings::film_late,
            {.fallback = "0 %",
             .least = "0 %",
             .most = "100 %",
             .example = "10 %",
             .help = "Chance of a film that is still to come to come late."}),
        group_row("film delay", &ChanceSettings::film_delay, law_table(),
                  {.help = "How late; left out: exponential with a mean of 1 h."}),
        group_row("rush orders", &ChanceSettings::rush, rush_table(),
                  {.help = "Orders that come in on the day, like screens of the run."}),
        groups_row("days", &ChanceSettings::days, day_table(),
                   {.help = "Kinds of day, one drawn for each simulated day."}),
        row("weather days", &ChanceSettings::weather_days,
            {.fallback = "no",
             .example = "yes",
             .help = "Each simulated day has the air of a day of weather.csv, drawn."}),
        groups_row("arrivals", &ChanceSettings::arrivals, arrival_table(),
                   {.help = "For long runs: when orders come in. Left out: as many a day as "
                            "orders.csv has, evenly over the day's shifts; or arrivals.csv."}),
        groups_row(
            "order kinds", &ChanceSettings::kinds, kind_table(),
            {.help = "For long runs: what comes in. Left out: all orders of orders.csv alike."}),
        row("promised after", &ChanceSettings::promised,
            {.fallback = "24 h",
             .least = "1 h",
             .example = "48 h",
             .help = "For long runs: due so long after it came in, days off not counted."}),
    };
    return table;
}

const Table<PastOrder>& arrivals_table() {
    static const Table<PastOrder> table{
        row("came in", &PastOrder::at,
            {.required = true, .example = "2026-11-03 09:40", .help = "When the order came in."}),
        row("order", &PastOrder::order,
            {.example = "A17",
             .help = "The order of orders.csv that it is like; empty: drawn by weight."}),
    };
    return table;
}

namespace {

// The numbers of a column: minutes, or durations with their unit.
void read_observed(TimeLaw& law, const std::string& folder, Diagnostics& diagnostics) {
    Findings findings((std::filesystem::path(folder) / law.file).string(), diagnostics);
    const auto text = load(findings.file(), csv_most_bytes, Missing::Error, findings);
    if (!text || !check_text(*text, findings)) return;
    const auto rows = parse_csv(*text, findings);
    if (!rows) return;
    if (rows->empty()) {
        findings.error({findings.file(), 1, 1}, "no-values",
                       "this file is empty: the column " + in_quotes(law.column) + " has no times.",
                       "Write the name of the column in the first line, and one time in each "
                       "line below.");
        return;
    }
    const auto& header = rows->front().cells;
    std::size_t column = 0;
    while (column < header.size() && header[column].text != law.column)
        ++column;
    if (column == header.size()) {
        std::vector<std::string> names;
        for (const auto& cell : header)
            names.push_back(cell.text);
        findings.error(rows->front().place, "no-column",
                       "there is no column " + in_quotes(law.column) + " in this file.",
                       hint_of(law.column, names, "Its columns are "));
        return;
    }
    for (std::size_t r = 1; r < rows->size(); ++r) {
        const auto& cells = (*rows)[r].cells;
        if (column >= cells.size() || cells[column].text.empty()) continue;
        const std::string& value = cells[column].text;
        const auto number = parse_number(value);
        const auto duration = number.value ? Reading<Seconds>{} : parse_duration(value);
        const double seconds = number.value     ? *number.value * 60.0
                               : duration.value ? static_cast<double>(duration.value->count())
                                                : -1.0;
        if (!(seconds >= 0.0)) {
            findings.error(cells[column].place, "bad-value", in_quotes(value) + " is no time.",
                           "Write minutes (4.5) or a time with its unit (4 min 30 s).");
            continue;
        }
        law.observed.push_back(seconds);
    }
    if (law.observed.empty())
        findings.error(header[column].place, "no-values",
                       "the column " + in_quotes(law.column) + " has no times.",
                       "Write one time in each line.");
}

void check_law(TimeLaw& law, const SourcePlace& place, const std::string& folder,
               Findings& findings, Diagnostics& diagnostics) {
    const auto incomplete = [&](const char* what) {
        findings.error(place, "law-incomplete", std::string("this law is not complete: ") + what,
                       "docs/simulation.md lists what each law needs.");
    };
    switch (law.law) {
        case LawKind::Constant:
            if (!law.value) incomplete("a constant needs a value.");
            break;
        case LawKind::Uniform:
            if (!law.low || !law.high || *law.high < *law.low)
                incomplete("uniform needs low and high, low at most high.");
            break;
        case LawKind::Triangle:
            if (!law.low || !law.high || !law.likely || *law.likely < *law.low ||
                *law.high < *law.likely)
                incomplete("a triangle needs low, likely and high, in this order.");
            break;
        case LawKind::Lognormal:
            if (law.p50 && law.p90 ? *law.p90 < *law.p50 : !law.mean || !law.cv)
                incomplete("lognormal needs p50 and p90 (not below p50), or mean and cv.");
            break;
        case LawKind::Gamma:
            if (!law.mean || !law.cv || *law.cv <= 0.0)
                incomplete("gamma needs mean and cv above 0.");
            break;
        case LawKind::Weibull:
            if (!law.mean || !law.shape) incomplete("weibull needs mean and shape.");
            break;
        case LawKind::Exponential:
            if (!law.mean) incomplete("exponential needs a mean.");
            break;
        case LawKind::Observed:
            if (law.file.empty() || law.column.empty())
                incomplete("observed needs a file and a column.");
            else if (law.file.find('/') != std::string::npos ||
                     law.file.find('\\') != std::string::npos)
                incomplete("the file lies in the scenario's folder: a name, no path.");
            else
                read_observed(law, folder, diagnostics);
            break;
    }
    if (law.at_least && law.at_most && *law.at_most < *law.at_least)
        incomplete("\"at least\" is above \"at most\".");
}

template <class List>
void check_name(Findings& findings, const SourcePlace& place, const char* what,
                const std::string& name, const List& list) {
    std::vector<std::string> names;
    for (const auto& item : list)
        names.push_back(item.name);
    if (name.empty() || std::find(names.begin(), names.end(), name) != names.end()) return;
    findings.error(place, "unknown-name",
                   std::string("there is no ") + what + " named " + in_quotes(name) + ".",
                   hint_of(name, names, "Names known: "));
}

void check_chance(ChanceSettings& c, const Scenario& s, Findings& findings,
                  Diagnostics& diagnostics) {
    for (auto& t : c.times)
        check_law(t.time, t.place, s.folder, findings, diagnostics);
    if (c.film_delay) check_law(*c.film_delay, c.place, s.folder, findings, diagnostics);
    for (auto& f : c.failures) {
        check_name(findings, f.place, "station", f.station, s.room.stations);
        check_law(f.between, f.place, s.folder, findings, diagnostics);
        check_law(f.repair, f.place, s.folder, findings, diagnostics);
    }
    if (c.remakes) {
        for (const auto& r : *c.remakes) {
            check_name(findings, r.place, "emulsion", r.emulsion, s.room.emulsions);
            check_name(findings, r.place, "mesh", r.mesh, s.room.meshes);
            check_name(findings, r.place, "coat plan", r.coat_plan, s.room.coat_plans);
        }
    }
    for (const auto& k : c.kinds)
        check_name(findings, k.place, "order", k.order, s.orders);
    struct Named {
        std::string name;
    };
    std::vector<Named> days;
    if (s.room.climate) {
        for (const auto& [name, air] : s.room.climate->named_days)
            days.push_back({name});
    }
    for (const auto& d : c.days)
        check_name(findings, d.place, "named day", d.name, days);
    if (c.weather_days && s.weather.empty())
        findings.error(c.place, "no-weather",
                       "weather days are asked for, but weather.csv is missing.",
                       "Add weather.csv, or leave the key out.");
    if (c.weather_days && !c.days.empty())
        findings.error(c.place, "days-twice", "both named days and weather days are asked for.",
                       "Keep one of them.");
    for (const auto& a : c.arrivals) {
        if (a.when.from.count() % 3600 != 0 || a.when.to.count() % 3600 != 0)
            findings.error(a.place, "full-hours", "orders come in by the full hour here.",
                           "Write 08:00-12:00.");
    }
}

}  // namespace

}  // namespace read

std::optional<ChanceFiles> read_chance(const Scenario& scenario, Diagnostics& diagnostics,
                                       const std::string* instead) {
    using namespace read;
    const std::size_t before = diagnostics.error_count();
    const auto path = [&](const char* name) {
        return (std::filesystem::path(scenario.folder) / name).string();
    };
    ChanceFiles out;
    Findings findings(path("chance.yaml"), diagnostics);
    const auto text = instead ? std::optional(*instead)
                              : load(findings.file(), yaml_most_bytes, Missing::Allowed, findings);
    if (text && check_text(*text, findings)) {
        const auto tree = parse_yaml(*text, findings);
        if (tree && expect_content(findings, *tree,
                                   "Write {} where nothing varies, or take the file away.")) {
            out.own = true;
            out.chance.place = tree->place;
            read_mapping(findings, chance_table(), *tree, "chance", out.chance);
            check_chance(out.chance, scenario, findings, diagnostics);
        }
    }
    Findings past(path("arrivals.csv"), diagnostics);
    const auto lines = load(past.file(), csv_most_bytes, Missing::Allowed, past);
    if (lines && check_text(*lines, past)) {
        out.past = read_csv_table(*lines, past, arrivals_table()).values;
        for (const auto& order : out.past)
            check_name(past, order.place, "order", order.order, scenario.orders);
    }
    if (diagnostics.error_count() > before) return std::nullopt;
    return out;
}

}  // namespace model
