#include "sched/board/guard.hpp"

#include <arpa/inet.h>
#include <fmt/format.h>
#include <ifaddrs.h>
#include <netinet/in.h>
#include <sys/random.h>
#include <unistd.h>

#include <algorithm>

namespace sched::board {

namespace {

using std::chrono::steady_clock;

constexpr const char* cookie_name = "coatroom";
constexpr std::chrono::seconds window{5};
constexpr std::chrono::seconds wrong_window{60};
constexpr std::size_t most_addresses = 4096;  // remembered; a flood of them empties the list

// The value of our cookie in "a=1; coatroom=...; b=2".
std::string value_of_cookie(const std::string& cookies) {
    std::size_t from = 0;
    const std::string key = std::string(cookie_name) + "=";
    while (from < cookies.size()) {
        const auto end = std::min(cookies.find(';', from), cookies.size());
        std::string one = cookies.substr(from, end - from);
        one.erase(0, std::min(one.find_first_not_of(' '), one.size()));
        if (one.rfind(key, 0) == 0) return one.substr(key.size());
        from = end + 1;
    }
    return "";
}

}  // namespace

bool equal_in_constant_time(const std::string& a, const std::string& b) {
    unsigned char differs = a.size() == b.size() ? 0 : 1;
    for (std::size_t i = 0; i < a.size(); ++i) {
        const char other = b.empty() ? '\0' : b[i % b.size()];
        differs = static_cast<unsigned char>(differs | static_cast<unsigned char>(a[i] ^ other));
    }
    return differs == 0;
}

std::string new_token() {
    unsigned char bytes[16];
    if (getrandom(bytes, sizeof bytes, 0) != static_cast<ssize_t>(sizeof bytes)) return "";
    std::string out;
    for (const unsigned char b : bytes)
        out += fmt::format("{:02x}", b);
    return out;
}

std::vector<std::string> names_of_machine() {
    std::vector<std::string> out;
    ifaddrs* list = nullptr;
    if (getifaddrs(&list) == 0) {
        for (const ifaddrs* at = list; at != nullptr; at = at->ifa_next) {
            if (at->ifa_addr == nullptr || at->ifa_addr->sa_family != AF_INET) continue;
            char text[INET_ADDRSTRLEN] = {};
            const auto* address = reinterpret_cast<const sockaddr_in*>(at->ifa_addr);
            inet_ntop(AF_INET, &address->sin_addr, text, sizeof text);
            if (std::string(text).rfind("127.", 0) != 0) out.emplace_back(text);
        }
        freeifaddrs(list);
    }
    char name[256] = {};
    if (gethostname(name, sizeof name - 1) == 0 && name[0] != '\0') {
        out.emplace_back(name);
        out.push_back(std::string(name) + ".local");
    }
    return out;
}

Guard::Guard(GuardOptions options) : options_(std::move(options)) {}

bool Guard::own_host(const Knock& knock) const {
    if (knock.hosts != 1) return false;
    const std::string end = ":" + std::to_string(port_);
    const auto& names = options_.names;
    return std::any_of(names.begin(), names.end(),
                       [&](const auto& name) { return knock.host == name + end; }) ||
           std::find(options_.proxied.begin(), options_.proxied.end(), knock.host) !=
               options_.proxied.end();
}

bool Guard::own_origin(const Knock& knock) const {
    if (!knock.has_origin) return true;
    const bool proxied = std::find(options_.proxied.begin(), options_.proxied.end(), knock.host) !=
                         options_.proxied.end();
    return knock.origin == (proxied ? "https://" : "http://") + knock.host;
}

// A page from elsewhere that tries to use this server betrays itself by its Origin, by
// Sec-Fetch-Site, or (names that point here) by the Host.
Guard::Verdict Guard::ask(const Knock& knock, steady_clock::time_point now) {
    const std::lock_guard lock(mutex_);
    if (seen_.size() > most_addresses) seen_.clear();
    Seen& seen = seen_[knock.address];
    if (now - seen.from > window) {
        seen.from = now;
        seen.requests = 0;
    }
    const auto most = options_.most_a_second * static_cast<int>(window.count());
    if (++seen.requests > most)
        return {429, "Too many requests from this address: wait a little.", 5};
    if (!own_host(knock)) {
        return {403,
                fmt::format("This page is served as http://{}:{} only.",
                            options_.names.empty() ? "127.0.0.1" : options_.names.front(), port_),
                0};
    }
    if (!own_origin(knock)) return {403, "Another site's page may not ask here.", 0};
    // Following a link to a page is harmless; anything else from elsewhere is not.
    const bool link = knock.fetch_mode == "navigate" && knock.method == "GET" &&
                      knock.path.rfind("/promise", 0) != 0;
    if (!knock.fetch_site.empty() && knock.fetch_site != "same-origin" &&
        knock.fetch_site != "none" && !link)
        return {403, "Another site's page may not ask here.", 0};
    if (options_.token.empty()) return {};

    while (!seen.wrong.empty() && now - seen.wrong.front() > wrong_window)
        seen.wrong.pop_front();
    if (static_cast<int>(seen.wrong.size()) >= options_.most_wrong)
        return {429, "Too many wrong tokens from this address: wait a minute.", 60};
    const std::string cookie = value_of_cookie(knock.cookie);
    if (!cookie.empty() && equal_in_constant_time(options_.token, cookie)) return {};
    if (!knock.token.empty() && equal_in_constant_time(options_.token, knock.token))
        return {303, "", 0};
    if (!knock.token.empty() || !cookie.empty()) seen.wrong.push_back(now);
    return {401,
            "This board is open to displays that were let in: open the address with its token, as "
            "the program printed it, once on this display.",
            0};
}

std::string Guard::cookie(bool secure) const {
    // A year: a display stays let in as long as the token is the same.
    return fmt::format("{}={}; Path=/; Max-Age=31536000; HttpOnly; SameSite=Strict{}", cookie_name,
                       options_.token, secure ? "; Secure" : "");
}

}  // namespace sched::board
