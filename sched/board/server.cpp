// How it works: a table of routes over the HTTP library, each answered from the shelf or by a
// handler, handlers one at a time with a bounded queue; requests from elsewhere are turned away
// before any route (guard).

#include "sched/board/server.hpp"

#include <fmt/format.h>
#include <atomic>
#include <chrono>
#include <condition_variable>
#include <mutex>
#include <nlohmann/json.hpp>
#include <set>
#include <thread>

#include "sched/board/guard.hpp"
#include "sched/board/live.hpp"
#include "sched/board/page.hpp"
#include "sched/board/patience.hpp"
#include "sched/report/words/web_assets.hpp"

namespace sched::board {

namespace {

using httplib::Request;
using httplib::Response;

constexpr std::chrono::milliseconds look_after{200};  // whether a client that waits is still there
constexpr int most_connecting = 256;                  // connections that are not accepted yet

std::string error_json(const std::string& words) {
    return nlohmann::ordered_json{{"error", words}}.dump(
               -1, ' ', false, nlohmann::ordered_json::error_handler_t::replace) +
           "\n";
}

Knock knock_of(const Request& request) {
    return {.method = request.method,
            .path = request.path,
            .address = request.remote_addr,
            .host = request.get_header_value("Host"),
            .hosts = request.get_header_value_count("Host"),
            .has_origin = request.has_header("Origin"),
            .origin = request.get_header_value("Origin"),
            .fetch_site = request.get_header_value("Sec-Fetch-Site"),
            .fetch_mode = request.get_header_value("Sec-Fetch-Mode"),
            .cookie = request.get_header_value("Cookie"),
            .token = request.path == "/" ? request.get_param_value("token") : ""};
}

GuardOptions guard_of(const ServerOptions& options) {
    GuardOptions out{.proxied = options.proxied, .token = options.token};
    if (options.most_a_second > 0) out.most_a_second = options.most_a_second;
    if (options.lan) {
        for (auto& name : names_of_machine())
            out.names.push_back(std::move(name));
    }
    return out;
}

bool known_method(const std::string& method) {
    return method == "GET" || method == "HEAD" || method == "POST";
}

}  // namespace

Reply refuse(int status, const std::string& words) {
    return {.status = status, .body = error_json(words)};
}

std::string words_of(const Reply& refusal) {
    const auto json = nlohmann::json::parse(refusal.body, nullptr, false);
    return json.is_object() ? json.value("error", std::string{}) : std::string{};
}

struct Server::Inside {
    Inside(std::filesystem::path plan, PlanChecker checker, Handlers given, ServerOptions opts)
        : shelf(std::move(plan), std::move(checker)),
          handlers(std::move(given)),
          options(opts),
          http({.request = opts.request_within,
                .answer = opts.answer_taken,
                .most_coming_in = opts.most_coming_in,
                .connections = opts.most_connections}),
          guard(guard_of(opts)),
          live([this] { return state_text(false); }, opts.most_listening) {}

    PlanShelf shelf;
    Handlers handlers;
    ServerOptions options;
    PatientServer http;
    Guard guard;
    std::mutex marking;
    Live live;
    // One question at a time, in turn: each uses all cores.
    std::mutex turn_lock;
    std::condition_variable turn_over;
    std::uint64_t next_turn = 0, turn = 0;
    std::set<std::uint64_t> left;  // turns of those who have gone before theirs
    double answer_seconds = 1.0;   // of the questions so far, the last ones most
    std::thread listener;
    std::atomic<int> port{0};

    static void send(Response& response, const Reply& reply) {
        response.status = reply.status;
        response.set_content(reply.body, reply.type);
    }

    int waiting() {
        const std::lock_guard lock(turn_lock);
        return in_line();
    }

    int in_line() const { return static_cast<int>(next_turn - turn - left.size()); }

    void next() {
        ++turn;
        while (left.erase(turn) > 0)
            ++turn;
        turn_over.notify_all();
    }

