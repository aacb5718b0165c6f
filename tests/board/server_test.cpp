// The board as a browser, another web site and an ill-meaning program meet it, through the
// library's own client.

#include "sched/board/server.hpp"

#include <arpa/inet.h>
#include <httplib.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <unistd.h>

#include <atomic>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <thread>

#include "tests/catch.hpp"

using namespace sched;
namespace fs = std::filesystem;

namespace {

const std::string golden = std::string(COATROOM_SOURCE) + "/tests/golden/plan.json";

std::string text_of(const fs::path& path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

struct Folder {
    fs::path path;
    Folder() {
        static std::atomic<int> count{0};
        path = fs::temp_directory_path() /
               ("coatroom-board-" + std::to_string(getpid()) + "-" + std::to_string(count++));
        fs::create_directories(path);
        fs::copy_file(golden, path / "plan.json");
    }
    ~Folder() { fs::remove_all(path); }
    fs::path plan() const { return path / "plan.json"; }
};

struct Running {
    Folder folder;
    board::Server server;
    explicit Running(board::Handlers handlers = {}, board::ServerOptions options = {},
                     board::PlanChecker checker = {})
        : server(folder.plan(), std::move(checker), std::move(handlers), with_any_port(options)) {
        REQUIRE(server.start());
    }
    static board::ServerOptions with_any_port(board::ServerOptions options) {
        options.port = 0;
        return options;
    }
    httplib::Client client() const {
        httplib::Client c("127.0.0.1", server.port());
        c.set_read_timeout(20, 0);
        return c;
    }
    std::string own() const { return "http://127.0.0.1:" + std::to_string(server.port()); }
};

nlohmann::json body(const httplib::Result& result) {
    REQUIRE(result);
    return nlohmann::json::parse(result->body);
}

}  // namespace

TEST_CASE("the board serves its page, the plan and its files", "[board]") {
    const Running board;
    auto client = board.client();
    const auto page = client.Get("/");
    REQUIRE(page);
    CHECK(page->status == 200);
    CHECK(page->body.find("id=\"main\"") != std::string::npos);
    // No script and no style in the page itself, and only its own are let in.
    CHECK(page->body.find("<style") == std::string::npos);
    CHECK(page->body.find("<script>") == std::string::npos);
    const std::string policy = page->get_header_value("Content-Security-Policy");
    CHECK(policy.find("default-src 'none'; script-src 'self'; style-src 'self'") == 0);
    CHECK(policy.find("unsafe") == std::string::npos);
    for (const char* name : {"/board.js", "/marks.js", "/board.css"}) {
        INFO(name);
        CHECK(client.Get(name)->status == 200);
    }
    CHECK(page->get_header_value("Content-Type") == "text/html; charset=utf-8");
    CHECK(page->get_header_value("X-Content-Type-Options") == "nosniff");
    CHECK(page->get_header_value("X-Frame-Options") == "DENY");
    CHECK_FALSE(page->has_header("Access-Control-Allow-Origin"));
    const auto plan = client.Get("/plan.html");
    REQUIRE(plan);
    CHECK(plan->body.find("<html lang=\"en\" class=\"safelight\">") != std::string::npos);
    CHECK(client.Get("/plan.json")->body == text_of(golden));
    for (const char* name : {"/sheets.html", "/plan.csv", "/plan.ics", "/plan.txt", "/board.json"})
        CHECK(client.Get(name)->status == 200);
    const auto state = body(client.Get("/state"));
    CHECK(state["planned"] == true);
    CHECK(state["message"] == "");
    CHECK(state["mark"] == false);
    CHECK(client.Get("/promise?screens=4")->status == 501);
    CHECK(client.Post("/mark", "{}", "application/json")->status == 501);
}

TEST_CASE("nothing is compressed anew for each request", "[board]") {
    const Running board;
    auto client = board.client();
    client.set_decompress(false);
    for (const char* name : {"/", "/board.json", "/plan.html", "/board.js"}) {
        INFO(name);
        const auto answer = client.Get(name, {{"Accept-Encoding", "br, gzip"}});
        REQUIRE(answer);
        CHECK_FALSE(answer->has_header("Content-Encoding"));
    }
    const auto plan = body(client.Get("/board.json"));
    CHECK(plan["stations"].size() == 6);
    CHECK(plan["rows"].size() == 28);
    // Row 0 of the golden plan: mixing at the sink by Ada from 06:00 to 06:05 on 26 November 2026,
    // 1795672800 s after 1970 began (date -u -d 2026-11-26T06:00 +%s).
    const auto& row = plan["rows"][0];
    CHECK(plan["steps"][row[1].get<std::size_t>()] == "mix-dissolve");
    CHECK(row[0] == -1);
    CHECK(plan["stations"][row[4].get<std::size_t>()]["name"] == "Sink");
    CHECK(row[8] == 1795672800);
    CHECK(row[9] == 1795672800 + 300);
}

namespace {

// Reads server-sent events until `most` have come.
std::vector<nlohmann::json> listen(int port, std::size_t most,
                                   const std::function<void(std::size_t)>& after) {
    std::vector<nlohmann::json> out;
    std::string rest;
    httplib::Client client("127.0.0.1", port);
    client.set_read_timeout(20, 0);
    (void)client.Get("/events", [&](const char* data, std::size_t size) {
        rest.append(data, size);
        for (auto end = rest.find("\n\n"); end != std::string::npos; end = rest.find("\n\n")) {
            const std::string event = rest.substr(0, end);
            rest.erase(0, end + 2);
            CHECK(event.rfind("data: {", 0) == 0);
            out.push_back(nlohmann::json::parse(event.substr(6)));
            after(out.size());
            if (out.size() >= most) return false;
        }
        return true;
    });
    return out;
}

}  // namespace

TEST_CASE("who listens is told what is new", "[board]") {
    std::atomic<int> marks{0};
    const Running board({.mark =
                             [&](const std::string&) {
                                 ++marks;
                                 return board::Reply{.body = "{}"};
                             },
                         .day_version = [&] { return std::to_string(marks.load()); },
                         .clock = [] { return std::string("2026-11-26T09:10:30"); }});
    auto client = board.client();
    std::atomic<bool> marked{false};
    const auto events = listen(board.server.port(), 2, [&](std::size_t n) {
        if (n == 1) marked = client.Post("/mark", "{}", "application/json")->status == 200;
    });
    REQUIRE(events.size() == 2);
    CHECK(marked);
    CHECK(events[0]["day"] == "0");
    CHECK(events[0]["clock"] == "2026-11-26T09:10:30");
    CHECK(events[1]["day"] == "1");
    CHECK(events[1]["version"] == events[0]["version"]);
}

TEST_CASE("so many may listen, the others ask", "[board][hostile]") {
    const Running board({}, {.most_listening = 3});
    std::atomic<int> heard{0};
    std::atomic<bool> over{false};
    std::vector<std::thread> listeners;
    for (int i = 0; i < 3; ++i) {
        listeners.emplace_back([&] {
            auto client = board.client();
            (void)client.Get("/events", [&](const char*, std::size_t) {
                ++heard;
                while (!over)
                    std::this_thread::sleep_for(std::chrono::milliseconds(1));
                return false;
            });
        });
    }
    while (heard < 3)
        std::this_thread::sleep_for(std::chrono::milliseconds(1));
    auto client = board.client();
    const auto fourth = client.Get("/events");
    REQUIRE(fourth);
    CHECK(fourth->status == 503);
    CHECK(fourth->has_header("Retry-After"));
    CHECK(client.Get("/state")->status == 200);
    over = true;
    for (auto& l : listeners)
        l.join();
}

TEST_CASE("a plan that changes on the disk is shown without a restart", "[board]") {
    const Running board;
    auto client = board.client();
    const auto before = body(client.Get("/state"));
    std::string text = text_of(golden);
    const auto at = text.find("\"room\": \"");
    REQUIRE(at != std::string::npos);
    text.insert(at + 9, "Other ");
    std::ofstream(board.folder.plan(), std::ios::binary) << text;
    const auto after = body(client.Get("/state"));
    CHECK(after["version"] != before["version"]);
    CHECK(body(client.Get("/board.json"))["room"].get<std::string>().rfind("Other ", 0) == 0);

    std::ofstream(board.folder.plan(), std::ios::binary) << text.substr(0, text.size() / 2);
    const auto broken = body(client.Get("/state"));
    CHECK(broken["message"].get<std::string>().find("cannot be read") != std::string::npos);
    CHECK(broken["planned"] == true);
    CHECK(body(client.Get("/board.json"))["room"].get<std::string>().rfind("Other ", 0) == 0);
    fs::remove(board.folder.plan());
    CHECK(body(client.Get("/state"))["message"].get<std::string>().find("file not found") !=
          std::string::npos);
    fs::copy_file(golden, board.folder.plan());
    CHECK(body(client.Get("/state"))["message"] == "");
}

TEST_CASE("a plan that breaks a rule says so on the board", "[board]") {
    const Running board({}, {}, [](const report::PlanDocument&) {
        return std::vector<std::string>{"the remover stands too long"};
    });
    auto client = board.client();
    const auto state = body(client.Get("/state"));
    CHECK(state["message"].get<std::string>().find("the remover stands too long") !=
          std::string::npos);
}

TEST_CASE("no path leads out of the list of files", "[board][hostile]") {
    const Running board;
    auto client = board.client();
    for (const char* path : {"/../../etc/passwd", "/..%2f..%2fetc%2fpasswd", "/%2e%2e/plan.json",
                             "//etc/passwd", "/plan.json/", "/plan.json%00.html", "/./plan.json",
                             "/.hidden", "/plan.html~", "/PLAN.JSON", "/%", "/%ff%fe"}) {
        INFO(path);
        const auto answer = client.Get(path);
        REQUIRE(answer);
        CHECK((answer->status == 404 || answer->status == 400));
        CHECK(answer->body.find("root:") == std::string::npos);
        CHECK(answer->body.find("\"error\"") != std::string::npos);
    }
}

TEST_CASE("who is not this machine's own page is refused", "[board][hostile]") {
    int asked = 0;
    const Running board({.promise =
                             [&](const board::Query&) {
                                 ++asked;
                                 return board::Reply{.body = "{}"};
                             },
                         .mark =
                             [&](const std::string&) {
                                 ++asked;
                                 return board::Reply{.body = "{}"};
                             }});
    auto client = board.client();
    // A name that was made to point here (DNS rebinding) shows in the Host.
    for (const char* host :
         {"evil.example", "127.0.0.1", "127.0.0.1:1", "localhost.evil.example"}) {
        INFO(host);
        const auto answer = client.Get("/plan.json", {{"Host", host}});
        REQUIRE(answer);
        CHECK(answer->status == 403);
        CHECK(answer->body.find("Cabinet") == std::string::npos);
    }
    const std::string port = std::to_string(board.server.port());
    CHECK(client.Get("/state", {{"Host", "localhost:" + port}})->status == 200);

    const auto post = [&](const httplib::Headers& headers, const char* type) {
        return client.Post("/mark", headers, "{}", type)->status;
    };
    CHECK(post({{"Origin", "https://evil.example"}}, "application/json") == 403);
    CHECK(post({{"Origin", "null"}}, "application/json") == 403);
    CHECK(post({{"Sec-Fetch-Site", "cross-site"}}, "application/json") == 403);
    CHECK(post({{"Sec-Fetch-Site", "same-site"}}, "application/json") == 403);
    // Types that a form of a foreign page could send without asking first.
    CHECK(post({}, "text/plain") == 415);
    CHECK(post({}, "application/x-www-form-urlencoded") == 415);
    CHECK(client
              .Get("/promise?screens=1",
                   {{"Sec-Fetch-Site", "cross-site"}, {"Sec-Fetch-Mode", "navigate"}})
              ->status == 403);
    CHECK(client
              .Get("/promise?screens=1",
                   {{"Sec-Fetch-Site", "cross-site"}, {"Sec-Fetch-Mode", "no-cors"}})
              ->status == 403);
    CHECK(asked == 0);
    // The browser's question before a foreign request gets no yes.
    const auto preflight = client.Options("/mark", {{"Access-Control-Request-Method", "POST"}});
    REQUIRE(preflight);
    CHECK(preflight->status == 405);
    CHECK_FALSE(preflight->has_header("Access-Control-Allow-Origin"));
    CHECK(client.Put("/plan.json", "{}", "application/json")->status == 405);
    CHECK(client.Delete("/plan.json")->status == 405);
    CHECK(post({{"Origin", board.own()}, {"Sec-Fetch-Site", "same-origin"}}, "application/json") ==
          200);
    CHECK(client.Get("/promise?screens=1")->status == 200);
    CHECK(asked == 2);
}

TEST_CASE("requests that are too large are cut off", "[board][hostile]") {
    std::size_t largest = 0;
    const Running board({.promise = [](const board::Query&) { return board::Reply{.body = "{}"}; },
                         .mark =
                             [&](const std::string& text) {
                                 largest = std::max(largest, text.size());
                                 return board::Reply{.body = "{}"};
                             }});
    auto client = board.client();
    const std::string most(64u << 10, 'x');
    CHECK(client.Post("/mark", most, "application/json")->status == 200);
    const auto over = client.Post("/mark", most + "y", "application/json");
    CHECK((!over || over->status == 413));
    CHECK(largest == most.size());
    std::string query = "/promise?";
    for (int i = 0; i < 100; ++i)
        query += "a" + std::to_string(i) + "=1&";
    const auto many = client.Get(query.c_str());
    REQUIRE(many);
    CHECK(many->status == 400);
    const auto endless = client.Get(("/promise?screens=" + std::string(20000, '9')).c_str());
    CHECK((!endless || endless->status == 414 || endless->status == 400));
    CHECK(client.Get("/state")->status == 200);  // it goes on
}

TEST_CASE("questions are planned one at a time, and no crowd builds up", "[board]") {
    std::atomic<int> inside{0}, most{0}, done{0};
    const Running board({.promise =
                             [&](const board::Query&) {
                                 const int now = ++inside;
                                 int seen = most;
                                 while (now > seen && !most.compare_exchange_weak(seen, now)) {
                                 }
                                 std::this_thread::sleep_for(std::chrono::milliseconds(60));
                                 --inside;
                                 ++done;
                                 return board::Reply{.body = "{}"};
                             }},
                        {.most_waiting = 3});
    std::atomic<int> good{0}, busy{0};
    std::vector<std::thread> askers;
    for (int i = 0; i < 10; ++i) {
        askers.emplace_back([&] {
            auto client = board.client();
            const auto answer = client.Get("/promise?screens=1");
            if (answer && answer->status == 200) ++good;
            if (answer && answer->status == 503 && answer->has_header("Retry-After")) ++busy;
        });
    }
    // The plan is served meanwhile.
    auto client = board.client();
    CHECK(client.Get("/state")->status == 200);
    for (auto& a : askers)
        a.join();
    CHECK(most == 1);
    CHECK(good == done);
    CHECK(good >= 3);
    CHECK(good + busy == 10);
}

TEST_CASE("questions are answered in turn, and all that fit are answered", "[board]") {
    std::vector<std::string> order;
    std::atomic<bool> open{false};
    const Running board({.promise = [&](const board::Query& query) {
        while (!open)
            std::this_thread::sleep_for(std::chrono::milliseconds(1));
        order.push_back(query.find("who")->second);
        return board::Reply{.body = "{}"};
    }});
    std::vector<std::thread> askers;
    std::atomic<int> good{0};
    std::vector<std::string> came;
    for (int i = 0; i < 50; ++i) {
        came.push_back(std::to_string(i));
        askers.emplace_back([&, i] {
            auto client = board.client();
            const auto answer = client.Get(("/promise?who=" + std::to_string(i)).c_str());
            if (answer && answer->status == 200) ++good;
        });
        // The next one comes when this one waits.
        auto client = board.client();
        while (body(client.Get("/state"))["waiting"] != i + 1)
            std::this_thread::sleep_for(std::chrono::milliseconds(1));
    }
    open = true;
    for (auto& a : askers)
        a.join();
    CHECK(good == 50);
    CHECK(order == came);
}

TEST_CASE("who has gone does not stand in line", "[board][hostile]") {
    std::atomic<bool> open{false};
    std::atomic<int> asked{0};
    const Running board({.promise =
                             [&](const board::Query&) {
                                 ++asked;
                                 while (!open)
                                     std::this_thread::sleep_for(std::chrono::milliseconds(1));
                                 return board::Reply{.body = "{}"};
                             }},
                        {.most_waiting = 4});
    const auto waiting = [&] {
        auto client = board.client();
        return body(client.Get("/state"))["waiting"].get<int>();
    };
    const auto until = [&](int so_many) {
        for (int k = 0; k < 5000 && waiting() != so_many; ++k)
            std::this_thread::sleep_for(std::chrono::milliseconds(2));
        return waiting() == so_many;
    };
    std::atomic<int> good{0};
    const auto ask = [&] {
        auto client = board.client();
        const auto answer = client.Get("/promise?screens=1");
        if (answer && answer->status == 200) ++good;
    };
    std::thread first(ask);
    CHECK(until(1));
    // A page that is loaded again and again: each time the one before has gone.
    const std::string request = "GET /promise?screens=2 HTTP/1.1\r\nHost: 127.0.0.1:" +
                                std::to_string(board.server.port()) + "\r\n\r\n";
    for (int k = 0; k < 3; ++k) {
        std::vector<int> gone;
        for (int i = 0; i < 3; ++i) {
            const int s = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
            sockaddr_in address{};
            address.sin_family = AF_INET;
            address.sin_port = htons(static_cast<std::uint16_t>(board.server.port()));
            address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
            REQUIRE(connect(s, reinterpret_cast<sockaddr*>(&address), sizeof(address)) == 0);
            REQUIRE(send(s, request.data(), request.size(), MSG_NOSIGNAL) ==
                    static_cast<ssize_t>(request.size()));
            gone.push_back(s);
        }
        CHECK(until(4));
        for (const int s : gone)
            close(s);
        if (k < 2) CHECK(until(1));
    }
    // The line is full until they are missed.
    std::thread last(ask);
    CHECK(until(2));
    open = true;
    first.join();
    last.join();
    CHECK(good == 2);
    CHECK(asked == 2);
}

TEST_CASE("a handler that fails takes nothing down", "[board]") {
    const Running board({.promise = [](const board::Query& query) -> board::Reply {
        if (query.count("boom") > 0) throw std::runtime_error("inner words");
        return {.body = "{}"};
    }});
    auto client = board.client();
    const auto answer = client.Get("/promise?boom=1");
    REQUIRE(answer);
    CHECK(answer->status == 500);
    CHECK(answer->body.find("inner words") == std::string::npos);
    // The next question is not shut out by the one that failed.
    for (int i = 0; i < 8; ++i)
        CHECK(client.Get("/promise?screens=1")->status == 200);
}

namespace {

// What a program that speaks no HTTP sends; gives back what came.
std::string raw(int port, const std::string& bytes, bool read_answer) {
    const int s = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_port = htons(static_cast<std::uint16_t>(port));
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    timeval patience{.tv_sec = 6, .tv_usec = 0};
    setsockopt(s, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof(patience));
    REQUIRE(connect(s, reinterpret_cast<sockaddr*>(&address), sizeof(address)) == 0);
    const auto sent = send(s, bytes.data(), bytes.size(), MSG_NOSIGNAL);
    CHECK(sent >= 0);
    std::string out;
    char buffer[4096];
    // The head of an answer comes in one piece; what follows is waited for shortly.
    for (ssize_t n = 1; read_answer && n > 0;) {
        n = recv(s, buffer, sizeof(buffer), 0);
        if (n > 0) out.append(buffer, static_cast<std::size_t>(n));
        patience = {.tv_sec = 0, .tv_usec = 50'000};
        setsockopt(s, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof(patience));
    }
    close(s);
    return out;
}

}  // namespace

TEST_CASE("nothing without an end is read, and nothing is answered many times over",
          "[board][hostile]") {
    std::size_t largest = 0;
    const Running board({.mark = [&](const std::string& text) {
        largest = std::max(largest, text.size());
        return board::Reply{.body = "{}"};
    }});
    const int port = board.server.port();
    const std::string host = "Host: 127.0.0.1:" + std::to_string(port) + "\r\n";
    // 200 kB in chunks, three times the limit of a body.
    std::string chunks = "POST /mark HTTP/1.1\r\n" + host +
                         "Content-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\n";
    for (int i = 0; i < 200; ++i)
        chunks += "3e8\r\n" + std::string(1000, 'x') + "\r\n";
    chunks += "0\r\n\r\n";
    CHECK(raw(port, chunks, true).find(" 200 ") == std::string::npos);
    CHECK(largest == 0);
    std::string ranges = "GET /plan.json HTTP/1.1\r\n" + host + "Range: bytes=0-";
    for (int i = 0; i < 1000; ++i)
        ranges += ",0-";
    const std::string many = raw(port, ranges + "\r\n\r\n", true);
    CHECK(many.find(" 200 ") == std::string::npos);
    CHECK(many.find(" 206 ") == std::string::npos);
    CHECK(many.size() < 1'000'000);
    // Who sends on before the answer is told that the connection ends with it (RFC 9112, 9.3.2).
    const std::string twice = "GET /state HTTP/1.1\r\n" + host + "\r\n";
    const std::string answer = raw(port, twice + twice, true);
    CHECK(answer.find("200 OK") != std::string::npos);
    CHECK(answer.find("Connection: close") != std::string::npos);
}

TEST_CASE("clients that never finish shut nobody out", "[board][hostile]") {
    const Running board;
    std::vector<int> idle;
    for (int i = 0; i < 100; ++i) {
        const int s = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
        // Of two other addresses: one that fills its share is itself not answered.
        sockaddr_in own{};
        own.sin_family = AF_INET;
        own.sin_addr.s_addr = htonl(INADDR_LOOPBACK + 1 + static_cast<in_addr_t>(i % 2));
        REQUIRE(bind(s, reinterpret_cast<sockaddr*>(&own), sizeof(own)) == 0);
        sockaddr_in address{};
        address.sin_family = AF_INET;
        address.sin_port = htons(static_cast<std::uint16_t>(board.server.port()));
        address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
        REQUIRE(connect(s, reinterpret_cast<sockaddr*>(&address), sizeof(address)) == 0);
        if (i % 2 == 0) CHECK(send(s, "GET /pl", 7, MSG_NOSIGNAL) == 7);
        idle.push_back(s);
    }
    // All of them hold a thread for two seconds and more; the answer comes while they do.
    auto client = board.client();
    const auto answer = client.Get("/state");
    REQUIRE(answer);
    CHECK(answer->status == 200);
    char byte = 0;
    int open = 0;
    for (const int s : idle) {
        open += recv(s, &byte, 1, MSG_DONTWAIT) < 0 ? 1 : 0;  // nothing came, and no end
        close(s);
    }
    CHECK(open > 0);  // with few threads it would have come after the last of them
}

TEST_CASE("bytes that are no request do no harm", "[board][hostile]") {
    const Running board;
    const int port = board.server.port();
    const std::string host = "Host: 127.0.0.1:" + std::to_string(port) + "\r\n";
    for (const std::string& bytes : std::initializer_list<std::string>{
             std::string("\r\n\r\n"),
             std::string("GET\r\n\r\n"),
             std::string("\x16\x03\x01\x02\x00\x01\x00\x01\xfc", 9),
             "GET / HTTP/9.9\r\n" + host + "\r\n",
             std::string("GET /plan.json HTTP/1.0\r\n\r\n"),
             "GET /plan.json HTTP/1.1\r\n" + host + host + "\r\n",
             "POST /mark HTTP/1.1\r\n" + host + "Content-Length: 999999999999\r\n\r\nx",
             "POST /mark HTTP/1.1\r\n" + host + "Content-Length: -5\r\n\r\nx",
             "POST /mark HTTP/1.1\r\n" + host + "Transfer-Encoding: chunked\r\n\r\nzz\r\n",
             "GET /../plan.json HTTP/1.1\r\n" + host + "\r\n",
             "GET http://evil.example/plan.json HTTP/1.1\r\nHost: evil.example\r\n\r\n",
         }) {
        INFO(bytes);
        const std::string answer = raw(port, bytes, true);
        CHECK(answer.find("Cabinet") == std::string::npos);  // nothing of the plan
        CHECK(answer.find(" 200 ") == std::string::npos);
    }
    // Clients that say nothing, or half of it, keep nobody else waiting.
    std::vector<std::thread> slow;
    for (int i = 0; i < 10; ++i)
        slow.emplace_back([&] { raw(port, "GET / HTTP/1.1\r\nHos", true); });
    auto client = board.client();
    CHECK(client.Get("/state")->status == 200);
    for (auto& s : slow)
        s.join();
    CHECK(client.Get("/state")->status == 200);
}

TEST_CASE("the board stops at once, and a taken port is refused", "[board]") {
    Folder folder;
    board::Server first(folder.plan(), {}, {}, {.port = 0});
    REQUIRE(first.start());
    board::Server second(folder.plan(), {}, {}, {.port = first.port()});
    CHECK_FALSE(second.start());
    const int port = first.port();
    first.stop();
    first.stop();
    httplib::Client client("127.0.0.1", port);
    CHECK_FALSE(client.Get("/state"));
    // It listens on the loopback alone: 127.0.0.2 is another address of this machine.
    board::Server third(folder.plan(), {}, {}, {.port = 0});
    REQUIRE(third.start());
    httplib::Client other("127.0.0.2", third.port());
    CHECK_FALSE(other.Get("/state"));
}
