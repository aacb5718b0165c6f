// Clients that drip their request, or take their answer byte by byte, over real sockets: each is
// cut after a bound, and others are answered meanwhile. The bounds are short here; the only times
// that are waited for are those of the clients.

#include "sched/board/patience.hpp"

#include <arpa/inet.h>
#include <httplib.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <unistd.h>

#include <atomic>
#include <filesystem>
#include <string>
#include <thread>
#include <vector>

#include "sched/board/server.hpp"
#include "tests/catch.hpp"

using namespace sched;
namespace fs = std::filesystem;
using std::chrono::milliseconds;

namespace {

struct Patient {
    fs::path path = fs::temp_directory_path() / ("coatroom-patience-" + std::to_string(getpid()));
    board::Server server;
    std::atomic<int> marked{0};
    explicit Patient(board::ServerOptions options)
        : server((prepare(path), path / "plan.json"), {},
                 {.promise =
                      [](const board::Query&) {
                          return board::Reply{.body = std::string(large, 'x')};
                      },
                  .mark =
                      [this](const std::string&) {
                          ++marked;
                          return board::Reply{.body = "{}"};
                      }},
                 std::move(options)) {
        REQUIRE(server.start());
    }
    ~Patient() {
        server.stop();
        fs::remove_all(path);
    }
    static void prepare(const fs::path& to) {
        fs::remove_all(to);
        fs::create_directories(to);
        fs::copy_file(std::string(COATROOM_SOURCE) + "/tests/golden/plan.json", to / "plan.json");
    }
    std::string host() const { return "Host: 127.0.0.1:" + std::to_string(server.port()) + "\r\n"; }
    int state() const {
        httplib::Client c("127.0.0.1", server.port());
        c.set_read_timeout(30, 0);
        const auto answer = c.Get("/state");
        return answer ? answer->status : 0;
    }
    // More than the buffers of both kernels hold (tcp_wmem, tcp_rmem: 4 and 6 MB by default).
    static constexpr std::size_t large = 64u << 20;
};

// @returns -1 where there is none.
int try_connected(int port, const char* from) {
    const int s = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    // A small window: what the client's kernel takes counts as taken.
    const int window = 4096;
    setsockopt(s, SOL_SOCKET, SO_RCVBUF, &window, sizeof(window));
    sockaddr_in own{};
    own.sin_family = AF_INET;
    bool good = inet_pton(AF_INET, from, &own.sin_addr) == 1 &&
                bind(s, reinterpret_cast<sockaddr*>(&own), sizeof(own)) == 0;
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_port = htons(static_cast<std::uint16_t>(port));
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    good = good && connect(s, reinterpret_cast<sockaddr*>(&address), sizeof(address)) == 0;
    if (good) return s;
    close(s);
    return -1;
}

int connected(int port, const char* from = "127.0.0.1") {
    const int s = try_connected(port, from);
    REQUIRE(s >= 0);
    return s;
}

bool ended(int s) {
    char byte = 0;
    const auto n = recv(s, &byte, 1, MSG_PEEK | MSG_DONTWAIT);
    return n == 0 || (n < 0 && errno != EAGAIN && errno != EINTR);
}

// Sends `bytes` one by one, a short while apart, as long as the board takes them; `came` gets what
// it answered. @returns how many were sent before the end.
std::size_t drip(int s, const std::string& bytes, std::string& came) {
    std::size_t sent = 0;
    char buffer[4096];
    const auto look = [&] {
        const auto n = recv(s, buffer, sizeof(buffer), MSG_DONTWAIT);
        if (n > 0) came.append(buffer, static_cast<std::size_t>(n));
        return n == 0 || (n < 0 && errno != EAGAIN);
    };
    while (sent < bytes.size()) {
        std::this_thread::sleep_for(milliseconds(20));
        if (look() || send(s, &bytes[sent], 1, MSG_NOSIGNAL) != 1) break;
        ++sent;
    }
    return sent;
}

}  // namespace

TEST_CASE("a head that drips in is cut", "[board][hostile]") {
    const Patient board({.port = 0, .request_within = milliseconds(500)});
    const int s = connected(board.server.port());
    // Ten seconds of dripping; no pause is as long as the silence that is borne.
    std::string came;
    const std::string head =
        "GET /state HTTP/1.1\r\n" + board.host() + "X-Long: " + std::string(500, 'y');
    const std::size_t sent = drip(s, head, came);
    CHECK(sent < head.size());
    CHECK(sent > 3);
    CHECK(came.find(" 200 ") == std::string::npos);
    CHECK(came.find(" 408 ") != std::string::npos);
    close(s);
    CHECK(board.state() == 200);
}

