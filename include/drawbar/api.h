/*
 * api.h - how public headers declare what the library offers.
 *
 * What stands between DBR_API_BEGIN and DBR_API_END can be seen from outside the shared library,
 * where all else is hidden, and has the names of C in C++ as well.
 */
#ifndef DRAWBAR_API_H
#define DRAWBAR_API_H

#ifdef __cplusplus
#define DBR_API_BEGIN _Pragma("GCC visibility push(default)") extern "C" {
#define DBR_API_END                                                                                \
    }                                                                                              \
    _Pragma("GCC visibility pop")
#else
#define DBR_API_BEGIN _Pragma("GCC visibility push(default)")
#define DBR_API_END _Pragma("GCC visibility pop")
#endif

#endif
