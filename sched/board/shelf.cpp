#include "sched/board/shelf.hpp"

#include <fmt/format.h>

#include <fstream>
#include <iterator>

#include "sched/board/board_json.hpp"
#include "sched/board/page.hpp"
#include "sched/report/document/fingerprint.hpp"
#include "sched/report/document/json_reader.hpp"
#include "sched/report/document/plan_json.hpp"
#include "sched/report/plan/outputs.hpp"

namespace sched::board {

namespace fs = std::filesystem;

namespace {

std::string type_of(const std::string& name) {
    const std::string end = fs::path(name).extension().string();
    if (end == ".html") return "text/html; charset=utf-8";
    if (end == ".json") return "application/json";
    if (end == ".csv") return "text/csv; charset=utf-8";
    if (end == ".ics") return "text/calendar; charset=utf-8";
    return "text/plain; charset=utf-8";
}

std::string stamp_of(const fs::path& path) {
    std::error_code error;
    const auto time = fs::last_write_time(path, error);
    if (error) return "none";
    const auto size = fs::file_size(path, error);
    if (error) return "none";
    return fmt::format("{}-{}", time.time_since_epoch().count(), size);
}

void replace_once(std::string& text, std::string_view from, std::string_view to) {
    const auto at = text.find(from);
    if (at != std::string::npos) text.replace(at, from.size(), to);
}

}  // namespace

std::string in_safelight(std::string page) {
    replace_once(page, "<html lang=\"en\">", "<html lang=\"en\" class=\"safelight\">");
    replace_once(page, "aria-pressed=\"false\">Safelight", "aria-pressed=\"true\">Safelight");
    return page;
}

PlanShelf::PlanShelf(fs::path path, PlanChecker checker)
    : path_(std::move(path)), checker_(std::move(checker)) {
    auto empty = std::make_shared<Shelf>();
    empty->version = "0";
    empty->message = "There is no plan yet: " + path_.string() + ": file not found.";
    shelf_ = empty;
}

std::shared_ptr<const Shelf> PlanShelf::current() {
    const std::lock_guard lock(mutex_);
    const std::string stamp = stamp_of(path_);
    if (stamp != seen_) {
        shelf_ = load(shelf_);
        seen_ = stamp;
    }
    return shelf_;
}

std::shared_ptr<const Shelf> PlanShelf::load(std::shared_ptr<const Shelf> old) const {
    const auto kept = [&](const std::string& why) {
        auto next = std::make_shared<Shelf>(*old);
        next->message = why + (old->planned ? " The last plan that could be read is shown." : "");
        next->version = old->version + "!";
        if (next->version.size() > 80) next->version = report::sha256_hex(next->version);
        return next;
    };
    std::error_code error;
    const auto size = fs::file_size(path_, error);
    if (error) return kept(path_.string() + ": file not found.");
    if (size > report::plan_max_bytes) return kept(path_.string() + " is larger than 64 MiB.");
    std::ifstream in(path_, std::ios::binary);
    const std::string text{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
    if (!in) return kept(path_.string() + " cannot be read.");
    model::Diagnostics diagnostics;
    const auto document = report::plan_from_json(text, diagnostics, path_.filename().string());
    if (!document) return kept("The plan cannot be read: " + to_text(diagnostics.all().front()));
    auto next = std::make_shared<Shelf>();
    next->planned = true;
    next->version = report::sha256_hex(text);
    auto wrong = report::contradictions(*document);
    if (checker_) {
        const auto broken = checker_(*document);
        wrong.insert(wrong.end(), broken.begin(), broken.end());
    }
    if (!wrong.empty()) {
        next->message = fmt::format("Do not work to this plan: it breaks a rule ({}{}).",
                                    wrong.front(), wrong.size() > 1 ? ", and more" : "");
    }
    for (auto& [name, body] : report::outputs_of(*document))
        next->files[name] = {type_of(name), std::move(body)};
    for (const char* name : {"plan.html", "sheets.html", "timeline.html"}) {
        auto& page = next->files[name];
        page.body =
            report::with_navigation(std::move(page.body), board_pages(), std::string("/") + name);
    }
    auto& page = next->files["plan.html"];
    page.body = in_safelight(std::move(page.body));
    next->files["board.json"] = {"application/json", board_json(*document)};
    return next;
}

}  // namespace sched::board
