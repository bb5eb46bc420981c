# The manual and the completion, made from their templates and the tables of commands, so that they
# say what the help says.
add_executable(drawbar-manual src/manual/generate.c $<TARGET_OBJECTS:drawbar_commands>)
target_include_directories(drawbar-manual PRIVATE src)
target_compile_definitions(drawbar-manual PRIVATE DRAWBAR_VERSION="${PROJECT_VERSION}")
target_link_libraries(drawbar-manual PRIVATE libdrawbar)

file(GLOB TEMPLATES CONFIGURE_DEPENDS src/manual/*.in)
set(MANUAL ${CMAKE_CURRENT_BINARY_DIR}/manual)
file(MAKE_DIRECTORY ${MANUAL})
foreach(template IN LISTS TEMPLATES)
    cmake_path(GET template STEM LAST_ONLY page)
    add_custom_command(OUTPUT ${MANUAL}/${page}
        COMMAND drawbar-manual ${template} ${MANUAL}/${page}
        DEPENDS drawbar-manual ${template}
        VERBATIM)
    list(APPEND PAGES ${MANUAL}/${page})
endforeach()
add_custom_target(manual ALL DEPENDS ${PAGES})
