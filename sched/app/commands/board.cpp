// coatroom board: the plan and the promises on a page of this machine.

#include <fcntl.h>
#include <malloc.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <functional>
#include <optional>
#include <thread>

#include "model/base/files.hpp"
#include "model/read/scenario.hpp"
#include "sched/app/parts/accept.hpp"
#include "sched/app/parts/again_service.hpp"
#include "sched/app/parts/board_day.hpp"
#include "sched/app/parts/budget.hpp"
#include "sched/app/parts/commands.hpp"
#include "sched/app/parts/context.hpp"
#include "sched/app/parts/day_of_plan.hpp"
#include "sched/app/parts/interrupt.hpp"
#include "sched/app/parts/promise_parts.hpp"
#include "sched/app/parts/promise_service.hpp"
#include "sched/board/guard.hpp"
#include "sched/board/qr_code.hpp"
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

// The board's time: this machine's, or from a given one on, slower or faster.
std::function<model::SimTime()> clock_of(const BoardArgs& args) {
    if (args.clock.empty()) return clock_of_machine;
    const auto given = model::parse_date_time(args.clock);
    if (!given) {
        std::fprintf(stderr,
                     "coatroom board: --clock %s is no date and time. Write it as "
                     "2026-11-26T09:10.\n",
                     args.clock.c_str());
        return nullptr;
    }
    const auto begun = std::chrono::steady_clock::now();
    return [given, begun, pace = args.pace] {
        const std::chrono::duration<double> gone = std::chrono::steady_clock::now() - begun;
        return *given + std::chrono::duration_cast<model::Seconds>(gone * pace);
    };
}

// Kept beside the plan, readable by the owner alone, so that displays stay let in over a restart.
// @returns empty where it can neither be read nor written.
std::string token_of(const fs::path& folder) {
    const fs::path path = folder / "board-token";
    std::error_code error;
    const auto there = fs::symlink_status(path, error);
    if (fs::exists(there) && !fs::is_regular_file(there)) return "";  // a link, a pipe, a folder
    std::ifstream in(path);
    std::string token;
    if (in >> token && token.size() == 32) return token;
    token = board::new_token();
    unlink(path.c_str());  // who may read it goes by the file that is made
    const int file = open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600);
    if (file < 0) return "";
    const bool written = ::write(file, token.data(), token.size()) == 32;
    ::close(file);
    return written ? token : "";
}

// The address with the token, for the camera of a tablet: in a terminal, not in what is kept of the
// output (a service's journal, a file), unless it is asked for.
void print_qr(const std::string& address, bool asked) {
    if (!asked && isatty(STDOUT_FILENO) == 0) return;
    const auto code = board::qr_code(address);
    if (!code) return;
    winsize window{};
    if (!asked && ioctl(STDOUT_FILENO, TIOCGWINSZ, &window) == 0 && window.ws_col > 0 &&
        window.ws_col < board::columns_of(*code)) {
        std::printf("The window is too narrow for the address as a QR code: it takes %d columns.\n",
                    board::columns_of(*code));
        return;
    }
    std::printf("%s%s\n", board::terminal_lines(*code).c_str(), address.c_str());
}

std::string with_seconds(model::SimTime t) {
    const std::string text = model::format_date_time(t);
    return text.size() > 16 ? text : text + ":00";
}

}  // namespace

int run_board(const BoardArgs& args) {
    ends_with(Done);  // it has no other end
    complete_acceptances(args.scenario);
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
    const auto clock = clock_of(args);
    if (!clock) return BadInput;
    PromiseService service(args.scenario, *options,
                           {args.scenario, args.now, plan_path(args).string(), args.state},
                           args.date.empty(), args.from.empty() ? clock : nullptr);
    known_so_far("The board has ended; a question that was open is not answered.");

    // Each of the many threads would keep a heap of its own, and what was freed in it.
    mallopt(M_ARENA_MAX, 2);
    const fs::path plan = plan_path(args);
    model::complete_files(plan.parent_path());
    if (!fs::exists(plan)) {
        std::fprintf(stderr,
                     "coatroom board: %s is not there yet; it is shown as soon as it is. Make it "
                     "with:\n  coatroom plan %s --out %s\n",
                     plan.string().c_str(), args.scenario.c_str(),
                     plan.parent_path().string().c_str());
    }
    if (!parse_budget(args.budget)) {
        std::fprintf(stderr,
                     "coatroom board: --budget %s is no budget. Write 20s, \"2 min\" or 2000sch.\n",
                     args.budget.c_str());
        return BadInput;
    }
    BoardDay day(args.scenario, plan.string(), clock);
    AgainService again(day, clock,
                       {.scenario = args.scenario,
                        .plan = plan.string(),
                        .budget = args.budget,
                        .replications = std::min(args.replications, 200),
                        .limits = {.chance = args.limit / 100.0},
                        .settle = model::Seconds{static_cast<std::int64_t>(5 * args.pace)}});
    board::Handlers handlers{.promise = [&](const board::Query& q) { return service.json(q); },
                             .promise_page = [&](const board::Query& q) { return service.page(q); },
                             .ask_page = [&] { return service.form(); },
                             .mark = [&](const std::string& body) { return day.mark(body); },
                             .again = [&](const std::string& body) { return again.act(body); },
                             .day = [&] { return day.json(again.json()); },
                             .day_version = [&] { return day.version() + "." + again.version(); },
                             .clock = [&] { return with_seconds(clock()); },
                             .pace = args.clock.empty() ? 1.0 : args.pace};
    if (args.read_only) handlers.mark = handlers.again = nullptr;
    const std::string token = args.lan ? token_of(plan.parent_path()) : "";
    if (args.lan && token.empty()) {
        std::fprintf(stderr, "coatroom board: no token can be kept in %s, and --lan needs one.\n",
                     plan.parent_path().string().c_str());
        return BadInput;
    }
    board::Server server(
        plan, checked, handlers,
        {.port = args.port, .lan = args.lan, .token = token, .proxied = args.hosts});
    if (!server.start()) {
        std::fprintf(stderr,
                     "coatroom board: port %d cannot be had. Choose another with "
                     "--port; 0 takes any free one.\n",
                     args.port);
        return BadInput;
    }
    const std::string door = token.empty() ? "" : "?token=" + token;
    std::printf(
        "http://127.0.0.1:%d/%s  the board\nhttp://127.0.0.1:%d/ask  when can it be ready?\n",
        server.port(), door.c_str(), server.port());
    if (args.lan) {
        const auto names = board::names_of_machine();
        for (const auto& name : names)
            std::printf("http://%s:%d/%s\n", name.c_str(), server.port(), door.c_str());
        if (!names.empty())
            print_qr("http://" + names.front() + ":" + std::to_string(server.port()) + "/" + door,
                     args.qr);
        std::printf(
            "Open one of these once on each display; whoever has the address is let in. It goes "
            "unencrypted over the network (docs/board.md).\n");
    }
    std::printf("Ctrl-C ends it.\n");
    std::fflush(stdout);
    // What is promised takes a while to plan; the board is there meanwhile.
    std::thread desk([&] {
        const std::string problem = service.refresh();
        if (!problem.empty() && !interrupted())
            std::fprintf(stderr, "coatroom board: no promises for now: %s\n", problem.c_str());
    });
    if (!args.read_only) again.start();
    before_ending([&] { again.abandon(); });
    while (!interrupted())
        std::this_thread::sleep_for(std::chrono::milliseconds(50));
    server.stop();
    again.stop();
    desk.join();
    before_ending({});
    return Done;
}

}  // namespace sched::app