    // Runs `answer` alone, in turn, behind at most `most_waiting` others.
    template <class Answer>
    Reply alone(Response& response, Answer answer) {
        {
            std::unique_lock lock(turn_lock);
            // Long enough for those who have gone to be missed.
            turn_over.wait_for(lock, 2 * look_after,
                               [&] { return in_line() < options.most_waiting; });
            const int before = in_line();
            if (before >= options.most_waiting) {
                const int seconds = 1 + static_cast<int>(answer_seconds * before);
                response.set_header("Retry-After", std::to_string(seconds));
                return refuse(503, fmt::format("{} questions are waiting already: ask again in {} "
                                               "seconds.",
                                               before, seconds));
            }
            const std::uint64_t mine = next_turn++;
            // Whoever has gone (a page that was loaded again, a display that was switched off)
            // gives up its place.
            const auto nobody = refuse(503, "Nobody waits for this answer.");
            while (!turn_over.wait_for(lock, look_after, [&] { return turn == mine; })) {
                if (!PatientServer::gone()) continue;
                left.insert(mine);
                turn_over.notify_all();
                return nobody;
            }
            if (PatientServer::gone()) {
                next();
                return nobody;
            }
        }
        struct Turn {  // given on also when the answer throws
            Inside& in;
            std::chrono::steady_clock::time_point begun = std::chrono::steady_clock::now();
            ~Turn() {
                const std::chrono::duration<double> took = std::chrono::steady_clock::now() - begun;
                const std::lock_guard lock(in.turn_lock);
                in.answer_seconds = 0.7 * in.answer_seconds + 0.3 * took.count();
                in.next();
            }
        } ours{*this};
        return answer();
    }

    void ask(const Request& request, Response& response,
             const std::function<Reply(const Query&)>& handler) {
        if (!handler) return send(response, refuse(501, "This board gives no promises."));
        if (request.params.size() > options.most_parameters) {
            return send(response, refuse(400, fmt::format("more than {} parameters.",
                                                          options.most_parameters)));
        }
        const Query query(request.params.begin(), request.params.end());
        send(response, alone(response, [&] { return handler(query); }));
    }

    void mark(const Request& request, Response& response) {
        if (!handlers.mark) return send(response, refuse(501, "This board records nothing."));
        // Only this type makes a browser ask first whether a foreign page may send it; no answer
        // of ours ever says yes.
        if (request.get_header_value("Content-Type").rfind("application/json", 0) != 0)
            return send(response, refuse(415, "Send application/json."));
        const std::lock_guard lock(marking);
        send(response, handlers.mark(request.body));
        live.nudge();
    }

    // Plan again, try, adopt: answered at once, whatever is planned meanwhile.
    void again(const Request& request, Response& response) {
        if (!handlers.again) return send(response, refuse(501, "This board plans nothing anew."));
        if (request.get_header_value("Content-Type").rfind("application/json", 0) != 0)
            return send(response, refuse(415, "Send application/json."));
        send(response, handlers.again(request.body));
        live.nudge();
    }

    // What would be read without a limit, or answered many times over.
    static bool endless(const Request& request, Reply& reply) {
        constexpr std::size_t most_ranges = 4;
        if (request.has_header("Transfer-Encoding"))
            reply = refuse(411, "Say how long the body is (Content-Length).");
        else if (request.ranges.size() > most_ranges)
            reply = refuse(416, "Ask for the whole file.");
        else
            return false;
        return true;
    }

    // What pages are told; without the time of day it changes only when something is new.
    std::string state_text(bool with_clock) {
        const auto now = shelf.current();
        nlohmann::ordered_json out{{"version", now->version},
                                   {"message", now->message},
                                   {"planned", now->planned},
                                   {"waiting", with_clock ? waiting() : 0},
                                   {"mark", static_cast<bool>(handlers.mark)},
                                   {"again", static_cast<bool>(handlers.again)},
                                   {"promise", static_cast<bool>(handlers.promise)},
                                   {"day", handlers.day_version ? handlers.day_version() : ""}};
        if (with_clock && handlers.clock) {
            out["clock"] = handlers.clock();
            out["pace"] = handlers.pace;
        }
        return out.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace);
    }

