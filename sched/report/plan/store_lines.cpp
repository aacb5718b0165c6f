#include "sched/report/plan/store_lines.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "sched/report/words/steps.hpp"
#include "sched/report/words/wording.hpp"

namespace sched::report {

namespace {

// As frames.csv writes it: the key has dashes where the file has spaces.
std::string state_in_file(std::string key) {
    std::replace(key.begin(), key.end(), '-', ' ');
    return key;
}

// As to read it again: plan.csv guards spreadsheets from formulas, here names stay as they are.
std::string cell(const std::string& text) {
    if (text.find_first_of(",\"\r\n;\t") == std::string::npos) return text;
    std::string out = "\"";
    for (const char c : text) {
        if (c == '"') out += '"';
        out += c;
    }
    return out + "\"";
}

}  // namespace

void add_store_lines(const model::Scenario& scenario, const compile::RoomProblem& room,
                     PlanDocument& document) {
    for (const compile::ReturnInfo& info : room.returns) {
        const auto& stock = scenario.frames[static_cast<std::size_t>(info.stock)];
        ReturnLine line{.tag = info.tag,
                        .frame = area_words(stock.size),
                        .mesh = stock.mesh,
                        .state = state_key(stock.state),
                        .back = info.from,
                        .becomes = state_key(info.becomes)};
        for (const auto& part : info.parts) {
            for (const core::OperationId id : part) {
                const OperationLine& op = document.operations[id.index()];
                if (!line.start) line.start = op.start;
                line.done = std::max(line.done.value_or(op.end), op.end);
                for (const std::string& name : op.people) {
                    if (std::find(line.people.begin(), line.people.end(), name) ==
                        line.people.end())
                        line.people.push_back(name);
                }
            }
        }
        document.returns.push_back(std::move(line));
    }
    for (const model::FrameStock& stock : room.stock_after) {
        if (stock.count == 0) continue;
        document.stock_after.push_back({.frame = area_words(stock.size),
                                        .mesh = stock.mesh,
                                        .state = state_key(stock.state),
                                        .count = stock.count,
                                        .haze = stock.haze,
                                        .coated_dry = stock.coated_dry,
                                        .emulsion = stock.emulsion,
                                        .coat_plan = stock.coat_plan,
                                        .order = stock.order,
                                        .from = stock.from});
    }
}

std::optional<SimTime> first_take(const core::Problem& problem, const core::Schedule& schedule,
                                  core::StoreId store) {
    std::vector<std::size_t> met(schedule.placements.size());  // takes of each operation
    std::optional<SimTime> first;
    for (const auto& constraint : problem.constraints) {
        const auto* take = std::get_if<core::Take>(&constraint);
        if (take == nullptr) continue;
        const core::Placement& at = schedule.placements[take->operation.index()];
        const std::size_t k = met[take->operation.index()]++;
        if (k < at.stores.size() && at.stores[k] == store && take->amount > 0)
            first = first ? std::min(*first, at.start) : at.start;
    }
    return first;
}

std::string to_frames_csv(const PlanDocument& document) {
    const auto time = [](const std::optional<SimTime>& t) {
        return t ? model::format_date_time(*t) : std::string{};
    };
    std::string out = "size,mesh,state,count,haze,coated dry,emulsion,coat plan,order,from\n";
    for (const StockLine& x : document.stock_after) {
        const std::vector<std::string> cells = {x.frame,
                                                x.mesh,
                                                state_in_file(x.state),
                                                std::to_string(x.count),
                                                !x.haze   ? ""
                                                : *x.haze ? "yes"
                                                          : "no",
                                                time(x.coated_dry),
                                                x.emulsion.value_or(""),
                                                x.coat_plan.value_or(""),
                                                x.order.value_or(""),
                                                time(x.from)};
        for (std::size_t i = 0; i < cells.size(); ++i)
            out += (i > 0 ? "," : "") + cell(cells[i]);
        out += '\n';
    }
    return out;
}

std::string stock_words(const PlanDocument& document, const StockLine& line) {
    std::string text = fmt::format("{} {}, {}", line.frame, line.mesh, state_words(line.state));
    if (line.haze) text += *line.haze ? ", needs haze off" : ", no haze";
    if (line.emulsion) text += ", " + *line.emulsion;
    if (line.coat_plan) text += " " + *line.coat_plan;
    if (line.order) text += ", of " + *line.order;
    if (line.from) text += ", back " + when(document.run, *line.from);
    return text;
}

std::string return_words(const PlanDocument& document, const ReturnLine& line) {
    std::string text = fmt::format("{} {}, {}", line.frame, line.mesh, state_words(line.state));
    // What stood in the store at the beginning has not come back.
    if (line.back > document.run.from) text += ", back " + when(document.run, line.back);
    if (!line.done) return text + "; no idle time for it, it stays as it is";
    text += fmt::format("; {} by {}", state_words(line.becomes), when(document.run, *line.done));
    if (!line.people.empty()) text += ", " + joined(line.people);
    return text;
}

}  // namespace sched::report
