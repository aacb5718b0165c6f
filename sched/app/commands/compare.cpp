// coatroom plan --compare A B: how two plan files differ.

#include <array>
#include <cstdio>
#include <optional>

#include "sched/app/parts/commands.hpp"
#include "sched/app/parts/context.hpp"
#include "sched/app/parts/files.hpp"
#include "sched/report/document/plan_json.hpp"
#include "sched/report/plan/compare.hpp"

namespace sched::app {

int run_compare(const CompareArgs& args) {
    constexpr std::size_t most_bytes = std::size_t{64} << 20;
    model::Diagnostics diagnostics;
    std::array<std::optional<report::PlanDocument>, 2> documents;
    const std::array<std::string, 2> names{args.a, args.b};
    for (std::size_t i = 0; i < 2; ++i) {
        const auto text = read_text(names[i], most_bytes);
        if (!text) {
            std::fprintf(stderr, "coatroom plan: %s cannot be read, or is larger than 64 MiB.\n",
                         names[i].c_str());
            return BadInput;
        }
        documents[i] = report::plan_from_json(*text, diagnostics, names[i]);
    }
    print_diagnostics(diagnostics, false);
    if (!documents[0] || !documents[1]) return BadInput;
    const std::string words = args.json ? report::compare_to_json(*documents[0], *documents[1])
                                        : report::compare_documents(*documents[0], *documents[1]);
    std::fwrite(words.data(), 1, words.size(), stdout);
    return Done;
}

}  // namespace sched::app
