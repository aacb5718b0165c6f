// coatroom board: the plan and the promises on a page of this machine.

#include <chrono>
#include <cstdio>
#include <filesystem>
#include <optional>
#include <thread>

#include "model/base/files.hpp"
#include "model/read/scenario.hpp"
#include "sched/app/parts/commands.hpp"
#include "sched/app/parts/context.hpp"
#include "sched/app/parts/day_of_plan.hpp"
#include "sched/app/parts/interrupt.hpp"
#include "sched/app/parts/promise_parts.hpp"
#include "sched/app/parts/promise_service.hpp"
#include "sched/board/server.hpp"
#include "sched/check/checker.hpp"

namespace sched::app {

namespace fs = std::filesystem;

namespace {

// An independent judge of what hangs on the wall.
std::vector<std::string> checked(const report::PlanDocument& document) {
    std::vector<std::string> out;
    for (const auto& v : check::check(document.problem, document.schedule))
        out.push_back(v.words);
    return out;
}

// As `promise` takes them, so that both give the same answer.
PromiseArgs as_promise(const BoardArgs& args) {
    return {.date = args.date,
            .from = args.from,
            .now = args.now,
            .day = args.day,
            .replications = args.replications,
            .seed = args.seed,
            .threads = args.threads};
}

fs::path plan_path(const BoardArgs& args) {
    const fs::path path = args.plan.empty() ? fs::path(args.scenario) : fs::path(args.plan);
    return fs::is_directory(path) ? path / "plan.json" : path;
}

}  // namespace

int run_board(const BoardArgs& args) {
    model::Diagnostics diagnostics;
    const auto scenario =
        model::read_scenario(args.scenario, diagnostics,
                             run_day({.from = args.from, .date = args.date, .now = args.now}));
    print_diagnostics(diagnostics, false);
    if (!scenario) return BadInput;
    const auto options = promise_options(as_promise(args), *scenario, "board");
    if (!options) return BadInput;
    if (args.now.empty() && !args.state.empty()) {
        std::fprintf(stderr, "coatroom board: --state needs the present time. Add --now 10:40.\n");
        return BadInput;
    }
    if (!args.now.empty() && !args.from.empty()) {
        std::fprintf(
            stderr,
            "coatroom board: --now and --from both say when it is asked. Leave --from out; "
            "--date names the day.\n");
        return BadInput;
    }
    PromiseService service(args.scenario, *options,
                           {args.scenario, args.now, plan_path(args).string(), args.state},
                           args.date.empty());
    if (const std::string problem = service.refresh(); !problem.empty())
        std::fprintf(stderr, "coatroom board: no promises for now: %s\n", problem.c_str());
    if (interrupted()) return Done;
    known_so_far("The board has ended; a question that was open is not answered.");

    const fs::path plan = plan_path(args);
    model::complete_files(plan.parent_path());
    if (!fs::exists(plan)) {
        std::fprintf(stderr,
                     "coatroom board: %s is not there yet; it is shown as soon as it is. Make it "
                     "with:\n  coatroom plan %s --out %s\n",
                     plan.string().c_str(), args.scenario.c_str(),
                     plan.parent_path().string().c_str());
    }
    board::Handlers handlers{.promise = [&](const board::Query& q) { return service.json(q); },
                             .promise_page = [&](const board::Query& q) { return service.page(q); },
                             .ask_page = [&] { return service.form(); }};
    board::Server server(plan, checked, handlers, {.port = args.port});
    if (!server.start()) {
        std::fprintf(stderr,
                     "coatroom board: port %d of 127.0.0.1 cannot be had. Choose another with "
                     "--port; 0 takes any free one.\n",
                     args.port);
        return BadInput;
    }
    std::printf(
        "http://127.0.0.1:%d/  the board\nhttp://127.0.0.1:%d/ask  when can it be ready?\n"
        "Ctrl-C ends it.\n",
        server.port(), server.port());
    std::fflush(stdout);
    while (!interrupted())
        std::this_thread::sleep_for(std::chrono::milliseconds(50));
    server.stop();
    return Done;
}

}  // namespace sched::app
