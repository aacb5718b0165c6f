#include "sched/app/parts/files.hpp"

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <utility>

#include "sched/app/parts/context.hpp"
#include "sched/report/document/fingerprint.hpp"

namespace sched::app {

std::optional<std::string> read_text(const std::string& path, std::size_t limit) {
    std::error_code error;
    if (!std::filesystem::is_regular_file(path, error)) return std::nullopt;
    const auto size = std::filesystem::file_size(path, error);
    if (error || size > limit) return std::nullopt;
    std::ifstream file(path, std::ios::binary);
    std::string text(size, '\0');
    if (!file.read(text.data(), static_cast<std::streamsize>(size)) && size > 0) {
        return std::nullopt;
    }
    return text;
}

std::vector<report::InputFile> input_files(const std::string& folder) {
    constexpr std::size_t limit = std::size_t{16} << 20;
    std::vector<report::InputFile> files;
    for (const char* name : {"room.yaml", "orders.csv", "frames.csv", "weather.csv"}) {
        const auto text = read_text((std::filesystem::path(folder) / name).string(), limit);
        if (text) files.push_back(report::input_file(name, *text));
    }
    return files;
}

ReadFolder read_folder(const std::string& folder, model::Diagnostics& diagnostics,
                       const model::RunDay& run) {
    constexpr int tries = 20;  // whoever replaces files all the time gets the digests from before
    const auto digests = [&] {
        auto files = input_files(folder);
        return std::pair{report::fingerprint_of(files), std::move(files)};
    };
    for (int k = 1;; ++k) {
        auto before = digests();
        model::Diagnostics found;
        auto scenario = model::read_scenario(folder, found, run);
        if (k < tries && digests().first != before.first) continue;
        for (const model::Diagnostic& d : found.all()) {
            if (d.severity == model::Severity::Error)
                diagnostics.error(d.place, d.code, d.message, d.hint);
            else
                diagnostics.warning(d.place, d.code, d.message, d.hint);
        }
        return {std::move(scenario), std::move(before.second)};
    }
}

std::string page_file(const std::string& out, const char* name) {
    namespace fs = std::filesystem;
    std::error_code error;
    const fs::path path(out);
    if (!fs::is_directory(path, error)) {
        if (fs::exists(path, error) || path.has_extension()) return out;
        fs::create_directories(path, error);
        if (error) return out;  // writing there says why
    }
    return (path / name).string();
}

int not_written(const char* command, const std::string& error) {
    std::fprintf(stderr, "coatroom %s: not written: %s\n", command, error.c_str());
    return NotPrinted;
}

}  // namespace sched::app
