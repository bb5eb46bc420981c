/* race.c - a race planted on purpose, to see that the thread sanitizer finds it. */
#include <pthread.h>

static int shared;

static void *add(void *unused)
{
    (void)unused;
    for (int i = 0; i < 1000; i++)
        shared++;
    return NULL;
}

int main(void)
{
    pthread_t other;

    if (pthread_create(&other, NULL, add, NULL) != 0)
        return 2;
    add(NULL);
    pthread_join(other, NULL);
    return shared < 0;
}
