#pragma once
// Ctrl-C and SIGTERM. Every command looks at interrupted() and ends by itself with what it knows by
// then; where it does not within a quarter of a second, the watch says what is known and ends it.

#include <functional>
#include <string>

namespace sched::app {

/// While it lives, Ctrl-C sets a flag instead of ending the program; a second one ends it at once.
/// One at a time.
class InterruptWatch {
public:
    explicit InterruptWatch(std::string command);
    ~InterruptWatch();
    InterruptWatch(const InterruptWatch&) = delete;
    InterruptWatch& operator=(const InterruptWatch&) = delete;
};

bool interrupted();

/// Says so on the error stream, once; from here on the command ends by itself.
/// @param known what may be relied on, a full sentence. @returns the exit status.
int say_interrupted(const std::string& known);

/// What the watch says if it has to end the program: a full sentence.
void known_so_far(const std::string& words);

/// From here on the command has a result that it will not lose: at an interruption the watch says
/// `words` and leaves it to end by itself.
void keeps_a_result(const std::string& words);

/// What the watch does before it ends the program, in moments: ends programs of ours, takes their
/// files away. None: nothing. The last one given counts.
void before_ending(std::function<void()> tidy);

/// While one lives neither the watch nor a second signal ends the program: what is done meanwhile
/// is done whole, and known_so_far says it before anybody can be told otherwise.
class Undivided {
public:
    Undivided();
    ~Undivided();
    Undivided(const Undivided&) = delete;
    Undivided& operator=(const Undivided&) = delete;
};

}  // namespace sched::app
