# What Debian's policy asks of a package beside its files: who may copy it, what changed, compressed
# manual pages, an archive without symbols for a debugger. Runs on the files before they are packed.
# Every page that the program writes holds the charting library of the system: its authors and
# licence are told as that system tells them.
file(READ ${CPACK_DRAWBAR_DOCUMENTS}/copyright COPYRIGHT)
file(READ ${CPACK_DRAWBAR_CHARTS}/../../doc/libjs-dygraphs/copyright CHARTS)
string(APPEND COPYRIGHT "\n\nThe pages that it writes contain dygraphs, a charting library:\n\n${CHARTS}")

set(components command drawbar library ${CPACK_DEBIAN_LIBRARY_PACKAGE_NAME}
    development ${CPACK_DEBIAN_DEVELOPMENT_PACKAGE_NAME})

while(components)
    list(POP_FRONT components component package)
    set(root ${CPACK_TEMPORARY_DIRECTORY}/${component}/usr)
    set(documents ${root}/share/doc/${package})
    file(MAKE_DIRECTORY ${documents})
    file(WRITE ${documents}/copyright "${COPYRIGHT}")
    configure_file(${CPACK_DRAWBAR_DOCUMENTS}/changelog ${documents}/changelog.Debian COPYONLY)
    file(GLOB_RECURSE plain ${root}/share/man/*.1 ${root}/share/man/*.5 ${documents}/changelog.Debian)
    if(plain)
        execute_process(COMMAND gzip -9nf ${plain} COMMAND_ERROR_IS_FATAL ANY)
    endif()
    file(GLOB_RECURSE archives ${root}/lib/*.a)
    if(archives)
        execute_process(COMMAND strip --strip-debug --remove-section=.comment --remove-section=.note
            --enable-deterministic-archives ${archives} COMMAND_ERROR_IS_FATAL ANY)
    endif()
endwhile()
