// Who may ask the board, and each attack of the table in docs/board.md over real sockets.

#include "sched/board/guard.hpp"

#include <arpa/inet.h>
#include <httplib.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

#include <filesystem>
#include <set>
#include <string>
#include <thread>
#include <vector>

#include "sched/board/server.hpp"
#include "tests/catch.hpp"

using namespace sched;
namespace fs = std::filesystem;
using std::chrono::seconds;
using std::chrono::steady_clock;

namespace {

const std::string secret = "00112233445566778899aabbccddeeff";

struct Guarded {
    fs::path path = fs::temp_directory_path() / ("coatroom-guard-" + std::to_string(getpid()));
    board::Server server;
    int marked = 0;
    explicit Guarded(board::ServerOptions options)
        : server((prepare(path), path / "plan.json"), {},
                 {.mark =
                      [this](const std::string&) {
                          ++marked;
                          return board::Reply{.body = "{}"};
                      }},
                 std::move(options)) {
        REQUIRE(server.start());
    }
    ~Guarded() {
        server.stop();
        fs::remove_all(path);
    }
    static void prepare(const fs::path& to) {
        fs::remove_all(to);
        fs::create_directories(to);
        fs::copy_file(std::string(COATROOM_SOURCE) + "/tests/golden/plan.json", to / "plan.json");
    }
    httplib::Client client() const {
        httplib::Client c("127.0.0.1", server.port());
        c.set_read_timeout(20, 0);
        return c;
    }
};

board::ServerOptions locked() {
    return {.port = 0, .lan = true, .token = secret};
}

board::Knock knock(const std::string& host) {
    board::Knock k;
    k.address = "10.0.0.7";
    k.host = host;
    k.path = "/";
    return k;
}

}  // namespace

TEST_CASE("tokens are random, and compared whole", "[board][guard]") {
    std::set<std::string> seen;
    for (int i = 0; i < 200; ++i)
        seen.insert(board::new_token());
    CHECK(seen.size() == 200);
    CHECK(seen.begin()->size() == 32);
    CHECK(board::equal_in_constant_time("abc", "abc"));
    CHECK(board::equal_in_constant_time("", ""));
    for (const char* other : {"", "ab", "abd", "Abc", "abcc", "abcabc"}) {
        INFO(other);
        CHECK_FALSE(board::equal_in_constant_time("abc", other));
        CHECK_FALSE(board::equal_in_constant_time(other, "abc"));
    }
}

TEST_CASE("wrong tokens shut the door for a minute, of that address only", "[board][guard]") {
    board::Guard guard({.token = secret});
    guard.set_port(80);
    const auto t0 = steady_clock::time_point{} + seconds(1000);
    auto k = knock("localhost:80");
    k.token = "guess";
    for (int i = 0; i < 10; ++i)
        CHECK(guard.ask(k, t0 + seconds(i)).status == 401);
    CHECK(guard.ask(k, t0 + seconds(11)).status == 429);
    k.token = secret;  // the right one does not help either
    CHECK(guard.ask(k, t0 + seconds(12)).status == 429);
    auto other = k;
    other.address = "10.0.0.8";
    CHECK(guard.ask(other, t0 + seconds(12)).status == 303);
    CHECK(guard.ask(k, t0 + seconds(71)).status == 303);
    // Who only has no token yet is told so as often as he asks, and shuts nobody out.
    k.token = "";
    for (int i = 0; i < 50; ++i)
        CHECK(guard.ask(k, t0 + seconds(200)).status == 401);
    k.cookie = "a=1; coatroom=" + secret + "; b=2";
    CHECK(guard.ask(k, t0 + seconds(201)).status == 200);
    for (const std::string& cookie : {"xcoatroom=" + secret, "coatroom=" + secret + "0",
                                      std::string("coatroom="), std::string("coatroom")}) {
        INFO(cookie);
        k.cookie = cookie;
        CHECK(guard.ask(k, t0 + seconds(300)).status == 401);
    }
}

TEST_CASE("an address that asks without end is slowed down", "[board][guard]") {
    board::Guard guard({.most_a_second = 10});
    guard.set_port(80);
    const auto t0 = steady_clock::time_point{} + seconds(1000);
    int good = 0;
    for (int i = 0; i < 500; ++i)
        good += guard.ask(knock("localhost:80"), t0).status == 200 ? 1 : 0;
    CHECK(good == 50);  // ten a second, over five seconds
    auto other = knock("localhost:80");
    other.address = "10.0.0.8";
    CHECK(guard.ask(other, t0).status == 200);
    CHECK(guard.ask(knock("localhost:80"), t0 + seconds(6)).status == 200);
}