    // Server-sent events (HTML, 9.2): each page that listens holds a thread, so only so many may.
    void events(Response& response) {
        if (!live.enter()) {
            response.set_header("Retry-After", "60");
            return send(response, refuse(503, "Too many pages listen already: ask /state."));
        }
        std::uint64_t seen = 0;
        response.set_chunked_content_provider(
            "text/event-stream",
            [this, seen](std::size_t, httplib::DataSink& sink) mutable {
                constexpr std::chrono::seconds sign_of_life{4};
                const auto news = live.next(seen, sign_of_life);
                if (news.over) {
                    sink.done();
                    return true;
                }
                seen = news.number;
                const std::string event = "data: " + state_text(true) + "\n\n";
                return sink.write(event.data(), event.size());
            },
            [this](bool) { live.leave(); });
    }

    // Names are looked up in a list; no path of the disk is ever made from a request.
    void file(const std::string& name, Response& response) {
        const auto now = shelf.current();
        const auto found = now->files.find(name);
        if (found == now->files.end()) return send(response, refuse(404, "There is no such page."));
        response.set_content(found->second.body, found->second.type);
    }

    void routes() {
        http.set_pre_routing_handler([this](const Request& request, Response& response) {
            // The library would compress anew for each request: seconds of work for a large plan,
            // and nothing saved on this machine. It has no other switch for it than this.
            const_cast<Request&>(request).headers.erase("Accept-Encoding");
            PatientServer::head_over();
            response.set_header("Cache-Control", "no-store");
            response.set_header("X-Content-Type-Options", "nosniff");
            response.set_header("X-Frame-Options", "DENY");
            response.set_header("Referrer-Policy", "no-referrer");
            response.set_header("Cross-Origin-Resource-Policy", "same-origin");
            response.set_header("Cross-Origin-Opener-Policy", "same-origin");
            const auto verdict = guard.ask(knock_of(request), std::chrono::steady_clock::now());
            if (verdict.status == 303) {
                // The token leaves the address line, and with it the history.
                const bool secure = request.get_header_value("X-Forwarded-Proto") == "https";
                response.set_header("Set-Cookie", guard.cookie(secure));
                response.set_redirect("/", 303);
                return httplib::Server::HandlerResponse::Handled;
            }
            if (verdict.status != 200) {
                if (verdict.retry_after > 0)
                    response.set_header("Retry-After", std::to_string(verdict.retry_after));
                send(response, refuse(verdict.status, verdict.words));
                return httplib::Server::HandlerResponse::Handled;
            }
            if (Reply reply; endless(request, reply)) {
                send(response, reply);
                return httplib::Server::HandlerResponse::Handled;
            }
            // What has no body has come whole.
            if (request.method != "POST") PatientServer::whole();
            if (!known_method(request.method)) {
                response.set_header("Allow", "GET, HEAD, POST");
                send(response, refuse(405, "Only GET and POST are understood."));
                return httplib::Server::HandlerResponse::Handled;
            }
            return httplib::Server::HandlerResponse::Unhandled;
        });
        http.Get("/", [](const Request&, Response& response) {
            response.set_header("Content-Security-Policy", board_policy());
            response.set_content(board_page(), "text/html; charset=utf-8");
        });
        http.Get("/board.css", [](const Request&, Response& response) {
            response.set_content(std::string(report::web_asset("board.css")),
                                 "text/css; charset=utf-8");
        });
        http.Get("/(board|marks).js", [](const Request& request, Response& response) {
            response.set_content(std::string(report::web_asset(request.matches[0].str().substr(1))),
                                 "text/javascript; charset=utf-8");
        });
        http.Get("/favicon.ico", [](const Request&, Response& response) { response.status = 204; });
        http.Get("/state", [this](const Request&, Response& response) {
            response.set_content(state_text(true) + "\n", "application/json");
        });
        http.Get("/events", [this](const Request&, Response& response) { events(response); });
        http.Get("/day.json", [this](const Request&, Response& response) {
            if (!handlers.day) return send(response, refuse(501, "This board records nothing."));
            response.set_content(handlers.day(), "application/json");
        });
        http.Get("/promise", [this](const Request& request, Response& response) {
            ask(request, response, handlers.promise);
        });
        http.Get("/promise.html", [this](const Request& request, Response& response) {
            ask(request, response, handlers.promise_page);
        });
        http.Get("/ask", [this](const Request&, Response& response) {
            if (!handlers.ask_page)
                return send(response, refuse(501, "This board gives no promises."));
            send(response, alone(response, [&] {
                     return Reply{.type = "text/html; charset=utf-8", .body = handlers.ask_page()};
                 }));
        });
        http.Post("/mark", [this](const Request& request, Response& response) {
            PatientServer::whole();
            mark(request, response);
        });
        http.Post("/again", [this](const Request& request, Response& response) {
            PatientServer::whole();
            again(request, response);
        });
        http.Get("/([a-z0-9.-]+)", [this](const Request& request, Response& response) {
            file(request.matches[1], response);
        });
        http.set_error_handler([](const Request&, Response& response) {
            if (!response.body.empty()) return;
            if (PatientServer::cut()) response.status = 408;
            if (PatientServer::too_long()) response.status = 431;
            const char* words = response.status == 408   ? "That request came too slowly."
                                : response.status == 431 ? "The head of that request is too long."
                                : response.status == 413 ? "That is too much at once."
                                : response.status == 414 ? "That address is too long."
                                : response.status == 404 ? "There is no such page."
                                                         : "That request is not understood.";
            response.set_content(error_json(words), "application/json");
        });
        http.set_exception_handler([](const Request&, Response& response, std::exception_ptr) {
            send(response, refuse(500, "The program failed at this question; it goes on."));
        });
    }
};

