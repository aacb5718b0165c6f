// The closed formulas against tests/data/study/queueing.csv (each row names its textbook; most were
// recomputed with an independent queueing package), to 1e-8.

#include "sched/statistics/queueing_theory.hpp"

#include <cmath>
#include <map>
#include <optional>
#include <set>

#include "sched/statistics/probability.hpp"
#include "tests/catch.hpp"
#include "tests/study/table.hpp"

using namespace sched::study::theory;
using nlohmann::json;

namespace {

std::optional<double> steady(const Steady& s, const std::string& m) {
    if (m == "rho") return s.utilisation;
    if (m == "P(N=0)") return s.empty;
    if (m == "P(wait>0)") return s.waits;
    if (m == "P(block)") return s.blocked;
    if (m == "accepted rate" || m == "throughput") return s.accepted;
    if (m == "L" || m == "mean machines down L") return s.in_system;
    if (m == "Lq") return s.in_queue;
    if (m == "W" || m == "W accepted" || m == "W at repair") return s.sojourn;
    if (m == "Wq" || m == "Wq accepted" || m == "Wq at repair") return s.wait;
    if (m == "utilisation per server" || m == "repairer utilisation") return s.utilisation;
    return std::nullopt;
}

std::size_t class_of(const std::string& m) {
    return static_cast<std::size_t>(std::stoi(m.substr(m.size() - 1))) - 1;
}

/// nullopt: a row that no formula of ours answers (it is held against the simulator instead).
std::optional<double> formula_of(const std::string& model, const json& p, const std::string& m) {
    const auto num = [&](const char* key) { return p.at(key).get<double>(); };
    const auto whole = [&](const char* key) { return p.at(key).get<int>(); };
    if (model == "M/M/1" || model == "M/M/c") {
        const int c = p.value("c", 1);
        const Steady s = mmc(num("lam"), num("mu"), c);
        if (const auto v = steady(s, m)) return v;
        if (m == "P(wait>2/mu)") return mmc_wait_exceeds(num("lam"), num("mu"), c, 2 / num("mu"));
        if (m == "P(wait>1/mu)") return mmc_wait_exceeds(num("lam"), num("mu"), c, 1 / num("mu"));
        if (m == "mean wait of those who wait") return s.wait / s.waits;
    }
    if (model == "M/M/c/c") {
        return p.contains("a") ? erlang_b(whole("c"), num("a"))
                               : load_at_blocking(whole("c"), num("blocking"));
    }
    if ((model == "M/G/1" || model == "M/D/1") && p.contains("scv")) {
        return steady(mg1(num("lam"), num("ES"), num("scv")), m);
    }
    if (m == "Var(wait)") {
        if (model == "M/D/1") return mg1_wait_variance(num("lam"), 1, 1, 1);
        if (model == "M/E2/1") return mg1_wait_variance(num("lam"), 1, 1.5, 3);
        return mg1_wait_variance(num("lam"), 1, 13.0 / 12, 1.25);  // uniform 0.5 .. 1.5
    }
    if (model == "M/M/c/K") return steady(mmck(num("lam"), num("mu"), whole("c"), whole("K")), m);
    if (model == "M/M/c//N") {
        const Steady s = finite_source(whole("N"), num("lam_per_machine"), num("mu"), whole("c"));
        if (m == "machine availability") return 1.0 - s.in_system / num("N");
        return steady(s, m);
    }
    if (model.rfind("Jackson tandem", 0) == 0) {
        double all = 0.0;
        for (std::size_t i = 0; i < 2; ++i) {
            const double l = mmc(num("lam"), p["mu"][i], p["servers"][i]).in_system;
            all += l;
            if (m == "L" + std::to_string(i + 1)) return l;
        }
        if (m == "L") return all;
        if (m == "W") return all / num("lam");
    }
    if (model.rfind("closed", 0) == 0) {
        const auto means = p.at("means").get<std::vector<double>>();
        const ClosedLine line = closed_line(whole("N"), means, p.value("Z", 0.0));
        if (m == "throughput") return line.throughput;
        if (m == "cycle time") return line.cycle_time;
        if (m == "mean number at station 2") return line.in_station[1];
    }
    if (model.find("1-PS") != std::string::npos) {
        if (m == "L") return num("lam") * ps_sojourn(num("lam"), num("ES"), num("ES"));
        return ps_sojourn(num("lam"), num("ES"), p.value("x", num("ES")));
    }
    if (model.rfind("M/M/c ", 0) == 0) {
        const auto lam = p.at("lam").get<std::vector<double>>();
        if (model.find("non-preemptive") != std::string::npos) {
            return priority_waits(lam, num("mu"), whole("c"))[class_of(m)];
        }
        return preemptive_sojourns(lam, num("mu"), whole("c"))[class_of(m)] - 1.0 / num("mu");
    }
    if (p.contains("ES2")) {
        std::vector<PriorityClass> classes;
        for (std::size_t i = 0; i < p["lam"].size(); ++i) {
            classes.push_back({p["lam"][i], p["ES"][i], p["ES2"][i]});
        }
        return model.find("non-preemptive") != std::string::npos
                   ? priority_waits(classes)[class_of(m)]
                   : preemptive_sojourns(classes)[class_of(m)];
    }
    if (model == "GI/G/c") {
        const auto wait = m == "Wq Allen-Cunneen" ? wait_allen_cunneen : wait_sakasegawa;
        return wait(whole("c"), num("rho"), num("ca2"), num("cs2"), num("ES"));
    }
    if (model == "GI/G/1") return wait_kingman_bound(num("rho"), num("ca2"), num("cs2"), num("ES"));
    if (model == "departure SCV") {
        return departure_scv(p.value("m", 1), num("u"), num("ca2"), num("ce2"));
    }
    if (model == "effective process time") {
        const ProcessTime t =
            effective_process_time(num("t0"), num("c02"), num("mf"), num("mr"), num("cr2"));
        return m == "te" ? t.mean : t.scv;
    }
    return std::nullopt;
}

}  // namespace