TEST_CASE("a proxy's name is taken by https only", "[board][guard]") {
    board::Guard guard({.proxied = {"board.example"}});
    guard.set_port(80);
    const auto t0 = steady_clock::time_point{} + seconds(1000);
    auto k = knock("board.example");
    CHECK(guard.ask(k, t0).status == 200);
    k.has_origin = true;
    k.origin = "https://board.example";
    CHECK(guard.ask(k, t0).status == 200);
    k.origin = "http://board.example";
    CHECK(guard.ask(k, t0).status == 403);
    CHECK(guard.ask(knock("other.example"), t0).status == 403);
    CHECK(guard.ask(knock("board.example:80"), t0).status == 403);
}

TEST_CASE("on a network nothing is told without the token", "[board][guard][hostile]") {
    Guarded board(locked());
    auto client = board.client();
    client.set_follow_location(false);
    for (const char* path : {"/", "/state", "/board.json", "/plan.json", "/plan.html", "/events",
                             "/day.json", "/ask", "/promise?screens=1", "/board.js"}) {
        INFO(path);
        const auto answer = client.Get(path);
        REQUIRE(answer);
        CHECK(answer->status == 401);
        CHECK(answer->body.find("Cabinet") == std::string::npos);
        CHECK(answer->body.find(secret) == std::string::npos);
        CHECK_FALSE(answer->has_header("Set-Cookie"));
    }
    CHECK(client.Post("/mark", "{}", "application/json")->status == 401);
    CHECK(client.Post("/again", "{}", "application/json")->status == 401);
    CHECK(board.marked == 0);
    // A token is taken at the front door alone: not in the address of anything that is linked.
    CHECK(client.Get(("/plan.json?token=" + secret).c_str())->status == 401);
    const auto let_in = client.Get(("/?token=" + secret).c_str());
    REQUIRE(let_in);
    CHECK(let_in->status == 303);
    CHECK(let_in->get_header_value("Location") == "/");  // the token leaves the address line
    const std::string cookie = let_in->get_header_value("Set-Cookie");
    CHECK(cookie.find("HttpOnly") != std::string::npos);
    CHECK(cookie.find("SameSite=Strict") != std::string::npos);
    CHECK(cookie.find("Secure") == std::string::npos);
    const auto secured =
        client.Get(("/?token=" + secret).c_str(), {{"X-Forwarded-Proto", "https"}});
    CHECK(secured->get_header_value("Set-Cookie").find("Secure") != std::string::npos);
    const httplib::Headers own = {{"Cookie", cookie.substr(0, cookie.find(';'))}};
    CHECK(client.Get("/board.json", own)->status == 200);
    CHECK(client.Post("/mark", own, "{}", "application/json")->status == 200);
    // With the cookie, another site's page still may not.
    auto from_elsewhere = own;
    from_elsewhere.emplace("Origin", "http://evil.example");
    CHECK(client.Post("/mark", from_elsewhere, "{}", "application/json")->status == 403);
    auto rebound = own;
    rebound.emplace("Host", "evil.example:" + std::to_string(board.server.port()));
    CHECK(client.Get("/board.json", rebound)->status == 403);
    CHECK(board.marked == 1);
}

TEST_CASE("guessing tokens is stopped over the wire", "[board][guard][hostile]") {
    Guarded board(locked());
    auto client = board.client();
    client.set_follow_location(false);
    int refused = 0, slowed = 0;
    for (int i = 0; i < 40; ++i) {
        const auto answer = client.Get(("/?token=" + std::to_string(i)).c_str());
        REQUIRE(answer);
        refused += answer->status == 401 ? 1 : 0;
        if (answer->status == 429 && answer->has_header("Retry-After")) ++slowed;
    }
    CHECK(refused == 10);
    CHECK(slowed == 30);
}

TEST_CASE("a flood of one address is answered shortly", "[board][guard][hostile]") {
    Guarded board({.port = 0, .most_a_second = 5});
    auto client = board.client();
    int good = 0, slowed = 0;
    for (int i = 0; i < 60; ++i) {
        const auto answer = client.Get("/state");
        REQUIRE(answer);
        good += answer->status == 200 ? 1 : 0;
        slowed += answer->status == 429 ? 1 : 0;
    }
    CHECK(good >= 25);
    CHECK(slowed > 0);
    CHECK(good + slowed == 60);
}

TEST_CASE("without --lan the board is not on the network", "[board][guard]") {
    Guarded closed({.port = 0});
    // Another address of this very machine (all of 127/8 is) and those of its networks, if any.
    std::vector<std::string> addresses = {"127.0.0.2"};
    for (const auto& name : board::names_of_machine()) {
        in_addr address{};
        if (inet_pton(AF_INET, name.c_str(), &address) == 1) addresses.push_back(name);
    }
    for (const auto& address : addresses) {
        INFO(address);
        httplib::Client outside(address, closed.server.port());
        outside.set_connection_timeout(1, 0);
        CHECK_FALSE(outside.Get("/state"));
    }
    CHECK(closed.client().Get("/state"));  // it does listen
}
