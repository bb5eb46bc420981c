/* main.c - the program drawbar. All it does is in src/commands. */
#include "commands/commands.h"

int main(int argc, char **argv)
{
    return commands_main(argc, argv);
}
