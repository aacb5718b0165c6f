#include "tests/classes/instance_shop.hpp"

#include <algorithm>
#include <charconv>
#include <cstdint>
#include <utility>
#include <vector>

namespace sched::compile {

namespace {

using core::JobId;
using core::Mode;
using core::Operation;
using core::OperationId;
using core::OrderId;
using core::Problem;
using core::ResourceId;
using core::Seconds;
using core::SimTime;

/// Hands out the integers of a file with their places. After the first error everything reads as 0
/// and `failed()` stays true, so that the parsers need no check after every number.
class ShopTokens {
public:
    ShopTokens(std::string_view text, const std::string& file, model::Diagnostics& diagnostics)
        : text_(text), file_(file), diagnostics_(diagnostics) {}

    bool failed() const { return failed_; }

    void fail(std::string code, std::string message, std::string hint = {}) {
        if (failed_) return;
        failed_ = true;
        diagnostics_.error({file_, line_, column_}, std::move(code), std::move(message),
                           std::move(hint));
    }

    /// The next integer of the file, in [low, high].
    std::int64_t next(const char* what, std::int64_t low, std::int64_t high) {
        if (failed_) return low;
        skip_blanks();
        mark();
        if (at_ == text_.size()) {
            fail("file-ends-early", std::string("the file ends where ") + what + " should stand");
            return low;
        }
        std::int64_t value = 0;
        const char* first = text_.data() + at_;
        const char* last = text_.data() + text_.size();
        const auto [stop, error] = std::from_chars(first, last, value);
        if (error != std::errc{} || (stop != last && !blank(*stop))) {
            std::size_t to = at_;
            while (to < text_.size() && !blank(text_[to]) && to - at_ < 24)
                ++to;
            fail("not-an-integer", "\"" + std::string(text_.substr(at_, to - at_)) +
                                       "\" stands where " + what + " (an integer) should stand");
            return low;
        }
        at_ += static_cast<std::size_t>(stop - first);
        if (value < low || value > high) {
            fail(value > high ? "too-large" : "too-small",
                 std::string(what) + " is " + std::to_string(value) + "; allowed is " +
                     std::to_string(low) + " to " + std::to_string(high));
            return low;
        }
        return value;
    }

    /// Forgets the rest of the present line.
    void skip_line() {
        while (at_ < text_.size() && text_[at_] != '\n')
            ++at_;
    }

    void end() {
        if (failed_) return;
        skip_blanks();
        mark();
        if (at_ != text_.size()) fail("more-than-expected", "numbers follow after the last job");
    }

private:
    static bool blank(char c) { return c == ' ' || c == '\t' || c == '\r' || c == '\n'; }

    void skip_blanks() {
        for (; at_ < text_.size() && blank(text_[at_]); ++at_) {
            if (text_[at_] == '\n') {
                ++line_at_;
                line_start_ = at_ + 1;
            }
        }
    }

    void mark() {
        line_ = line_at_;
        column_ = static_cast<int>(at_ - line_start_) + 1;
    }

    std::string_view text_;
    const std::string& file_;
    model::Diagnostics& diagnostics_;
    std::size_t at_ = 0;
    std::size_t line_start_ = 0;
    int line_at_ = 1;
    int line_ = 0;
    int column_ = 0;
    bool failed_ = false;
};

class ShopReader {
public:
    ShopReader(ShopTokens& tokens, const InstanceLimits& limits) : in_(tokens), limits_(limits) {}

