#include "sched/engine/draws.hpp"

#include <Random123/philox.h>

#include <cmath>

namespace sched::engine {
namespace {

// Middle of one of 2^52 equal cells: exact in a double, never 0 or 1.
double open_unit(std::uint64_t word) {
    return (static_cast<double>(word >> 12) + 0.5) * 0x1p-52;
}

// Finaliser of SplitMix64 (Steele, Lea and Flood, OOPSLA 2014): spreads each bit over all.
std::uint64_t draws_mix(std::uint64_t z) {
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
    return z ^ (z >> 31);
}

template <std::size_t N>
double draws_polynomial(const std::array<double, N>& c, double x) {
    double value = c[N - 1];
    for (std::size_t i = N - 1; i-- > 0;) {
        value = value * x + c[i];
    }
    return value;
}

}  // namespace

std::uint64_t name_key(std::string_view text) {
    std::uint64_t hash = 0xCBF29CE484222325ULL;  // FNV-1a, 64 bit
    for (const char c : text) {
        hash = (hash ^ static_cast<unsigned char>(c)) * 0x100000001B3ULL;
    }
    return draws_mix(hash);
}

std::uint64_t join_keys(std::uint64_t a, std::uint64_t b) {
    return draws_mix(a + 0x9E3779B97F4A7C15ULL * (draws_mix(b + 0x632BE59BD9B4E019ULL) | 1ULL));
}

std::array<std::uint64_t, 4> Draws::block(const DrawFor& what) const {
    const r123::Philox4x64::ctr_type counter = {
        {what.subject, what.item, what.purpose, what.number}};
    const r123::Philox4x64::key_type key = {{seed_, replication_}};
    const auto words = r123::Philox4x64()(counter, key);
    return {words[0], words[1], words[2], words[3]};
}

double Draws::uniform(const DrawFor& what) const {
    DrawFor of_block = what;
    of_block.number = what.number / 4;
    return open_unit(block(of_block)[what.number % 4]);
}

void Draws::fill(DrawFor what, std::span<double> out) const {
    std::size_t i = 0;
    while (i < out.size()) {
        DrawFor of_block = what;
        of_block.number = (what.number + i) / 4;
        const auto words = block(of_block);
        for (std::size_t w = (what.number + i) % 4; w < 4 && i < out.size(); ++w, ++i) {
            out[i] = open_unit(words[w]);
        }
    }
}

double normal_inverse(double p) {
    static constexpr std::array<double, 8> a = {3.3871328727963666080e0, 1.3314166789178437745e2,
                                                1.9715909503065514427e3, 1.3731693765509461125e4,
                                                4.5921953931549871457e4, 6.7265770927008700853e4,
                                                3.3430575583588128105e4, 2.5090809287301226727e3};
    static constexpr std::array<double, 8> b = {1.0,
                                                4.2313330701600911252e1,
                                                6.8718700749205790830e2,
                                                5.3941960214247511077e3,
                                                2.1213794301586595867e4,
                                                3.9307895800092710610e4,
                                                2.8729085735721942674e4,
                                                5.2264952788528545610e3};
    static constexpr std::array<double, 8> c = {
        1.42343711074968357734e0,  4.63033784615654529590e0, 5.76949722146069140550e0,
        3.64784832476320460504e0,  1.27045825245236838258e0, 2.41780725177450611770e-1,
        2.27238449892691845833e-2, 7.74545014278341407640e-4};
    static constexpr std::array<double, 8> d = {1.0,
                                                2.05319162663775882187e0,
                                                1.67638483018380384940e0,
                                                6.89767334985100004550e-1,
                                                1.48103976427480074590e-1,
                                                1.51986665636164571966e-2,
                                                5.47593808499534494600e-4,
                                                1.05075007164441684324e-9};
    static constexpr std::array<double, 8> e = {
        6.65790464350110377720e0,  5.46378491116411436990e0,  1.78482653991729133580e0,
        2.96560571828504891230e-1, 2.65321895265761230930e-2, 1.24266094738807843860e-3,
        2.71155556874348757815e-5, 2.01033439929228813265e-7};
    static constexpr std::array<double, 8> f = {1.0,
                                                5.99832206555887937690e-1,
                                                1.36929880922735805310e-1,
                                                1.48753612908506148525e-2,
                                                7.86869131145613259100e-4,
                                                1.84631831751005468180e-5,
                                                1.42151175831644588870e-7,
                                                2.04426310338993978564e-15};
    const double q = p - 0.5;
    if (std::abs(q) <= 0.425) {
        const double r = 0.180625 - q * q;
        return q * draws_polynomial(a, r) / draws_polynomial(b, r);
    }
    double r = std::sqrt(-std::log(q < 0.0 ? p : 1.0 - p));
    double z = 0.0;
    if (r <= 5.0) {
        r -= 1.6;
        z = draws_polynomial(c, r) / draws_polynomial(d, r);
    } else {
        r -= 5.0;
        z = draws_polynomial(e, r) / draws_polynomial(f, r);
    }
    return q < 0.0 ? -z : z;
}

double exponential_inverse(double mean, double u) {
    return -mean * std::log1p(-u);
}

}  // namespace sched::engine
