#pragma once
// What is new, for pages that wait for it: one text with a number that rises whenever it changes.

#include <chrono>
#include <condition_variable>
#include <cstdint>
#include <functional>
#include <mutex>
#include <string>
#include <thread>

namespace sched::board {

class Live {
public:
    /// @param text what is sent; asked for a few times a second and after each nudge.
    /// @param most who may wait at a time: each holds a thread of the server.
    Live(std::function<std::string()> text, int most);
    ~Live();
    Live(const Live&) = delete;
    Live& operator=(const Live&) = delete;

    void start();
    /// Lets all who wait go; safe to call twice.
    void stop();
    /// Looks at once.
    void nudge();

    /// @returns whether there was room; then leave() must follow.
    bool enter();
    void leave();
    int waiting();

    struct News {
        std::uint64_t number = 0;
        std::string text;
        bool over = false;  // it ends
    };
    /// The text when it is newer than `seen`, or as it is after `patience`.
    News next(std::uint64_t seen, std::chrono::milliseconds patience);

private:
    void watch();

    std::function<std::string()> ask_;
    int most_;
    std::mutex mutex_;
    std::condition_variable changed_, nudged_;
    std::string text_;
    std::uint64_t number_ = 0;
    int inside_ = 0;
    bool nudge_ = false, stop_ = false;
    std::thread watcher_;
};

}  // namespace sched::board
