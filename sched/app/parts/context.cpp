#include "sched/app/parts/context.hpp"

#include <unistd.h>

#include <cstdio>
#include <nlohmann/json.hpp>

namespace sched::app {

void print_diagnostics(const model::Diagnostics& diagnostics, bool json) {
    if (!json) {
        for (const auto& d : diagnostics.sorted()) {
            std::fprintf(stderr, "%s\n", model::to_text(d).c_str());
        }
        return;
    }
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
        std::fprintf(stderr, "\r\033[K%s", text.c_str());
    } else {
        if (shown_ && now - last_ < 10s) return;
        std::fprintf(stderr, "%s\n", text.c_str());
    }
    std::fflush(stderr);
    shown_ = true;
    last_ = now;
}

}  // namespace sched::app
