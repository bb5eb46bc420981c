/* faults_count.h - between the files that stand in for calls. */
#ifndef TESTS_MACHINE_FAULTS_COUNT_H
#define TESTS_MACHINE_FAULTS_COUNT_H

#include "machine/faults.h"

/* Counts a call; true where it fails, with errno set. */
bool fault_now(enum fault_kind kind, const char *function);

/* Two calls of the same way are alike: the same code asks on behalf of the same code. */
uint32_t fault_way(void);

void memory_start(void);

#endif
