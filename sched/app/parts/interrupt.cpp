// How it works: the signal handler counts and wakes the watch, a thread of its own; the watch waits
// a quarter of a second for the command to end by itself, then says what is known and ends the
// program, but never while somebody holds the lock under which things are done whole. A second
// signal ends the program at once, or when that is done, unless it belongs to the first: who
// signals a program and its group sends two.

#include "sched/app/parts/interrupt.hpp"

#include <poll.h>
#include <semaphore.h>
#include <signal.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <cerrno>
#include <cstdint>
#include <cstdio>
#include <ctime>
#include <mutex>
#include <thread>
#include <utility>

#include "sched/app/parts/context.hpp"

namespace sched::app {

namespace {

constexpr long patience_ns = 250'000'000;        // until the watch answers for the command
constexpr std::int64_t one_press = 300'000'000;  // signals within so many ns are one

// Read by all threads; lock-free, so a signal handler may write it.
std::atomic<int> interrupts{0};
std::atomic<std::int64_t> first_press{0};  // ns on the steady clock
std::atomic<int> undivided{0};             // things that are being done whole
std::atomic<int> ends_after{0};            // that: there was a second press
std::atomic<int> end_status{Interrupted};  // of a command that is ended
static_assert(std::atomic<int>::is_always_lock_free);
static_assert(std::atomic<std::int64_t>::is_always_lock_free);

struct Watched {
    sem_t changed{};               // an interruption, or the end
    std::recursive_mutex not_now;  // held: the program may not be ended
    std::string command, known, result;
    std::function<void()> tidy;
    bool said = false;
    bool over = false;
    std::jthread watch;
};
Watched* watched = nullptr;

// Only what a signal handler may do.
std::int64_t steady_ns() {
    timespec now{};
    clock_gettime(CLOCK_MONOTONIC, &now);
    return std::int64_t{now.tv_sec} * 1'000'000'000 + now.tv_nsec;
}

extern "C" void on_interrupt(int) {
    const int before = errno;
    std::int64_t first = 0;
    const std::int64_t now = steady_ns();
    if (!first_press.compare_exchange_strong(first, now) && now - first > one_press) {
        ends_after = 1;
        if (undivided == 0) _exit(end_status);
    }
    interrupts = 1;
    if (watched != nullptr) sem_post(&watched->changed);
    errno = before;
}

// An assertion has failed, and has said which. Files are written whole or not at all.
extern "C" void on_abort(int) {
    constexpr char words[] =
        "coatroom: a fault of the program, not of your files (the line above says where). Nothing "
        "was written. Please report it with the command and the folder.\n";
    [[maybe_unused]] const auto written = write(2, words, sizeof(words) - 1);
    _exit(Fault);
}

void say(const Watched& w, const std::string& words) {
    std::fprintf(stderr, "coatroom %s: interrupted. %s\n", w.command.c_str(), words.c_str());
}

bool is_over(Watched& w) {
    const std::lock_guard lock(w.not_now);
    return w.over;
}

void watch(Watched& w) {
    while (sem_wait(&w.changed) != 0 || (interrupts == 0 && !is_over(w))) {
    }
    timespec until{};
    clock_gettime(CLOCK_REALTIME, &until);
    until.tv_nsec += patience_ns;
    if (until.tv_nsec >= 1'000'000'000) {
        until.tv_nsec -= 1'000'000'000;
        ++until.tv_sec;
    }
    while (!is_over(w) && (sem_timedwait(&w.changed, &until) == 0 || errno == EINTR)) {
    }
    const std::lock_guard lock(w.not_now);
    if (w.over || w.said) return;
    w.said = true;
    say(w, w.result.empty() ? w.known : w.result);
    if (!w.result.empty()) return;
    if (w.tidy) w.tidy();
    _exit(end_status);
}

}  // namespace

InterruptWatch::InterruptWatch(std::string command) {
    interrupts = 0;
    first_press = 0;
    ends_after = 0;
    end_status = Interrupted;
    watched = new Watched;
    watched->command = std::move(command);
    watched->known = "Nothing is known yet, and nothing is written.";
    sem_init(&watched->changed, 0, 0);
    // Signals are for the other threads: a wait of theirs ends with one.
    sigset_t ours, before;
    sigemptyset(&ours);
    sigaddset(&ours, SIGINT);
    sigaddset(&ours, SIGTERM);
    pthread_sigmask(SIG_BLOCK, &ours, &before);
    watched->watch = std::jthread([w = watched] { watch(*w); });
    pthread_sigmask(SIG_SETMASK, &before, nullptr);
    signal(SIGABRT, on_abort);
    signal(SIGXFSZ, SIG_IGN);  // a file beyond a limit is a write that fails
    struct sigaction action {};
    action.sa_handler = on_interrupt;
    sigaction(SIGINT, &action, nullptr);
    sigaction(SIGTERM, &action, nullptr);
}

InterruptWatch::~InterruptWatch() {
    struct sigaction action {};
    action.sa_handler = SIG_DFL;
    sigaction(SIGINT, &action, nullptr);
    sigaction(SIGTERM, &action, nullptr);
    signal(SIGABRT, SIG_DFL);
    {
        const std::lock_guard lock(watched->not_now);
        watched->over = true;
    }
    sem_post(&watched->changed);
    watched->watch.join();
    sem_destroy(&watched->changed);
    delete watched;
    watched = nullptr;
}

bool interrupted() {
    return interrupts > 0;
}

int say_interrupted(const std::string& known) {
    if (watched == nullptr) return Interrupted;
    const std::lock_guard lock(watched->not_now);
    if (!watched->said) say(*watched, known);
    watched->said = true;
    return Interrupted;
}

void known_so_far(const std::string& words) {
    if (watched == nullptr) return;
    const std::lock_guard lock(watched->not_now);
    watched->known = words;
}

void keeps_a_result(const std::string& words) {
    if (watched == nullptr) return;
    const std::lock_guard lock(watched->not_now);
    watched->result = words;
}

void before_ending(std::function<void()> tidy) {
    if (watched == nullptr) return;
    const std::lock_guard lock(watched->not_now);
    watched->tidy = std::move(tidy);
}

void ends_with(int status) {
    end_status = status;
}

bool print_answer(std::string_view text) {
    std::fflush(stdout);
    const bool pressed_before = interrupted();
    constexpr int pause_ms = 50;
    // A pipe that can be written to takes as much without making anybody wait.
    constexpr std::size_t piece = 4096;
    std::int64_t cut_off_at = 0;
    while (!text.empty()) {
        if (ends_after != 0) return false;
        if (!pressed_before && interrupted()) {
            const std::int64_t now = steady_ns();
            if (cut_off_at == 0) cut_off_at = now + patience_ns;
            if (now >= cut_off_at) return false;
        }
        pollfd out{.fd = STDOUT_FILENO, .events = POLLOUT, .revents = 0};
        if (poll(&out, 1, pause_ms) <= 0) continue;
        const auto n = write(STDOUT_FILENO, text.data(), std::min(text.size(), piece));
        if (n < 0 && (errno == EINTR || errno == EAGAIN)) continue;
        if (n <= 0) break;
        text.remove_prefix(static_cast<std::size_t>(n));
    }
    // What cannot be written fails here once more, and the stream remembers it.
    std::fwrite(text.data(), 1, text.size(), stdout);
    std::fflush(stdout);
    return true;
}

Undivided::Undivided() {
    ++undivided;
    if (watched != nullptr) watched->not_now.lock();
}

Undivided::~Undivided() {
    if (watched != nullptr) watched->not_now.unlock();
    if (--undivided == 0 && ends_after != 0) _exit(end_status);
}

}  // namespace sched::app
