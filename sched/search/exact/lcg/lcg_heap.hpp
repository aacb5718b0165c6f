#pragma once
// A binary heap of branching atoms by activity (ties: the older atom first), with positions, so
// that an atom whose activity grows moves up in O(log n).

#include <vector>

namespace sched::search::lcg {

class ActivityHeap {
public:
    void add(double activity) {
        activity_.push_back(activity);
        place_.push_back(-1);
        insert(static_cast<int>(activity_.size()) - 1);
    }
    void clear() {
        activity_.clear();
        place_.clear();
        heap_.clear();
    }
    bool empty() const { return heap_.empty(); }
    double activity(int atom) const { return activity_[atom]; }
    void insert(int atom) {
        if (place_[atom] >= 0) return;
        place_[atom] = static_cast<int>(heap_.size());
        heap_.push_back(atom);
        up(place_[atom]);
    }
    int pop() {
        const int top = heap_[0];
        place_[top] = -1;
        const int last = heap_.back();
        heap_.pop_back();
        if (!heap_.empty()) {
            heap_[0] = last;
            place_[last] = 0;
            down(0);
        }
        return top;
    }
    void raise(int atom, double by) {
        activity_[atom] += by;
        if (place_[atom] >= 0) up(place_[atom]);
    }
    void scale(double factor) {
        for (double& a : activity_)
            a *= factor;
    }

private:
    bool before(int a, int b) const {
        return activity_[a] > activity_[b] || (activity_[a] == activity_[b] && a < b);
    }
    void up(int i) {
        const int atom = heap_[i];
        while (i > 0) {
            const int parent = (i - 1) / 2;
            if (!before(atom, heap_[parent])) break;
            heap_[i] = heap_[parent];
            place_[heap_[i]] = i;
            i = parent;
        }
        heap_[i] = atom;
        place_[atom] = i;
    }
    void down(int i) {
        const int atom = heap_[i];
        const int n = static_cast<int>(heap_.size());
        for (;;) {
            int child = 2 * i + 1;
            if (child >= n) break;
            if (child + 1 < n && before(heap_[child + 1], heap_[child])) ++child;
            if (!before(heap_[child], atom)) break;
            heap_[i] = heap_[child];
            place_[heap_[i]] = i;
            i = child;
        }
        heap_[i] = atom;
        place_[atom] = i;
    }

    std::vector<double> activity_;
    std::vector<int> place_;
    std::vector<int> heap_;
};

}  // namespace sched::search::lcg
