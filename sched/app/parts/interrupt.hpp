#pragma once
// Ctrl-C and SIGTERM. Every command looks at interrupted() and ends by itself with what it knows by
// then; where it does not within a quarter of a second, the watch says what is known and ends it.

#include <functional>
#include <string>
#include <string_view>

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

/// From here on an interruption is how the command ends, with this status.
void ends_with(int status);

/// On the standard output, at once. Who does not read is waited for until Ctrl-C, and a quarter of
/// a second longer; a Ctrl-C from before does not count, a second one does. @returns whether it was
/// not cut off there; where it cannot be written, the stream says so.
bool print_answer(std::string_view text);

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
