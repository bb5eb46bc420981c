/* kept.h - JSON that tests make, kept for those who hold it to its schema (tests/contract). */
#ifndef TESTS_SUPPORT_KEPT_H
#define TESTS_SUPPORT_KEPT_H

/* Gives `text` back; where it is JSON and $DRAWBAR_KEEP names a folder, a copy stands there then. */
char *kept(char *text);

#endif
