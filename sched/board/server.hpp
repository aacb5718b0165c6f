#pragma once
// The local web page of the room: the plan as it stands, now and next, and answers for the front
// office. Listens on 127.0.0.1, with `lan` on all networks of the machine; who may ask says the
// guard. The library (cpp-httplib) is seen in server.cpp alone.

#include <chrono>
#include <functional>
#include <map>
#include <memory>
#include <string>

#include "sched/board/shelf.hpp"

namespace sched::board {

struct Reply {
    int status = 200;
    std::string type = "application/json";
    std::string body;
};

/// Decoded parameters of a request.
using Query = std::multimap<std::string, std::string>;

/// What the board passes on; an empty one is answered with 501. They may be called from any thread;
/// of the promises never two at a time, of the marks never two at a time.
struct Handlers {
    std::function<Reply(const Query&)> promise = {};       // GET /promise: JSON
    std::function<Reply(const Query&)> promise_page = {};  // GET /promise.html
    std::function<std::string()> ask_page = {};            // GET /ask: the form of an enquiry
    std::function<Reply(const std::string&)> mark = {};    // POST /mark: JSON of what happened
    std::function<Reply(const std::string&)> again = {};   // POST /again: JSON, plan again or adopt
    std::function<std::string()> day = {};                 // GET /day.json: what was marked
    std::function<std::string()> day_version = {};         // changes whenever `day` does; quick
    std::function<std::string()> clock = {};  // local date and time; empty: that of the display
    double pace = 1.0;                        // of that clock
};

struct ServerOptions {
    int port = 8377;                       // 0: any free one
    std::size_t largest_body = 64u << 10;  // bytes
    std::size_t most_parameters = 64;
    int most_waiting = 64;  // planning questions in the queue; beyond: 503 and when to ask again
    bool lan = false;       // all networks of this machine; needs a token
    std::string token;      // asked for from everybody; empty: from nobody
    std::vector<std::string> proxied;  // names under which a proxy serves it
    int most_a_second = 0;             // requests of one address; 0: as the guard has it
    int most_connections = 256;        // at a time, a thread each; then one that waits is let go
    int most_coming_in = 64;           // requests of one address that are not whole yet
    std::chrono::milliseconds request_within{10'000};  // from the connection on, all of it
    std::chrono::milliseconds answer_taken{10'000};    // and a second more for each 32 KiB
    int most_listening = 100;  // pages that are told what is new; others ask every few seconds
};

class Server {
public:
    Server(std::filesystem::path plan, PlanChecker checker, Handlers handlers,
           ServerOptions options);
    ~Server();
    Server(const Server&) = delete;
    Server& operator=(const Server&) = delete;

    /// Binds and serves in threads of its own. @returns whether the port could be had.
    bool start();
    int port() const;
    /// Ends after the requests under way; safe to call twice.
    void stop();

private:
    struct Inside;
    std::unique_ptr<Inside> in_;
};

/// Words of an error as the board sends them: {"error": "..."}.
Reply refuse(int status, const std::string& words);
/// The words again; empty for another reply.
std::string words_of(const Reply& refusal);

}  // namespace sched::board
