// Prints the table of docs/physics.md#agreement: how far the drying clock is from the ODE referee.

#include <cstdio>
#include <cstdlib>

#include "tests/physics/referee.hpp"

using namespace physics_test;

int main(int argc, char** argv) {
    const int histories = argc > 1 ? std::atoi(argv[1]) : 1000;
    if (histories < 1) {
        std::fputs("usage: coatroom-referee [histories, at least 1]\n", stderr);
        return 2;
    }
    const struct {
        const char* name;
        HistoryKind kind;
        Equations equations;
    } rows[] = {
        {"free water, film held", {true, false, false}, Equations::FilmHeld},
        {"coats, film held", {}, Equations::FilmHeld},
        {"+ the air's own balance", {}, Equations::AirStored},
        {"+ film temperature follows", {}, Equations::FilmCoupled},
        {"+ sorption follows the air", {}, Equations::Sorption},
        {"film follows, air by the hour", {false, false, true}, Equations::FilmCoupled},
        {"film follows, weak heater", {false, true, false}, Equations::FilmCoupled},
    };
    std::puts(
        "| equations | screens | min % | 1 % | 5 % | median % | 95 % | 99 % | max % | within 2 % | "
        "within 5 % |");
    std::puts("|---|---|---|---|---|---|---|---|---|---|---|");
    for (const auto& row : rows) {
        const Differences d = compare(histories, row.kind, row.equations);
        std::printf("| %s | %zu |", row.name, d.relative.size());
        for (double q : {0.0, 0.01, 0.05, 0.5, 0.95, 0.99, 1.0})
            std::printf(" %+.2f |", 100.0 * d.quantile(q));
        std::printf(" %.2f %% | %.2f %% |\n", 100.0 * d.within(0.02), 100.0 * d.within(0.05));
    }
    return 0;
}
