#include "sched/engine/draws.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <string>
#include <thread>
#include <vector>

#include "tests/catch.hpp"

using namespace sched::engine;

// Known answers of philox4x64 with 10 rounds: file tests/kat_vectors of the Random123 distribution
// (github.com/DEShawResearch/random123), lines "philox4x64 10": counter, key, result.
TEST_CASE("philox gives the published words", "[draws]") {
    using Words = std::array<std::uint64_t, 4>;
    CHECK(Draws(0, 0).block({0, 0, 0, 0}) == Words{0x16554d9eca36314cULL, 0xdb20fe9d672d0fdcULL,
                                                   0xd7e772cee186176bULL, 0x7e68b68aec7ba23bULL});
    const std::uint64_t ones = ~0ULL;
    CHECK(Draws(ones, ones).block({ones, ones, ones, ones}) ==
          Words{0x87b092c3013fe90bULL, 0x438c3c67be8d0224ULL, 0x9cc7d7c69cd777b6ULL,
                0xa09caebf594f0ba0ULL});
    CHECK(Draws(0x452821e638d01377ULL, 0xbe5466cf34e90c6cULL)
              .block({0x243f6a8885a308d3ULL, 0x13198a2e03707344ULL, 0xa4093822299f31d0ULL,
                      0x082efa98ec4e6c89ULL}) == Words{0xa528f45403e61d95ULL, 0x38c72dbd566e9788ULL,
                                                       0xa5a1610e72fd18b5ULL,
                                                       0x57bd43b5e52b7fe6ULL});
}

TEST_CASE("a filled row equals the single draws, from any start", "[draws]") {
    const Draws draws(7, 3);
    for (const std::uint64_t first : {0ULL, 1ULL, 2ULL, 3ULL, 1001ULL}) {
        std::vector<double> row(23);
        draws.fill({name_key("A17"), 2, name_key("coat"), first}, row);
        for (std::size_t i = 0; i < row.size(); ++i) {
            CHECK(row[i] == draws.uniform({name_key("A17"), 2, name_key("coat"), first + i}));
        }
    }
}

TEST_CASE("adding an order, a station or a thread changes no other draw", "[draws]") {
    // Random variation of a room: one draw per screen and step, one per station, in whatever order
    // asked.
    struct Room {
        std::vector<std::string> orders;
        std::vector<std::string> stations;
    };
    const auto disturbances = [](const Room& room, bool backwards) {
        std::map<std::string, double> all;
        const Draws draws(42, 5);
        const auto ask = [&](const std::string& subject, std::uint64_t screen, const char* what) {
            all[subject + "/" + std::to_string(screen) + "/" + what] =
                draws.uniform({name_key(subject), screen, name_key(what), 0});
        };
        auto orders = room.orders;
        if (backwards) {
            std::reverse(orders.begin(), orders.end());
        }
        for (const auto& order : orders) {
            for (std::uint64_t screen = 1; screen <= 3; ++screen) {
                ask(order, screen, "coat");
                ask(order, screen, "wash out");
            }
        }
        for (const auto& station : room.stations) {
            ask(station, 0, "fails");
        }
        return all;
    };
    const auto before = disturbances({{"A1", "A2"}, {"booth"}}, false);
    const auto after = disturbances({{"A0", "A1", "A2"}, {"cabinet 2", "booth"}}, true);
    REQUIRE(before.size() == 13);
    REQUIRE(after.size() == 20);
    for (const auto& [what, u] : before) {
        CHECK(after.at(what) == u);
    }
    std::map<std::string, double> in_thread;
    std::jthread([&] { in_thread = disturbances({{"A1", "A2"}, {"booth"}}, true); }).join();
    CHECK(in_thread == before);
}

TEST_CASE("different purposes, screens, attempts, replications and seeds draw apart", "[draws]") {
    const DrawFor base{name_key("A1"), 1, name_key("coat"), 0};
    std::vector<double> u = {Draws(1, 0).uniform(base), Draws(2, 0).uniform(base),
                             Draws(1, 1).uniform(base)};
    for (DrawFor other :
         {DrawFor{name_key("A2"), 1, base.purpose, 0}, DrawFor{base.subject, 2, base.purpose, 0},
          DrawFor{base.subject, 1, name_key("degrease"), 0},
          DrawFor{base.subject, 1, base.purpose, 1}}) {
        u.push_back(Draws(1, 0).uniform(other));
    }
    std::sort(u.begin(), u.end());
    CHECK(std::adjacent_find(u.begin(), u.end()) == u.end());
}

TEST_CASE("draws are uniform and not correlated along any key", "[draws]") {
    // 40,000 draws: mean 1/2, variance 1/12 within 4 standard errors; chi-square over 100 cells
    // below its 99.9 % point for 99 degrees of freedom, 148.23 (standard table); lag-1 correlation.
    constexpr std::size_t n = 40'000;
    for (int along = 0; along < 5; ++along) {
        std::vector<double> u(n);
        for (std::size_t i = 0; i < n; ++i) {
            const std::uint64_t k = i;
            const std::uint64_t name = name_key("order " + std::to_string(along == 0 ? k : 0));
            u[i] = Draws(9, along == 1 ? k : 0)
                       .uniform({name, along == 2 ? k : 0, along == 3 ? k : 0, along == 4 ? k : 0});
        }
        double sum = 0.0;
        double squares = 0.0;
        double lag = 0.0;
        std::vector<double> cells(100, 0.0);
        for (std::size_t i = 0; i < n; ++i) {
            const double x = u[i] - 0.5;
            sum += x;
            squares += x * x;
            lag += i > 0 ? x * (u[i - 1] - 0.5) : 0.0;
            cells[static_cast<std::size_t>(u[i] * 100.0)] += 1.0;
        }
        const double dn = static_cast<double>(n);
        CHECK(std::abs(sum / dn) < 4.0 * std::sqrt(1.0 / 12.0 / dn));
        CHECK(squares / dn == Approx(1.0 / 12.0).margin(4.0 * std::sqrt(1.0 / 180.0 / dn)));
        CHECK(std::abs(lag / dn * 12.0) < 4.0 / std::sqrt(dn));
        double chi = 0.0;
        for (const double count : cells) {
            chi += (count - dn / 100.0) * (count - dn / 100.0) / (dn / 100.0);
        }
        CHECK(chi < 148.23);
    }
}

TEST_CASE("inverse transforms hit textbook points", "[draws]") {
    // Standard normal table: z(0.975) = 1.959963985, z(0.9995) = 3.290526731.
    CHECK(normal_inverse(0.5) == 0.0);
    CHECK(normal_inverse(0.975) == Approx(1.959963984540054).epsilon(1e-15));
    CHECK(normal_inverse(0.0005) == Approx(-3.290526731491926).epsilon(1e-14));
    CHECK(normal_inverse(1e-6) == Approx(-4.753424308822899).epsilon(1e-14));
    // The far tail: erfc itself is the referee.
    for (const double p : {1e-10, 1e-15, 1e-16}) {
        CHECK(0.5 * std::erfc(-normal_inverse(p) / std::sqrt(2.0)) == Approx(p).epsilon(1e-12));
    }
    CHECK(exponential_inverse(3.0, 0.5) == Approx(3.0 * std::log(2.0)).epsilon(1e-15));
}
