#include "sched/board/live.hpp"

namespace sched::board {

namespace {

// How soon a plan that was written beside the board shows.
constexpr std::chrono::milliseconds look_every{400};
constexpr std::chrono::milliseconds at_most_every{500};

}  // namespace

Live::Live(std::function<std::string()> text, int most) : ask_(std::move(text)), most_(most) {}

Live::~Live() {
    stop();
}

void Live::start() {
    watcher_ = std::thread([this] { watch(); });
}

void Live::stop() {
    {
        const std::lock_guard lock(mutex_);
        stop_ = true;
    }
    changed_.notify_all();
    nudged_.notify_all();
    if (watcher_.joinable()) watcher_.join();
}

void Live::nudge() {
    {
        const std::lock_guard lock(mutex_);
        nudge_ = true;
    }
    nudged_.notify_all();
}

bool Live::enter() {
    const std::lock_guard lock(mutex_);
    if (stop_ || inside_ >= most_) return false;
    ++inside_;
    return true;
}

void Live::leave() {
    const std::lock_guard lock(mutex_);
    --inside_;
}

int Live::waiting() {
    const std::lock_guard lock(mutex_);
    return inside_;
}

Live::News Live::next(std::uint64_t seen, std::chrono::milliseconds patience) {
    std::unique_lock lock(mutex_);
    changed_.wait_for(lock, patience, [&] { return stop_ || number_ > seen; });
    return {.number = number_, .text = text_, .over = stop_};
}

void Live::watch() {
    std::unique_lock lock(mutex_);
    while (!stop_) {
        nudge_ = false;
        lock.unlock();
        std::string text = ask_();
        lock.lock();
        if (text != text_) {
            text_ = std::move(text);
            ++number_;
            changed_.notify_all();
            // Marks come one after another: pages are told of several at once.
            nudged_.wait_for(lock, at_most_every, [&] { return stop_; });
        }
        nudged_.wait_for(lock, look_every, [&] { return stop_ || nudge_; });
    }
}

}  // namespace sched::board
