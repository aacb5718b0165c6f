// coatroom begin: questions -> answers -> shop -> files, held against the reader -> the folder.
//
// How it works: the texts are read as a scenario before anything is written; what the reader takes
// is written as one act (write_files_together). Where a file of such a name stands, nothing is.

#include <cstdio>
#include <ctime>
#include <filesystem>
#include <map>
#include <nlohmann/json.hpp>
#include <optional>

#include "model/base/files.hpp"
#include "model/begin/answers_file.hpp"
#include "model/begin/files.hpp"
#include "model/read/scenario.hpp"
#include "sched/app/parts/commands.hpp"
#include "sched/app/parts/context.hpp"
#include "sched/app/parts/files.hpp"
#include "sched/app/parts/interrupt.hpp"

namespace sched::app {

namespace {

namespace fs = std::filesystem;
using model::begin::Answer;
using model::begin::NewFile;
using model::begin::Shop;

model::LocalDate today_here() {
    const std::time_t now = std::time(nullptr);
    std::tm local{};
    localtime_r(&now, &local);
    return {std::chrono::year{local.tm_year + 1900},
            std::chrono::month{static_cast<unsigned>(local.tm_mon + 1)},
            std::chrono::day{static_cast<unsigned>(local.tm_mday)}};
}

// One line of standard input, of a long one its beginning; nullopt at the end.
std::optional<std::string> typed_line() {
    constexpr std::size_t most = 1000;
    std::string line;
    for (int c = std::getchar(); c != EOF; c = std::getchar()) {
        if (c == '\n') return line;
        if (line.size() < most) line += static_cast<char>(c);
    }
    if (line.empty()) return std::nullopt;
    return line;
}

// Asks all; an answer that is not understood is asked again. Nullopt: the input ended.
std::optional<Shop> asked(std::vector<Answer>& answers) {
    Shop shop;
    std::printf(
        "Ten questions about your screen room. Enter takes the answer in brackets; whatever you\n"
        "answer can be changed in the files afterwards.\n");
    int number = 0;
    for (const model::begin::Question& q : model::begin::questions()) {
        std::printf("\n%d of %zu. %.*s\n", ++number, model::begin::questions().size(),
                    static_cast<int>(q.ask.size()), q.ask.data());
        for (std::size_t i = 0; i < q.answers.size() && q.answers.size() > 1; ++i)
            std::printf("   %zu  %.*s\n", i + 1, static_cast<int>(q.answers[i].size()),
                        q.answers[i].data());
        std::string hint = "   " + std::string(q.hint);
        for (std::size_t at = hint.find('\n'); at != std::string::npos;
             at = hint.find('\n', at + 1))
            hint.insert(at + 1, "   ");
        std::printf("%s\n", hint.c_str());
        while (true) {
            std::printf("[%.*s] > ", static_cast<int>(q.answers.front().size()),
                        q.answers.front().data());
            std::fflush(stdout);
            const auto line = typed_line();
            if (!line || interrupted()) return std::nullopt;
            const std::string text = model::begin::settled(q, *line);
            const std::string problem = model::begin::answer(q.key, text, shop);
            if (problem.empty()) {
                answers.push_back({text, 0, 0});
                break;
            }
            std::printf("   %s\n", problem.c_str());
        }
    }
    std::printf("\n");
    return shop;
}

std::optional<Shop> answered(const BeginArgs& args, std::vector<Answer>& answers) {
    if (args.answers.empty()) {
        auto shop = asked(answers);
        if (!shop && !interrupted())
            std::fprintf(stderr, "\ncoatroom begin: the answers ended. Nothing was written.\n");
        return shop;
    }
    const auto text = read_text(args.answers, std::size_t{1} << 20);
    if (!text) {
        std::fprintf(stderr, "coatroom begin: %s cannot be read, or is larger than 1 MiB.\n",
                     args.answers.c_str());
        return std::nullopt;
    }
    model::Diagnostics diagnostics;
    std::optional<Shop> shop;
    if (auto read = model::begin::read_answers(*text, args.answers, diagnostics)) {
        answers = *std::move(read);
        shop = model::begin::shop_of(answers, args.answers, diagnostics);
    }
    print_diagnostics(diagnostics, args.json);
    return shop;
}

// What stands in the way of the files; "" nothing.
std::string in_the_way(const fs::path& folder, const std::vector<NewFile>& files) {
    std::error_code error;
    if (fs::exists(fs::symlink_status(folder, error)) && !fs::is_directory(folder, error))
        return folder.string() + " is not a folder. Name another one";
    for (const NewFile& file : files) {
        if (fs::exists(fs::symlink_status(folder / file.name, error)))
            return (folder / file.name).string() +
                   " is there already and is not overwritten. Name a new folder";
    }
    return {};
}

std::string shell_word(const std::string& text) {
    const bool plain = text.find_first_not_of(
                           "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
                           "0123456789_-./+") == std::string::npos;
    if (plain && text.front() != '-') return text;
    std::string out = "'";
    for (const char c : text)
        out += c == '\'' ? std::string("'\\''") : std::string(1, c);
    return out + "'";
}

// The folder's own name, as far as a room can be called so.
std::string room_name(const fs::path& folder) {
    std::string name = fs::weakly_canonical(folder).filename().string();
    for (char& c : name) {
        if (c == '-' || c == '_' || c == '#' || c == ':' || c == '"' || c == '\'' ||
            static_cast<unsigned char>(c) < 0x20)
            c = ' ';
    }
    const std::size_t first = name.find_first_not_of(" -?!&*|>%@`[]{},");
    return first == std::string::npos ? "Screen room" : name.substr(first, 60);
}

void say_what_next(const BeginArgs& args, const std::vector<NewFile>& files) {
    const std::string folder = shell_word(args.folder);
    const std::string out = shell_word((fs::path(args.folder) / "plan").string());
    if (args.json) {
        nlohmann::ordered_json json{{"folder", args.folder}};
        for (const NewFile& file : files)
            json["files"].push_back(file.name);
        json["next"] = {"coatroom check " + folder, "coatroom plan " + folder + " --out " + out};
        std::printf("%s\n", json.dump(2).c_str());
        return;
    }
    std::printf("Written to %s:", args.folder.c_str());
    for (std::size_t i = 0; i < files.size(); ++i)
        std::printf("%s %s", i == 0 ? "" : ",", files[i].name.c_str());
    std::printf(
        ".\nNext, what the figures mean, then a plan of the example day:\n"
        "  coatroom check %s\n"
        "  coatroom plan %s --out %s\n"
        "and open %s/plan.html. Then put your own orders into orders.csv.\n",
        folder.c_str(), folder.c_str(), out.c_str(),
        (fs::path(args.folder) / "plan").string().c_str());
}

}  // namespace

int run_begin(const BeginArgs& args) {
    fs::path folder = fs::path(args.folder).lexically_normal();
    if (!folder.has_filename()) folder = folder.parent_path();
    std::optional<model::LocalDate> date = today_here();
    if (!args.date.empty()) date = model::parse_date(args.date);
    if (!date) {
        std::fprintf(stderr, "coatroom begin: --date %s is no date. Write it as 2026-11-26.\n",
                     args.date.c_str());
        return BadInput;
    }
    // Said before ten questions are answered in vain.
    const std::vector<NewFile> names{
        {"room.yaml", ""}, {"orders.csv", ""}, {"frames.csv", ""}, {"answers.txt", ""}};
    model::complete_files(folder);  // of a begin that was killed
    std::string problem = in_the_way(folder, names);
    if (!problem.empty()) {
        std::fprintf(stderr, "coatroom begin: %s.\n", problem.c_str());
        return BadInput;
    }
    known_so_far("Nothing was written.");
    std::vector<Answer> answers;
    const auto shop = answered(args, answers);
    if (interrupted()) return say_interrupted("Nothing was written.");
    if (!shop) return BadInput;
    const Undivided whole;
    const auto files = model::begin::files_of(*shop, room_name(folder), *date, answers);
    std::map<std::string, std::string> texts;
    std::vector<model::NamedFile> together;
    for (const NewFile& file : files) {
        texts[file.name] = file.text;
        together.emplace_back(file.name, [&file] { return file.text; });
    }
    model::Diagnostics diagnostics;
    if (!model::read_scenario(texts, folder.string(), diagnostics,
                              {.day = model::midnight(*date)})) {
        print_diagnostics(diagnostics, args.json);
        std::fprintf(stderr,
                     "coatroom begin: the answers do not go together, as said above. Nothing was "
                     "written.\n");
        return BadInput;
    }
    problem = in_the_way(folder, names);  // ten questions ago nothing was
    std::error_code error;
    const bool fresh = !fs::exists(folder, error);
    const auto refused = problem.empty() ? model::write_files_together(folder, together)
                                         : std::optional<std::string>{};
    if (!problem.empty() || refused) {
        if (fresh) fs::remove(folder, error);  // if it is empty
        std::fprintf(stderr, "coatroom begin: %s. Nothing was written.\n",
                     refused.value_or(problem).c_str());
        return refused ? NotPrinted : BadInput;
    }
    say_what_next(args, files);
    return Done;
}

}  // namespace sched::app
