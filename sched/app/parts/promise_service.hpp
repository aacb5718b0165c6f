#pragma once
// A desk that stays open: what is promised is planned once and again only when the scenario's files
// change. Answers as the command line's --json, for the board.

#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <string>

#include "model/room/order.hpp"
#include "sched/app/parts/under_way.hpp"
#include "sched/board/server.hpp"
#include "sched/promise/promise.hpp"

namespace sched::app {

/// Safe from any thread; one question at a time.
class PromiseService {
public:
    /// @param options as `promise` takes them; its start stays, whatever the files become.
    /// @param words of a day that is under way, if `now` is not empty; read again with the files.
    /// @param from_plan the day is that of the posted plan.
    /// @param clock the board's time: where no `now` is given, and the posted plan runs at that
    /// time, questions are of the rest of its day; empty: they are of the whole day.
    PromiseService(std::string folder, study::PromiseOptions options, UnderWay words = {},
                   bool from_plan = true, std::function<model::SimTime()> clock = {});

    /// Plans what is promised, if that has changed. @returns what is wrong, empty if nothing.
    std::string refresh();

    /// 200 the promise, 400 a bad parameter, 409 the files are wrong or nothing can be planned.
    board::Reply json(const board::Query& query);
    board::Reply page(const board::Query& query);
    std::string form();

private:
    std::optional<study::Promise> answer(const board::Query& query, bool explain,
                                         board::Reply& refusal, std::string* field = nullptr);
    std::string stamp() const;
    std::string opened();
    UnderWay under_way() const;

    std::mutex mutex_;
    std::string folder_;
    study::PromiseOptions options_;
    UnderWay under_way_;
    bool from_plan_ = true;
    std::function<model::SimTime()> clock_;
    std::optional<model::SimTime> as_of_;  // the time that the open desk asks from
    std::string seen_;
    std::string problem_;
    std::unique_ptr<study::PromiseDesk> desk_;
};

}  // namespace sched::app
