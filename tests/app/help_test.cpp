// What each command's help, its section of the man page and its line of the completion say: the
// same options, command by command.

#include <sys/wait.h>

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <regex>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include "tests/catch.hpp"

namespace {

using Names = std::set<std::string>;

std::string file_of(const std::string& name) {
    std::ifstream in(std::string(COATROOM_SOURCE) + "/" + name, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

std::string help_of(const std::string& arguments) {
    FILE* pipe = popen((std::string(COATROOM_PROGRAM) + " " + arguments + " --help").c_str(), "r");
    REQUIRE(pipe != nullptr);
    std::string text;
    for (int c = std::fgetc(pipe); c != EOF; c = std::fgetc(pipe))
        text += static_cast<char>(c);
    REQUIRE(pclose(pipe) == 0);
    return text;
}

/// Every --option of the text but --help, which all have.
Names options_in(const std::string& text) {
    static const std::regex option("--[a-z][a-z-]*");
    Names names;
    for (std::sregex_iterator it(text.begin(), text.end(), option), end; it != end; ++it)
        names.insert(it->str());
    names.erase("--help");
    return names;
}

/// Those that a line of the help begins with ("  --date TEXT  Day of ..."), not those that its
/// words mention.
Names options_of_help(const std::string& help) {
    static const std::regex line("\n +(-[a-z],)?(--[a-z][a-z-]*)");
    Names names;
    for (std::sregex_iterator it(help.begin(), help.end(), line), end; it != end; ++it)
        names.insert(it->str(2));
    names.erase("--help");
    return names;
}

/// From ".B plan \fI..." to the next command; only the lines that name options.
Names options_of_man(const std::string& man, const std::string& command) {
    const auto from = man.find("\n.B " + command + " \\fI");
    REQUIRE(from != std::string::npos);
    const auto to = man.find("\n.RE", from);
    REQUIRE(to != std::string::npos);
    std::istringstream section(man.substr(from, to - from));
    std::string tags, before;
    for (std::string line; std::getline(section, line); before = line) {
        if (before == ".TP") tags += line + "\n";
    }
    return options_in(tags);
}

/// The words between the quotes of "plan) options='...' ;;".
Names options_of_completion(const std::string& completion, const std::string& command) {
    const auto from = completion.find("    " + command + ") options='");
    REQUIRE(from != std::string::npos);
    const auto open = completion.find('\'', from);
    return options_in(completion.substr(open, completion.find('\'', open + 1) - open));
}

std::vector<std::string> commands() {
    const std::string help = help_of("");
    const auto from = help.find("Subcommands:\n");
    REQUIRE(from != std::string::npos);
    std::vector<std::string> names;
    std::istringstream lines(help.substr(help.find('\n', from) + 1));
    for (std::string line, name; std::getline(lines, line) && line.rfind("  ", 0) == 0;) {
        if (line[2] == ' ') continue;  // a description that goes on
        std::istringstream(line) >> name;
        names.push_back(name);
    }
    return names;
}

}  // namespace

TEST_CASE("help, man page and completion name the same options of each command", "[app][docs]") {
    const std::string man = file_of("docs/coatroom.1");
    const std::string completion = file_of("docs/completions/coatroom.bash");
    const auto all = commands();
    CHECK(all.size() >= 8);
    for (const std::string& command : all) {
        const std::string help = help_of(command);
        const Names wanted = options_of_help(help);
        INFO(command);
        CHECK_FALSE(wanted.empty());
        CHECK(options_of_man(man, command) == wanted);
        CHECK(options_of_completion(completion, command) == wanted);
        CHECK(help.find("Example") != std::string::npos);
        CHECK(help.find("Exit status") != std::string::npos);
    }
    // The first word of a line: the commands themselves.
    const auto from = completion.find("-W '");
    REQUIRE(from != std::string::npos);
    std::istringstream first(completion.substr(from + 4, completion.find("' --", from) - from - 4));
    Names words{std::istream_iterator<std::string>(first), {}};
    Names wanted(all.begin(), all.end());
    wanted.insert({"--help", "--version"});
    CHECK(words == wanted);
}

TEST_CASE("a number on the command line is one that a person writes", "[app]") {
    // strtod also reads nan, inf and 0x10; no bound stops a nan.
    static const std::regex line("\n +(--[a-z][a-z-]*) (FLOAT|UINT|INT)");
    int tried = 0;
    for (const std::string& command : commands()) {
        const std::string help = help_of(command);
        for (std::sregex_iterator it(help.begin(), help.end(), line), end; it != end; ++it) {
            for (const char* bad : {"nan", "inf", "0x", "18446744073709551616"}) {
                const std::string asked = command + " " + COATROOM_SOURCE +
                                          "/scenarios/first-day " + it->str(1) + "=" + bad +
                                          " 2>&1 >/dev/null";
                INFO(asked);
                FILE* pipe = popen((std::string(COATROOM_PROGRAM) + " " + asked).c_str(), "r");
                REQUIRE(pipe != nullptr);
                std::string said;
                for (int c = std::fgetc(pipe); c != EOF; c = std::fgetc(pipe))
                    said += static_cast<char>(c);
                const int status = pclose(pipe);
                CHECK(WEXITSTATUS(status) == 2);
                CHECK(said.find(it->str(1).substr(2)) != std::string::npos);
                ++tried;
            }
        }
    }
    CHECK(tried > 150);
}

TEST_CASE("users read standard words", "[app][docs]") {
    // Words that the program had of its own for simulated days, random variation and the posted
    // plan. "lives" of companies and luck in code are not looked at.
    static const std::regex own(
        "\\b(lived|lives through|live through|living through|luck|comes? in "
        "question)\\b|(plan|json|sheet|one)`? "
        "that hangs");
    const std::vector<std::string> texts = {"README.md",
                                            "docs/promise.md",
                                            "docs/replan.md",
                                            "docs/simulation.md",
                                            "docs/sizing.md",
                                            "docs/board.md",
                                            "docs/plan-document.md",
                                            "docs/input.md",
                                            "docs/glossary.md",
                                            "docs/coatroom.1",
                                            "docs/plan.schema.json",
                                            "docs/physics.md",
                                            "docs/size.schema.json",
                                            "docs/room.schema.json",
                                            "docs/promise.schema.json",
                                            "scenarios/README.md"};
    const auto check = [&](const std::string& name, const std::string& text) {
        std::smatch found;
        INFO(name << ": " << (std::regex_search(text, found, own) ? found.str() : ""));
        CHECK_FALSE(std::regex_search(text, own));
    };
    for (const std::string& name : texts) {
        const std::string text = file_of(name);
        REQUIRE_FALSE(text.empty());
        check(name, text);
    }
    for (const std::string& command : commands())
        check(command + " --help", help_of(command));
    // What pages, texts and notes are made of: the string literals of report and app.
    static const std::regex literal("\"(\\\\.|[^\"\\\\\n])*\"");
    namespace fs = std::filesystem;
    int literals = 0;
    for (const char* folder : {"sched/report", "sched/app", "sched/board", "sched/simulate"}) {
        for (const auto& entry :
             fs::recursive_directory_iterator(std::string(COATROOM_SOURCE) + "/" + folder)) {
            if (entry.path().extension() != ".cpp") continue;
            const std::string name = fs::relative(entry.path(), COATROOM_SOURCE).generic_string();
            std::istringstream lines(file_of(name));
            for (std::string line; std::getline(lines, line);) {
                if (line.rfind("#include", 0) == 0) continue;
                for (std::sregex_iterator it(line.begin(), line.end(), literal), end; it != end;
                     ++it, ++literals)
                    check(name, it->str());
            }
        }
    }
    CHECK(literals > 1000);
}
