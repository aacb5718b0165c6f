#include "sched/app/parts/context.hpp"

#include <sys/ioctl.h>
#include <unistd.h>

#include <cstdio>
#include <cstdlib>
#include <nlohmann/json.hpp>

#include "sched/report/words/columns.hpp"

namespace sched::app {

void print_diagnostics(const model::Diagnostics& diagnostics, bool json) {
    if (!json) {
        for (const auto& d : diagnostics.sorted()) {
            std::fprintf(stderr, "%s\n", model::to_text(d).c_str());
        }
        return;
    }
    if (diagnostics.all().empty()) return;
    auto list = nlohmann::ordered_json::array();
    for (const auto& d : diagnostics.sorted()) {
        list.push_back({{"file", d.place.file},
                        {"line", d.place.line},
                        {"column", d.place.column},
                        {"severity", d.severity == model::Severity::Error ? "error" : "warning"},
                        {"code", d.code},
                        {"message", d.message},
                        {"hint", d.hint}});
    }
    std::fprintf(stderr, "%s\n", list.dump(2).c_str());
}

Terminal terminal_of(int file) {
    if (isatty(file) != 1) return {};
    winsize size{};
    const bool known = ioctl(file, TIOCGWINSZ, &size) == 0 && size.ws_col > 0;
    const char* plain = std::getenv("NO_COLOR");
    return {known ? int{size.ws_col} : 80, plain == nullptr || *plain == '\0'};
}

ProgressLine::ProgressLine()
    : begun_(std::chrono::steady_clock::now()), last_(begun_), terminal_(isatty(2) == 1) {}

ProgressLine::~ProgressLine() {
    if (shown_ && terminal_) std::fprintf(stderr, "\r\033[K");
}

void ProgressLine::show(const std::string& text) {
    using namespace std::chrono_literals;
    const auto now = std::chrono::steady_clock::now();
    if (now - begun_ < 2s) return;
    if (terminal_) {
        const int columns = terminal_of(2).columns;
        const auto most = static_cast<std::size_t>(columns > 1 ? columns - 1 : 79);
        std::fprintf(stderr, "\r\033[K%s", report::fitted(text, most).c_str());
    } else {
        if (shown_ && now - last_ < 10s) return;
        std::fprintf(stderr, "%s\n", text.c_str());
    }
    std::fflush(stderr);
    shown_ = true;
    last_ = now;
}

}  // namespace sched::app
