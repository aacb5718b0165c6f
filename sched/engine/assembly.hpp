#pragma once
// A compiled problem put together from parts that were compiled once: the ways of screens, of their
// remakes and of rush orders. A simulated day then costs copies of flat rows, no compilation, no
// string and, once warm, no allocation.

#include <cstdint>
#include <map>
#include <span>
#include <vector>

#include "sched/engine/compiled_problem.hpp"

namespace sched::engine {

/// Parts of one problem. Immutable once filled; shared by threads.
class PartBook {
public:
    /// @param whole everything that may ever be put together: its resources, stores and orders, and
    /// its circles of places, are those of every assembly. Must outlive the book.
    explicit PartBook(const core::Problem& whole);

    /// The operations [first, first + count) of the whole with the constraints among them. Releases
    /// and lags from outside are not the part's business.
    /// @param constraints indices into Problem::constraints, all inside the range.
    /// @returns its number.
    int add(int first, int count, std::span<const int> constraints);

    const CompiledProblem& whole() const { return whole_; }

private:
    friend class Assembly;
    struct Part {
        std::vector<CompiledOperation> operations;
        std::vector<CompiledMode> modes;  // needs: into the assembly's
        std::vector<DryingClock::Stage> stages;
        std::vector<CompiledLag> lags;
        std::vector<std::int32_t> lags_in, lags_out, same_mode;
        std::vector<CompiledSameResource> same_resource;
        std::vector<CompiledTake> takes;  // any_of: into the assembly's
        std::vector<CompiledGive> gives;
        std::vector<Block> blocks;
        std::vector<std::int32_t> block_operations;
        std::vector<std::int32_t> exit_of;  // into the book's exits
        std::int32_t chosen_size = 0, take_count = 0;
    };
    CompiledProblem whole_;
    std::vector<Part> parts_;
    std::vector<CompiledNeed> needs_;
    std::vector<std::int32_t> candidates_, take_stores_;
    std::vector<Exit> exits_;
    std::map<std::vector<std::int64_t>, std::int32_t> exit_number_, ask_number_;
};

/// One problem after another from the parts of a book. One a thread; the book must outlive it.
class Assembly {
public:
    /// Holds the whole at first, so that whoever sizes tables by problem() sizes them for all.
    explicit Assembly(const PartBook& book);
    Assembly(const Assembly&) = delete;
    Assembly& operator=(const Assembly&) = delete;

    /// Nothing but the resources, stores and orders of the whole.
    void begin();
    /// @returns its index.
    std::int32_t add_order(Tick release, Tick due, std::int64_t weight);
    struct Place {
        std::int32_t job = -1;
        std::int32_t order = -1;
        Tick release = -never;
        std::int32_t after = -1;  // an operation added before: the part starts when it has ended
    };
    /// @param factor one per operation: on its work, or on its drying if it dries.
    /// @returns index of its first operation.
    std::int32_t add(int part, const Place& place, std::span<const double> factor);
    /// `to` starts no earlier than `min` after an edge of `from`. Before finish().
    /// @pre min >= 0; they are of different parts.
    void link(std::int32_t from, core::Edge edge, Tick min, std::int32_t to);
    /// What is known of an operation that began before, or is booked already.
    struct Known {
        Tick start = 0;
        std::int16_t mode = 0;
        std::span<const std::int32_t> chosen;  // one per need of the mode
        Tick work = -1;                        // s; -1: as it is (drying too)
        bool over = false;                     // it has ended and occupies nothing any more
        bool counted = true;  // false: another member of its batch answers for shared places
        bool took = true;     // what it takes has left the stores
        bool gave = false;    // what it gives has entered them
    };
    void fix(std::int32_t operation, const Known& known);
    /// Nothing happens on the resource in [from, to).
    void close(std::int32_t resource, Tick from, Tick to);
    /// All parts are there. @param jobs number of jobs, those of the whole included.
    void finish(std::int32_t jobs);

    /// Operations may be changed in place until the next begin() (not_before, fixed times).
    CompiledProblem& problem() { return out_; }
    const CompiledProblem& problem() const { return out_; }

private:
    void also(std::vector<std::int32_t>& list, std::vector<CompiledLag>& copies, Range& range,
              std::int32_t lag);
    void add_exits();

    const PartBook& book_;
    CompiledProblem out_;
    std::vector<std::int32_t> next_of_job_;
    std::size_t windows_ = 0;  // of the whole
};

/// Work of the length that it really has, s: factor times planned, at least 1 if it takes time.
Tick scaled_work(Tick planned, double factor);

}  // namespace sched::engine