TEST_CASE("closed queueing formulas reproduce the reference table", "[theory]") {
    const auto rows = study_test::read_table(COATROOM_TEST_DATA "/data/study/queueing.csv");
    REQUIRE(rows.size() == 520);
    int answered = 0;
    for (const auto& row : rows) {
        INFO(row[0] << " " << row[1] << " " << row[2]);
        if (const auto ours = formula_of(row[0], json::parse(row[1]), row[2])) {
            // The table prints ten digits.
            CHECK(*ours == Approx(std::stod(row[3])).epsilon(1e-8).margin(1e-11));
            ++answered;
        }
    }
    CHECK(answered == 370);
}

// Penny Fab One and Two and the panel line: Hopp and Spearman, Factory Physics, ch. 7.
TEST_CASE("lines have the limits of the penny fabs", "[theory]") {
    const std::vector<LineStation> one(4, {.servers = 1, .time = 2.0});
    const LineLimits fab1 = line_limits(one);
    CHECK(fab1.bottleneck_rate == Approx(0.5));
    CHECK(fab1.raw_process_time == Approx(8.0));
    CHECK(fab1.critical_wip == Approx(4.0));
    CHECK(best_case(fab1, 2).throughput == Approx(0.25));
    CHECK(practical_worst_case(fab1, 2).throughput == Approx(0.2));
    CHECK(practical_worst_case(fab1, 2).cycle_time == Approx(10.0));
    CHECK(worst_case(fab1, 2).cycle_time == Approx(16.0));
    // The practical worst case is the exact value of four exponential servers of one mean.
    const std::vector<double> means(4, 2.0);
    CHECK(closed_line(8, means).throughput ==
          Approx(practical_worst_case(fab1, 8).throughput).epsilon(1e-12));

    const std::vector<LineStation> two = {{1, 2.0}, {2, 5.0}, {6, 10.0}, {2, 3.0}};
    const LineLimits fab2 = line_limits(two);
    CHECK(fab2.bottleneck == 1);
    CHECK(fab2.bottleneck_rate == Approx(0.4));
    CHECK(fab2.raw_process_time == Approx(20.0));
    CHECK(fab2.critical_wip == Approx(8.0));
    CHECK(best_case(fab2, 10).cycle_time == Approx(25.0));
    CHECK(practical_worst_case(fab2, 16).throughput == Approx(0.278261).epsilon(1e-6));
    CHECK(practical_worst_case(fab2, 16).cycle_time == Approx(57.5));

    const LineLimits panel{
        .bottleneck_rate = 126.5, .raw_process_time = 33.1, .critical_wip = 126.5 * 33.1};
    CHECK(practical_worst_case(panel, 37000).throughput == Approx(113.643).epsilon(1e-5));
    CHECK(best_case(panel, 37000).cycle_time == Approx(292.49).epsilon(1e-5));
}

TEST_CASE("the square-root rule agrees with Erlang C for large loads", "[theory]") {
    // Halfin and Whitt 1981: a limit, reached as the load grows; measured gap below 0.01 at 400
    // Erl.
    for (const double beta : {0.5, 1.0, 1.5}) {
        double gap = 1.0;
        for (const double load : {25.0, 400.0, 10'000.0}) {
            const int servers = square_root_servers(load, beta);
            const double exact_beta = (servers - load) / std::sqrt(load);
            const double now = std::abs(erlang_c(servers, load) - halfin_whitt_wait(exact_beta));
            CHECK(now < gap);
            CHECK((load < 400.0 || now < 0.01));
            gap = now;
        }
    }
    CHECK(servers_for_wait(2.4, 0.5) ==
          4);  // Erlang C of 2.4 Erl: 3 servers 0.647, 4 servers 0.287
    CHECK(erlang_c(3, 2.4) > 0.5);
}
