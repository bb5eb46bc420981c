# What the compiler and the linker can do against a mistake of ours that a hostile recording
# finds: each is asked for where they know it, so that other systems build as well.
# tests/hardening/run reads from the built files that it is there.
include(CheckCCompilerFlag)
include(CheckCSourceCompiles)
include(CheckLinkerFlag)
include(CheckPIESupported)

option(DRAWBAR_HARDENING "Harden the program against mistakes of its own" ON)
if(NOT DRAWBAR_HARDENING)
    return()
endif()

# The program lies at another address each time it is loaded.
check_pie_supported(LANGUAGES C)
set(CMAKE_POSITION_INDEPENDENT_CODE ON)

# Overwritten return addresses are noticed; a large frame cannot jump over the guard page; jumps
# land only where the compiler lets them (x86). The second not with clang: in functions of variable
# arguments with a large frame its version 14 then loses the floating point ones (seen in the times
# that `cut` tells; tests/command finds it).
set(flags stack-protector-strong cf-protection)
if(NOT CMAKE_C_COMPILER_ID MATCHES Clang)
    list(APPEND flags stack-clash-protection)
endif()
foreach(flag IN LISTS flags)
    string(MAKE_C_IDENTIFIER "DRAWBAR_HAS_${flag}" known)
    check_c_compiler_flag("-Werror -f${flag}" ${known})
    if(${known})
        add_compile_options(-f${flag})
    endif()
endforeach()

# Tables of addresses are bound at the start and read-only then; no stack holds code.
foreach(flag relro now noexecstack)
    check_linker_flag(C "LINKER:-z,${flag}" DRAWBAR_HAS_Z_${flag})
    if(DRAWBAR_HAS_Z_${flag})
        add_link_options(LINKER:-z,${flag})
    endif()
endforeach()

# The C library checks the sizes that the compiler knows (3: or can work out). It needs an optimised
# build, and would hide from the address sanitizer what that finds.
foreach(level 3 2)
    set(CMAKE_REQUIRED_FLAGS "-Werror -O2 -U_FORTIFY_SOURCE -D_FORTIFY_SOURCE=${level}")
    check_c_source_compiles("#include <string.h>\nint main(void) { return 0; }" DRAWBAR_HAS_FORTIFY_${level})
    unset(CMAKE_REQUIRED_FLAGS)
    if(DRAWBAR_HAS_FORTIFY_${level} AND NOT DRAWBAR_SANITIZE)
        add_compile_options(
            "$<$<CONFIG:Release,RelWithDebInfo,MinSizeRel>:-U_FORTIFY_SOURCE;-D_FORTIFY_SOURCE=${level}>")
        break()
    endif()
endforeach()