Server::Server(std::filesystem::path plan, PlanChecker checker, Handlers handlers,
               ServerOptions options)
    : in_(std::make_unique<Inside>(std::move(plan), std::move(checker), std::move(handlers),
                                   options)) {}

Server::~Server() {
    stop();
}

bool Server::start() {
    auto& http = in_->http;
    http.set_payload_max_length(in_->options.largest_body);
    // The library would let a second program share the port; this one says that it is taken.
    int listening = -1;
    http.set_socket_options([&listening](auto socket) {
        listening = static_cast<int>(socket);
        int yes = 1;
        setsockopt(socket, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof(yes));
    });
    in_->routes();
    (void)in_->shelf.current();  // a large plan is read before anybody waits for it
    const char* address = in_->options.lan ? "0.0.0.0" : "127.0.0.1";
    if (in_->options.port == 0) {
        in_->port = http.bind_to_any_port(address);
    } else {
        in_->port = http.bind_to_port(address, in_->options.port) ? in_->options.port : -1;
    }
    http.set_socket_options([](auto) {});  // the one above knows this call only
    if (in_->port <= 0) return false;
    in_->guard.set_port(in_->port);
    ::listen(listening, most_connecting);  // the library asks for five
    in_->live.start();
    in_->listener = std::thread([this] { in_->http.listen_after_bind(); });
    // Until then stop() would be forgotten.
    while (!http.is_running())
        std::this_thread::sleep_for(std::chrono::milliseconds(1));
    return true;
}

int Server::port() const {
    return in_->port;
}

void Server::stop() {
    if (!in_->listener.joinable()) return;
    in_->live.stop();
    in_->http.stop();
    in_->listener.join();
}

}  // namespace sched::board
