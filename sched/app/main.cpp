#include "sched/app/parts/commands.hpp"

int main(int argc, char** argv) {
    return sched::app::run(argc, argv);
}
