#include "sched/report/document/timeline_json.hpp"

#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>
#include <tuple>

#include "model/base/shown.hpp"

namespace sched::report {

namespace {

using TimelineJson = nlohmann::ordered_json;

/// Values in the order in which they first came up.
template <class T>
class NumberedList {
public:
    int number_of(const T& value) {
        const auto [at, fresh] = known_.emplace(value, static_cast<int>(list_.size()));
        if (fresh) list_.push_back(value);
        return at->second;
    }
    const std::vector<T>& list() const { return list_; }

private:
    std::map<T, int> known_;
    std::vector<T> list_;
};

template <class List>
int index_of_name(const List& list, const std::string& name) {
    const auto found =
        std::find_if(list.begin(), list.end(), [&](const auto& x) { return x.name == name; });
    return found == list.end() ? -1 : static_cast<int>(found - list.begin());
}

// Stands for the tag in the words of a step, so that words alike are kept once; no user text holds
// it: control characters are replaced where text is shown.
constexpr char tag_mark = '\x01';

std::string with_mark(const std::string& words, const std::string& tag) {
    if (tag.empty()) return words;
    for (auto at = words.find(tag); at != std::string::npos; at = words.find(tag, at + 1)) {
        const std::size_t end = at + tag.size();
        if ((at > 0 && words[at - 1] != ' ') ||
            (end < words.size() && words[end] != ' ' && words[end] != ','))
            continue;
        return words.substr(0, at) + tag_mark + words.substr(end);
    }
    return words;
}

// Whole minutes after the minute of `start`, as it is shown.
std::int64_t minutes_after(SimTime t, SimTime start, SimTime epoch) {
    const auto minute = (model::shown_minute(t) - epoch).count() / 60;
    return minute - (start - epoch).count() / 60;
}

}  // namespace

std::string timeline_json(const PlanDocument& d) {
    const SimTime epoch = model::midnight(model::date_of(d.run.first_start));
    const auto seconds = [&](SimTime t) { return (t - epoch).count(); };
    NumberedList<std::pair<std::string, int>> tags;
    NumberedList<std::tuple<std::string, std::string, std::vector<int>>> what;
    NumberedList<std::vector<int>> crews;
    TimelineJson rows = TimelineJson::array();
    for (const OperationLine& op : d.operations) {
        std::vector<int> crew, cautions;
        for (const std::string& who : op.people) {
            if (const int p = index_of_name(d.people, who); p >= 0) crew.push_back(p);
        }
        for (const std::string& key : op.cautions) {
            const auto found = std::find_if(d.cautions.begin(), d.cautions.end(),
                                            [&](const CautionLine& c) { return c.key == key; });
            if (found != d.cautions.end())
                cautions.push_back(static_cast<int>(found - d.cautions.begin()));
        }
        std::vector<int> also;
        for (const std::string& place : op.also_at) {
            if (const int s = index_of_name(d.stations, place); s >= 0) also.push_back(s);
        }
        const int tag = op.screen.empty() && op.order.empty()
                            ? -1
                            : tags.number_of({op.screen, index_of_name(d.orders, op.order)});
        TimelineJson row = TimelineJson::array();
        row.push_back(tag);
        row.push_back(what.number_of({op.step, with_mark(op.words, op.screen), cautions}));
        row.push_back(index_of_name(d.stations, op.place));
        row.push_back(crews.number_of(crew));
        row.push_back(seconds(op.start));
        row.push_back((op.work_end - op.start).count());
        row.push_back((op.end - op.work_end).count());
        const bool ranges = op.start_p10 && op.start_p90 && op.work_end_p10 && op.work_end_p90;
        for (const auto& t : {op.start_p10, op.start_p90, op.work_end_p10, op.work_end_p90}) {
            if (ranges)
                row.push_back(minutes_after(*t, op.start, epoch));
            else
                row.push_back(nullptr);
        }
        row.push_back((op.people_until.value_or(op.end) - op.work_end).count());
        row.push_back((op.place_until.value_or(op.end) - op.end).count());
        row.push_back(op.places);
        row.push_back(also);
        // What is as usual is left out at the end; the page puts it back.
        const TimelineJson usual = {nullptr, nullptr, nullptr, nullptr,
                                    0,       0,       1,       TimelineJson::array()};
        while (row.size() > 7 && row.back() == usual[row.size() - 8])
            row.erase(row.size() - 1);
        rows.push_back(std::move(row));
    }
    TimelineJson out{{"epoch", model::format_date_time(epoch)},
                     {"run", {seconds(d.run.first_start), seconds(d.run.last_end)}}};
    out["stations"] = TimelineJson::array();
    for (const StationLine& station : d.stations)
        out["stations"].push_back({{"name", station.name}, {"places", station.places}});
    out["people"] = TimelineJson::array();
    for (const PersonLine& person : d.people) {
        TimelineJson present = TimelineJson::array();
        for (const auto& p : person.present)
            present.push_back({seconds(p.from), seconds(p.to)});
        out["people"].push_back({{"name", person.name}, {"present", std::move(present)}});
    }
    out["cautions"] = TimelineJson::array();
    for (const CautionLine& c : d.cautions)
        out["cautions"].push_back(c.title);
    out["orders"] = TimelineJson::array();
    for (const OrderLine& o : d.orders) {
        TimelineJson chain = TimelineJson::array();
        for (const ReasonLine& reason : o.reasons)
            chain.push_back(reason.operation);
        out["orders"].push_back(
            {{"name", o.name}, {"job", o.customer}, {"chain", std::move(chain)}});
    }
    out["tags"] = TimelineJson::array();
    for (const auto& [tag, order] : tags.list())
        out["tags"].push_back({tag, order});
    out["what"] = TimelineJson::array();
    for (const auto& [step, words, cautions] : what.list())
        out["what"].push_back({step, words, cautions});
    out["crews"] = crews.list();
    out["rows"] = std::move(rows);
    return out.dump(-1, ' ', false, TimelineJson::error_handler_t::replace);
}

}  // namespace sched::report