TEST_CASE("a body that drips in is cut, and nothing is marked", "[board][hostile]") {
    const Patient board({.port = 0, .request_within = milliseconds(500)});
    const int s = connected(board.server.port());
    const std::string head = "POST /mark HTTP/1.1\r\n" + board.host() +
                             "Content-Type: application/json\r\nContent-Length: 500\r\n\r\n";
    REQUIRE(send(s, head.data(), head.size(), MSG_NOSIGNAL) == static_cast<ssize_t>(head.size()));
    std::string came;
    CHECK(drip(s, std::string(500, 'z'), came) < 500);
    CHECK(board.marked == 0);
    CHECK(came.find(" 200 ") == std::string::npos);
    close(s);
    // In whole, a moment later than at once, it is taken.
    const int slow = connected(board.server.port());
    const std::string small = "POST /mark HTTP/1.1\r\n" + board.host() +
                              "Content-Type: application/json\r\nContent-Length: 5\r\n\r\n";
    REQUIRE(send(slow, small.data(), small.size(), MSG_NOSIGNAL) ==
            static_cast<ssize_t>(small.size()));
    came.clear();
    CHECK(drip(slow, "[1,2]", came) == 5);
    char buffer[4096];
    timeval patience{.tv_sec = 20, .tv_usec = 0};
    setsockopt(slow, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof(patience));
    const auto n = recv(slow, buffer, sizeof(buffer), 0);
    REQUIRE(n > 0);
    CHECK(std::string(buffer, static_cast<std::size_t>(n)).find(" 200 ") != std::string::npos);
    CHECK(board.marked == 1);
    close(slow);
}

TEST_CASE("an answer that is taken byte by byte is cut", "[board][hostile]") {
    const Patient board({.port = 0, .answer_taken = milliseconds(300)});
    const int s = connected(board.server.port());
    const std::string ask = "GET /promise?screens=1 HTTP/1.1\r\n" + board.host() + "\r\n";
    REQUIRE(send(s, ask.data(), ask.size(), MSG_NOSIGNAL) == static_cast<ssize_t>(ask.size()));
    // A byte now and then, for many times as long as is waited for; then all that there is.
    char byte = 0;
    std::size_t got = 0;
    for (int i = 0; i < 150; ++i) {
        const auto n = recv(s, &byte, 1, 0);
        REQUIRE(n == 1);
        ++got;
        std::this_thread::sleep_for(milliseconds(20));
    }
    std::vector<char> rest(1u << 20);
    for (ssize_t n = 1; n > 0;) {
        n = recv(s, rest.data(), rest.size(), 0);
        if (n > 0) got += static_cast<std::size_t>(n);
    }
    close(s);
    CHECK(got < Patient::large);
    // Who reads on gets all of it.
    httplib::Client whole("127.0.0.1", board.server.port());
    whole.set_read_timeout(30, 0);
    const auto answer = whole.Get("/promise?screens=1");
    REQUIRE(answer);
    CHECK(answer->body.size() == Patient::large);
}

