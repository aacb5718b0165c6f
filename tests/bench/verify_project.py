#!/usr/bin/env python3
"""Judges start times of a project with minimum and maximum time lags (RCPSP/max) from the published
definition alone: every arc i -> j of weight w demands start(j) - start(i) >= w, and in no period may
the activities under way ask for more of a resource than there is. Value: the start of the sink.

    verify_project.py INSTANCE.sch STARTS

INSTANCE.sch: ProGen/max layout (Schwindt 1996). STARTS: one number an activity, source first, sink last.
Shares no code with the program. Exit status 1 if anything is broken."""

import sys


def read(path):
    rows = [line.replace("[", " ").replace("]", " ").split() for line in open(path) if line.strip()]
    n, kinds = int(rows[0][0]), int(rows[0][1])
    arcs, need = [], []
    for row in rows[1:n + 3]:
        numbers = [int(x) for x in row]
        count = numbers[2]
        successors, weights = numbers[3:3 + count], numbers[3 + count:]
        assert len(weights) == count, f"activity {numbers[0]}: {count} successors, {len(weights)} weights"
        arcs += [(numbers[0], to, weight) for to, weight in zip(successors, weights)]
    for row in rows[n + 3:2 * n + 5]:
        numbers = [int(x) for x in row]
        need.append((numbers[2], numbers[3:3 + kinds]))
    capacity = [int(x) for x in rows[2 * n + 5]]
    assert len(need) == n + 2 and len(capacity) == kinds
    return arcs, need, capacity


def main():
    arcs, need, capacity = read(sys.argv[1])
    start = [int(x) for x in open(sys.argv[2]).read().split()]
    wrong = []
    if len(start) != len(need):
        sys.exit(f"{len(start)} starts for {len(need)} activities")
    if min(start) < 0 or start[0] != 0:
        wrong.append("something starts before the source, or the source not at 0")
    for i, j, weight in arcs:
        if start[j] - start[i] < weight:
            wrong.append(f"arc {i} -> {j}: {start[j]} - {start[i]} < {weight}")
    end = max(s + length for s, (length, _) in zip(start, need))
    for period in range(end):
        for kind, limit in enumerate(capacity):
            used = sum(amount[kind] for s, (length, amount) in zip(start, need) if s <= period < s + length)
            if used > limit:
                wrong.append(f"period {period}: resource {kind} has {limit}, asked for {used}")
    for line in wrong:
        print(line)
    print(f"{len(arcs)} arcs, {end} periods x {len(capacity)} resources, sink starts at {start[-1]}, "
          f"last end {end}: {'BROKEN' if wrong else 'all kept'}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