    Problem read(ShopFormat format) {
        switch (format) {
            case ShopFormat::JobShop:
                job_shop(false);
                break;
            case ShopFormat::TardinessJobShop:
                job_shop(true);
                break;
            case ShopFormat::FlexibleJobShop:
                flexible();
                break;
            case ShopFormat::HybridFlowShop:
                hybrid();
                break;
            case ShopFormat::Project:
                project();
                break;
        }
        in_.end();
        problem_.objective = {format == ShopFormat::TardinessJobShop
                                  ? core::Criterion::WeightedTardiness
                                  : core::Criterion::Makespan};
        // Enough for doing one operation after another: no schedule that leaves no time unused is
        // longer.
        problem_.horizon_end =
            SimTime{Seconds{std::max<std::int64_t>(1, total_ + latest_release_)}};
        return std::move(problem_);
    }

private:
    void machines(std::int64_t count, std::int64_t first) {
        for (std::int64_t m = 0; m < count && !in_.failed(); ++m) {
            problem_.resources.push_back({.name = "machine " + std::to_string(m + first)});
        }
    }

    void begin_job(std::int64_t number) {
        const auto order = static_cast<std::int32_t>(problem_.orders.size());
        problem_.orders.push_back({.name = "job " + std::to_string(number)});
        problem_.jobs.push_back({.name = "job " + std::to_string(number), .order = OrderId{order}});
        last_ = OperationId::none();
    }

    /// Appends an operation to the chain of the present job.
    void add(std::string name, std::vector<Mode> modes) {
        const OperationId id{problem_.operations.size()};
        if (static_cast<std::int64_t>(problem_.operations.size()) >= limits_.operations) {
            in_.fail("too-large", "the file has more than " + std::to_string(limits_.operations) +
                                      " operations");
            return;
        }
        Seconds longest{0};
        for (const Mode& m : modes)
            longest = std::max(longest, m.work);
        total_ += longest.count();
        problem_.operations.push_back({.name = std::move(name),
                                       .job = JobId{problem_.jobs.size() - 1},
                                       .modes = std::move(modes)});
        if (last_.valid()) problem_.constraints.push_back(core::TimeLag{.from = last_, .to = id});
        last_ = id;
    }

    std::string operation_name(std::int64_t job, std::int64_t step) const {
        return "job " + std::to_string(job) + " step " + std::to_string(step);
    }

    static Mode mode(std::int64_t machine, std::int64_t duration, int amount = 1) {
        return {.work = Seconds{duration},
                .needs = {{.any_of = {ResourceId{static_cast<std::int32_t>(machine)}},
                           .amount = amount}}};
    }

    void job_shop(bool tardiness) {
        const auto n = in_.next("the number of jobs", 1, limits_.jobs);
        const auto m = in_.next("the number of machines", 1, limits_.machines);
        machines(m, 0);
        for (std::int64_t j = 0; j < n && !in_.failed(); ++j) {
            begin_job(j);
            for (std::int64_t k = 0; k < m && !in_.failed(); ++k) {
                const auto machine = in_.next("a machine", 0, m - 1);
                const auto duration = in_.next("a duration", 0, limits_.duration);
                add(operation_name(j, k), {mode(machine, duration)});
            }
            if (!tardiness) continue;
            core::Order& order = problem_.orders.back();
            const auto release = in_.next("a release date", 0, limits_.duration);
            latest_release_ = std::max(latest_release_, release);
            order.release = SimTime{Seconds{release}};
            order.due = SimTime{Seconds{in_.next("a due date", 0, limits_.duration * 1000)}};
            order.weight = in_.next("a weight", 0, 1'000'000);
        }
    }

    void flexible() {
        const auto n = in_.next("the number of jobs", 1, limits_.jobs);
        const auto m = in_.next("the number of machines", 1, limits_.machines);
        in_.skip_line();  // the average number of machines an operation, for information
        machines(m, 1);
        for (std::int64_t j = 0; j < n && !in_.failed(); ++j) {
            begin_job(j + 1);
            const auto steps = in_.next("the number of operations", 1, limits_.operations);
            for (std::int64_t k = 0; k < steps && !in_.failed(); ++k) {
                const auto choices = in_.next("the number of eligible machines", 1, m);
                std::vector<Mode> modes;
                for (std::int64_t c = 0; c < choices && !in_.failed(); ++c) {
                    const auto machine = in_.next("a machine", 1, m);
                    modes.push_back(mode(machine - 1, in_.next("a duration", 0, limits_.duration)));
                }
                add(operation_name(j + 1, k + 1), std::move(modes));
            }
        }
    }

