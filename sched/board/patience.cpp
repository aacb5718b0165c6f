// How it works: the library reads and writes a connection through a Stream. This one knows since
// when it is open and how long it has waited, and refuses to wait longer. The library's own bounds
// are of each read and write alone, so a client that sends or takes a byte now and then would hold
// its thread for ever. One request a connection: the library loses what a client sends on before
// the answer, and a connection that idles holds a thread. Who waits for a client is written down:
// when a connection comes and all threads are taken, one of those is let go.

#include "sched/board/patience.hpp"

#include <linux/sockios.h>
#include <netdb.h>
#include <poll.h>
#include <sys/ioctl.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cstring>
#include <functional>
#include <utility>

namespace sched::board {

using std::chrono::milliseconds;
using std::chrono::steady_clock;

namespace {

// How soon a connection notices that the server ends.
constexpr milliseconds look_up{200};

void address_of(int sock, bool remote, std::string& ip, int& port) {
    sockaddr_storage address{};
    socklen_t size = sizeof(address);
    auto* plain = reinterpret_cast<sockaddr*>(&address);
    if ((remote ? getpeername(sock, plain, &size) : getsockname(sock, plain, &size)) != 0) return;
    std::array<char, NI_MAXHOST> host{};
    std::array<char, NI_MAXSERV> service{};
    if (getnameinfo(plain, size, host.data(), host.size(), service.data(), service.size(),
                    NI_NUMERICHOST | NI_NUMERICSERV) != 0)
        return;
    ip = host.data();
    port = std::atoi(service.data());
}

}  // namespace

// Later versions of the library ask for more functions than the first; there they override.
class PatientStream : public httplib::Stream {
public:
    PatientStream(PatientServer& server, const std::atomic<int>& listening, int sock,
                  std::string address, std::uint64_t number)
        : server_(server),
          listening_(listening),
          sock_(sock),
          address_(std::move(address)),
          number_(number) {}
    ~PatientStream() override { whole(); }
    PatientStream(const PatientStream&) = delete;
    PatientStream& operator=(const PatientStream&) = delete;

    using httplib::Stream::write;
    bool is_readable() const { return at_ < filled_ || wait(POLLIN, reading_until()); }
    bool wait_readable() const { return is_readable(); }
    bool is_writable() const { return waited_for_room() && alive(); }
    bool wait_writable() const { return is_writable(); }
    ssize_t read(char* to, std::size_t size) override;
    ssize_t write(const char* from, std::size_t size) override;
    void get_remote_ip_and_port(std::string& ip, int& port) const override {
        address_of(sock_, true, ip, port);
    }
    void get_local_ip_and_port(std::string& ip, int& port) const override {
        address_of(sock_, false, ip, port);
    }
    int socket() const override { return sock_; }
    time_t duration() const {
        return std::chrono::duration_cast<std::chrono::seconds>(steady_clock::now() - begun_)
            .count();
    }

    void whole() {
        if (!whole_) server_.leave(address_);
        whole_ = true;
    }
    void head_over() { head_over_ = true; }
    bool cut() const { return cut_; }
    bool too_long() const { return !head_over_ && taken_ > server_.patience_.longest_head; }
    bool let_go() const { return let_go_; }
    bool alive() const;

private:
    // The end of the silence, or of the request's time.
    steady_clock::time_point reading_until() const {
        return std::min(steady_clock::now() + server_.patience_.silence,
                        begun_ + server_.patience_.request);
    }
    bool wait(short what, steady_clock::time_point until) const;
    bool polled(short what, steady_clock::time_point until) const;
    bool waited_for_room() const;

