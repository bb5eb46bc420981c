# The static library for others: all objects as one, in which the names that are hidden outside are
# local. Where the tools for that are not there (they are those of ELF), it holds the objects as they
# are, and names from inside may meet those of the program that links to it.
set(ONE_OBJECT ${CMAKE_CURRENT_BINARY_DIR}/drawbar_one.o)
if(CMAKE_OBJCOPY AND CMAKE_EXECUTABLE_FORMAT STREQUAL ELF)
    add_custom_command(OUTPUT ${ONE_OBJECT}
        COMMAND ${CMAKE_LINKER} -r -o ${ONE_OBJECT} $<TARGET_OBJECTS:drawbar_objects>
        COMMAND ${CMAKE_OBJCOPY} --localize-hidden ${ONE_OBJECT}
        DEPENDS $<TARGET_OBJECTS:drawbar_objects>
        COMMAND_EXPAND_LISTS VERBATIM)
    add_library(libdrawbar_archive STATIC ${ONE_OBJECT})
    add_dependencies(libdrawbar_archive drawbar_objects)
else()
    add_library(libdrawbar_archive STATIC $<TARGET_OBJECTS:drawbar_objects>)
endif()
