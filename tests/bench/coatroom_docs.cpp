// coatroom-docs: remakes docs/room.schema.json and the tables of docs/input.md from the reader's
// tables. Run it in the top folder after a key was added; a test says when it was forgotten.

#include <cstdio>
#include <fstream>
#include <iterator>
#include <string>

#include "model/read/reference.hpp"

namespace {

std::string whole_file(const char* path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

bool replace_file(const char* path, const std::string& text) {
    std::ofstream out(path, std::ios::binary);
    out << text;
    return static_cast<bool>(out.flush());
}

}  // namespace

int main() {
    const bool done =
        replace_file("docs/room.schema.json", model::read::room_schema()) &&
        replace_file("docs/input.md", model::read::renew_tables(whole_file("docs/input.md")));
    if (!done) std::fprintf(stderr, "coatroom-docs: docs/ cannot be written\n");
    return done ? 0 : 1;
}