    PatientServer& server_;
    const std::atomic<int>& listening_;
    int sock_;
    std::string address_;
    std::uint64_t number_;
    steady_clock::time_point begun_ = steady_clock::now();
    bool whole_ = false, head_over_ = false;
    std::size_t taken_ = 0;  // bytes of the request
    mutable bool cut_ = false, let_go_ = false;
    mutable steady_clock::duration waited_{};  // for a client that takes nothing
    std::size_t sent_ = 0;                     // bytes, as far as the kernel took them
    std::array<char, 4096> buffer_{};          // the library reads heads byte by byte
    std::size_t at_ = 0, filled_ = 0;
};

namespace {

thread_local PatientStream* at_this_thread = nullptr;

}  // namespace

/// The library's threads, told of to the server: each task is one connection.
class CountingQueue : public httplib::TaskQueue {
public:
    CountingQueue(PatientServer& server, std::size_t threads) : server_(server), pool_(threads) {}
    // Later versions of the library say whether there was room.
    auto enqueue(std::function<void()> task)
        -> decltype(std::declval<httplib::ThreadPool&>().enqueue(std::function<void()>()))
            override {
        server_.accepted();
        return pool_.enqueue(std::move(task));
    }
    void shutdown() override { pool_.shutdown(); }

private:
    PatientServer& server_;
    httplib::ThreadPool pool_;
};

bool PatientStream::wait(short what, steady_clock::time_point until) const {
    pollfd at_once{.fd = sock_, .events = what, .revents = 0};
    if (poll(&at_once, 1, 0) > 0) return !let_go_;
    server_.waits(number_, {.address = address_, .sock = sock_, .whole = whole_});
    struct Over {
        const PatientStream& of;
        ~Over() { of.let_go_ = of.server_.waits_no_more(of.number_) || of.let_go_; }
    };
    const bool ready = [&] {
        const Over over{*this};
        return polled(what, until);
    }();
    return ready && !let_go_;
}

bool PatientStream::polled(short what, steady_clock::time_point until) const {
    while (listening_ != INVALID_SOCKET) {
        const auto now = steady_clock::now();
        if (now >= until) break;
        const auto left = std::chrono::ceil<milliseconds>(until - now);
        pollfd one{.fd = sock_, .events = what, .revents = 0};
        const int n = poll(&one, 1, static_cast<int>(std::min(left, look_up).count()));
        if (n > 0) return true;
        if (n < 0 && errno != EINTR) return false;
    }
    cut_ = true;
    return false;
}

// Waiting alone counts: an answer that is long to make, and a page that listens for a day, may
// last. A page that was cut while it listened comes back by itself.
bool PatientStream::waited_for_room() const {
    pollfd one{.fd = sock_, .events = POLLOUT, .revents = 0};
    if (poll(&one, 1, 0) > 0) return true;
    int on_the_way = 0;  // the kernel keeps megabytes that the client has not taken
    ioctl(sock_, SIOCOUTQ, &on_the_way);
    const auto taken = sent_ - std::min(sent_, static_cast<std::size_t>(on_the_way));
    const auto& patience = server_.patience_;
    const auto most = patience.answer + milliseconds(1000 * taken / patience.slowest);
    const auto begun = steady_clock::now();
    const bool room = waited_ < most && wait(POLLOUT, begun + (most - waited_));
    waited_ += steady_clock::now() - begun;
    return room;
}

bool PatientStream::alive() const {
    char byte = 0;
    const auto n = recv(sock_, &byte, 1, MSG_PEEK | MSG_DONTWAIT);
    return n > 0 || (n < 0 && (errno == EAGAIN || errno == EINTR));
}

ssize_t PatientStream::read(char* to, std::size_t size) {
    if (at_ == filled_) {
        if (!is_readable()) return -1;
        const auto n = recv(sock_, buffer_.data(), buffer_.size(), MSG_DONTWAIT);
        if (n <= 0) return n;
        at_ = 0;
        filled_ = static_cast<std::size_t>(n);
    }
    const auto some = std::min(size, filled_ - at_);
    std::memcpy(to, buffer_.data() + at_, some);
    at_ += some;
    taken_ += some;
    if (too_long()) return -1;
    return static_cast<ssize_t>(some);
}

ssize_t PatientStream::write(const char* from, std::size_t size) {
    whole();
    while (is_writable()) {
        const auto n = send(sock_, from, size, MSG_NOSIGNAL | MSG_DONTWAIT);
        if (n < 0 && (errno == EAGAIN || errno == EINTR)) continue;
        if (n > 0) sent_ += static_cast<std::size_t>(n);
        return n;
    }
    return -1;
}

void PatientServer::whole() {
    if (at_this_thread != nullptr) at_this_thread->whole();
}

void PatientServer::head_over() {
    if (at_this_thread != nullptr) at_this_thread->head_over();
}

bool PatientServer::cut() {
    return at_this_thread != nullptr && at_this_thread->cut();
}

bool PatientServer::too_long() {
    return at_this_thread != nullptr && at_this_thread->too_long();
}

bool PatientServer::gone() {
    return at_this_thread != nullptr && !at_this_thread->alive();
}

PatientServer::PatientServer(const Patience& patience) : patience_(patience) {
    new_task_queue = [this] {
        return new CountingQueue(*this, static_cast<std::size_t>(patience_.connections));
    };
}

void PatientServer::accepted() {
    const std::lock_guard lock(mutex_);
    ++open_;
    make_room();
}

void PatientServer::ended(bool let_go) {
    const std::lock_guard lock(mutex_);
    --open_;
    --begun_;
    if (let_go) --going_;
}

void PatientServer::waits(std::uint64_t number, Waiting connection) {
    const std::lock_guard lock(mutex_);
    waiting_[number] = std::move(connection);
    make_room();
}

bool PatientServer::waits_no_more(std::uint64_t number) {
    const std::lock_guard lock(mutex_);
    const auto found = waiting_.find(number);
    const bool let_go = found->second.let_go;
    waiting_.erase(found);
    return let_go;
}

// Whoever wants a thread and finds none gets that of the oldest connection that waits of an address
// that has most: those of somebody who opens many go before the one of somebody else. Who holds
// threads is known when all of them have begun; where none of that address waits just now, the next
// that does is let go.
void PatientServer::make_room() {
    while (begun_ >= patience_.connections && open_ - going_ > patience_.connections) {
        auto of = coming_in_;
        for (const auto& [number, w] : waiting_)
            of[w.address] += w.whole && !w.let_go ? 1 : !w.whole && w.let_go ? -1 : 0;
        int most = 0;
        for (const auto& [address, count] : of)
            most = std::max(most, count);
        const auto oldest = std::find_if(waiting_.begin(), waiting_.end(), [&](const auto& one) {
            return !one.second.let_go && of[one.second.address] == most;
        });
        if (oldest == waiting_.end()) return;
        oldest->second.let_go = true;
        ++going_;
        ::shutdown(oldest->second.sock, SHUT_RDWR);  // wakes it
    }
}

// Of those whose request is still coming in.
bool PatientServer::let_oldest_go(const std::string& address) {
    const auto oldest = std::find_if(waiting_.begin(), waiting_.end(), [&](const auto& one) {
        return one.second.address == address && !one.second.whole && !one.second.let_go;
    });
    if (oldest == waiting_.end()) return false;
    oldest->second.let_go = true;
    ++going_;
    ::shutdown(oldest->second.sock, SHUT_RDWR);  // wakes it
    return true;
}

bool PatientServer::enter(const std::string& address, std::uint64_t& number) {
    const std::lock_guard lock(mutex_);
    number = ++last_number_;
    ++begun_;
    const bool may = coming_in_[address] < patience_.most_coming_in || let_oldest_go(address);
    if (may) ++coming_in_[address];
    make_room();
    return may;
}

void PatientServer::leave(const std::string& address) {
    const std::lock_guard lock(mutex_);
    if (--coming_in_[address] <= 0) coming_in_.erase(address);
}

// Later versions of the library want to be told the addresses, too.
template <class Self>
bool PatientServer::one_request(Self& self, httplib::Stream& stream) {
    bool closed = false;
    if constexpr (requires { self.process_request(stream, true, closed, nullptr); }) {
        return self.process_request(stream, true, closed, nullptr);
    } else {
        std::string theirs, ours;
        int their_port = 0, our_port = 0;
        stream.get_remote_ip_and_port(theirs, their_port);
        stream.get_local_ip_and_port(ours, our_port);
        return self.process_request(stream, theirs, their_port, ours, our_port, true, closed,
                                    nullptr);
    }
}

bool PatientServer::process_and_close_socket(int sock) {
    std::string address;
    int port = 0;
    address_of(sock, true, address, port);
    bool good = false, gone = false;
    std::uint64_t number = 0;
    if (enter(address, number)) {
        PatientStream stream(*this, svr_sock_, sock, address, number);
        at_this_thread = &stream;
        good = one_request(*this, stream);
        at_this_thread = nullptr;
        gone = stream.let_go();
    }
    ::shutdown(sock, SHUT_RDWR);
    ::close(sock);
    ended(gone);
    return good;
}

}  // namespace sched::board
