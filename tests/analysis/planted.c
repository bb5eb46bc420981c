/* planted.c - a leak that each analyser must find; tests/analysis/run holds them to it. */
#include <stdlib.h>

int planted(int size);

int planted(int size)
{
    int *numbers = calloc(4, sizeof *numbers);

    if (!numbers)
        return 0;
    numbers[0] = size;
    return numbers[0] + numbers[1];
}
