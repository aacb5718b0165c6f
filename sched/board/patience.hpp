#pragma once
// How long the board waits for a client: a request must have come whole after a while, however
// busily it drips, an answer must be taken at a least speed, a head is so long at most, and one
// address may have so many requests coming in at a time: with the next it loses its oldest. Where
// all connections are taken, an address with most of those that wait for their client loses one.
// Includes the HTTP library: for server.cpp alone.

#include <httplib.h>

#include <chrono>
#include <cstddef>
#include <cstdint>
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
    std::size_t longest_head = 64u << 10;  // bytes: the library keeps all of it, many times over
    int connections = 256;                 // at a time: each has a thread
};

/// The library's server with one request a connection, within these bounds.
class PatientServer : public httplib::Server {
public:
    explicit PatientServer(const Patience& patience);

    /// For handlers: the head of this thread's request is over.
    static void head_over();
    /// The request of this thread has come whole; from here on it may take its time.
    static void whole();
    /// Whether the request of this thread was cut for coming too slowly.
    static bool cut();
    /// Whether its head was longer than is read.
    static bool too_long();
    /// Whether its client is gone: nobody takes an answer.
    static bool gone();

private:
    bool process_and_close_socket(int sock) override;
    bool enter(const std::string& address, std::uint64_t& number);
    void leave(const std::string& address);
    template <class Self>
    static bool one_request(Self& self, httplib::Stream& stream);

    /// A connection that waits for its client to send or to take something.
    struct Waiting {
        std::string address;
        int sock = -1;
        bool whole = false;  // its request has come; it does not take the answer
        bool let_go = false;
    };
    void accepted();  // it has a thread, or waits for one
    void ended(bool let_go);
    void waits(std::uint64_t number, Waiting connection);
    bool waits_no_more(std::uint64_t number);        // @returns whether it was let go meanwhile
    void make_room();                                // @pre locked
    bool let_oldest_go(const std::string& address);  // @pre locked

    friend class PatientStream;
    friend class CountingQueue;
    Patience patience_;
    std::mutex mutex_;
    std::map<std::string, int> coming_in_;      // by address
    std::map<std::uint64_t, Waiting> waiting_;  // by the connection's number: the oldest first
    std::uint64_t last_number_ = 0;
    int open_ = 0;   // connections that have a thread or wait for one
    int begun_ = 0;  // that have one
    int going_ = 0;  // let go, and not ended yet
};

}  // namespace sched::board