TEST_CASE("a head without an end is cut", "[board][hostile]") {
    const Patient board({.port = 0});
    const auto sent = [&](std::size_t bytes, std::string& came) {
        const int s = connected(board.server.port());
        std::string head = "GET /state HTTP/1.1\r\n" + board.host();
        while (head.size() + 2 < bytes)
            head += "A: b\r\n";
        head += "\r\n";
        std::size_t done = 0;
        while (done < head.size()) {
            const auto n = send(s, head.data() + done, head.size() - done, MSG_NOSIGNAL);
            if (n <= 0) break;
            done += static_cast<std::size_t>(n);
        }
        char buffer[4096];
        for (ssize_t n = 1; n > 0;) {
            n = recv(s, buffer, sizeof(buffer), 0);
            if (n > 0) came.append(buffer, static_cast<std::size_t>(n));
        }
        close(s);
        return done;
    };
    std::string came;
    CHECK(sent(60'000, came) >= 60'000);
    CHECK(came.find(" 200 ") != std::string::npos);
    // More than both kernels keep for a connection: it ends while it is sent.
    came.clear();
    CHECK(sent(Patient::large, came) < Patient::large);
    CHECK(came.find(" 200 ") == std::string::npos);
    came.clear();
    (void)sent(68'000, came);
    CHECK(came.find(" 200 ") == std::string::npos);
    CHECK(board.state() == 200);
}

TEST_CASE("one address that drips shuts nobody out, itself not either", "[board][hostile]") {
    const Patient board({.port = 0});
    // More connections than the board has threads, kept awake by a byte now and then.
    std::vector<int> many;
    for (int i = 0; i < 300; ++i) {
        const int s = connected(board.server.port(), "127.0.0.2");
        (void)send(s, "GET /st", 7, MSG_NOSIGNAL);
        many.push_back(s);
    }
    std::atomic<bool> over{false};
    std::thread dripping([&] {
        while (!over) {
            for (const int s : many)
                (void)send(s, "a", 1, MSG_NOSIGNAL | MSG_DONTWAIT);
            std::this_thread::sleep_for(milliseconds(200));
        }
    });
    const int status = board.state();
    const bool last_still_in = !ended(many.back());
    // The same address: a proxy, or a display beside a program that has gone wild.
    const int own = connected(board.server.port(), "127.0.0.2");
    const std::string ask = "GET /state HTTP/1.1\r\n" + board.host() + "\r\n";
    CHECK(send(own, ask.data(), ask.size(), MSG_NOSIGNAL) == static_cast<ssize_t>(ask.size()));
    char buffer[4096];
    timeval patience{.tv_sec = 30, .tv_usec = 0};
    setsockopt(own, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof(patience));
    const auto n = recv(own, buffer, sizeof(buffer), 0);
    over = true;
    dripping.join();
    CHECK(status == 200);
    CHECK(last_still_in);  // with all threads taken the answer would have come after its end
    REQUIRE(n > 0);
    CHECK(std::string(buffer, static_cast<std::size_t>(n)).find(" 200 ") != std::string::npos);
    CHECK(ended(many.front()));  // the oldest ones had to go
    close(own);
    for (const int s : many)
        close(s);
}

namespace {

// Addresses that hold as many connections as they may: half a request each, a byte now and then,
// and a new one for each that ends.
class Hoarders {
public:
    Hoarders(int port, int addresses, int each) : port_(port) {
        for (int a = 0; a < addresses; ++a)
            held_.emplace_back(static_cast<std::size_t>(each), -1);
        round();
        thread_ = std::thread([this] {
            while (!over_) {
                round();
                std::this_thread::sleep_for(milliseconds(20));
            }
        });
    }
    ~Hoarders() {
        over_ = true;
        thread_.join();
        for (const auto& of : held_) {
            for (const int s : of) {
                if (s >= 0) close(s);
            }
        }
    }
    Hoarders(const Hoarders&) = delete;
    Hoarders& operator=(const Hoarders&) = delete;
    int lost() const { return lost_; }

private:
    void round() {
        for (std::size_t a = 0; a < held_.size(); ++a) {
            for (int& s : held_[a]) {
                const bool there = s >= 0;
                if (there && !ended(s)) {
                    (void)send(s, "a", 1, MSG_NOSIGNAL | MSG_DONTWAIT);
                    continue;
                }
                if (there) {
                    ++lost_;
                    close(s);
                }
                s = try_connected(port_, ("127.0.0." + std::to_string(a + 2)).c_str());
                if (s >= 0) (void)send(s, "GET /st", 7, MSG_NOSIGNAL);
            }
        }
    }
    int port_;
    std::vector<std::vector<int>> held_;
    std::atomic<int> lost_{0};
    std::atomic<bool> over_{false};
    std::thread thread_;
};

// Four addresses that may hold every connection, for longer than this test waits for an answer.
board::ServerOptions small_board() {
    return {.port = 0,
            .most_connections = 32,
            .most_coming_in = 8,
            .request_within = std::chrono::minutes(5)};
}

}  // namespace

TEST_CASE("addresses that hold all connections shut no other out", "[board][hostile]") {
    const Patient board(small_board());
    // Somebody whose request comes in slowly, on the only connection of its address.
    const int slow = connected(board.server.port());
    const std::string head = "GET /state HTTP/1.1\r\n" + board.host() + "X-Long: ";
    REQUIRE(send(slow, head.data(), head.size(), MSG_NOSIGNAL) ==
            static_cast<ssize_t>(head.size()));
    std::atomic<bool> over{false};
    std::thread dripping([&] {
        while (!over) {
            (void)send(slow, "y", 1, MSG_NOSIGNAL);
            std::this_thread::sleep_for(milliseconds(100));
        }
    });
    int answered = 0, lost = 0;
    {
        const Hoarders many(board.server.port(), 4, 8);
        for (int k = 0; k < 20; ++k) {
            answered += board.state() == 200 ? 1 : 0;
            std::this_thread::sleep_for(milliseconds(50));  // they take what has become free
        }
        lost = many.lost();
    }
    over = true;
    dripping.join();
    CHECK(answered == 20);
    CHECK(lost > 0);  // all connections were taken
    CHECK_FALSE(ended(slow));
    REQUIRE(send(slow, "\r\n\r\n", 4, MSG_NOSIGNAL) == 4);
    char buffer[4096];
    timeval patience{.tv_sec = 30, .tv_usec = 0};
    setsockopt(slow, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof(patience));
    const auto n = recv(slow, buffer, sizeof(buffer), 0);
    REQUIRE(n > 0);
    CHECK(std::string(buffer, static_cast<std::size_t>(n)).find(" 200 ") != std::string::npos);
    close(slow);
}

TEST_CASE("answers that nobody takes hold no connection that is needed", "[board][hostile]") {
    auto options = small_board();
    options.answer_taken = std::chrono::minutes(5);
    options.most_connections = 4;
    const Patient board(options);
    // One address asks for more than it takes, as often as the board has connections.
    std::vector<int> idle;
    const std::string ask = "GET /promise?screens=1 HTTP/1.1\r\n" + board.host() + "\r\n";
    char byte = 0;
    for (int i = 0; i < 4; ++i) {
        idle.push_back(connected(board.server.port(), "127.0.0.2"));
        REQUIRE(send(idle.back(), ask.data(), ask.size(), MSG_NOSIGNAL) ==
                static_cast<ssize_t>(ask.size()));
        REQUIRE(recv(idle.back(), &byte, 1, 0) == 1);  // its answer has begun
    }
    for (int k = 0; k < 5; ++k)
        CHECK(board.state() == 200);
    for (const int s : idle)
        close(s);
}