    void hybrid() {
        const auto n = in_.next("the number of jobs", 1, limits_.jobs);
        const auto stages = in_.next("the number of stages", 1, limits_.machines);
        for (std::int64_t s = 0; s < stages && !in_.failed(); ++s) {
            const auto count = in_.next("the machines of a stage", 1, limits_.machines);
            problem_.resources.push_back(
                {.name = "stage " + std::to_string(s), .capacity = static_cast<int>(count)});
        }
        for (std::int64_t j = 0; j < n && !in_.failed(); ++j) {
            begin_job(j);
            for (std::int64_t s = 0; s < stages && !in_.failed(); ++s) {
                add(operation_name(j, s), {mode(s, in_.next("a duration", 0, limits_.duration))});
            }
        }
    }

    void project() {
        const auto n = in_.next("the number of activities", 1, limits_.operations);
        const auto resources = in_.next("the number of resources", 0, limits_.machines);
        for (std::int64_t r = 0; r < resources && !in_.failed(); ++r) {
            const auto capacity = in_.next("a capacity", 1, 1'000'000);
            problem_.resources.push_back({.name = "resource " + std::to_string(r + 1),
                                          .capacity = static_cast<int>(capacity)});
        }
        begin_job(1);
        problem_.orders.back().name = problem_.jobs.back().name = "project";
        std::vector<std::pair<std::int32_t, std::int32_t>> arcs;
        for (std::int64_t i = 0; i < n && !in_.failed(); ++i) {
            Mode m{.work = Seconds{in_.next("a duration", 0, limits_.duration)}};
            for (std::int64_t r = 0; r < resources && !in_.failed(); ++r) {
                const auto index = static_cast<std::size_t>(r);
                const auto demand = in_.next("a demand", 0, problem_.resources[index].capacity);
                if (demand > 0) {
                    m.needs.push_back(
                        {.any_of = {ResourceId{index}}, .amount = static_cast<int>(demand)});
                }
            }
            const auto successors = in_.next("the number of successors", 0, n);
            for (std::int64_t s = 0; s < successors && !in_.failed(); ++s) {
                const auto to = in_.next("a successor", 1, n);
                // In these files numbers rise along precedences; without that a cycle could hide
                // here.
                if (to <= i + 1) {
                    in_.fail("successor-before",
                             "activity " + std::to_string(i + 1) + " names " + std::to_string(to) +
                                 " as successor; successors have higher numbers in this format");
                }
                arcs.emplace_back(static_cast<std::int32_t>(i), static_cast<std::int32_t>(to - 1));
                if (arcs.size() > 10u * static_cast<std::size_t>(limits_.operations)) {
                    in_.fail("too-large", "the file has too many precedences");
                }
            }
            last_ = OperationId::none();
            add("activity " + std::to_string(i + 1), {std::move(m)});
        }
        if (in_.failed()) return;
        for (const auto& [from, to] : arcs) {
            problem_.constraints.push_back(
                core::TimeLag{.from = OperationId{from}, .to = OperationId{to}});
        }
    }

    ShopTokens& in_;
    const InstanceLimits& limits_;
    Problem problem_;
    OperationId last_ = OperationId::none();
    std::int64_t total_ = 0;
    std::int64_t latest_release_ = 0;
};

}  // namespace

std::optional<core::Problem> read_shop(std::string_view text, const std::string& file,
                                       ShopFormat format, model::Diagnostics& diagnostics,
                                       const InstanceLimits& limits) {
    ShopTokens tokens(text, file, diagnostics);
    if (text.size() > limits.bytes) {
        tokens.fail("too-large",
                    "the file has more than " + std::to_string(limits.bytes) + " bytes");
        return std::nullopt;
    }
    core::Problem problem = ShopReader(tokens, limits).read(format);
    if (tokens.failed()) return std::nullopt;
    problem.name = file;
    return problem;
}

}  // namespace sched::compile
