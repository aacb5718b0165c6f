#pragma once
// How long the board waits for a client: a request must have come whole after a while, however
// busily it drips, an answer must be taken at a least speed, and one address may have so many
// requests coming in at a time. Includes the HTTP library: for server.cpp alone.

#include <httplib.h>

#include <chrono>
#include <cstddef>
#include <map>
#include <mutex>
#include <string>

namespace sched::board {

struct Patience {
    std::chrono::milliseconds silence{2'000};   // between two pieces of a request
    std::chrono::milliseconds request{10'000};  // for all of it, from the connection on
    std::chrono::milliseconds answer{10'000};   // spent waiting for a client that takes nothing...
    std::size_t slowest = 32u << 10;            // ... and a second more for so many bytes taken
    int most_coming_in = 64;                    // requests of one address that are not whole yet
};

/// The library's server with one request a connection, within these bounds.
class PatientServer : public httplib::Server {
public:
    explicit PatientServer(const Patience& patience) : patience_(patience) {}

    /// For handlers: the request of this thread has come whole; from here on it may take its time.
    static void whole();
    /// Whether the request of this thread was cut for coming too slowly.
    static bool cut();

private:
    bool process_and_close_socket(int sock) override;
    bool enter(const std::string& address);
    void leave(const std::string& address);
    template <class Self>
    static bool one_request(Self& self, httplib::Stream& stream);

    friend class PatientStream;
    Patience patience_;
    std::mutex mutex_;
    std::map<std::string, int> coming_in_;  // by address
};

}  // namespace sched::board
