#pragma once
// Closed formulas beside the simulation: what a size study must roughly agree with, and what the
// simulator is held against. Rates are per unit of time, times in that unit; utilisations < 1
// unless a formula says otherwise (infinity where a queue has no limit). Sources: Kleinrock,
// Queueing Systems vol. 1-2; Gross and Harris, Fundamentals of Queueing Theory; Hopp and Spearman,
// Factory Physics ch. 7-8; the one beside each function.

#include <span>
#include <vector>

namespace sched::study::theory {

// ---- Erlang ----------------------------------------------------------------------------------

/// Share of arrivals lost with c servers and no queue, offered load a = lambda E[S] (Erlang 1917).
double erlang_b(int servers, double load);
/// Chance to wait with c servers and an endless queue; 1 when load >= servers.
double erlang_c(int servers, double load);
/// Load that c servers carry at the given blocking (inverse of erlang_b).
double load_at_blocking(int servers, double blocking);

/// Figures of a station in steady state.
struct Steady {
    double utilisation = 0.0;  // per server
    double empty = 0.0;        // P(N = 0)
    double waits = 0.0;        // P(wait > 0)
    double blocked = 0.0;      // P(arrival is lost)
    double accepted = 0.0;     // rate of those who enter
    double in_system = 0.0;    // L
    double in_queue = 0.0;     // Lq
    double sojourn = 0.0;      // W, of those who enter
    double wait = 0.0;         // Wq, of those who enter
};

/// M/M/c: arrivals lambda, each server mu.
Steady mmc(double lambda, double mu, int servers);
/// P(wait > t) = C exp(-(c mu - lambda) t).
double mmc_wait_exceeds(double lambda, double mu, int servers, double t);
/// M/M/c/K: at most K in the station, c <= K; lambda may exceed c mu.
Steady mmck(double lambda, double mu, int servers, int room);
/// Machine repair M/M/c//N: N machines, each fails at rate lambda while up; c repairers of rate mu.
/// accepted = throughput, in_system = machines down, blocked unused.
Steady finite_source(int machines, double lambda, double mu, int repairers);

// ---- one server, any service -------------------------------------------------------------------

/// M/G/1, first come first served, scv = Var(S) / E[S]^2 (Pollaczek 1930, Khinchine 1932).
Steady mg1(double lambda, double mean_service, double scv);
/// Variance of the wait from the service moments E[S], E[S^2], E[S^3] (Takacs 1962).
double mg1_wait_variance(double lambda, double m1, double m2, double m3);
/// M/G/1 processor sharing: mean sojourn of a job of size x is x / (1 - rho), whatever the law of
/// S.
double ps_sojourn(double lambda, double mean_service, double size);

/// One class of customers with its service moments; classes in order of importance, first first.
struct PriorityClass {
    double lambda = 0.0;
    double m1 = 0.0;  // E[S]
    double m2 = 0.0;  // E[S^2]
};
/// Mean wait per class, served without interruption (Cobham 1954).
std::vector<double> priority_waits(std::span<const PriorityClass> classes);
/// Mean sojourn per class, preemptive resume.
std::vector<double> preemptive_sojourns(std::span<const PriorityClass> classes);
/// The same for c servers of equal exponential service: waits without, sojourns with interruption.
std::vector<double> priority_waits(std::span<const double> lambda, double mu, int servers);
std::vector<double> preemptive_sojourns(std::span<const double> lambda, double mu, int servers);

// ---- lines -----------------------------------------------------------------------------------

/// Closed line of N jobs over single exponential servers, with think time (exact mean value
/// analysis, Reiser and Lavenberg 1980).
struct ClosedLine {
    double throughput = 0.0;
    double cycle_time = 0.0;  // without think time
    std::vector<double> in_station;
};
ClosedLine closed_line(int jobs, std::span<const double> means, double think = 0.0);

/// A station group of a line: `servers` alike, each takes `time` per visit, `visits` per job.
struct LineStation {
    int servers = 1;
    double time = 0.0;
    double visits = 1.0;
};
/// Factory Physics ch. 7.
struct LineLimits {
    double bottleneck_rate = 0.0;   // r_b: smallest servers / (time visits)
    int bottleneck = -1;            // index of that station, the first of equals
    double raw_process_time = 0.0;  // T0: sum of time visits
    double critical_wip = 0.0;      // W0 = r_b T0
};
LineLimits line_limits(std::span<const LineStation> stations);
struct Flow {
    double throughput = 0.0;
    double cycle_time = 0.0;
};
/// w jobs in the line, w > 0.
Flow best_case(const LineLimits& line, double wip);
Flow worst_case(const LineLimits& line, double wip);
Flow practical_worst_case(const LineLimits& line, double wip);

// ---- rules of thumb --------------------------------------------------------------------------

/// Approximate mean waits of GI/G/c from squared coefficients of variation of arrivals and service.
double wait_allen_cunneen(int servers, double rho, double ca2, double cs2, double mean_service);
double wait_sakasegawa(int servers, double rho, double ca2, double cs2, double mean_service);
/// Upper bound of the GI/G/1 wait (Kingman 1962).
double wait_kingman_bound(double rho, double ca2, double cs2, double mean_service);
/// Variation of departures from m machines (linking equation, Factory Physics ch. 8).
double departure_scv(int machines, double rho, double ca2, double ce2);

struct ProcessTime {
    double mean = 0.0;
    double scv = 0.0;
};
/// Process time with outages: natural time and scv, mean up time, mean repair time, repair scv.
ProcessTime effective_process_time(double natural, double scv, double up, double repair,
                                   double repair_scv);

/// Square-root staffing (Halfin and Whitt 1981): load + beta sqrt(load) servers, rounded up.
int square_root_servers(double load, double beta);
/// Chance to wait in that regime: 1 / (1 + beta Phi(beta) / phi(beta)); beta > 0.
double halfin_whitt_wait(double beta);
/// Smallest number of servers with chance to wait at most p (Erlang C).
int servers_for_wait(double load, double p);

}  // namespace sched::study::theory
