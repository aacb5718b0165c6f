#include "tests/classes/instance_lags.hpp"

#include <algorithm>
#include <charconv>
#include <cstdint>
#include <utility>
#include <vector>

namespace sched::compile {

namespace {

using core::OperationId;
using core::Problem;
using core::ResourceId;
using core::Seconds;
using core::SimTime;
using core::TimeLag;

/// Integers of a text with their places; after the first error everything reads as 0.
class LagTokens {
public:
    LagTokens(std::string_view text, const std::string& file, model::Diagnostics& diagnostics)
        : text_(text), file_(file), diagnostics_(diagnostics) {}

    bool failed() const { return failed_; }

    void fail(std::string code, std::string message, std::string hint = {}) {
        if (failed_) return;
        failed_ = true;
        diagnostics_.error({file_, line_, column_}, std::move(code), std::move(message),
                           std::move(hint));
    }

    /// @param bracketed the number stands as [w].
    std::int64_t next(const char* what, std::int64_t low, std::int64_t high,
                      bool bracketed = false) {
        if (failed_) return low;
        skip_blanks();
        line_ = line_at_;
        column_ = static_cast<int>(at_ - line_start_) + 1;
        if (at_ == text_.size()) {
            fail("file-ends-early", std::string("the file ends where ") + what + " should stand");
            return low;
        }
        if (bracketed && text_[at_] != '[') {
            fail("no-bracket", std::string(what) + " should stand in brackets",
                 "write [3] or [-2]");
            return low;
        }
        const std::size_t from = at_ + (bracketed ? 1 : 0);
        std::int64_t value = 0;
        const char* last = text_.data() + text_.size();
        auto [stop, error] = std::from_chars(text_.data() + from, last, value);
        bool good = error == std::errc{};
        if (good && bracketed) good = stop != last && *stop++ == ']';
        if (!good || (stop != last && !blank(*stop) && *stop != '[')) {
            std::size_t to = at_;
            while (to < text_.size() && !blank(text_[to]) && to - at_ < 24)
                ++to;
            fail("not-an-integer", "\"" + std::string(text_.substr(at_, to - at_)) +
                                       "\" stands where " + what + " (an integer) should stand");
            return low;
        }
        at_ = static_cast<std::size_t>(stop - text_.data());
        if (value < low || value > high) {
            fail(value > high ? "too-large" : "too-small",
                 std::string(what) + " is " + std::to_string(value) + "; allowed is " +
                     std::to_string(low) + " to " + std::to_string(high));
            return low;
        }
        return value;
    }

    void end() {
        if (failed_) return;
        skip_blanks();
        line_ = line_at_;
        column_ = static_cast<int>(at_ - line_start_) + 1;
        if (at_ != text_.size())
            fail("more-than-expected", "something follows after the capacities");
    }

private:
    static bool blank(char c) { return c == ' ' || c == '\t' || c == '\r' || c == '\n'; }

    void skip_blanks() {
        for (; at_ < text_.size() && blank(text_[at_]); ++at_) {
            if (text_[at_] != '\n') continue;
            ++line_at_;
            line_start_ = at_ + 1;
        }
    }

    std::string_view text_;
    const std::string& file_;
    model::Diagnostics& diagnostics_;
    std::size_t at_ = 0;
    std::size_t line_start_ = 0;
    int line_at_ = 1;
    int line_ = 1;
    int column_ = 1;
    bool failed_ = false;
};

}  // namespace

std::optional<Problem> read_project_max(std::string_view text, const std::string& file,
                                        model::Diagnostics& diagnostics, const LagLimits& limits) {
    LagTokens in(text, file, diagnostics);
    if (text.size() > limits.bytes) {
        in.fail("too-large", "the file has " + std::to_string(text.size()) +
                                 " bytes; read are at most " + std::to_string(limits.bytes));
        return std::nullopt;
    }
    const std::int64_t n = in.next("the number of activities", 0, limits.activities) + 2;
    const std::int64_t resources = in.next("the number of resources", 0, limits.resources);
    in.next("the number of non-renewable resources", 0, 0);
    in.next("the number of doubly constrained resources", 0, 0);
    Problem p;
    std::vector<std::int64_t> reach(static_cast<std::size_t>(n), 0);
    std::int64_t arcs = 0;
    for (std::int64_t i = 0; i < n && !in.failed(); ++i) {
        in.next("the activity's number", i, i);
        in.next("the number of modes", 1, 1);
        const std::int64_t successors = in.next("the number of successors", 0, limits.arcs);
        if ((arcs += successors) > limits.arcs)
            in.fail("too-large", "there are more than " + std::to_string(limits.arcs) + " arcs");
        std::vector<std::int64_t> to;
        for (std::int64_t k = 0; k < successors && !in.failed(); ++k)
            to.push_back(in.next("a successor", 0, n - 1));
        for (const std::int64_t j : to) {
            const std::int64_t w = in.next("a lag", -limits.value, limits.value, true);
            reach[static_cast<std::size_t>(i)] = std::max(reach[static_cast<std::size_t>(i)], w);
            if (j == i && w > 0 && !in.failed())
                in.fail("lag-to-itself",
                        "activity " + std::to_string(i) + " has a positive lag to itself");
            if (j == i) continue;
            p.constraints.push_back(TimeLag{.from = OperationId{static_cast<std::int32_t>(i)},
                                            .edge = core::Edge::Start,
                                            .to = OperationId{static_cast<std::int32_t>(j)},
                                            .min = Seconds{w}});
        }
    }
    std::int64_t total = 0;
    std::vector<std::vector<std::int64_t>> demands;
    for (std::int64_t i = 0; i < n && !in.failed(); ++i) {
        in.next("the activity's number", i, i);
        in.next("the mode", 1, 1);
        const std::int64_t length = in.next("the duration", 0, limits.value);
        auto& d = demands.emplace_back();
        for (std::int64_t r = 0; r < resources; ++r)
            d.push_back(in.next("a demand", 0, limits.value));
        core::Operation o{.name = "activity " + std::to_string(i)};
        o.modes.push_back({.work = Seconds{length}});
        p.operations.push_back(std::move(o));
        total += std::max(length, reach[static_cast<std::size_t>(i)]);
    }
    for (std::int64_t r = 0; r < resources && !in.failed(); ++r) {
        const std::int64_t capacity = in.next("a capacity", 1, limits.value);
        p.resources.push_back(
            {.name = "resource " + std::to_string(r + 1), .capacity = static_cast<int>(capacity)});
        for (std::size_t i = 0; i < p.operations.size(); ++i) {
            const std::int64_t d = demands[i][static_cast<std::size_t>(r)];
            if (d > capacity && !in.failed()) {
                in.fail("demand-above-capacity", "activity " + std::to_string(i) + " needs " +
                                                     std::to_string(d) + " of resource " +
                                                     std::to_string(r + 1) + ", which has " +
                                                     std::to_string(capacity));
            }
            if (d > 0) {
                p.operations[i].modes[0].needs.push_back(
                    {.any_of = {ResourceId{static_cast<std::int32_t>(r)}},
                     .amount = static_cast<int>(d)});
            }
        }
    }
    in.end();
    if (in.failed()) return std::nullopt;
    p.horizon_end = SimTime{Seconds{std::max<std::int64_t>(1, total)}};
    p.objective = {core::Criterion::Makespan};
    return p;
}

}  // namespace sched::compile
