#pragma once
// Who may ask the board: the right Host, no other site's page, the token where it is needed, and
// not too often. Knows nothing of the HTTP library.

#include <chrono>
#include <cstdint>
#include <deque>
#include <map>
#include <mutex>
#include <set>
#include <string>
#include <vector>

namespace sched::board {

/// What of a request the guard looks at. Empty: not sent.
struct Knock {
    std::string method = "GET", path, address;  // of the client
    std::string host;
    std::size_t hosts = 1;  // Host headers
    bool has_origin = false;
    std::string origin, fetch_site, fetch_mode, cookie;
    std::string token;  // of the address line
};

struct GuardOptions {
    std::vector<std::string> names = {"127.0.0.1", "localhost"};  // that this machine answers to
    std::vector<std::string> proxied;  // names under which a proxy serves it, by https, no port
    std::string token;                 // empty: none is asked for
    int most_a_second = 200;           // requests of one address, on average over five seconds
    int most_wrong = 10;               // wrong tokens of one address a minute
};

class Guard {
public:
    explicit Guard(GuardOptions options);
    /// Of what Host must say behind the name.
    void set_port(int port) { port_ = port; }

    struct Verdict {
        int status = 200;     // 200: let in; 303: give the cookie and send on to /
        std::string words;    // of a refusal
        int retry_after = 0;  // seconds; 0: not said
    };
    /// @param now any clock that does not go back.
    Verdict ask(const Knock& knock, std::chrono::steady_clock::time_point now);

    /// What the browser keeps: out of reach of scripts, never sent from another site's page.
    std::string cookie(bool secure) const;

private:
    bool own_host(const Knock& knock) const;
    bool own_origin(const Knock& knock) const;

    GuardOptions options_;
    int port_ = 0;
    std::mutex mutex_;
    struct Seen {
        std::chrono::steady_clock::time_point from{};
        int requests = 0;
        std::deque<std::chrono::steady_clock::time_point> wrong;
    };
    std::map<std::string, Seen> seen_;
};

/// The same whatever they are: how long it takes says only how long they are.
bool equal_in_constant_time(const std::string& a, const std::string& b);

/// 128 random bits, in hex. @returns empty where there are none to be had.
std::string new_token();

/// Addresses (IPv4) and names of this machine on its networks.
std::vector<std::string> names_of_machine();

}  // namespace sched::board
