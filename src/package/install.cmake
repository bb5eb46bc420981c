# What `cmake --install` puts where: the command, the library for programs, and what belongs to
# them. Three components, which the Debian packages follow: see packages.cmake.
include(GNUInstallDirs)
include(CMakePackageConfigHelpers)

set(DATA ${CMAKE_INSTALL_DATADIR}/drawbar)
set(CMAKE_FILES ${CMAKE_INSTALL_LIBDIR}/cmake/Drawbar)

install(TARGETS drawbar RUNTIME COMPONENT command)
# The built-in definitions, to read and to start from; the library holds them already.
install(DIRECTORY decoders DESTINATION ${DATA} COMPONENT command FILES_MATCHING PATTERN *.json)
# What the program writes and reads, for other programs.
install(DIRECTORY src/schemas DESTINATION ${DATA} COMPONENT command FILES_MATCHING PATTERN *.json)

# Names outside: Drawbar::drawbar, and with COMPONENTS static Drawbar::static.
set_target_properties(libdrawbar_shared PROPERTIES EXPORT_NAME drawbar)
set_target_properties(libdrawbar_archive PROPERTIES EXPORT_NAME static)
install(TARGETS libdrawbar_shared EXPORT shared
    LIBRARY COMPONENT library NAMELINK_COMPONENT development
    INCLUDES DESTINATION ${CMAKE_INSTALL_INCLUDEDIR})
install(TARGETS libdrawbar_archive EXPORT static
    ARCHIVE COMPONENT development
    INCLUDES DESTINATION ${CMAKE_INSTALL_INCLUDEDIR})
install(DIRECTORY include/drawbar DESTINATION ${CMAKE_INSTALL_INCLUDEDIR} COMPONENT development)
foreach(kind shared static)
    install(EXPORT ${kind} NAMESPACE Drawbar:: FILE DrawbarTargets-${kind}.cmake
        DESTINATION ${CMAKE_FILES} COMPONENT development)
endforeach()

set(GENERATED ${CMAKE_CURRENT_BINARY_DIR}/generated)
configure_package_config_file(src/package/DrawbarConfig.cmake.in ${GENERATED}/DrawbarConfig.cmake
    INSTALL_DESTINATION ${CMAKE_FILES} NO_SET_AND_CHECK_MACRO)
# Below 1.0 another minor version is another ABI.
if(PROJECT_VERSION_MAJOR EQUAL 0)
    set(COMPATIBLE SameMinorVersion)
else()
    set(COMPATIBLE SameMajorVersion)
endif()
write_basic_package_version_file(${GENERATED}/DrawbarConfigVersion.cmake COMPATIBILITY ${COMPATIBLE})
install(FILES ${GENERATED}/DrawbarConfig.cmake ${GENERATED}/DrawbarConfigVersion.cmake
    DESTINATION ${CMAKE_FILES} COMPONENT development)

# The prefix is told relative to the file, so that an installed tree may be moved.
file(RELATIVE_PATH UP_TO_PREFIX /${CMAKE_INSTALL_LIBDIR}/pkgconfig /)
configure_file(src/package/drawbar.pc.in ${GENERATED}/drawbar.pc @ONLY)
install(FILES ${GENERATED}/drawbar.pc DESTINATION ${CMAKE_INSTALL_LIBDIR}/pkgconfig COMPONENT development)

foreach(section 1 5)
    set(pages ${PAGES})
    list(FILTER pages INCLUDE REGEX "\\.${section}$")
    install(FILES ${pages} DESTINATION ${CMAKE_INSTALL_MANDIR}/man${section} COMPONENT command)
endforeach()
install(FILES ${MANUAL}/drawbar.bash RENAME drawbar COMPONENT command
    DESTINATION ${CMAKE_INSTALL_DATADIR}/bash-completion/completions)
