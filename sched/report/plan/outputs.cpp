#include "sched/report/plan/outputs.hpp"

#include <algorithm>
#include <fstream>
#include <functional>
#include <set>

#include "model/base/files.hpp"
#include "sched/report/document/plan_json.hpp"
#include "sched/report/plan/day_paper.hpp"
#include "sched/report/plan/exchange.hpp"
#include "sched/report/plan/page.hpp"
#include "sched/report/plan/sheets.hpp"
#include "sched/report/plan/store_lines.hpp"
#include "sched/report/plan/text.hpp"
#include "sched/report/words/navigation.hpp"

namespace sched::report {

namespace {

/// Letters and digits of ASCII in lower case, the rest as single dashes: safe on every file system.
std::string file_stem(const std::string& name) {
    std::string out;
    for (const char c : name) {
        const bool digit = c >= '0' && c <= '9';
        const bool small = c >= 'a' && c <= 'z';
        const bool large = c >= 'A' && c <= 'Z';
        if (digit || small) out += c;
        if (large) out += static_cast<char>(c - 'A' + 'a');
        if (!digit && !small && !large && !out.empty() && out.back() != '-') out += '-';
    }
    while (!out.empty() && out.back() == '-')
        out.pop_back();
    return out.empty() ? "person" : out.substr(0, 40);
}

/// A person who has left must not keep a calendar of an older plan. Only files that this program
/// wrote (by their product identifier) are touched; what cannot be removed stays.
void remove_stale_calendars(const std::filesystem::path& folder,
                            const std::vector<std::filesystem::path>& written) {
    std::error_code error;
    for (std::filesystem::directory_iterator it(folder, error), end; !error && it != end;
         it.increment(error)) {
        const std::string name = it->path().filename().string();
        if (!name.starts_with("plan-") || !name.ends_with(".ics") || !it->is_regular_file(error) ||
            std::find(written.begin(), written.end(), it->path()) != written.end())
            continue;
        std::ifstream in(it->path(), std::ios::binary);
        std::string head(200, '\0');
        in.read(head.data(), static_cast<std::streamsize>(head.size()));
        if (head.find("\r\nPRODID:-//Coatroom//") != std::string::npos) {
            std::error_code ignored;
            std::filesystem::remove(it->path(), ignored);
        }
    }
}

}  // namespace

namespace {

/// The pages that every plan has; what else lies beside them is known once they are written.
const std::vector<PageLink>& written_together() {
    static const std::vector<PageLink> pages(known_pages().begin(), known_pages().begin() + 3);
    return pages;
}

/// Every file by its name, made when it is asked for: of a large plan one stands in memory at a
/// time.
std::vector<std::pair<std::string, std::function<std::string()>>> makers_of(
    const PlanDocument& document) {
    std::vector<std::pair<std::string, std::function<std::string()>>> out = {
        {"plan.json", [&] { return plan_to_json(document); }},
        {"plan.html",
         [&] { return with_navigation(to_page(document), written_together(), "plan.html"); }},
        {"sheets.html",
         [&] { return with_navigation(to_sheets(document), written_together(), "sheets.html"); }},
        {"timeline.html",
         [&] {
             return with_navigation(to_day_paper(document), written_together(), "timeline.html");
         }},
        {"plan.txt", [&] { return to_text(document); }},
        {"plan.csv", [&] { return to_csv(document); }},
        {"plan.ics", [&] { return to_calendar(document); }},
        {"frames-after.csv", [&] { return to_frames_csv(document); }},
    };
    std::set<std::string> taken;
    for (const PersonLine& person : document.people) {
        const std::string stem = file_stem(person.name);
        std::string name = stem;
        for (int n = 2; !taken.insert(name).second; ++n)
            name = stem + "-" + std::to_string(n);
        out.emplace_back("plan-" + name + ".ics",
                         [&] { return to_calendar(document, person.name); });
    }
    return out;
}

}  // namespace

std::vector<std::pair<std::string, std::string>> outputs_of(const PlanDocument& document) {
    std::vector<std::pair<std::string, std::string>> out;
    for (const auto& [name, make] : makers_of(document))
        out.emplace_back(name, make());
    return out;
}

WrittenOutputs write_outputs(const PlanDocument& document, const std::filesystem::path& folder,
                             bool station_sheets) {
    WrittenOutputs result;
    auto makers = makers_of(document);
    constexpr const char* stations = "station-sheets.html";
    if (station_sheets) makers.emplace_back(stations, [&] { return to_station_sheets(document); });
    if (auto failed = model::write_files_together(folder, makers)) {
        result.errors.push_back(std::move(*failed));
        return result;
    }
    for (const auto& [name, make] : makers)
        result.files.push_back(folder / name);
    // Sheets of an older plan must not hang beside this one.
    std::error_code error;
    if (!station_sheets) std::filesystem::remove(folder / stations, error);
    remove_stale_calendars(folder, result.files);
    join_pages(folder);
    return result;
}

}  // namespace sched::report
