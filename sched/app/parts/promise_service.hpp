#pragma once
// A desk that stays open: what is promised is planned once and again only when the scenario's files
// change. Answers as the command line's --json, for the board.

#include <memory>
#include <string>

#include "model/room/order.hpp"
#include "sched/app/parts/under_way.hpp"
#include "sched/board/server.hpp"
#include "sched/promise/promise.hpp"

namespace sched::app {

class PromiseService {
public:
    /// @param options as `promise` takes them; its start stays, whatever the files become.
    /// @param words of a day that is under way, if `now` is not empty; read again with the files.
    /// @param from_plan the day is that of the posted plan.
    PromiseService(std::string folder, study::PromiseOptions options, UnderWay words = {},
                   bool from_plan = true);

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

    std::string folder_;
    study::PromiseOptions options_;
    UnderWay under_way_;
    bool from_plan_ = true;
    std::string seen_;
    std::string problem_;
    std::unique_ptr<study::PromiseDesk> desk_;
};

}  // namespace sched::app
