#pragma once
// The operation graph of a schedule: lags, and on every place "comes next". Heads and tails of its
// operations, and one change at a time that renews only what it must (Roy and Sussmann 1964; for
// operations that need several places at once Dauzère-Pérès, Roux and Lasserre 1998).

#include <cstdint>
#include <optional>
#include <vector>

#include "sched/core/index.hpp"
#include "sched/engine/sequence.hpp"

namespace sched::search {

/// What of a Problem the graph needs, as flat arrays of seconds after the horizon's start. A place
/// is one unit of a resource; an operation takes up to `width` of them.
struct GraphModel {
    /// `weight` after the end of `op`, or after its start: then `from_start` is -1 (all bits set),
    /// which masks its length away.
    struct Arc {
        int op = 0;
        int weight = 0;
        int from_start = 0;
    };

    /// @returns nullopt unless longest paths through the graph are the earliest times of a given
    /// order, which asks of the problem: known lengths, places one at a time and always open,
    /// minimum lags only, nothing kept in stores, shared, paused, due without fail or begun.
    /// An allow list: a kind of constraint or of criterion that is not named there has no model.
    static std::optional<GraphModel> of(const engine::CompiledProblem& problem);

    int operations = 0;
    int places = 0;
    int width = 1;                         // a power of two
    int shift = 0;                         // width = 1 << shift
    std::vector<int> base;                 // per operation: not before
    std::vector<int> in_begin, out_begin;  // operations + 1 entries
    std::vector<Arc> in, out;              // Arc::op: the other end
    std::vector<int> out_least;            // per operation: least weight of an arc from its start
    std::vector<int> first_choice;         // operations + 1 entries
    std::vector<int> time, mode, gene;     // per choice; gene: Sequence::choice
    std::vector<int> place;                // per choice x width; -1: none
    std::vector<int> group;                // per operation: joined by lags, directly or not
    std::vector<int> topological;          // operations in an order that the lags allow
    bool chooses = false;                  // some operation has several choices

    // Of the objective.
    std::vector<core::Criterion> criteria;
    std::vector<int> order;  // per operation; -1: none
    std::vector<int> last;   // operations that can end their order, or everything
    std::vector<std::int64_t> due, weight, release;  // per order
};

/// A solution to hand round: a linear order that the lags allow (it implies who comes next on every
/// place) and a choice per operation.
struct GraphOrder {
    std::vector<std::int64_t> value;  // one per criterion; empty: not known
    std::vector<int> order;
    std::vector<int> choice;
};

/// Use `(operation << shift) + need` stands for one place of one operation; operation n (=
/// GraphModel::operations) is a sentinel without length that stands for "none".
class OperationGraph {
public:
    explicit OperationGraph(const GraphModel& model);

    void load(const std::vector<int>& order, const std::vector<int>& choice);
    GraphOrder save() const;

    /// Does u by choice `c`, each need right after the use in `after` (none(): as the first there).
    /// @returns false, with nothing changed, if that closes a circle.
    bool insert(int u, int c, const std::vector<int>& after);
    /// Where u stands now, in the form of `after`.
    void standing(int u, std::vector<int>& after) const;

    /// Without tails a change costs half.
    void keep_tails(bool keep) { tails_ = keep; }

    int none() const { return n_ << shift_; }
    int op_of(int use) const { return use >> shift_; }
    int use_of(int o, int need) const { return (o << shift_) + need; }
    int makespan() const { return makespan_; }
    int time(int o) const { return p_[ix(o)]; }
    int head(int o) const { return end_[ix(o)] - p_[ix(o)]; }
    int end(int o) const { return end_[ix(o)]; }
    int tail(int o) const { return tail_[ix(o)]; }  // own time included
    int before(int use) const { return before_[ix(use)]; }
    int after(int use) const { return after_[ix(use)]; }
    int place(int use) const { return place_[ix(use)]; }
    int choice(int o) const { return choice_[ix(o)]; }
    int first(int place) const { return first_[ix(place)]; }
    int position(int o) const { return position_[ix(o)]; }
    int arc_edge(const GraphModel::Arc& in) const {
        return end_[ix(in.op)] + in.weight - (in.from_start & p_[ix(in.op)]);
    }
    /// Earliest start but for what comes before it on the place of `use`.
    int ready(int o, int use) const;
    /// Longest way on after its end, and after its start, but for what comes next on that place.
    void rest(int o, int use, int& from_end, int& from_start) const;

    /// No way from a successor of u (by lags) to x: u may stand after x.
    bool free_after(int u, int x) const;
    /// No way from y to a predecessor of u: u may stand before y.
    bool free_before(int u, int y) const;

    /// One number per criterion. @param completion per order, seconds after the horizon's start
    void evaluate(std::vector<int>& completion, std::vector<std::int64_t>& value) const;

private:
    void unlink(int u);
    void link(int u, int c, const std::vector<int>& after);
    bool reorder(int u, int& low, int& high);
    void heads_from(int position);
    void tails_from(int position);

    const GraphModel& m_;
    int n_, shift_, width_;
    std::vector<int> before_, after_, place_;  // per use
    std::vector<int> p_, choice_, end_, tail_, order_, position_;
    std::vector<int> first_, last_;  // per place: uses
    std::vector<int> early_, late_, old_;
    std::vector<char> marked_;
    int makespan_ = 0;
    bool tails_ = true;
};

}  // namespace sched::search
